"""The ways of a stage: one is chosen, made at that moment, and may take the room of drawing and trend."""

import sys
from dataclasses import replace
from types import ModuleType

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.help.desk import place_of
from levelbench.gui.help.pages import WRITTEN
from levelbench.gui.main_window import CARD, MainWindow
from levelbench.gui.stages import tune
from levelbench.gui.stages.staged import ALARMS, CHECK, TUNE
from levelbench.gui.tuning.ways import EVIDENCE, HAND, OFFERS
from levelbench.gui.ways.way import Offer, Way
from levelbench.gui.work.answers import Answers


class Plain(Way):
    """A way with something wide, that notes when it comes and goes."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.heard: list[str] = []
        self.body.addWidget(QLabel("plain"))
        self.wide = QLabel("wide")

    def chosen(self) -> None:
        self.heard.append("chosen")

    def left(self) -> None:
        self.heard.append("left")


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> Offer:
    offer = Offer("plain", "Plain", "only here", EVIDENCE)
    module = ModuleType("levelbench.gui.tuning.way_plain")
    vars(module)["Plain"] = Plain
    monkeypatch.setitem(sys.modules, module.__name__, module)
    monkeypatch.setattr(tune, "OFFERS", replace(OFFERS, every=(OFFERS.every[0], offer)))
    return offer


def test_a_way_is_made_when_it_is_first_chosen_and_hears_of_it(plain: Offer, qtbot: QtBot, window: MainWindow) -> None:
    window.rail.choose(TUNE)
    assert list(window.tune.ways) == [HAND]
    window.tune.buttons[HAND].setFocus()
    qtbot.keyClick(window.tune.buttons[HAND], Qt.Key.Key_Down)
    assert window.tune.buttons["plain"].isChecked()
    qtbot.waitUntil(lambda: isinstance(window.tune.way, Plain))
    made = window.tune.way
    assert isinstance(made, Plain)
    assert made.heard == ["chosen"]
    assert window.room.currentWidget() is made.wide
    qtbot.mouseClick(window.tune.buttons[HAND], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: made.heard == ["chosen", "left"])
    assert window.room.currentWidget() is window.centre
    assert window.tune.choose("plain") is made


def test_what_is_wide_goes_with_the_stage_and_changes_when_the_way_says(plain: Offer, window: MainWindow) -> None:
    window.rail.choose(TUNE)
    made = window.tune.choose("plain")
    window.rail.choose(CHECK)
    assert window.room.currentWidget() is window.centre
    window.rail.choose(TUNE)
    assert window.room.currentWidget() is made.wide
    made.wide = other = QWidget()
    assert window.room.currentWidget() is other
    made.wide = None
    assert window.room.currentWidget() is window.centre


def test_an_entry_of_the_loop_is_shown_by_hand(plain: Offer, window: MainWindow) -> None:
    window.rail.choose(TUNE)
    window.tune.choose("plain")
    window.go_to("loop_settings.gain")
    assert window.tune.way is window.tune.hand
    assert window.tune.buttons[HAND].isChecked()


def test_f1_opens_the_page_of_the_way_that_is_chosen(window: MainWindow) -> None:
    for at, stage in ((TUNE, window.tune), (ALARMS, window.alarms)):
        window.rail.choose(at)
        for key in stage.buttons:
            made, page = stage.choose(key), stage.offers.page(key)
            assert page in WRITTEN
            assert place_of(made) == page
            if made.wide is not None:
                assert place_of(made.wide).partition("#")[0] == page
            for control in made.findChildren(QPushButton)[:3]:
                assert place_of(control)


def test_no_way_makes_the_card_wider(window: MainWindow) -> None:
    for at, stage in ((TUNE, window.tune), (ALARMS, window.alarms)):
        window.rail.choose(at)
        for key in stage.buttons:
            stage.choose(key)
            assert stage.minimumSizeHint().width() <= CARD
