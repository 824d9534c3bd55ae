"""F1 in every window that is not the main one: a dialog, a question, the operator station.

Such a window says its place in the help and to whom it belongs; the help desk of that main window answers. The help
then opens as a part of the asking window, since one that waits for an answer lets nobody into any other.
"""

from collections.abc import Callable
from functools import partial
from weakref import WeakKeyDictionary

from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QWidget

Opens = Callable[[QWidget], object]
_desks: WeakKeyDictionary[QWidget, Opens] = WeakKeyDictionary()


def answer_for(main: QWidget, opens: Opens) -> None:
    """Let the windows of a main window have their help from here: `opens` is called with the one that asks."""
    _desks[main] = opens


def explain(window: QWidget, place: str, owner: QWidget | None = None) -> None:
    """Let F1 in a window of its own open the help for what is in hand there; where nothing is, at `place`.

    `owner` is the window to which it belongs, where that is not its parent.
    """
    window.setProperty("help", place)
    shortcut = QShortcut(QKeySequence("F1"), window)
    shortcut.setWhatsThis("help on this window")
    shortcut.activated.connect(partial(_ask, window, owner or window.parentWidget()))


def _ask(window: QWidget, above: QWidget | None) -> None:
    while above is not None and above not in _desks:
        above = above.parentWidget()
    if above is not None:
        _desks[above](window)
