"""Record: the table in words, the form of the alarm in hand, proposed words, and the file, as a person meets them."""

import csv
from pathlib import Path

import pytest
from hands import show_way
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from levelbench.alarms.names import LETTERS, name_of
from levelbench.gui.bands.record_table import ACTION, NO_ALARM
from levelbench.gui.bands.way_record import Record
from levelbench.gui.document.document import Document
from levelbench.gui.look.parts import Note
from levelbench.gui.work.answers import Answers
from levelbench.project import edit_many, load, sample

LONG = 100_000  # ms; the first test of a run compiles the scan


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Record:
    """The way in sight, with what it shows."""
    document.replace(load(sample("seedling_house")), None)
    made = Record(document, Answers(document))
    show_way(qtbot, made)
    qtbot.waitUntil(made.view.table.isVisible, timeout=LONG)
    return made


def cells(way: Record) -> dict[str, list[str]]:
    model = way.view.table.record
    return {
        row.key: [str(model.data(model.index(at, column))) for column in range(model.columnCount())]
        for at, row in enumerate(model.rows)
    }


def test_every_alarm_stands_in_the_table_with_its_words(way: Record) -> None:
    bands, told = way.document.project.bands, cells(way)
    assert list(told) == list(LETTERS)
    for key, row in told.items():
        alarm = getattr(bands, key)
        assert alarm.cause in row
        assert alarm.consequence in row
        assert alarm.operator_action == row[ACTION]
        assert alarm.basis in row
    assert told["low_low"][0] == "low-low\nLALL-310\nhigh\n(suggested medium)"
    assert told["high"][ACTION + 1] == "157 s, worked out"
    assert "high 6 of 11" in way.view.says.text()


def test_what_asks_for_nothing_is_marked_and_words_are_proposed_for_it(qtbot: QtBot, way: Record) -> None:
    with qtbot.waitSignal(way.answers.checked_changed, timeout=LONG):
        edits = {"bands.low.operator_action": None}
        way.document.replace(edit_many(way.document.project, edits), None)  # type: ignore[arg-type]
    qtbot.waitUntil(lambda: cells(way)["low"][ACTION] == NO_ALARM, timeout=LONG)
    assert any("are not alarms: low" in one.words.text() for one in way.findChildren(Note))
    way.view.table.choose("high")
    assert not way.propose.isVisible()
    way.view.table.choose("low")
    assert way.propose.isVisible()
    count = way.document.undo_stack.count()
    with qtbot.waitSignal(way.answers.checked_changed, timeout=LONG):
        way.propose.click()
    low = way.document.project.bands.low
    assert low is not None
    assert low.operator_action == "close the drain, look at reservoir and pump"
    assert low.cause == "more is drawn than the pump gives, or the reservoir is empty"  # what was typed stays
    assert way.document.undo_stack.count() == count + 1
    assert "put them in your own" in way.state.text()
    assert cells(way)["low"][ACTION] == low.operator_action


def test_the_form_of_the_alarm_in_hand_edits_it(qtbot: QtBot, way: Record) -> None:
    way.view.table.choose("deviation")
    assert way.title.text() == "Deviation LAD-310"
    form = way._forms["deviation"]  # what a person sees under the title
    qtbot.waitUntil(form.isVisible, timeout=LONG)
    assert not any(other.isVisible() for key, other in way._forms.items() if key != "deviation")
    assert list(form.fields) == [
        f"bands.deviation.{name}"
        for name in ("cause", "consequence", "operator_action", "time_available", "basis", "priority")
    ]


def test_the_record_is_saved_where_the_person_says(
    qtbot: QtBot, way: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = str(tmp_path / "day tank")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (place, "Comma-separated values (*.csv)"))
    way.save.click()
    qtbot.waitUntil(lambda: way.state.text() == "✓ Saved as day tank.csv.", timeout=LONG)
    with (tmp_path / "day tank.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert [row[1] for row in rows[2:]] == [name_of(key) for key in LETTERS]
    assert rows[3][rows[0].index("operator action")] == cells(way)["high"][ACTION]


def test_a_place_that_can_not_be_written_to_is_told(qtbot: QtBot, way: Record, tmp_path: Path) -> None:
    way.save_to(tmp_path / "nowhere" / "alarms.csv")
    qtbot.waitUntil(lambda: way.state.text().startswith("✗"), timeout=LONG)
    assert "there is no folder" in way.state.text()


def test_without_alarms_there_is_nothing_to_save(qtbot: QtBot, way: Record) -> None:
    with qtbot.waitSignal(way.answers.checked_changed, timeout=LONG):
        way.document.replace(edit_many(way.document.project, {"bands": None}), None)
    qtbot.waitUntil(lambda: "no alarms" in way.view.says.text(), timeout=LONG)
    assert not way.save.isEnabled()
    assert not way.propose.isVisible()
    assert not any(form.isVisible() for form in way._forms.values())
