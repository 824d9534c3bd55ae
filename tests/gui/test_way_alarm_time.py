"""Time: bars and words of every alarm, the policy, the change that leaves enough, as a person sees and does it."""

import pytest
from hands import show_way
from PySide6.QtWidgets import QLabel, QPushButton
from pytestqt.qtbot import QtBot

from levelbench.alarms.names import LETTERS
from levelbench.gui.bands.way_time import Time
from levelbench.gui.document.document import Document
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import Note
from levelbench.gui.work.answers import Answers
from levelbench.project import edit_many, load, sample

LONG = 100_000  # ms; the first test of a run compiles the scan


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Time:
    """The way in sight, with what it shows."""
    document.replace(load(sample("seedling_house")), None)
    made = Time(document, Answers(document))
    show_way(qtbot, made)
    qtbot.waitUntil(made.view.picture.isVisible, timeout=LONG)
    return made


def said(way: Time) -> str:
    """Everything that stands on the card."""
    return "\n".join(one.text() for one in way.findChildren(QLabel) if one.isVisibleTo(way))


def change(qtbot: QtBot, way: Time, edits: dict[str, object]) -> None:
    """Make edits, and wait until they are seen here."""
    with qtbot.waitSignal(way.answers.checked_changed, timeout=LONG):
        way.document.replace(edit_many(way.document.project, edits), None)  # type: ignore[arg-type]
    assert way.isVisible()


def test_every_alarm_has_a_bar_a_button_and_its_words(way: Time) -> None:
    scene = way.view.picture.scene
    way.view.picture.grab()
    scene = way.view.picture.scene
    assert scene is not None
    texts = scene.texts()
    assert list(way.buttons) == list(LETTERS)
    assert {"high-high LAHH-310", "low LAL-310", "✓ 118 s", "▲ 16 s", "■ 0 s"} <= set(texts)
    assert "2 of 6 alarms that a person has to answer leave the time to act" in way.view.says.text()


def test_the_alarm_in_hand_tells_how_its_time_was_worked_out(way: Time) -> None:
    way.buttons["high"].click()
    assert way.title.text() == "High LAH-310, rising, to “spill”"
    rows = {one.figure.key: one for one in way.findChildren(FigureRow)}
    assert rows["timing.left.high"].value.text() == "157 s"
    assert rows["timing.late.high"].value.text() == "7.05 s"
    rows["timing.left.high"].why.click()
    words = [one.text() for one in rows["timing.left.high"].findChildren(QLabel)]
    assert rows["timing.left.high"].figure.formula in words


def test_starting_values_stand_beside_what_they_mean(way: Time) -> None:
    cells = way.view.rows.cells
    assert [row[0] for row in cells] == ["high-high", "high", "low", "low-low"]
    assert cells[1][1:] == ("1.006 US gal", "102 s", "3.933 US gal")
    assert "▲ high: “high-high” is passed before it comes" in way.view.meaning.text()


def test_a_policy_that_relies_on_people_becomes_a_change_that_is_taken_in_one_step(qtbot: QtBot, way: Time) -> None:
    edits = {"alarm_handling.protection": "operator may act", "duty.time_to_act": "160 s"}
    change(qtbot, way, edits)
    qtbot.waitUntil(lambda: "the operator is relied on" in said(way), timeout=LONG)
    note = next(one for one in way.findChildren(Note) if "before a spill" in one.words.text())
    before, count = way.document.project, way.document.undo_stack.count()
    take = next(one for one in note.buttons if isinstance(one, QPushButton))
    with qtbot.waitSignal(way.answers.checked_changed, timeout=LONG):
        take.click()
    assert way.document.undo_stack.count() == count + 1
    assert way.document.project.bands.high != before.bands.high
    qtbot.waitUntil(lambda: "✓ Time left to act before a spill" in said(way), timeout=LONG)
    way.document.undo_stack.undo()
    assert way.document.project == before


def test_without_alarms_it_says_so(qtbot: QtBot, way: Time) -> None:
    change(qtbot, way, {"bands": None})
    qtbot.waitUntil(lambda: "no alarms" in way.view.says.text(), timeout=LONG)
    assert not way.buttons
    assert way.title.text() == "No alarm is in use."
    assert not way.view.picture.isVisible()
