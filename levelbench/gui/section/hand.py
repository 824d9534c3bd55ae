"""A person's hand on the section: what is chosen, what is held, where it would go, and what would be said of that."""

from collections.abc import Callable
from contextlib import suppress

from levelbench.drawing.column import SET_POINT
from levelbench.drawing.deviation import DEVIATION
from levelbench.drawing.frame import Frame
from levelbench.gui.section.handles import Handle, handles
from levelbench.gui.section.state import Moment
from levelbench.gui.section.warnings import warning
from levelbench.quantity import QuantityError, read
from levelbench.rig import Rig

SLACK = 2.0  # px that the pointer may move before a press becomes a drag

Take = Callable[[str, str], str]  # key, text as typed → "" when taken, else why not
Tell = Callable[[str, str], object]  # key, text as it would be typed; "" when nothing is moved any more


class Hand:
    """Chooses, holds, moves and lets go. What is let go is handed to `take` as a person would type it."""

    def __init__(self, take: Take, tell: Tell, repaint: Callable[[], object]) -> None:
        self.take = take
        self._tell = tell  # hears of every step while something is held
        self._repaint = repaint
        self.handles: dict[str, Handle] = {}
        self.set_point = 0.0  # [m3] the one that was entered last
        self.chosen = ""
        self.value: float | None = None  # (SI) while something is moved
        self.warning = ""
        self._grip: float | None = None  # y where it was taken hold of
        self._rig: Rig | None = None

    def take_rig(self, rig: Rig) -> None:
        """Know what can be moved on a rig; whatever was held is let go."""
        self._rig = rig
        self.set_point = rig.project.start.set_point.si
        self.handles = handles(rig, lambda: self.set_point)
        self.give_up()

    @property
    def handle(self) -> Handle | None:
        """What is chosen and can be moved."""
        return self.handles.get(self.chosen)

    @property
    def holds(self) -> bool:
        """Whether something is held."""
        return self._grip is not None

    def now(self, handle: Handle) -> float:
        """Give where a handle stands: the set point where it was entered last, the rest as typed in the file."""
        return self.set_point if handle.key == SET_POINT else handle.value

    def said(self, moment: Moment) -> tuple[float, str, str] | None:
        """Give what is said at the handle: its level [m], what it would be ("" where it stands) and a warning."""
        handle, state = self.handle, moment.state
        if handle is None or state is None:
            return None
        value, words = self.now(handle) if self.value is None else self.value, ""
        if self.value is not None:
            words = f"{handle.words} {handle.typed(value)}"
        elif handle.key == SET_POINT and moment.begun and abs(value - state.set_point) > handle.step / 2:
            words = f"{handle.words} {handle.typed(value)}, entered"  # a paused loop, or one whose set point ramps
        return (handle.at(value), words, self.warning) if words or self.warning else None

    def choose(self, key: str) -> None:
        """Choose an entry, and know what there is to say of it."""
        self.chosen = key
        self._warn()

    def grasp(self, y: float) -> None:
        """Take hold of what is chosen at a y of the drawing."""
        self._grip = y

    def drag(self, y: float, frame: Frame) -> None:
        """Move what is held to a y of the drawing, in whole steps, once the pointer has moved a little."""
        handle = self.handle
        if handle is None or self._grip is None or (self.value is None and abs(y - self._grip) <= SLACK):
            return
        start = self._grip if handle.key == DEVIATION else frame.y(handle.at(self.now(handle)))
        level = max(frame.level(start + y - self._grip), 0.0)
        value = handle.snapped(handle.value_at(level))
        if value != self.value:
            self.value = value
            self._warn()
            self._tell(handle.key, handle.typed(value))

    def propose(self, key: str, words: str) -> None:
        """Show where something would stand that is moved or typed elsewhere; "" when it isn't any more."""
        handle = self.handles.get(key)
        if handle is None or self.holds or (not words and self.value is None):
            return
        self.value = None
        with suppress(QuantityError):
            self.value = read(words, handle.dimension).si if words else None
        self.choose(key)
        self._repaint()

    def let_go(self) -> None:
        """Hand in what was moved. An edit brings another rig; all else leaves what is tried as it was before."""
        value, handle = self.value, self.handle
        self._grip = self.value = None
        self._warn()
        if value is not None and handle is not None:
            taken = self._hand_in(handle, value)
            if not taken or handle.key == SET_POINT:  # the operator's entry edits nothing
                self._tell(handle.key, "")

    def give_up(self) -> None:
        """Put back what was moved."""
        held = self._grip is not None and self.value is not None
        self._grip = self.value = None
        self._warn()
        if held:
            self._tell(self.chosen, "")

    def nudge(self, steps: int) -> None:
        """Move what is chosen by whole steps."""
        if self.handle is not None:
            self._hand_in(self.handle, self.handle.snapped(self.now(self.handle) + steps * self.handle.step))

    def neighbour(self, turn: int, *, around: bool) -> str:
        """Give the key of the handle before (-1) or after (1) the chosen one; "" past an end unless `around`."""
        keys = list(self.handles)
        if not keys:
            return ""
        if self.chosen not in keys:
            return keys[0 if turn > 0 else -1]
        place = keys.index(self.chosen) + turn
        return keys[place % len(keys)] if around or 0 <= place < len(keys) else ""

    def _hand_in(self, handle: Handle, value: float) -> bool:
        """Give a value to whoever takes it; tells whether it was taken."""
        if handle.typed(value) == handle.typed(self.now(handle)):
            return False
        refusal = self.take(handle.key, handle.typed(value))
        if refusal:
            self.warning = f"■ {refusal}"
        elif handle.key == SET_POINT:
            self.set_point = value  # the loop takes it at its next scan; more steps go on from here
        return not refusal

    def _warn(self) -> None:
        handle, self.warning = self.handle, ""
        if handle is not None and self._rig is not None:
            self.warning = warning(self._rig, handle, self.now(handle) if self.value is None else self.value)
