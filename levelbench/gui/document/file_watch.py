"""Watches the file of a document: told by the system when it or its folder changes, and asked when the window comes up.

Some systems and network drives tell nothing, so that whoever brings the window to the front looks as well. Every look
reads the file on a working thread.
"""

from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from levelbench.gui.document.disk import Seen, State, look, mark_of
from levelbench.gui.work.jobs import Job

SETTLE = 200  # ms; programs that save by deleting and renaming need a moment


class FileWatch(QObject):
    """Says `seen` when the file is no longer what is known of it, when it changes again, and when it is so no more."""

    seen = Signal(object)  # Seen

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._path: Path | None = None
        self._known = ""
        self.last = Seen(State.SAME, "", datetime.now().astimezone())
        self._watcher = QFileSystemWatcher(self)
        self._soon = QTimer(self, singleShot=True, interval=SETTLE)
        self._soon.timeout.connect(self.look)
        self._watcher.fileChanged.connect(lambda _name: self._soon.start())
        self._watcher.directoryChanged.connect(lambda _name: self._soon.start())

    @property
    def gone(self) -> bool:
        """Whether there was a file and it is there no more."""
        return self.last.state in (State.GONE, State.FOLDER_GONE)

    def follow(self, path: Path | None, mark: str | None = None) -> None:
        """Watch a file (None: there is none) whose content is known, and marked so when it was read or written."""
        for name in (*self._watcher.files(), *self._watcher.directories()):
            self._watcher.removePath(name)
        self._path = path
        self._known = "" if path is None else mark_of(path) if mark is None else mark
        self._settle(Seen(State.SAME, self._known, datetime.now().astimezone()))
        self._hold_on()

    def agree(self, mark: str) -> None:
        """Take the content with this mark as known: nothing is said of it any more."""
        self._known = mark
        self._settle(Seen(State.SAME, mark, datetime.now().astimezone()))

    def look(self) -> None:
        """Look at the file in the background."""
        path, known = self._path, self._known
        if path is not None:
            Job(self, lambda _progress: look(path, known), self._have, lambda _error: None, key="look")

    def look_now(self) -> Seen:
        """Look at the file at once, before it is written over."""
        if self._path is not None:
            self._have(look(self._path, self._known))
        return self.last

    def _have(self, seen: Seen) -> None:
        self._hold_on()
        if (seen.state, seen.mark) != (self.last.state, self.last.mark):
            self._settle(seen)

    def _settle(self, seen: Seen) -> None:
        self._soon.stop()
        self.last = seen
        self.seen.emit(seen)

    def _hold_on(self) -> None:
        """Watch the file and its folder; a file that was put in the place of another needs a watch of its own."""
        if self._path is None:
            return
        watched = (*self._watcher.files(), *self._watcher.directories())
        for path in (self._path, self._path.parent):
            if str(path) not in watched and path.exists():
                self._watcher.addPath(str(path))
