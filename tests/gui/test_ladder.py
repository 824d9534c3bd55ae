"""The ladder in the window: new alarms, whole sentences, the whole table, half-typed values, what is out of order."""

import pytest
from hands import LONG, Running, show_stage, types
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.bands.parts import PARTS, entry_of, has
from levelbench.gui.bands.row_view import WIDTHS, fit_column
from levelbench.gui.bands.rows import ALARMS
from levelbench.gui.bands.way_ladder import Ladder
from levelbench.gui.bench.live_changes import changed_entries, reset_reason
from levelbench.gui.document.document import Document
from levelbench.gui.fields.sentences import SentenceBox
from levelbench.gui.fields.value_cell import ValueCell
from levelbench.gui.help.desk import place_of
from levelbench.gui.help.pages import WRITTEN
from levelbench.gui.main_window import MainWindow
from levelbench.gui.stages.alarms import Alarms
from levelbench.gui.stages.staged import ALARMS as STAGE
from levelbench.gui.work.answers import Answers
from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import assemble

Keys = Qt.Key
EVERY: dict[str, Value] = {
    "bands.rate_of_change.limit": "1.6 gal/min",
    "bands.no_rise.limit": "0.25 gal",
    "bands.frozen_signal.limit": "0 gal",
    "bands.bad_signal.priority": "high",
    "bands.switch.priority": "high",
    "bands.spill.priority": "high",
}
OTHER: dict[str, Value] = {"dead_band": "0.02 gal", "on_delay": "7 s", "off_delay": "9 s", "latching": True}


@pytest.fixture
def ladder(qtbot: QtBot, document: Document) -> Ladder:
    answers = Answers(document)
    stage = Alarms(document, answers)
    stage.begin()
    show_stage(qtbot, stage, 900)
    qtbot.waitUntil(lambda: not answers.working, timeout=LONG)
    return stage.ladder


def worked_out(qtbot: QtBot, ladder: Ladder) -> None:
    qtbot.waitUntil(lambda: not ladder.answers.working, timeout=LONG)


def press(qtbot: QtBot, widget: QWidget | None) -> None:
    assert widget is not None
    qtbot.mouseClick(widget, Qt.MouseButton.LeftButton)


def test_a_new_alarm_is_proposed_explained_and_reached_by_its_field(
    qtbot: QtBot, ladder: Ladder, document: Document
) -> None:
    document.edit("bands.no_rise", None)
    document.undo_stack.clear()
    worked_out(qtbot, ladder)
    ladder.table.choose("no_rise")
    assert "left out" in ladder.card.sentence.text()
    press(qtbot, ladder.table.rows["no_rise"].in_use)
    worked_out(qtbot, ladder)
    assert document.project.bands.no_rise is not None
    assert document.undo_stack.undoText() == "take no rise alarm into use"
    assert ladder.card.sentence.text().startswith("It comes once the output has been 90 % or more (and the PV not up")
    assert ladder.go_to("bands.no_rise.output_above")
    box = ladder.card.fields["bands.no_rise.output_above"].boxes()[0]
    assert box.hasFocus()
    assert isinstance(box, QLineEdit)
    types(qtbot, box, "80 %", enter=True)
    assert document.project.bands.no_rise.output_above.text == "80 %"
    assert "80 %" in ladder.card.sentence.text()


def test_a_sentence_is_typed_whole_and_is_one_step(qtbot: QtBot, ladder: Ladder, document: Document) -> None:
    assert ladder.go_to("bands.high.operator_action")
    box = ladder.card.fields["bands.high.operator_action"].boxes()[0]
    assert isinstance(box, SentenceBox)
    before = document.project.bands.high
    assert before is not None
    box.selectAll()
    words = "Look at the mode, then stop the pump; if it does not stop, pull the plug and call."
    qtbot.keyClicks(box, words)
    height = box.height()
    assert document.project.bands.high == before  # half-typed: nothing is edited
    qtbot.keyClick(box, Keys.Key_Return)
    assert document.project.bands.high.operator_action == words
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == "write high operator action"
    qtbot.keyClicks(box, " And then some more of it, so that it takes another line of the box.")
    qtbot.waitUntil(lambda: box.height() > height)
    qtbot.keyClick(box, Keys.Key_Escape)
    assert box.words == words
    document.undo_stack.undo()
    qtbot.waitUntil(lambda: box.words == before.operator_action)


