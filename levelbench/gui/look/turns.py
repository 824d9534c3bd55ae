"""The turn in which the Tab key reaches the parts of a window, where a part comes later than its neighbours.

Qt is never asked for the next widget in its chain (`nextInFocusChain`): the binding makes whatever that answers a child
of the one that was asked, on Python's side alone. When the one goes, the other can't be used any more, though it still
stands in the window; along the chain that reaches the window itself and its menus.
"""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget


def put_in_turn(part: QWidget, before: QWidget) -> None:
    """Let the Tab key reach what stands in a part of the window right after another widget."""
    for one in in_turn(part):
        QWidget.setTabOrder(before, one)
        before = one


def in_turn(part: QWidget) -> list[QWidget]:
    """Give what stands in a part of a window and takes the keyboard, in the turn in which it was put there."""
    window = part.window()
    inside = [one for one in part.findChildren(QWidget) if one.window() is window]  # not the lists of boxes
    return [one for one in inside if one.focusPolicy() != Qt.FocusPolicy.NoFocus]
