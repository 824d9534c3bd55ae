"""Rehearse: the operator's controls on the running rig, what can go wrong, and the list of messages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QCheckBox, QComboBox, QListWidget, QListWidgetItem, QSizePolicy

from levelbench.gui.bands.standing import StandingList
from levelbench.gui.document.document import Document
from levelbench.gui.look.parts import Card, button, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Even
from levelbench.gui.stages.operator import OperatorControls, Rehearsed
from levelbench.gui.trend.clock import clock
from levelbench.project.fields import entries
from levelbench.project.instruments import DISTANCE_SENSORS
from levelbench.project.records import Bands, Project

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Watch

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
_ABOUT = ("everything", "every alarm")  # what can be listed, before the alarms one by one
_ALARM = Qt.ItemDataRole.UserRole


def faults_of(project: Project) -> tuple[str, ...]:
    """Give the faults that the rig of a project can have: nothing breaks that is not there."""
    there = {
        "echo lost": project.sensor.kind in DISTANCE_SENSORS,
        "switch stuck": project.overflow_switch.fitted,
        "switch wire open": project.overflow_switch.fitted,
        "check valve leaks": project.pump.check_valve,
    }
    return tuple(what for what in FAULTS if there.get(what, True))


def action_words(what: str, value: float, said: str) -> str:
    """Say what a person did; `said`: the value that was set, "" where a button was pressed."""
    if what in _ON_OFF:
        return _ON_OFF[what][int(value > 0)]
    if what in FAULTS:
        return f"fault: {FAULTS[what]}" if value > 0 else f"fault taken away: {FAULTS[what]}"
    return f"{what} {said}".strip()


class Rehearse(Card):
    """The operator's side of the running rig."""

    def __init__(self, document: Document, rehearsed: Rehearsed) -> None:
        super().__init__("Rehearse", "you are the operator")
        self._document = document
        self._rehearsed = rehearsed
        self.controls, self.standing = OperatorControls(rehearsed), StandingList()
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
        alarms = text("Alarms", "subheading")
        for widget in (self.controls, line(), wrong, holder(faults), line(), alarms, self.standing, line()):
            self.body.addWidget(widget)
        self.about = QComboBox()
        self.about.addItems([*_ABOUT, *(one.label for one in entries(Bands).values())])
        self.about.setAccessibleName("which messages are listed")
        self.about.setToolTip("list every message, those about alarms, or those about one alarm")
        self.about.currentIndexChanged.connect(lambda _at: self._filter())
        self.body.addWidget(text("Messages, newest first", "subheading"))
        self.body.addLayout(row(self.about, None, self.copied, self.copy))
        self.body.addWidget(self.messages, 1)
        self.begin()
        self._allow(False, "waits for the rig")

    def take(self, watch: Watch) -> None:
        """Show the alarms of the run on the bench from now on."""
        self.standing.take(watch)

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

    def tell(self, time: float, who: str, words: str, alarm: str = "") -> None:
        """Add a line to the messages: when [s], who or what did it, and the alarm that it is about ("every": all)."""
        line = QListWidgetItem(f"{clock(time)}  {who}  {words}")
        line.setData(_ALARM, alarm)
        self.messages.insertItem(0, line)
        line.setHidden(not self._wanted(line))
        if self.messages.count() > _KEPT:
            self.messages.model().removeRow(self.messages.count() - 1)  # an item that is taken would not go
        self._count()

    def _wanted(self, line: QListWidgetItem) -> bool:
        """Tell whether a line is about what was chosen to be listed."""
        about, chosen = str(line.data(_ALARM)), self.about.currentText()
        return self.about.currentIndex() == 0 or (bool(about) and chosen in (_ABOUT[1], about)) or about == "every"

    def _filter(self) -> None:
        for at in range(self.messages.count()):
            line = self.messages.item(at)
            line.setHidden(not self._wanted(line))
        self.copied.clear()

    def _count(self) -> None:
        self.copy.setEnabled(self.messages.count() > 0)
        self.copied.clear()

    def _copy(self) -> None:
        every = [self.messages.item(at) for at in range(self.messages.count())]
        lines = [one.text() for one in every if not one.isHidden()]
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
