"""Alarms: a limit typed as volume, height, current or seconds; warnings while it moves; in use or left out."""

import math

import pytest
from hands import show_stage, types
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.value_cell import ValueCell
from levelbench.gui.stages.alarms import Alarms
from levelbench.gui.work.answers import Answers
from levelbench.project import edit_many

LONG = 100_000  # ms; the first test of a run compiles the scan
GALLON = 231.0  # in3 of a US gallon (NIST SP 811)
FLOOR = math.pi * 6.0**2  # in2 of an upright 12 in cylinder
Keys = Qt.Key


@pytest.fixture
def stage(qtbot: QtBot, document: Document) -> Alarms:
    document.replace(edit_many(document.project, {"tank.dead_wood": None}), None)
    answers = Answers(document)
    made = Alarms(document, answers)
    made.begin()
    show_stage(qtbot, made, 1000)
    qtbot.waitUntil(lambda: not answers.working, timeout=LONG)
    return made


def cell(stage: Alarms, band: str, column: str) -> ValueCell:
    return stage.ladder.table.cell(band, column)


def limit(document: Document, band: str) -> float:
    """Give a limit in US gal."""
    text = getattr(document.project.bands, band).limit.text
    assert text.endswith("gal")
    return float(text.split()[0])


def words_of(widget: QWidget) -> str:
    return "\n".join(one.text() for one in widget.findChildren(QLabel) if one.isVisible())


def worked_out(qtbot: QtBot, stage: Alarms) -> None:
    qtbot.waitUntil(lambda: not stage._answers.working, timeout=LONG)


