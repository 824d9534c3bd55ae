"""The turn in which the Tab key reaches the parts of a window, where a part comes later than its neighbours."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget


def put_in_turn(part: QWidget, before: QWidget) -> None:
    """Let the Tab key reach what stands in a part of the window right after another widget."""
    for one in in_turn(part):
        QWidget.setTabOrder(before, one)
        before = one


def in_turn(part: QWidget) -> list[QWidget]:
    """Give what stands in a part of a window and takes the keyboard, in the turn that holds now."""
    found, at = [], part.nextInFocusChain()
    while at is not None and at is not part:
        if part.isAncestorOf(at) and at.focusPolicy() != Qt.FocusPolicy.NoFocus:
            found.append(at)
        at = at.nextInFocusChain()
    return found
