"""Experiment on the card: said before it runs, run, stopped, measured, used by the other ways, kept, and by hand."""

from pathlib import Path

import pytest
from hands import show_way, types
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.help.pages import written
from levelbench.gui.tuning.experiment_room import OUTLOOK, RECORD, SHEET
from levelbench.gui.tuning.way_experiment import Experiment
from levelbench.gui.work.answers import Answers
from levelbench.project import edit_many, load, sample
from levelbench.records import read_csv
from levelbench.rig import assemble
from levelbench.tuning.experiments import BUMP, KINDS, RELAY, STEP
from levelbench.tuning.process import Integrating

LONG = 100_000  # ms; the first test of a run compiles the scan
Keys = Qt.Key


@pytest.fixture
def way(qtbot: QtBot, document: Document) -> Experiment:
    document.replace(load(sample("seedling_house")), None)
    answers = Answers(document, wait=True)
    made = Experiment(document, answers)
    answers.rig_changed.emit(assemble(document.project))
    show_way(qtbot, made)
    qtbot.waitUntil(lambda: made.plan is not None, timeout=LONG)
    return made


def choose(qtbot: QtBot, way: Experiment, kind: str) -> None:
    way.form.kind.setCurrentIndex(list(KINDS).index(kind))
    qtbot.waitUntil(lambda: way.plan is not None and way.plan.kind == kind, timeout=LONG)


def ran(qtbot: QtBot, way: Experiment) -> None:
    before = way.done
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    assert not way.go.isEnabled()
    qtbot.waitUntil(lambda: way.done is not before and way.go.isEnabled(), timeout=LONG)


def words(widget: QWidget) -> str:
    return "\n".join(one.text() for one in widget.findChildren(QLabel) if one.isVisible())


def sees(qtbot: QtBot, way: Experiment, *expected: str) -> None:
    """Wait until all of these words are in sight in the wide place."""
    for one in expected:
        qtbot.waitUntil(lambda one=one: one in words(way.room), timeout=LONG)


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_says_what_will_happen_and_then_what_it_found(qtbot: QtBot, way: Experiment, kind: str) -> None:
    choose(qtbot, way, kind)
    assert way.room.page == OUTLOOK
    sees(qtbot, way, f"What will happen: {KINDS[kind]}", "it stops at a PV of", "how long it takes", "3.000 US gal")
    ran(qtbot, way)
    assert way.room.page == RECORD
    sees(qtbot, way, "total delay", "95 %:", "● agrees", "taken as the balance", "mode auto as before")
    assert way.room.view.picture is not None


def test_a_shown_plan_stands_in_the_empty_boxes_and_a_typed_size_is_taken(qtbot: QtBot, way: Experiment) -> None:
    assert way.form.jump.boxes[0].placeholderText() == "15.0 %"
    before = way.plan
    types(qtbot, way.form.jump.boxes[0], "8 %", enter=True)
    qtbot.waitUntil(lambda: way.plan is not None and way.plan is not before, timeout=LONG)
    assert way.plan is not None
    assert way.plan.size == pytest.approx(0.08)
    sees(qtbot, way, "goes 8.0 % up")


def test_what_was_typed_last_is_done_also_when_run_is_pressed_at_once(qtbot: QtBot, way: Experiment) -> None:
    types(qtbot, way.form.jump.boxes[0], "8 %")
    ran(qtbot, way)
    assert way.done is not None
    assert way.done.plan.size == pytest.approx(0.08)


def test_what_cannot_be_done_is_said_and_cannot_be_run(qtbot: QtBot, way: Experiment) -> None:
    types(qtbot, way.form.jump.boxes[0], "90 %", enter=True)
    sees(qtbot, way, "It can't be done so")
    assert not way.go.isEnabled()
    types(qtbot, way.form.jump.boxes[0], "much", enter=True)
    qtbot.waitUntil(lambda: way.form.jump.under.text().startswith("✗"), timeout=LONG)
    types(qtbot, way.form.jump.boxes[0], "-5 %", enter=True)
    qtbot.waitUntil(lambda: "more than 0" in way.form.jump.under.text(), timeout=LONG)
    way.form.jump.boxes[0].clear()
    types(qtbot, way.form.repeats.boxes[0], "2.5", enter=True)
    qtbot.waitUntil(lambda: "whole number" in way.form.repeats.under.text(), timeout=LONG)


