"""Shifts on the card: what is asked, what is shown of the answer, cancel, and the worst alarm calmed in one step."""

import time
from functools import cache

import pytest
from hands import show_way
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.alarms.proof import Proof
from levelbench.alarms.proof import prove as really
from levelbench.alarms.shifts import Use
from levelbench.gui.bands import way_shifts
from levelbench.gui.bands.way_shifts import Shifts
from levelbench.gui.document.document import Document
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Progress
from levelbench.handover.told import value_of
from levelbench.project import edit_many, load, read_project, sample, units
from levelbench.rig import Rig, RigError, assemble

LONG = 100_000  # ms; the first test of a run compiles the scan
SHORT = Use(lasts=1800.0, lead_in=60.0, changes_least=1, changes_most=2)
CHATTERS = {"bands.high.limit": "3.00 gal", "bands.high.dead_band": "0 gal", "bands.high.on_delay": "0 s"}


@cache
def proved(text: str, shifts: int) -> Proof:
    return really(assemble(read_project(text)), shifts=shifts, seed=1, use=SHORT)


class Asked:
    """Notes what was asked for, and answers with short shifts."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, int, Use]] = []

    def __call__(self, rig: Rig, *, shifts: int, seed: int, use: Use, progress: Progress) -> Proof:
        assert progress.report(0.5)
        self.asked.append((shifts, seed, use))
        return proved(rig.project.text, 8)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    made = Asked()
    monkeypatch.setattr(way_shifts, "prove", made)
    return made


@pytest.fixture
def way(qtbot: QtBot, document: Document, asked: Asked) -> Shifts:
    document.replace(edit_many(load(sample("seedling_house")), CHATTERS), None)
    made = Shifts(document, Answers(document, wait=True))
    made.answers.rig_changed.emit(assemble(document.project))
    show_way(qtbot, made)
    return made


@pytest.fixture
def shown(qtbot: QtBot, way: Shifts) -> Proof:
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    found = proved(way.document.project.text, 8)
    qtbot.waitUntil(lambda: len(way.view.measures.cells) == len(found.measures), timeout=LONG)
    return found


def test_verdict_and_tables_are_those_that_were_found(qtbot: QtBot, way: Shifts, shown: Proof, asked: Asked) -> None:
    shown_in = units(way.document.project)
    assert asked.asked == [(1000, 1, Use())]
    assert way.verdict.text() == shown.verdict
    assert "High is the worst" in shown.verdict
    assert [row[0] for row in way.view.measures.cells] == [one.figure.name for one in shown.measures]
    assert [row[1] for row in way.view.measures.cells] == [value_of(one.figure, shown_in) for one in shown.measures]
    told = [one.value.text() for one in way.findChildren(FigureRow)]
    first = [shown.measure(key).figure for key in ("per_hour", "chatter", "false", "missed")]
    assert told == [shown_in.tell(one) for one in first]
    words = {row[3].partition(":")[0] for row in way.view.measures.cells}
    assert {"✓ kept", "▲ over"} <= words  # never by colour alone
    assert [row[0] for row in way.view.alarms.cells] == [one.alarm for one in shown.alarms]
    qtbot.waitUntil(lambda: way.view.picture.scene is not None)
    assert way.view.picture.scene is not None
    assert {"volume", "high-high", "more is a flood"} <= set(way.view.picture.scene.texts())


def test_what_is_typed_is_what_is_asked(qtbot: QtBot, way: Shifts, asked: Asked) -> None:
    way.form.folded.open()
    for typed, words in ((way.form.shifts, "40"), (way.form.seed, "7"), (way.form.habits["reaction"], "2 min")):
        typed.boxes[0].selectAll()
        qtbot.keyClicks(typed.boxes[0], words)
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(asked.asked), timeout=LONG)
    assert asked.asked == [(40, 7, Use(reaction=120.0))]
    way.form.as_assumed()
    assert way.form.asked() == (1000, 1, Use())
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)


@pytest.mark.parametrize(
    "wrong", [("shifts", "2.5", "whole number"), ("seed", "-1", "whole number"), ("reaction", "0 s", "somebody comes")]
)
def test_what_can_not_be_is_refused_at_its_box(
    qtbot: QtBot, way: Shifts, asked: Asked, wrong: tuple[str, str, str]
) -> None:
    name, words, why = wrong
    way.form.folded.open()
    typed = {"shifts": way.form.shifts, "seed": way.form.seed, **way.form.habits}[name]
    typed.boxes[0].selectAll()
    qtbot.keyClicks(typed.boxes[0], words)
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    assert typed.under.text().startswith("✗")
    assert why in typed.under.text()
    assert asked.asked == []


def test_the_worst_alarm_is_calmed_in_one_step(qtbot: QtBot, way: Shifts, shown: Proof) -> None:
    ((key, longer),) = shown.advice.edits.items()
    assert key == "bands.high.off_delay"
    assert longer in way.take.text()
    qtbot.mouseClick(way.take, Qt.MouseButton.LeftButton)
    assert way.document.project.bands.high is not None
    assert way.document.project.bands.high.off_delay.text == longer
    assert way.document.undo_stack.count() == 1
    assert way.document.undo_stack.undoText() == "calm the alarm high"
    way.answers.rig_changed.emit(assemble(way.document.project))
    assert way.view.says.text().startswith("The project is another")
    assert not way.take.isVisible()


def test_it_is_stopped_by_cancel(qtbot: QtBot, way: Shifts, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(rig: Rig, *, shifts: int, seed: int, use: Use, progress: Progress) -> Proof:
        while progress.report(0.1):
            time.sleep(0.005)
        return proved(rig.project.text, 8)

    monkeypatch.setattr(way_shifts, "prove", endless)
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(way.job_line.isVisible, timeout=LONG)
    assert "running 1000 shifts" in way.job_line.words.text()
    qtbot.mouseClick(way.job_line.stop, Qt.MouseButton.LeftButton)
    assert way.view.says.text().startswith("You stopped this")
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)


def test_what_can_not_be_run_says_why(qtbot: QtBot, way: Shifts, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_words: object, **_more: object) -> Proof:
        raise RigError("There is no alarm whose work could be proved.", "bands", "Give the ladder an alarm.")

    monkeypatch.setattr(way_shifts, "prove", refuse)
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: way.state.text().startswith("■ There is no alarm"), timeout=LONG)


def test_a_replaced_project_leaves_nothing_of_the_older(way: Shifts, shown: Proof) -> None:
    way.document.replace(load(sample("parts_washer")), None)
    assert way.verdict.text() == ""
    assert way.figures.count() == 0
    assert not way.view.under.isVisible()
    assert not way.take.isVisible()
