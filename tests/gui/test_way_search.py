"""Search on the card: boxes that refuse, work that can be stopped, a curve to choose on, settings taken in one step."""

import sys
from functools import partial

import pytest
from hands import show_way, types
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.help.pages import written
from levelbench.gui.tuning import way_search
from levelbench.gui.tuning.way_search import Search
from levelbench.gui.work.answers import Answers
from levelbench.project import load, sample
from levelbench.rig import assemble
from levelbench.tuning.search.target import loop_of

LONG = 100_000  # ms
whole = sys.modules["levelbench.tuning.search.search"]  # its package has a function of the same name
Keys = Qt.Key


@pytest.fixture
def way(qtbot: QtBot, document: Document, monkeypatch: pytest.MonkeyPatch) -> Search:
    monkeypatch.setattr(way_search, "search", partial(way_search.search, budget=1_500_000))
    for name, few in (("_TRIED", 8), ("_COUNTED", 8), ("_PICK_COUNTED", 16)):
        monkeypatch.setattr(whole, name, few)
    document.replace(load(sample("seedling_house")), None)
    answers = Answers(document)
    made = Search(document, answers)
    show_way(qtbot, made)
    qtbot.waitUntil(lambda: not answers.working and made.go.isEnabled(), timeout=LONG)
    return made


def searched(qtbot: QtBot, way: Search) -> None:
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    assert not way.go.isEnabled()
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)


def test_a_point_is_chosen_by_hand_and_by_key_and_taken_in_one_step(qtbot: QtBot, way: Search) -> None:
    searched(qtbot, way)
    view, curve, document = way.view, way.view.curve, way.document
    assert curve.isVisible()
    assert view.minimumSizeHint().height() <= 596  # px; the room that a window of 1272 × 760 has for it
    assert view.settings.text().startswith("Proposed:")
    proposed = curve.at
    qtbot.keyClick(curve, Keys.Key_Home)
    assert curve.at == 0
    assert view.settings.text().startswith("Proposed:" if proposed == 0 else "Chosen:")
    qtbot.keyClick(curve, Keys.Key_Left)  # left is calmer
    assert curve.at == 1
    scale = curve.scale
    assert scale is not None
    last = len(scale.front) - 1
    place = scale.place(scale.front[last], scale.panes[0]).toPoint()
    qtbot.mouseClick(curve, Qt.MouseButton.LeftButton, pos=place)
    assert curve.at == last
    chosen = view.chosen
    assert chosen is scale.front[last]
    for _, words in chosen.words:
        assert words in view.settings.text()
    before = document.project
    qtbot.waitUntil(lambda: view.step.trying, timeout=LONG)
    qtbot.mouseClick(view.take, Qt.MouseButton.LeftButton)
    assert loop_of(assemble(document.project)).settings.gain == pytest.approx(chosen.loop.settings.gain, rel=1e-9)
    document.undo_stack.undo()
    assert document.project.text == before.text
    assert not document.undo_stack.canUndo()


def test_the_table_shows_now_beside_chosen_with_the_units_of_the_project(qtbot: QtBot, way: Search) -> None:
    searched(qtbot, way)
    qtbot.waitUntil(lambda: len(way.view.table.words()) >= 8, timeout=LONG)
    rows = {name: (now, chosen) for name, now, chosen in way.view.table.words()}
    assert "US gal" in rows["overshoot"][0]
    assert rows["time to settle"][1]
    assert "%" in rows["chance of a break, at most"][1]


def test_a_box_that_can_not_be_read_says_so_and_nothing_is_searched(qtbot: QtBot, way: Search) -> None:
    draw = way.form.ranges["draw"]
    for typed, reason in (("5 furlong", "furlong"), ("9 gal/min", "smaller one first"), ("", "")):
        types(qtbot, draw.boxes[0], typed or " ")
        way.begin()
        assert way.go.isEnabled()
        assert draw.under.text().startswith("✗")
        assert reason in draw.under.text()
        assert not draw.visibleRegion().isEmpty()  # it was below the fold
    qtbot.mouseClick(way.form.reset, Qt.MouseButton.LeftButton)
    assert not draw.under.text().startswith("✗")
    assert draw.boxes[0].text() == "0.25 US gal/min"
    types(qtbot, way.form.sensitivity.boxes[0], "0.9")
    way.begin()
    assert way.form.sensitivity.under.text().startswith("✗")


def test_what_is_typed_is_asked_in_its_unit_and_the_rest_as_it_is(qtbot: QtBot, way: Search) -> None:
    types(qtbot, way.form.overshoot.boxes[0], "0.2 l")
    types(qtbot, way.form.travel.boxes[0], "3 %/s")
    types(qtbot, way.form.ranges["averaging"].boxes[1], "40")
    box, limits, digits = way.form.asked()
    assert limits.overshoot == pytest.approx(2e-4)
    assert limits.travel == pytest.approx(0.03)
    assert (box.averaging.least, box.averaging.most) == (20, 40)
    assert digits == 3


def test_it_can_be_stopped_and_keeps_what_was_there(qtbot: QtBot, way: Search, monkeypatch: pytest.MonkeyPatch) -> None:
    searched(qtbot, way)
    shown = way.view.settings.text()
    monkeypatch.setattr(way_search, "search", partial(way_search.search, budget=10**12))
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(way.job_line.isVisible, timeout=LONG)
    qtbot.mouseClick(way.job_line.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)
    assert way.view.settings.text() == shown
    assert way.state.text() == ""


def test_nothing_that_holds_is_said_with_the_nearest(qtbot: QtBot, way: Search) -> None:
    types(qtbot, way.form.sensitivity.boxes[0], "1.03")
    searched(qtbot, way)
    assert "No settings keep the limits" in way.view.says.text()
    assert way.view.settings.text().startswith("Nearest:")
    assert not way.view.take.isVisible()
    assert not way.view.curve.isVisible()


def test_a_change_of_the_project_makes_the_answer_old(qtbot: QtBot, way: Search) -> None:
    searched(qtbot, way)
    way.document.edit("pump.spin_up", "0.8 s")
    qtbot.waitUntil(lambda: "changed since" in way.view.says.text(), timeout=LONG)
    assert way.form.ranges["spin_up"].boxes[0].text() == "0.6 s"


def test_nothing_that_was_found_for_one_project_is_taken_into_another(qtbot: QtBot, way: Search) -> None:
    searched(qtbot, way)
    way.document.replace(load(sample("parts_washer")), None)
    assert not way.view.curve.isVisible()
    assert not way.view.take.isVisible()
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)
    assert way.view.says.text().startswith("Press Search")


def test_its_help_is_there() -> None:
    page = written("tune-search")
    assert {"what-it-does", "the-curve", "the-chance", "when-nothing-holds"} <= set(page.anchors)
