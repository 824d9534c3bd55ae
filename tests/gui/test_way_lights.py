"""Lights: the truth table edited and proved at once, tried out, tested on the bench, and its silence proved."""

import pytest
from hands import LONG, Running
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from levelbench.gui.bands.lights_view import Drawn
from levelbench.gui.bands.way_lights import Lights
from levelbench.gui.document.document import Document
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.stages.staged import ALARMS
from levelbench.gui.work import jobs
from levelbench.gui.work.answers import Answers
from levelbench.project import load, sample
from levelbench.project.records import LAMP_COLOURS, LAMP_STATES

HIGH, NORMAL, MANUAL = (LAMP_STATES.index(one) for one in ("high", "normal", "manual"))
YELLOW, GREEN, BLUE = (LAMP_COLOURS.index(one) for one in ("yellow", "green", "blue"))
HORN, ANSWER, TRY = 4, 5, 6  # columns after the lamps


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Lights:
    """The way in sight, with the rig that it proves."""
    document.replace(load(sample("seedling_house")), None)
    made = Lights(document, Answers(document))
    for shown, size in ((made, (380, 700)), (made.view, (655, 640))):
        qtbot.addWidget(shown)
        shown.resize(*size)
        with qtbot.waitActive(shown):
            shown.show()
            shown.activateWindow()
    qtbot.waitUntil(lambda: "light.displays" in figures(made), timeout=LONG)
    return made


def figures(way: Lights) -> dict[str, str]:
    return {one.figure.key: one.value.text() for one in way.findChildren(FigureRow) if not one.isHidden()}


def step(qtbot: QtBot, way: Lights, row: int, column: int, times: int = 1) -> None:
    """Press Space on a cell."""
    grid = way.view.table.grid
    grid.setFocus()
    grid.setCurrentCell(row, column)
    for _ in range(times):
        qtbot.keyClick(grid, Qt.Key.Key_Space)


def said(way: Lights) -> str:
    return "\n".join(one.text() for one in way.findChildren(QLabel) if one.isVisibleTo(way))


def test_the_assumed_table_is_proved_in_words_and_figures(way: Lights) -> None:
    assert way.verdict.text().startswith("✓ Proved")
    found = figures(way)
    assert found["light.displays"] == "6"
    assert (found["light.dark_states"], found["light.colour_only"], found["light.against_meaning"]) == ("0", "0", "0")
    assert way.take_them.isHidden()
    assert not way.findChildren(Drawn)


def test_each_change_is_proved_at_once_and_what_is_told_by_colour_alone_is_drawn(qtbot: QtBot, way: Lights) -> None:
    document = way.document
    step(qtbot, way, HIGH, BLUE)  # flashing to off: yellow steady alone, as green is when all is normal
    assert way.verdict.text().startswith("▲")
    assert "colour alone" in way.verdict.text()
    qtbot.waitUntil(lambda: figures(way).get("light.colour_only", "0") != "0")
    one, other = [drawn for drawn in way.findChildren(Drawn) if not drawn.isHidden()][:2]
    assert {one.words.text(), other.words.text()} == {"green steady, blue steady", "yellow steady, blue steady"}
    assert one.states.text() != other.states.text()
    assert "all lamps off" not in one.light.words
    assert document.undo_stack.count() == 1
    assert not way.take_them.isHidden()
    qtbot.keyClick(way.take_them, Qt.Key.Key_Space)
    assert way.verdict.text().startswith("✓ Proved")
    assert document.undo_stack.count() == 2
    assert document.undo_stack.undoText() == "take the assumed lamps"
    document.undo_stack.undo()
    assert way.verdict.text().startswith("▲")
    document.undo_stack.undo()
    assert way.verdict.text().startswith("✓ Proved")


def test_a_dark_state_and_a_colour_against_its_meaning_are_named(qtbot: QtBot, way: Lights) -> None:
    step(qtbot, way, NORMAL, GREEN, 2)  # on, flashing, off
    assert "Dark: normal." in way.verdict.text()
    step(qtbot, way, HIGH, GREEN)
    assert "Colour against its meaning: high." in way.verdict.text()


