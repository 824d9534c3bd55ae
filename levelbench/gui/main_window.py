"""The window: it only places the parts. Rail, drawing over trend, the card of the stage in hand, the bench bar."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSplitter, QStackedWidget, QWidget

from levelbench.gui import window_layout
from levelbench.gui.actions import Actions
from levelbench.gui.bench.bench_bar import BenchBar
from levelbench.gui.document.disk_notice import DiskNotice
from levelbench.gui.document.document import Document
from levelbench.gui.document.file_commands import FileCommands
from levelbench.gui.document.file_drop import RECORDS, FileDrop
from levelbench.gui.help.desk import HelpDesk
from levelbench.gui.help.helped import HelpedWindow
from levelbench.gui.look.elided import Elided
from levelbench.gui.look.parts import Cards, Pages, Sheet, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.turns import in_turn, put_in_turn
from levelbench.gui.rail import Rail
from levelbench.gui.stages.staged import ALARMS, DESCRIBE, HAND_OVER, REHEARSE, TUNE
from levelbench.gui.ways.choice import Choice
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import stop_those_of
from levelbench.gui.work.states import states

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from levelbench.gui.preferences import Preferences
    from levelbench.gui.stages.operator import Rehearsed

CARD = 392  # px; the width of a stage's card
TREND = 256  # px; the height of the trend at first
SET_POINT = "start.set_point"
NEWS = 12_000  # ms that news stay in the header


class Header(QFrame):
    """The name of the rig, its loop, whether it is saved, and what is going on."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "header")
        self.title, self.loop = text("", "heading"), text("", "quiet")
        self.news = Elided("attention")
        self.news.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._quiet = QTimer(self, singleShot=True, interval=NEWS)
        self._quiet.timeout.connect(self.news.clear)
        layout = row(self.title, self.loop, self.news)
        layout.setStretchFactor(self.news, 1)
        layout.setContentsMargins(2 * GRID + 4, GRID, 2 * GRID, GRID)
        self.setLayout(layout)

    def show_document(self, document: Document) -> None:
        """Show what the open project is called and whether it is saved."""
        project = document.project
        self.title.setText(project.title)
        self.loop.setText(f"loop {project.first_letter}-{project.loop} · {document.state}")

    def tell(self, words: str) -> None:
        """Show some news for a while."""
        self.news.setText(words)
        self._quiet.start()


