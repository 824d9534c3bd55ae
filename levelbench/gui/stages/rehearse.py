"""Rehearse: the operator's controls on the running rig, what can go wrong, and the list of messages."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QGridLayout, QListWidget, QSizePolicy

from levelbench.gui.document import Document
from levelbench.gui.parts import Card, holder, line, text
from levelbench.gui.stages.operator import OperatorControls, Rehearsed
from levelbench.gui.theme import GRID

# what an instructor may let happen: panel entry → words
FAULTS = {
    "airlock": "air in the pump",
    "echo lost": "echo lost",
    "signal held": "signal stands still",
    "switch stuck": "overflow switch stuck",
    "switch wire open": "switch wire open",
    "check valve leaks": "check valve leaks",
}
_ON_OFF = {
    "auto": ("manual", "auto"),
    "stop": ("stop released", "stop pressed"),
    "mains": ("mains off", "mains on"),
}
_KEPT = 500  # messages


def clock(seconds: float) -> str:
    """Give a time of the run as h:mm:ss."""
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def message(time: float, kind: str, what: str, value: float, set_to: str = "") -> str:
    """Say one line of the journal in words; `set_to` is the value as a person reads it."""
    if what in _ON_OFF and kind == "action":
        words = _ON_OFF[what][int(value > 0)]
    elif kind == "event":
        words = f"{what}" if value > 0 else f"{what}: gone"
    elif what in FAULTS:
        words = f"fault: {FAULTS[what]}" if value > 0 else f"fault taken away: {FAULTS[what]}"
    else:
        words = f"{what} {set_to}".strip()
    who = "you" if kind == "action" else "rig"
    return f"{clock(time)}  {who}  {words}"


class Rehearse(Card):
    """The operator's side of the running rig."""

    def __init__(self, document: Document, rehearsed: Rehearsed) -> None:
        super().__init__("Rehearse", "you are the operator")
        self._document = document
        self._rehearsed = rehearsed
        self.controls = OperatorControls(rehearsed)
        self.faults = {what: QCheckBox(words) for what, words in FAULTS.items()}
        self.messages = QListWidget()
        self.messages.setAccessibleName("messages of the run, newest first")
        self.messages.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.messages.setWordWrap(True)
        self.messages.setMinimumHeight(80)
        self.messages.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(GRID // 2)
        for at, (what, box) in enumerate(self.faults.items()):
            box.setAccessibleName(f"fault: {FAULTS[what]}")
            box.clicked.connect(lambda on, what=what: self.controls.act(what, float(on)))
            grid.addWidget(box, at // 2, at % 2)
        for widget in (self.controls, line(), text("Let something go wrong", "subheading"), holder(grid), line()):
            self.body.addWidget(widget)
        self.body.addWidget(text("Messages, newest first", "subheading"))
        self.body.addWidget(self.messages, 1)
        self.begin()
        self._allow(False, "waits for the rig")

    def open(self) -> None:
        """Let the controls act: there is a rig on the bench."""
        self._allow(True, "you are the operator")

    def _allow(self, allowed: bool, words: str) -> None:
        self.aside.setText(words)
        self.controls.setEnabled(allowed)
        for box in self.faults.values():
            box.setEnabled(allowed)

    def begin(self) -> None:
        """Stand as at the start of a run."""
        self.controls.begin(self._document.project)
        for box in self.faults.values():
            box.setChecked(False)
        self.messages.clear()

    def tell(self, time: float, kind: str, what: str, value: float, set_to: str = "") -> None:
        """Add one line of the journal to the messages."""
        self.messages.insertItem(0, message(time, kind, what, value, set_to))
        if self.messages.count() > _KEPT:
            self.messages.takeItem(self.messages.count() - 1)
