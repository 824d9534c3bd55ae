"""The window: it only places the parts. Rail, drawing over trend, the card of the stage in hand, the bench bar."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QMainWindow, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from levelbench.gui.actions import Actions
from levelbench.gui.answers import Answers
from levelbench.gui.document import Document
from levelbench.gui.jobs import stop_all
from levelbench.gui.parts import column, row, text
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import Rail
from levelbench.gui.stages import alarms, check, describe, hand_over, rehearse, tune
from levelbench.gui.stages.operator import Rehearsed
from levelbench.gui.states import states
from levelbench.gui.theme import GRID

CARD = 408  # px; the width of a stage's card
HAND_OVER = 5


class Header(QFrame):
    """The name of the rig, its loop, whether it is saved, and what is going on."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "header")
        self.title, self.loop = text("", "heading"), text("", "quiet")
        self.news = text("", "attention")
        layout = row(self.title, self.loop, None, self.news)
        layout.setContentsMargins(2 * GRID + 4, GRID, 2 * GRID, GRID)
        self.setLayout(layout)

    def show_document(self, document: Document) -> None:
        """Show what the open project is called and whether it is saved."""
        project = document.project
        state = "edited, not saved" if document.edited else "saved" if document.path else "from a sample, no file yet"
        self.title.setText(project.title)
        self.loop.setText(f"loop {project.first_letter}-{project.loop} · {state}")


class MainWindow(QMainWindow):
    """Everything in its place, and the roads between the parts."""

    closed = Signal()

    def __init__(self, document: Document, answers: Answers, rehearsed: Rehearsed, preferences: Preferences) -> None:
        super().__init__()
        self.document = document
        self.answers = answers
        self._preferences = preferences
        self.menus = Actions(self, document, preferences)
        self.header, self.rail = Header(), Rail()
        self.describe = describe.Describe(document)
        self.check = check.Check(document, answers)
        self.tune = tune.Tune(document, answers)
        self.alarms = alarms.Alarms(document, answers)
        self.rehearse = rehearse.Rehearse(document, rehearsed)
        self.hand_over = hand_over.HandOver(document, answers)
        self._place()
        self._connect()
        self.resize(1280, 800)
        self.setMinimumSize(1100, 700)
        if preferences.geometry is not None:
            self.restoreGeometry(preferences.geometry)
        self._refresh()
        self.rail.choose(0)

    def _place(self) -> None:
        self.cards = QStackedWidget()
        self.cards.setFixedWidth(CARD)
        for card in (self.describe, self.check, self.tune, self.alarms, self.rehearse):
            self.cards.addWidget(card)
        self.centre = QSplitter(Qt.Orientation.Vertical)
        self.centre.setChildrenCollapsible(False)
        self.waiting = text("", "quiet", wrap=True)
        self.waiting.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.centre.addWidget(self.waiting)
        work = QWidget()
        beside = QHBoxLayout(work)
        beside.setContentsMargins(GRID, GRID, GRID, GRID)
        beside.setSpacing(GRID)
        beside.addWidget(self.centre, 1)
        beside.addWidget(self.cards)
        self.body = QStackedWidget()
        self.body.addWidget(work)
        self.body.addWidget(self.hand_over)
        self.foot = QVBoxLayout()
        middle = row(self.rail, self.body, gap=0)
        middle.setStretch(1, 1)
        inside = QWidget()
        layout = column(self.header, middle, self.foot, gap=0)
        layout.setStretch(1, 1)
        inside.setLayout(layout)
        self.setCentralWidget(inside)

    def _connect(self) -> None:
        document, answers = self.document, self.answers
        self.rail.chosen.connect(self._show_stage)
        self.menus.stage_wanted.connect(self.rail.choose)
        self.menus.quit_wanted.connect(self.close)
        document.title_changed.connect(lambda _title: self._refresh())
        document.trouble.connect(self.header.news.setText)
        document.project_changed.connect(lambda _project: self._refresh())
        answers.state_changed.connect(self._refresh)
        self.check.go_to.connect(self.go_to)
        self.hand_over.go_to.connect(self.go_to)
        self.hand_over.go_to_check.connect(lambda: self.rail.choose(1))

    def go_to(self, key: str) -> None:
        """Show the stage and the field of an entry of the project."""
        for at, stage in ((3, self.alarms), (2, self.tune), (0, self.describe)):
            if key.split(".", maxsplit=1)[0] == {3: "bands", 2: "loop_settings"}.get(at, key.split(".", maxsplit=1)[0]):
                self.rail.choose(at)
                stage.go_to(key)
                return

    def _show_stage(self, at: int) -> None:
        self.body.setCurrentIndex(1 if at == HAND_OVER else 0)
        if at != HAND_OVER:
            self.cards.setCurrentIndex(at)

    def _refresh(self) -> None:
        self.setWindowTitle(self.document.title)
        self.header.show_document(self.document)
        self.rail.say(states(self.document, self.answers))
        answers = self.answers
        if answers.waiting:
            self.waiting.setText("First start: the rig is being prepared.\nDescribing works already.")
        else:
            self.waiting.setText(f"■ {answers.trouble}" if answers.trouble else "Drawing the rig …")

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802  Qt's name
        """Ask about unsaved work, stop what is going on, and remember where the window was."""
        if not self.menus.may_go_on():
            event.ignore()
            return
        self._preferences.geometry = self.saveGeometry()
        self.document.forget_copy()
        self.closed.emit()
        stop_all()
        event.accept()