class MainWindow(HelpedWindow):
    """Everything in its place, and the roads between the parts."""

    def __init__(self, document: Document, answers: Answers, rehearsed: Rehearsed, preferences: Preferences) -> None:
        super().__init__(document, answers, rehearsed)
        self.preferences = preferences
        self.files = FileCommands(self, document, preferences)
        self.menus = Actions(self, document, self.files, preferences)
        self.header, self.rail = Header(), Rail()
        self.drop = FileDrop(self, self._dropped, self.header.tell)
        self._place()
        self._connect()
        self.help = HelpDesk(self, rehearsed)
        self.resize(1280, 800)
        self.setMinimumSize(window_layout.LEAST)
        window_layout.take_up(self, preferences)
        self._refresh()

    def _place(self) -> None:
        self.cards = Cards(CARD)
        self.centre = QSplitter(Qt.Orientation.Vertical)
        self.centre.setChildrenCollapsible(False)
        self.waiting = text("", "quiet", wrap=True)
        self.waiting.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.centre.addWidget(self.waiting)
        self.work = QWidget()
        beside = QHBoxLayout(self.work)
        beside.setContentsMargins(GRID, GRID, GRID, GRID)
        beside.setSpacing(GRID)
        self.room = Pages()  # drawing over trend, or what a way wants so much room for
        self.room.addWidget(self.centre)
        beside.addWidget(self.room, 1)
        beside.addWidget(self.cards)
        self.body = QStackedWidget()
        self.body.addWidget(self.work)
        self.bar = BenchBar()
        middle = row(self.rail, self.body, gap=0)
        middle.setStretch(1, 1)
        self.inside = QWidget()
        notice = DiskNotice(self.document, self.files)
        self.answers_line = JobLine()
        for one in (self.files.job_line, self.answers_line):
            one.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
            self.rail.add(one)
        layout = column(self.header, notice, middle, self.bar, gap=0)
        layout.setStretch(2, 1)
        self.inside.setLayout(layout)
        self.setCentralWidget(Sheet(self.inside))

    def _connect(self) -> None:
        document, answers = self.document, self.answers
        self.rail.chosen.connect(self._show_stage)
        self.menus.stage_wanted.connect(self.rail.choose)
        self.menus.close_wanted.connect(self.close)
        self.files.told.connect(self.header.tell)
        self.menus.again_wanted.connect(answers.again)
        answers.job_begun.connect(self.answers_line.follow)
        self.answers_line.stopped.connect(answers.stop)
        document.title_changed.connect(lambda _title: self._refresh())
        document.trouble.connect(self.header.tell)
        document.project_changed.connect(lambda _project: self._refresh())
        answers.state_changed.connect(self._refresh)
        self.stage_made.connect(self._take_stage)
        self.stage_wanted.connect(self.rail.choose)
        self.wide_changed.connect(self._show_room)
        self.troubled.connect(self.header.tell)
        self.entry_wanted.connect(self.go_to)

    def place_bench(self, trend: QWidget) -> None:
        """Put the trend under the drawing, and open the controls, now that there is a rig."""
        self.waiting.hide()
        trend.setProperty("help", "trend")  # the page that F1 opens
        self.centre.insertWidget(1, trend)
        self.centre.setStretchFactor(0, 1)
        self.centre.setStretchFactor(1, 0)
        self.centre.setSizes([2000, TREND])
        window_layout.take_up_centre(self.centre, self.preferences)
        self.rehearse.open()
        for one in (self.menus.run_action, self.menus.station_action):
            one.setEnabled(True)

    def _dropped(self, paths: Sequence[Path]) -> None:
        """Open what was let go: a table of text is a record for tuning, everything else a project."""
        records = [path for path in paths if path.suffix.lower() in RECORDS]
        if records:
            self.rail.choose(TUNE)
            self.tune.choose("record").take_file(records[0])
        if len(records) < len(paths):
            self.files.open_all([path for path in paths if path not in records])

    def go_to(self, key: str, *, focus: bool = True) -> None:
        """Show the stage of an entry of the project, with the cursor in its field."""
        section = key.partition(".")[0]
        at = {"bands": ALARMS, "alarm_handling": ALARMS, "loop_settings": TUNE}.get(section, DESCRIBE)
        self.rail.choose(at)
        stage = self.alarms if at == ALARMS else self.tune if at == TUNE else self.describe
        stage.go_to(key, focus=focus)

    def look_at(self, key: str) -> None:
        """Show the card of what was pressed on in the drawing; the keyboard stays where it is."""
        if self.rail.at == ALARMS and self.alarms.looks_at(key):
            return
        if "." in key and key != SET_POINT and self.rail.at not in (REHEARSE, HAND_OVER):
            self.go_to(key, focus=False)

    def _take_stage(self, at: int, stage: QWidget) -> None:
        """Place a stage that has just been made; the keyboard reaches it after the rail."""
        before = in_turn(self.cards if self.cards.count() else self.rail)[-1]
        (self.body if at == HAND_OVER else self.cards).addWidget(stage)
        put_in_turn(stage, before)

    def _show_stage(self, at: int) -> None:
        stage = self.stage(at)
        self.body.setCurrentWidget(stage if at == HAND_OVER else self.work)
        if at != HAND_OVER:
            self.cards.setCurrentWidget(stage)
        self._show_room()

    def _show_room(self) -> None:
        """Show beside the card what a way wants so much room for, else drawing and trend."""
        stage = self.stage(self.rail.at)
        wide = stage.wide if isinstance(stage, Choice) else None
        if wide is not None and self.room.indexOf(wide) < 0:
            self.room.addWidget(wide)
            put_in_turn(wide, in_turn(self.rail)[-1])
        self.room.setCurrentWidget(wide or self.centre)

    def _refresh(self) -> None:
        self.setWindowFilePath(str(self.document.path or ""))
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
        if not self.files.may_go_on():
            event.ignore()
            return
        window_layout.remember(self, self.centre, self.rail.at, self.preferences)
        self.closed.emit()
        for whole in (self, self.document):
            stop_those_of(whole)
        self.document.copy.forget()
        event.accept()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Look whether the file was changed when the person comes back; show everything anew in other marks."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.LocaleChange:
            document = self.document
            QTimer.singleShot(0, document, lambda: document.project_changed.emit(document.project))
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.document.watch.look()
