"""A person at the window, for stories: what they do is typing and pressing, what they know is what they read."""

from collections.abc import Callable

from hands import LONG, Running
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.speeds import speed_words
from levelbench.gui.document.document import Document
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.rail import STAGES
from levelbench.gui.station.station import Station

Keys = Qt.Key


def words_in(widget: QWidget) -> str:
    """Give what can be read on a widget."""
    kinds: tuple[type[QLabel] | type[QAbstractButton], ...] = (QLabel, QAbstractButton)
    return "\n".join(one.text() for kind in kinds for one in widget.findChildren(kind) if one.isVisible())


class Person:
    """Somebody at the main window with its rig on the bench."""

    def __init__(self, qtbot: QtBot, running: Running) -> None:
        self.qtbot = qtbot
        self.window, self.bench, self.live = running

    @property
    def document(self) -> Document:
        return self.window.document

    def waits_until(self, true: Callable[[], object]) -> None:
        self.qtbot.waitUntil(lambda: bool(true()), timeout=LONG)

    def waits_for_the_answers(self) -> None:
        self.waits_until(lambda: not self.window.answers.working and self.window.answers.tuned is not None)

    def goes_to(self, stage: str) -> None:
        if not self.window.isActiveWindow():
            self.window.activateWindow()
            self.waits_until(self.window.isActiveWindow)
        self.qtbot.keyClick(self.window, Keys(Keys.Key_1 + STAGES.index(stage)), Qt.KeyboardModifier.ControlModifier)
        assert self.window.rail.at == STAGES.index(stage)

    def types(self, box: QLineEdit, words: str, *, enter: bool = True) -> None:
        box.setFocus()
        box.selectAll()
        self.qtbot.keyClicks(box, words)
        if enter:
            self.qtbot.keyClick(box, Keys.Key_Return)

    def enters(self, key: str, words: str) -> None:
        """Type into the field of an entry, wherever it is."""
        self.window.go_to(key)
        box = QApplication.focusWidget()
        assert isinstance(box, QLineEdit), key
        self.types(box, words)

    def presses(self, one: QAbstractButton) -> None:
        assert one.isEnabled(), one.text()
        assert one.isVisible(), one.text()
        self.qtbot.mouseClick(one, Qt.MouseButton.LeftButton)

    def presses_on(self, widget: QWidget, words: str) -> None:
        self.presses(next(one for one in widget.findChildren(QPushButton) if one.text() == words and one.isVisible()))

    def finding(self, key: str) -> FindingBox:
        self.goes_to("Check")
        self.waits_until(lambda: any(one.finding.key == key for one in self.window.check.boxes()))
        return next(one for one in self.window.check.boxes() if one.finding.key == key)

    def tries(self, box: FindingBox) -> str:
        """Try what a finding offers; gives what is then read before → after."""
        box.setFocus()
        self.qtbot.keyClick(box, Keys.Key_T)
        self.waits_until(lambda: box.outcome is not None and box.outcome.adopt.isEnabled())
        outcome = box.outcome
        assert outcome is not None
        self.waits_until(lambda: box.title in words_in(outcome))
        return words_in(outcome)

    def runs_at(self, speed: float) -> None:
        chooser = self.window.bar.speed
        assert isinstance(chooser, QComboBox)
        chooser.setFocus()
        chooser.setCurrentText(speed_words(speed))
        chooser.activated.emit(chooser.currentIndex())
        if not self.live.running:
            self.presses(self.window.bar.run_button)
        assert self.live.running

    def waits_for(self, condition: str, *, gone: bool = False) -> None:
        """Watch the running rig until a condition comes, or goes."""
        self.waits_until(lambda: self.live.view is not None and self.live.view.has(condition) is not gone)

    def pauses(self) -> None:
        if self.live.running:
            self.presses(self.window.bar.run_button)

    def opens_the_station(self) -> Station:
        self.qtbot.keyClick(self.window, Keys.Key_F11)
        assert self.bench.station is not None
        made = self.bench.station.window
        assert made is not None
        self.waits_until(lambda: made.isVisible() and made.isActiveWindow())
        return made.station
