"""Keeps the recovery copy of a document: a while after the last change, on a working thread, gone once it is saved."""

import secrets
from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from levelbench.gui.work.jobs import Job
from levelbench.project import recovery
from levelbench.project.records import Project

KEEP_AFTER = 2000  # ms without a further change until the copy is written


class RecoveryCopy(QObject):
    """The copy of one document; two documents of one program never share theirs."""

    trouble = Signal(str)  # words for the person

    def __init__(self, parent: QObject, wanted: Callable[[], tuple[Project, Path | None] | None]) -> None:
        """`wanted` gives what is to be kept and the file it belongs to, or None when everything is saved."""
        super().__init__(parent)
        self._wanted = wanted
        self._slot = secrets.token_hex(4)
        self._kept: set[Path | None] = set()  # the files (None: no file yet) of which there is a copy
        self._soon = QTimer(self, singleShot=True, interval=KEEP_AFTER)
        self._soon.timeout.connect(self._keep)

    def later(self) -> None:
        """Keep a copy when nothing has changed for a while."""
        self._soon.start()

    def now(self) -> None:
        """Keep a copy at once. Raises SaveError."""
        wanted = self._wanted()
        if wanted is not None:
            self._kept.add(wanted[1])
            recovery.keep(*wanted, self._slot)

    def forget(self) -> None:
        """Remove the copy: everything is saved, or the person chose to let it go."""
        self._soon.stop()
        for original in self._kept:
            recovery.discard(original, self._slot)
        self._kept.clear()

    def _keep(self) -> None:
        wanted, slot = self._wanted(), self._slot
        if wanted is not None:
            project, original = wanted
            self._kept.add(original)
            work = partial(recovery.keep, project, original, slot)
            Job(self, lambda _progress: work(), lambda _copy: self._have(original), self._failed, key="copy")

    def _have(self, original: Path | None) -> None:
        """Remove a copy that came too late: it was saved, or let go, in the meantime."""
        if original not in self._kept:
            recovery.discard(original, self._slot)

    def _failed(self, error: Exception) -> None:
        self.trouble.emit(f"▲ No recovery copy could be kept: {error}")
