"""Rehearse: the operator's controls on the running rig, what can go wrong, and the list of messages."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QCheckBox, QListWidget, QSizePolicy

from levelbench.gui.document.document import Document
from levelbench.gui.look.parts import Card, button, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Even
from levelbench.gui.stages.operator import OperatorControls, Rehearsed
from levelbench.gui.trend.clock import clock
from levelbench.project.instruments import DISTANCE_SENSORS
from levelbench.project.records import Project

# what an instructor may let happen: panel entry → words
FAULTS = {
    "airlock": "air in the pump",
    "echo lost": "echo lost",
    "signal held": "signal stands still",
    "switch stuck": "overflow switch stuck",
    "switch wire open": "switch wire open",
    "check valve leaks": "check valve leaks",
    "loop wire open": "loop wire open: 0 mA",
}
_ON_OFF = {
    "auto": ("mode manual", "mode auto"),
    "stop": ("emergency stop released", "emergency stop pressed"),
    "mains": ("mains off", "mains on"),
}
_KEPT = 500  # messages


def faults_of(project: Project) -> tuple[str, ...]:
    """Give the faults that the rig of a project can have: nothing breaks that is not there."""
    there = {
        "echo lost": project.sensor.kind in DISTANCE_SENSORS,
        "switch stuck": project.overflow_switch.fitted,
        "switch wire open": project.overflow_switch.fitted,
        "check valve leaks": project.pump.check_valve,
    }
    return tuple(what for what in FAULTS if there.get(what, True))


def message(time: float, kind: str, what: str, value: float, said: str = "") -> str:
    """Say one line of the journal in words; `said` is the event in words, or the value that a person has set."""
    if kind != "action":
        words = said
    elif what in _ON_OFF:
        words = _ON_OFF[what][int(value > 0)]
    elif what in FAULTS:
        words = f"fault: {FAULTS[what]}" if value > 0 else f"fault taken away: {FAULTS[what]}"
    else:
        words = f"{what} {said}".strip()
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
        self.messages = _list()
        self.copy = button("Copy", self._copy, "", "copy the messages of the run as text")
        self.copied = text("", "small")
        faults = Even(GRID // 2).add(*self.faults.values())
        for what, box in self.faults.items():
            box.setAccessibleName(f"fault: {FAULTS[what]}")
            box.setToolTip(f"lets it happen while it is ticked: {FAULTS[what]}")
            box.clicked.connect(lambda on, what=what: self.controls.act(what, float(on)))
        wrong = text("Let something go wrong", "subheading")
        for widget in (self.controls, line(), wrong, holder(faults), line()):
            self.body.addWidget(widget)
        self.body.addLayout(row(text("Messages, newest first", "subheading"), None, self.copied, self.copy))
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
        project = self._document.project
        self._offer(faults_of(project))
        self.messages.clear()
        self._count()

    def _offer(self, faults: tuple[str, ...]) -> None:
        for what, box in self.faults.items():
            box.setChecked(False)
            box.setVisible(what in faults)

    def tell(self, time: float, kind: str, what: str, value: float, said: str = "") -> None:
        """Add one line of the journal to the messages; `said` as in `message`."""
        self.messages.insertItem(0, message(time, kind, what, value, said))
        if self.messages.count() > _KEPT:
            self.messages.model().removeRow(self.messages.count() - 1)  # an item that is taken would not go
        self._count()

    def _count(self) -> None:
        self.copy.setEnabled(self.messages.count() > 0)
        self.copied.clear()

    def _copy(self) -> None:
        lines = [self.messages.item(at).text() for at in range(self.messages.count())]
        QGuiApplication.clipboard().setText("\n".join(lines))
        self.copied.setText(f"✓ {len(lines)} copied")


class _Messages(QListWidget):
    """A list that needs a few lines and takes the room that is left."""

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Ask for its least; a column that was asked for less would be laid out too low."""
        return QSize(super().sizeHint().width(), self.minimumHeight())


def _list() -> QListWidget:
    made = _Messages()
    made.setAccessibleName("messages of the run, newest first")
    made.setToolTip("what you did and what the rig said, newest first")
    made.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    made.setWordWrap(True)
    made.setMinimumHeight(80)
    made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
    return made
