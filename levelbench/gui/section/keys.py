"""The keys of the section: which one does what."""

from typing import Protocol

from PySide6.QtCore import QObject, Qt, SignalInstance
from PySide6.QtGui import QKeyEvent, QKeySequence

from levelbench.drawing.frame import Fit
from levelbench.drawing.scene import Scene
from levelbench.gui.fields.entry_keys import declaration
from levelbench.gui.section import output as section_output
from levelbench.gui.section.hand import Hand
from levelbench.gui.section.sight import Sight
from levelbench.gui.section.state import Moment
from levelbench.rig import Rig

Key = Qt.Key
WAYS = {Key.Key_Up: (0, 1), Key.Key_Down: (0, -1), Key.Key_Left: (1, 0), Key.Key_Right: (-1, 0)}
PAN = 40.0  # px
ZOOM = {Key.Key_Plus: 1, Key.Key_Equal: 1, Key.Key_Minus: -1, Key.Key_Underscore: -1}


class Keyed(Protocol):
    """What the keys act on: the section as it is shown."""

    rig: Rig | None
    moment: Moment
    hand: Hand
    sight: Sight

    @property
    def seen(self) -> SignalInstance:
        """Which part of the drawing is seen, in words."""

    @property
    def selected(self) -> SignalInstance:
        """The key of what was chosen."""

    def choose(self, key: str) -> None:
        """Let the item of an entry stand out."""

    def open_editor(self) -> None:
        """Let the value of what is chosen be typed."""

    def zoom(self, steps: float) -> None:
        """Zoom in or out by some steps."""

    def fit(self, fit: Fit | None) -> None:
        """Show the tank as large as it can be, or everything."""

    def refresh(self) -> None:
        """Lay the drawing out anew."""

    def update(self) -> None:
        """Paint anew."""


def can_be_typed(key: str) -> bool:
    """Tell whether what carries a tag is an entry that is typed as a quantity."""
    try:
        return "." in key and declaration(key).dimension is not None
    except KeyError:
        return False


def drawing_of(view: Keyed) -> Scene | None:
    """Give the whole drawing at this moment, for paper and files; None before there is a rig."""
    if view.rig is None or view.moment.state is None:
        return None
    return section_output.whole(view.rig, view.moment.state)


def copy_drawing(view: Keyed) -> bool:
    """Put the whole drawing on the clipboard, and say so; gives whether there is one."""
    scene = drawing_of(view)
    if scene is not None:
        assert isinstance(view, QObject)
        section_output.copy(scene, view, lambda: view.seen.emit("✓ copied whole"))
    return scene is not None


def press_key(view: Keyed, event: QKeyEvent) -> bool:
    """Do what a key does on the section; gives whether it does anything.

    Up and down move the chosen handle by a step, with Shift by ten; left and right choose; Enter types; Esc puts back
    what is held, else chooses nothing. With Ctrl: arrows move the drawing, + and − zoom, 0 fits it again, C copies it.
    """
    key, hand = Key(event.key()), view.hand
    if event.matches(QKeySequence.StandardKey.Copy):
        return copy_drawing(view)
    if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
        return _with_control(view, key)
    steps = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
    if key == Key.Key_Escape and hand.holds:
        hand.give_up()
    elif key == Key.Key_Escape and hand.chosen:
        view.choose("")
    elif key in (Key.Key_Up, Key.Key_Down) and hand.handle is not None:
        hand.nudge(steps if key == Key.Key_Up else -steps)
    elif key in (Key.Key_Left, Key.Key_Right) and hand.handles:
        view.choose(hand.neighbour(1 if key == Key.Key_Right else -1, around=True))
        view.selected.emit(hand.chosen)
    elif key in (Key.Key_Return, Key.Key_Enter) and can_be_typed(hand.chosen):
        view.open_editor()
    else:
        return False
    view.update()
    return True


def _with_control(view: Keyed, key: Qt.Key) -> bool:
    if key in WAYS:
        right, down = WAYS[key]
        view.sight.move(PAN * right, PAN * down)
        view.refresh()
    elif key in ZOOM:
        view.zoom(ZOOM[key])
    elif key == Key.Key_0:
        view.fit(None)
    else:
        return False
    return True
