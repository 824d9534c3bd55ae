"""The station's pad: choose a value, type it with large keys, read it back, send it. It shows limits and step."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QFrame, QGridLayout, QPushButton, QSizePolicy, QStackedWidget, QWidget

from levelbench.gui.look.parts import button, column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.station.entry import Target
from levelbench.quantity import QuantityError, number_format

_KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".")
_LONGEST = 9  # characters that can be typed
_TARGET_KEYS = ("F2", "F3", "F4")


def large(words: str, pressed: Callable[[], object], tip: str, role: str = "") -> QPushButton:
    """Make a button for a gloved finger."""
    made = button(words, pressed, role, tip)
    made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
    return made


class Pad(QWidget):
    """Types for one target at a time. `chose` is emitted with the panel's entry and the value (SI) to send."""

    chose = Signal(str, float)

    def __init__(self) -> None:
        super().__init__()
        self._targets: tuple[Target, ...] = ()
        self._now: dict[str, float] = {}
        self._at = 0
        self._asked: float | None = None
        self.manual = False
        self.typed = ""
        self._build_display()
        self._build_keys()
        self._build_question()
        self.pages = QStackedWidget()
        self.pages.addWidget(self._keys)
        self.pages.addWidget(self._question)
        layout = column(row(*self.choices, gap=GRID), self._display, self.pages)
        layout.setStretch(2, 1)
        self.setLayout(layout)

    # Its parts -----------------------------------------------------------------------------------------------------

    def _build_display(self) -> None:
        self._group = QButtonGroup(self)
        self.choices = [large("", lambda: None, "", "target") for _ in _TARGET_KEYS]
        for at, one in enumerate(self.choices):
            one.setCheckable(True)
            self._group.addButton(one, at)
        self._group.idClicked.connect(self.choose)
        self._display = QFrame()
        self._display.setProperty("role", "card")
        self.display, self.unit = text("", "typed"), text("", "name")
        self.display.setAccessibleName("typed value")
        self.display.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.allowed, self.note = text("", "name", wrap=True), text("", "calm", wrap=True)
        for words in (self.allowed, self.note):
            words.setAlignment(Qt.AlignmentFlag.AlignTop)
        typed = row(self.display, self.unit)
        typed.setStretch(0, 1)
        inside = column(typed, self.allowed, self.note, gap=GRID // 2)
        inside.setContentsMargins(2 * GRID, GRID // 2, 2 * GRID, GRID // 2)
        self._display.setLayout(inside)

    def _build_keys(self) -> None:
        self._keys = QWidget()
        grid = QGridLayout(self._keys)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(GRID)
        self.keys: dict[str, QPushButton] = {}
        for at, key in enumerate(_KEYS):
            name = "decimal mark" if key == "." else f"digit {key}"
            self.keys[key] = large(key, partial(self.type, key), name, "key")
            grid.addWidget(self.keys[key], at // 3, at % 3)
        self.back = large("⌫ Back", self.take_back, "back: takes the last digit away (Backspace)")
        self.clear = large("Clear", self.wipe, "clear: takes everything away (Delete)")
        self.enter = large("Enter ↵", self.hand_in, "enter: sends what was typed (Enter)", "main")
        self.up = large("▲ step", partial(self.step, up=True), "")
        self.down = large("▼ step", partial(self.step, up=False), "")
        for at, one in enumerate((self.back, self.clear, self.up, self.down)):
            grid.addWidget(one, at, 3)
        grid.addWidget(self.enter, 3, 2)
        for one in (*self.keys.values(), self.back, self.clear, self.up, self.down, self.enter):
            one.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def _build_question(self) -> None:
        self._question = QWidget()
        self.question = text("", "question", wrap=True)
        self.why_asked = text("", "name", wrap=True)
        self.yes = large("✓ Yes, set it  ↵", self.hand_in, "yes: sends the value (Enter)", "main")
        self.no = large("✗ No, keep it  Esc", self.say_no, "no: keeps the value (Esc)")
        for one in (self.yes, self.no):
            one.setProperty("tall", "yes")
        layout = column(self.question, self.why_asked, row(self.yes, self.no, gap=2 * GRID), None, gap=2 * GRID)
        self._question.setLayout(layout)

    # What it shows -------------------------------------------------------------------------------------------------

    def begin(self, targets: tuple[Target, ...], now: dict[str, float]) -> None:
        """Offer what this rig has, with what is set now (SI)."""
        self._targets, self._now = targets, dict(now)
        for at, one in enumerate(self.choices):
            one.setVisible(at < len(targets))
        self.choose(min(self._at, len(targets) - 1))

    def take(self, targets: tuple[Target, ...]) -> None:
        """Go by the limits of an edited project; what is set and half typed stays, a question is asked again."""
        self._targets = targets
        self.say_no()
        self._show()

    def follow(self, what: str, now: float) -> None:
        """Show what is set on the panel now (SI), whoever set it."""
        if self._now.get(what) != now:
            self._now[what] = now
            self._show()

    @property
    def target(self) -> Target:
        """What is typed for."""
        return self._targets[self._at]

    @property
    def asking(self) -> bool:
        """Whether a large change waits for a yes or a no."""
        return self._asked is not None

    def choose(self, at: int) -> None:
        """Type for another value from here on; what was half typed is dropped."""
        if 0 <= at < len(self._targets):
            self._at = at
            self._asked = None
            self.wipe()

    def _show(self) -> None:
        for one, target, key in zip(self.choices, self._targets, _TARGET_KEYS, strict=False):
            chosen = target is self.target
            words = target.show(self._now[target.what])
            one.setText(f"{'●' if chosen else '○'} {target.name}  {key}\n     {words}")
            one.setAccessibleName(f"type the {target.name}, now {words}{', chosen' if chosen else ''}")
            one.setToolTip(f"type the {target.name} ({key})")
            one.setChecked(chosen)
        target, now = self.target, self._now[self.target.what]
        self.display.setText(self.typed.replace(".", number_format().mark) or target.bare(now))
        self.unit.setText(target.unit)
        self.allowed.setText(f"Now {target.bare(now)}. Takes {target.allowed}.")
        for one, way in ((self.up, "up"), (self.down, "down")):
            sign = "+" if one is self.up else "−"
            one.setText(f"{'▲' if one is self.up else '▼'} {sign}{target.bare(target.step)}")
            one.setAccessibleName(f"{target.name} one step {way}")
            one.setToolTip(f"{target.name} one step of {target.show(target.step)} {way} (arrow {way})")
        self.keys["."].setText(number_format().mark)
        self.pages.setCurrentIndex(1 if self.asking else 0)

    def _say(self, words: str, role: str = "calm") -> None:
        self.note.setText(words)
        restyle(self.note, role=role)

    # What is done to it --------------------------------------------------------------------------------------------

    def type(self, key: str) -> None:
        """Take a digit or the point."""
        if self.asking or len(self.typed) >= _LONGEST or (key == "." and "." in self.typed):
            return
        self.typed += key
        self._say("")
        self._show()

    def take_back(self) -> None:
        """Take the last digit away."""
        self.typed = self.typed[:-1]
        self._show()

    def wipe(self) -> None:
        """Take everything away that was typed."""
        self.typed = ""
        self._say("")
        self._show()

    def hand_in(self) -> None:
        """Send what was typed; a large change is read back first. On a question it is the yes."""
        to, self._asked = self._asked, None
        if to is not None:
            self._send(to)
            return
        self._try(lambda: self.target.judge(self.typed))

    def step(self, *, up: bool) -> None:
        """Go one step up or down from what is set now."""
        if not self.asking:
            self._try(lambda: self.target.stepped(self._now[self.target.what], up))

    def _try(self, find: Callable[[], float]) -> None:
        target = self.target
        if target.what == "manual output" and not self.manual:
            self._say("✗ The controller moves the output in auto. Press Manual first.", "refused")
            return
        try:
            to = find()
        except QuantityError as error:
            self._say(f"✗ {error}", "refused")
            return
        now = self._now[target.what]
        if target.asks(now, to):
            self._asked = to
            self.question.setText(f"{target.name.capitalize()} {target.bare(now)} → {target.show(to)}?")
            asks = target.show(target.asks_above)
            self.why_asked.setText(f"Changes of more than {asks}, a tenth of the range, are read back.")
            self._say("Read it back: is this what you mean?", "attention")
            self._show()
            self.yes.setFocus()
            return
        self._send(to)

    def say_no(self) -> None:
        """Keep the value that is set, if there was a question."""
        if self._asked is not None:
            self._asked = None
            self.typed = ""
            self._say(f"✗ Kept at {self.target.show(self._now[self.target.what])}.")
            self._show()

    def _send(self, to: float) -> None:
        target = self.target
        self._now[target.what] = to
        self.typed = ""
        self._say(f"✓ {target.name} set to {target.show(to)}", "done")
        self._show()
        self.chose.emit(target.what, to)
