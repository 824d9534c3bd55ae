"""Files that are dragged into the window: opened wherever they are let go, be it over a box for text.

What a way takes so, a record, can be asked for by a button as well.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QEvent, QMimeData, QObject, Qt
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QFileDialog, QWidget

RECORDS = (".csv", ".txt", ".tsv", ".dat", ".log", ".asc", ".prn")  # how names of tables of text end
_KINDS = f"Tables of text ({' '.join(f'*{suffix}' for suffix in RECORDS)});;All files (*)"


class FileDrop(QObject):
    """Stands before the whole window, so that no box inside takes the name of a file for a text."""

    def __init__(
        self, window: QWidget, opened: Callable[[Sequence[Path]], object], told: Callable[[str], object]
    ) -> None:
        super().__init__(window)
        self._window = window
        self._opened = opened
        self._told = told
        window.setAcceptDrops(True)
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Take what concerns files; all else goes its way."""
        if watched is self._window:
            if event.type() == QEvent.Type.Show and self._window.windowHandle() is not None:
                self._window.windowHandle().installEventFilter(self)
            return False
        if event.type() == QEvent.Type.DragLeave:
            self._told("")
        elif isinstance(event, QDropEvent):
            return self._take(event)
        return False

    def _take(self, event: QDropEvent) -> bool:
        paths = files_in(event.mimeData())
        if not paths:
            return False
        event.setDropAction(Qt.DropAction.CopyAction)
        event.accept()
        names = ", ".join(path.name for path in paths[:3])
        if isinstance(event, QDragEnterEvent):
            self._told(f"Let go to open {names}.")
        elif not isinstance(event, QDragMoveEvent):
            self._told("")
            self._opened(paths)
        return True


def files_in(data: QMimeData) -> list[Path]:
    """Give the files of this computer among what is dragged."""
    return [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]


def ask_for_record(parent: QWidget) -> Path | None:
    """Ask for the file of a record; None when none was chosen."""
    chosen, _ = QFileDialog.getOpenFileName(parent, "Choose a record", "", _KINDS)
    return Path(chosen) if chosen else None