def test_what_is_out_of_order_stays_as_typed_with_a_mark_and_a_finding(
    qtbot: QtBot, ladder: Ladder, document: Document
) -> None:
    types(qtbot, ladder.table.cell("low", "volume"), "4.6", enter=True)
    worked_out(qtbot, ladder)
    limits = {name: getattr(document.project.bands, name).limit.text for name in ("high", "low", "low_low")}
    assert limits == {"high": "4.30 gal", "low": "4.6 US gal", "low_low": "1.40 gal"}
    assert ladder.table.under["set_point_low"].text().startswith("■ wrong order")
    assert ladder.table.rows["low"].mark.text() in ("■", "▲")
    assert "Order of the ladder" in ladder.table.rows["low"].mark.accessibleName()
    assert "Order of the ladder" in ladder.warnings.text()


def test_a_refused_number_stays_while_others_change(qtbot: QtBot, ladder: Ladder, document: Document) -> None:
    cell = ladder.table.cell("high", "height")
    types(qtbot, cell, "40 in", enter=True)
    assert "outside the tank" in ladder.table.reason.text()
    document.edit("bands.low.on_delay", "11 s")
    worked_out(qtbot, ladder)
    assert cell.text() == "40 in"
    types(qtbot, ladder.table.cell("low", "volume"), "1.8", enter=True)
    worked_out(qtbot, ladder)
    assert cell.text() == "40 in"
    assert ladder.table.cell("low", "volume").text() == "1.80"
    qtbot.keyClick(cell, Keys.Key_Escape)
    assert cell.text() == "8.80"


def test_switch_and_set_points_are_typed_where_they_stand(qtbot: QtBot, ladder: Ladder, document: Document) -> None:
    types(qtbot, ladder.table.cell("switch", "height"), "11.5", enter=True)
    assert document.project.overflow_switch.trips_at is not None
    assert document.project.overflow_switch.trips_at.si == pytest.approx(11.5 * 0.0254)
    types(qtbot, ladder.table.cell("set_point_high", "volume"), "3.9", enter=True)
    assert document.project.loop_settings.set_point_high.text == "3.9 US gal"
    assert document.undo_stack.count() == 2


def test_the_whole_table_edits_every_part(qtbot: QtBot, ladder: Ladder, document: Document) -> None:
    press(qtbot, ladder.large)
    qtbot.waitUntil(lambda: ladder.tables.whole.is_made)
    qtbot.addWidget(ladder.tables.whole)
    ladder.tables.whole.show()
    assert ladder.wide is ladder.tables.whole
    assert not ladder.table.isVisible()
    table = ladder.tables.whole.table
    types(qtbot, table.cell("high", "dead_band"), "0.07", enter=True)
    types(qtbot, table.cell("high", "on_delay"), "1 min", enter=True)
    press(qtbot, table.rows["high"].boxes["latching"])
    choice = table.rows["high"].choices["suppressed_while"]
    wide = choice.width()
    choice.setFocus()
    qtbot.keyClick(choice, Keys.Key_End)
    choice.activated.emit(choice.currentIndex())
    assert (choice.currentText(), choice.width()) == ("either", wide)  # the longest choice takes no more room
    high = document.project.bands.high
    assert high is not None
    assert (high.dead_band.text, high.on_delay.text) == ("0.07 US gal", "1 min")
    assert high.latching
    assert high.suppressed_while == "not started or manual"
    assert document.undo_stack.count() == 4
    worked_out(qtbot, ladder)
    assert table.cell("high", "on_delay").text() == "60"
    assert ladder.alarm == table.alarm == "high"  # the row in hand is the one beside the table
    press(qtbot, ladder.tables.whole.back)
    assert ladder.wide is None
    assert ladder.table.isVisible()


