"""Buttons that go to and fro: run and pause, stop pressed and released, mains on and off."""

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QAbstractButton


class Switch(QObject):
    """Lets a double click on a button be one press; two would undo each other, and nothing would seem to happen."""

    def __init__(self, of: QAbstractButton) -> None:
        super().__init__(of)
        of.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Drop the second press of a double click."""
        return event.type() == QEvent.Type.MouseButtonDblClick
