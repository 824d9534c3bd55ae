"""The turn in which the Tab key reaches the parts of a window, where a part comes later than its neighbours."""

from PySide6.QtWidgets import QWidget


def last_in_turn(whole: QWidget) -> QWidget:
    """Give what the Tab key reaches last of a widget and what stands in it."""
    return _in_turn(whole)[-1]


def put_in_turn(part: QWidget, before: QWidget) -> None:
    """Let the Tab key reach a part of the window, and what stands in it, right after another widget."""
    for one in _in_turn(part):
        QWidget.setTabOrder(before, one)
        before = one


def _in_turn(whole: QWidget) -> list[QWidget]:
    """Give a widget and everything in it, in the turn that holds now."""
    found, at = [whole], whole.nextInFocusChain()
    while at is not None and at is not whole:
        if whole.isAncestorOf(at):
            found.append(at)
        at = at.nextInFocusChain()
    return found