def test_a_delay_that_can_not_be_is_refused_under_the_table(qtbot: QtBot, ladder: Ladder, document: Document) -> None:
    ladder.large.click()
    qtbot.waitUntil(lambda: ladder.tables.whole.is_made)
    qtbot.addWidget(ladder.tables.whole)
    ladder.tables.whole.show()
    project, cell = document.project, ladder.tables.whole.table.cell("high", "on_delay")
    types(qtbot, cell, "5 gal", enter=True)
    assert ladder.tables.whole.table.reason.text().startswith("✗")
    assert cell.text() == "5 gal"
    assert document.project is project


def test_every_change_of_an_alarm_goes_into_a_running_bench() -> None:
    calm = {f"bands.{row.key}.latching": False for row in ALARMS}
    project = edit_many(load(sample("seedling_house")), EVERY | calm)
    before = assemble(project)
    for row in ALARMS:
        parts = [part for part in PARTS if has(row, part) and part.key in OTHER]
        edits = {entry_of(row, part): OTHER[part.key] for part in parts}
        if row.key == "rate_of_change":
            edits["bands.rate_of_change.dead_band"] = "0.1 gal/min"
        after = assemble(edit_many(project, edits))
        assert reset_reason(before, after) == ""
        assert len(changed_entries(before, after)) == len(edits)
        left_out = assemble(edit_many(project, {f"bands.{row.key}": None}))
        assert reset_reason(before, left_out) == ""
        assert changed_entries(before, left_out)[f"{row.name} in use"] == 0.0


def test_a_running_bench_takes_a_new_alarm_at_once(qtbot: QtBot, running: Running) -> None:
    window, _bench, live = running
    window.document.edit("bands.rate_of_change", None)
    window.rail.choose(STAGE)
    ladder = window.alarms.ladder
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)
    live.run()
    press(qtbot, ladder.table.rows["rate_of_change"].in_use)
    qtbot.waitUntil(lambda: "rate of change limit" in {line.what for line in live.past().recording().journal})
    live.pause()
    assert "rate of change" in window.header.news.text()


def test_an_alarm_that_is_left_out_comes_into_use_by_typing_its_limit(qtbot: QtBot, running: Running) -> None:
    window, _bench, _live = running
    window.document.edit("bands.high_high", None)
    window.go_to("bands.high_high.limit")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=LONG)
    qtbot.waitUntil(box.isVisible)
    types(qtbot, box, "5.10 gal", enter=True)
    band = window.document.project.bands.high_high
    assert band is not None
    assert band.limit.text == "5.10 gal"


def test_the_drawing_leads_to_the_row_and_stays_in_the_stage(window: MainWindow) -> None:
    window.rail.choose(STAGE)
    window.look_at("bands.low.limit")
    assert window.alarms.ladder.alarm == "low"
    window.look_at("overflow_switch.trips_at")
    assert window.rail.at == STAGE
    assert window.alarms.ladder.alarm == "switch"
    window.look_at("loop_settings.set_point_high")
    assert window.rail.at == STAGE


def test_f1_finds_its_page_and_the_handling_is_reached(qtbot: QtBot, window: MainWindow) -> None:
    window.rail.choose(STAGE)
    ladder = window.alarms.ladder
    ladder.large.click()
    qtbot.waitUntil(lambda: ladder.tables.whole.is_made)
    page = place_of(ladder.tables.whole.table.cell("high", "volume"))
    assert page.partition("#")[0] in WRITTEN
    assert page == "alarms#the-whole-table"
    window.go_to("alarm_handling.shelve_at_most")
    assert window.focusWidget() in ladder.handling.form.fields["alarm_handling.shelve_at_most"].boxes()


def test_a_column_is_as_wide_as_its_longest_value_and_no_narrower_than_usual(qtbot: QtBot) -> None:
    cells = [ValueCell(f"cell {at}", str, 1.0) for at in range(2)]
    for one in cells:
        qtbot.addWidget(one)
    cells[1].put(7.0, "7")
    for words, wide in (("12", WIDTHS["seconds"]), ("10484", cells[0].fontMetrics().horizontalAdvance("10484") + 10)):
        cells[0].put(float(words), words)
        fit_column(cells, "seconds", whole=False)
        assert cells[0].width() == cells[1].width() >= wide
    assert cells[1].width() > WIDTHS["seconds"]
