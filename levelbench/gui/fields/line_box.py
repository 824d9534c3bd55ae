"""A line to type into, as Qt has it but for undo: where nothing was typed, that is the project's."""

from PySide6.QtCore import QEvent
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit


class LineBox(QLineEdit):
    """Keeps undo and redo for its own letters only while it has some to take back."""

    def event(self, event: QEvent) -> bool:
        """Let the window have the keys of undo and redo that would do nothing here."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            for key, able in (
                (QKeySequence.StandardKey.Undo, self.isUndoAvailable()),
                (QKeySequence.StandardKey.Redo, self.isRedoAvailable()),
            ):
                if event.matches(key) and not able:
                    event.ignore()
                    return True
        return super().event(event)
