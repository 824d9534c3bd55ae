"""Buttons of which a double click is one press: run and pause, stop, mains, the next question."""

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QAbstractButton


class Switch(QObject):
    """Drops the second press of a double click, where two would undo each other or go a step too far."""

    def __init__(self, of: QAbstractButton) -> None:
        super().__init__(of)
        of.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Drop that press."""
        return event.type() == QEvent.Type.MouseButtonDblClick