def test_a_height_becomes_the_volume_typed_in_the_persons_unit(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    types(qtbot, cell(stage, "high", "height"), "9.5", enter=True)
    assert limit(document, "high") == pytest.approx(9.5 * FLOOR / GALLON, rel=1e-3)
    assert document.undo_stack.count() == 1
    worked_out(qtbot, stage)
    assert cell(stage, "high", "height").text() == "9.50"
    types(qtbot, cell(stage, "high", "height"), "20 cm", enter=True)
    assert limit(document, "high") == pytest.approx(20 / 2.54 * FLOOR / GALLON, rel=1e-3)


def test_a_current_becomes_a_volume(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    sensor = document.project.sensor
    assert sensor.face_above_floor is not None
    low, high = (sensor.face_above_floor.si - one.si for one in sensor.signal_span)
    height = low + (high - low) * (13.5 - 4) / 16  # linear between 4 and 20 mA, IEC 60381-1
    types(qtbot, cell(stage, "high", "signal"), "13.5", enter=True)
    assert limit(document, "high") == pytest.approx(height / 0.0254 * FLOOR / GALLON, rel=1e-3)


def test_seconds_to_the_spill_become_a_volume(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    now, seconds = limit(document, "high"), float(cell(stage, "high", "seconds").text())
    spill = (document.project.tank.height.si - document.project.tank.rim_to_spill.si) / 0.0254 * FLOOR / GALLON
    rate = (spill - now) / seconds  # US gal/s that the table reckons with: volume over time
    types(qtbot, cell(stage, "high", "seconds"), f"{seconds - 20:.0f}", enter=True)
    assert limit(document, "high") == pytest.approx(now + 20 * rate, rel=0.01)


def test_warnings_come_while_typing_and_nothing_is_edited(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    project = document.project
    assert stage.ladder.warnings.text().startswith("✓")
    types(qtbot, cell(stage, "high", "volume"), "5.5")
    qtbot.waitUntil(lambda: stage.ladder.warnings.text().startswith("If taken:"), timeout=LONG)
    assert "“high-high” at 5.0" in stage.ladder.warnings.text()
    assert stage.ladder.table.under["high_high"].text().startswith("■ wrong order")
    marked = {key: row.mark.text() for key, row in stage.ladder.table.rows.items()}
    assert marked["high_high"] == "■"
    assert [
        key for key in ("switch", "set_point_high", "low", "low_low") if marked[key]
    ] == []  # nothing is wrong there
    assert document.project is project
    qtbot.keyClick(cell(stage, "high", "volume"), Keys.Key_Escape)
    assert stage.ladder.warnings.text().startswith("✓")
    assert cell(stage, "high", "volume").text() == "4.30"
    assert not stage.ladder.table.under["high_high"].isVisible()


def test_a_dead_band_inside_the_noise_is_warned_of_while_typing(
    qtbot: QtBot, stage: Alarms, document: Document
) -> None:
    assert stage.go_to("bands.high.dead_band")
    box = stage.ladder.card.fields["bands.high.dead_band"].boxes()[0]
    assert isinstance(box, QLineEdit)
    types(qtbot, box, "0.001 gal")
    qtbot.waitUntil(lambda: "Dead bands against the noise" in stage.ladder.warnings.text(), timeout=LONG)
    assert document.undo_stack.count() == 0
    qtbot.keyClick(box, Keys.Key_Escape)
    assert stage.ladder.warnings.text().startswith("✓")
    types(qtbot, box, "0.001 gal", enter=True)
    worked_out(qtbot, stage)
    qtbot.waitUntil(lambda: "in σ of the PV" in words_of(stage))
    assert "there is less at: high" in words_of(stage)
    take = next(one for one in stage.findChildren(QPushButton) if one.text() == "Take it")
    qtbot.mouseClick(take, Qt.MouseButton.LeftButton)
    worked_out(qtbot, stage)
    assert stage.ladder.warnings.text().startswith("✓")


def test_the_room_to_the_neighbours_is_told_in_volume_height_and_seconds(stage: Alarms) -> None:
    stage.ladder.table.choose("high")
    words = stage.ladder.card.above.text()
    assert words.startswith("↑ up to high-high: ")
    volume, height, seconds = words.partition(": ")[2].split(" · ")
    assert float(volume.split()[0]) == pytest.approx(0.70)  # 5.00 less 4.30
    assert float(height.split()[0]) == pytest.approx(0.70 * GALLON / FLOOR, abs=0.01)
    left = float(cell(stage, "high", "seconds").text()) - float(cell(stage, "high_high", "seconds").text())
    assert float(seconds.split()[0]) == pytest.approx(left, abs=1.5)
    assert stage.ladder.card.below.text().startswith("↓ down to set point, highest: ")


def test_a_limit_is_left_out_and_comes_back_as_it_was(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    was = document.project.bands.high
    box = stage.ladder.table.rows["high"].in_use
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton)
    assert document.project.bands.high is None
    worked_out(qtbot, stage)
    assert cell(stage, "high", "volume").text() == ""
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton)
    assert document.project.bands.high == was
    assert document.undo_stack.count() == 2
    assert document.undo_stack.undoText() == "take high alarm into use"


def test_a_limit_that_never_was_begins_between_its_neighbours(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    document.edit("bands.high", None)
    worked_out(qtbot, stage)
    qtbot.mouseClick(stage.ladder.table.rows["high"].in_use, Qt.MouseButton.LeftButton)
    assert limit(document, "high") == pytest.approx((4.00 + 5.00) / 2, rel=1e-3)


def test_a_place_outside_the_tank_is_refused(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    project = document.project
    types(qtbot, cell(stage, "high", "height"), "40 in", enter=True)
    assert "outside the tank" in stage.ladder.table.reason.text()
    assert document.project is project
    assert stage.ladder.alarm == "high"  # the row in hand is the one below the table


def test_a_drag_on_the_drawing_is_followed_before_it_is_let_go(qtbot: QtBot, stage: Alarms, document: Document) -> None:
    project = document.project
    stage.follow_drag("bands.high.limit", "4.62 gal")
    qtbot.waitUntil(lambda: cell(stage, "high", "volume").text() == "4.62", timeout=LONG)
    assert stage.ladder.warnings.text().startswith("If taken:")
    assert float(cell(stage, "high", "height").text()) == pytest.approx(4.62 * GALLON / FLOOR, abs=0.006)
    stage.follow_drag("overflow_switch.trips_at", "11 in")
    qtbot.waitUntil(lambda: cell(stage, "switch", "height").text() == "11.00", timeout=LONG)
    stage.follow_drag("bands.deviation.limit", "0.05 gal")
    qtbot.waitUntil(lambda: "never go again" in stage.ladder.warnings.text(), timeout=LONG)
    stage.follow_drag("bands.deviation.limit", "")
    assert stage.ladder.warnings.text().startswith("✓")
    assert cell(stage, "high", "volume").text() == "4.30"
    assert document.project is project


def test_what_is_typed_in_the_table_is_told_to_the_drawing(qtbot: QtBot, stage: Alarms) -> None:
    told: list[tuple[str, str]] = []
    stage.tried.connect(lambda key, words: told.append((key, words)))
    types(qtbot, cell(stage, "high", "height"), "9.5")
    key, words = told[-1]
    assert key == "bands.high.limit"
    assert float(words.split()[0]) == pytest.approx(9.5 * FLOOR / GALLON, rel=1e-3)
    qtbot.keyClick(cell(stage, "high", "height"), Keys.Key_Escape)
    assert told[-1] == ("bands.high.limit", "")