def test_the_drawn_light_shows_the_row_in_hand_and_ticked_rows_together(qtbot: QtBot, way: Lights) -> None:
    view = way.view
    view.table.grid.setFocus()
    view.table.grid.setCurrentCell(NORMAL, 0)
    assert (view.states.text(), view.words.text(), view.horn.text()) == ("normal", "green steady", "no horn")
    step(qtbot, way, HIGH, TRY)
    step(qtbot, way, MANUAL, TRY)
    assert view.states.text() == "high with manual"
    assert view.words.text() == "yellow steady, blue flashing"  # flashing wins over steady
    assert view.light.words == view.words.text()
    assert view.horn.text() == "♪ the horn sounds"
    step(qtbot, way, HIGH, ANSWER)
    qtbot.keyClick(view.answered, Qt.Key.Key_Space)
    assert view.words.text() == "yellow steady, blue steady"
    assert view.horn.text() == "no horn"
    row = next(one for one in way.document.project.stack_light if one.state == "high")
    assert row.acknowledged == "steady"
    step(qtbot, way, NORMAL, TRY)
    assert "never brings these about at once" in view.states.text()
    qtbot.keyClick(view.untick, Qt.Key.Key_Space)
    assert view.states.text() == "normal"


def test_the_silence_is_proved_in_a_job_and_is_out_of_date_after_an_edit(qtbot: QtBot, way: Lights) -> None:
    qtbot.keyClick(way.prove, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: "sounded again" in way.silences.text(), timeout=LONG)
    assert [one.partition(":")[0] for one in way.silences.text().splitlines()] == [
        "✓ stop pressed", "✓ switch tripped", "✓ sensor failed",
    ]  # fmt: skip
    rows = [one for one in way.findChildren(FigureRow) if one.figure.key == "light.sounded_again"]
    allowed = way.document.project.alarm_handling.silence_at_most.si
    assert all(one.figure.si == pytest.approx(allowed, abs=0.2) for one in rows)
    qtbot.waitUntil(way.prove.isEnabled, timeout=LONG)
    box = way.silence.fields["alarm_handling.silence_at_most"].boxes()[0]
    box.setFocus()
    box.selectAll()  # type: ignore[attr-defined]
    qtbot.keyClicks(box, "20 s")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert way.document.project.alarm_handling.silence_at_most.si == 20.0
    assert way.silences.text() == "Not proved yet for this project."


def test_a_silence_that_was_proved_for_the_project_before_is_not_shown(qtbot: QtBot, way: Lights) -> None:
    way.prove.click()
    way.document.edit("alarm_handling.silence_at_most", "20 s")
    qtbot.waitUntil(lambda: jobs.busy() == 0 and not way.answers.working, timeout=LONG)
    assert way.silences.text() == "Not proved yet for this project."


def test_an_edit_reaches_the_running_bench_and_the_test_button_lights_it(qtbot: QtBot, running: Running) -> None:
    window, _, live = running
    window.rail.choose(ALARMS)
    way = window.alarms.choose("lights")
    assert isinstance(way, Lights)
    live.act("power on")
    live.act("high limit", 0.001)
    live.act("high on-delay", 0.0)
    live.scan_once()
    qtbot.waitUntil(lambda: way.view.live.words == "yellow steady, blue flashing", timeout=LONG)
    assert live.view is not None
    time = live.view["time"]
    step(qtbot, way, HIGH, YELLOW)  # on to flashing
    qtbot.waitUntil(lambda: live.newest is not None and live.newest.project == window.document.project, timeout=LONG)
    live.scan_once()
    qtbot.waitUntil(lambda: way.view.live.words == "yellow flashing, blue flashing", timeout=LONG)
    assert live.view["time"] > time, "the run went on"
    assert window.bar.lamps.words == "yellow flashing, blue flashing"
    assert ("lamps high", "operator") in [(one.what, one.who) for one in live.heard if one.kind == "action"]
    qtbot.keyClick(way.view.test, Qt.Key.Key_Space)
    live.scan_once()
    qtbot.waitUntil(lambda: "red steady" in way.view.live.words, timeout=LONG)
    window.alarms.choose("ladder")  # nobody sees the button any more
    live.scan_once()
    qtbot.waitUntil(lambda: "red" not in window.bar.lamps.words, timeout=LONG)