def test_the_process_is_used_by_rules_and_search_until_the_rig_is_another(qtbot: QtBot, way: Experiment) -> None:
    ran(qtbot, way)
    qtbot.mouseClick(way.room.use, Qt.MouseButton.LeftButton)
    found = way.answers.evidence.found
    assert found is not None
    assert isinstance(found.process, Integrating)
    assert found.slopes is not None
    assert found.slopes[0] < found.process.slope < found.slopes[1]
    assert "open-loop step" in found.words
    changed = edit_many(way.document.project, {"pump.wear": "10 %"})
    way.answers.rig_changed.emit(assemble(changed))
    assert not way.room.use.isEnabled()  # it was measured on the rig as it was


def test_the_record_is_kept(qtbot: QtBot, way: Experiment, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ran(qtbot, way)
    file = tmp_path / "kept.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(file), ""))
    qtbot.mouseClick(way.room.keep, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "kept.csv" in way.state.text(), timeout=LONG)
    assert way.done is not None
    assert len(read_csv(file)) == len(way.done.recording)


def test_it_can_be_stopped_while_it_runs(qtbot: QtBot, way: Experiment) -> None:
    types(qtbot, way.form.repeats.boxes[0], "50", enter=True)
    qtbot.waitUntil(lambda: way.plan is not None and way.plan.repeats == 50, timeout=LONG)
    qtbot.mouseClick(way.go, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(way.job_line.isVisible, timeout=LONG)
    qtbot.mouseClick(way.job_line.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(way.go.isEnabled, timeout=LONG)
    assert way.done is None


def test_by_hand_gives_a_sheet_that_can_be_copied(qtbot: QtBot, way: Experiment) -> None:
    choose(qtbot, way, RELAY)
    qtbot.mouseClick(way.hand, Qt.MouseButton.LeftButton)
    assert way.room.page == SHEET
    sees(qtbot, way, "Relay, by hand", "Stop at once when", "hard-wired", "siphon", "reservoir")
    qtbot.mouseClick(way.room.copy, Qt.MouseButton.LeftButton)
    assert "1. Automatic, set point 3.000 US gal" in QApplication.clipboard().text()
    choose(qtbot, way, STEP)
    sees(qtbot, way, "Set point step, by hand")
    qtbot.mouseClick(way.room.shut, Qt.MouseButton.LeftButton)
    assert way.room.page == OUTLOOK


def test_another_project_forgets_what_was_measured(qtbot: QtBot, way: Experiment) -> None:
    ran(qtbot, way)
    way.document.replace(load(sample("parts_washer")), None)
    assert way.done is None
    assert not way.go.isEnabled()
    assert way.room.page == OUTLOOK
    way.answers.rig_changed.emit(assemble(way.document.project))
    qtbot.waitUntil(lambda: way.plan is not None, timeout=LONG)
    sees(qtbot, way, "90.00 l")


def test_the_boxes_are_those_of_the_kind(qtbot: QtBot, way: Experiment) -> None:
    shown = {
        BUMP: (way.form.jump, way.form.lasts),
        RELAY: (way.form.jump, way.form.bias, way.form.hysteresis),
        STEP: (way.form.step, way.form.lasts),
    }
    every = {one for boxes in shown.values() for one in boxes}
    for kind, boxes in shown.items():
        choose(qtbot, way, kind)
        assert {one for one in every if one.isVisible()} == set(boxes)


def test_the_help_says_what_cannot_be_seen() -> None:
    page = written("tune-experiment")
    for said in ("can only add", "hard-wired", "By hand", "levelbench experiment"):
        assert said in page.markdown
