"""Filling on the card: the verdict, the sizes, the table and the picture; and the best weight taken in one step."""

import time

import pytest
from done_once import fill_once, filled
from hands import show_way
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.tuning import way_filling
from levelbench.gui.tuning.way_filling import Filling
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Progress
from levelbench.project import load, sample, units
from levelbench.rig import Rig, RigError, assemble
from levelbench.tuning.filling import Filling as Found

LONG = 100_000  # ms; the first test of a run compiles the scan


@pytest.fixture
def way(qtbot: QtBot, document: Document, monkeypatch: pytest.MonkeyPatch) -> Filling:
    monkeypatch.setattr(way_filling, "fill", fill_once)
    document.replace(load(sample("seedling_house")), None)
    made = Filling(document, Answers(document, wait=True))
    made.answers.rig_changed.emit(assemble(document.project))
    show_way(qtbot, made)
    qtbot.waitUntil(lambda: bool(made.view.rows.cells), timeout=LONG)
    return made


def test_verdict_equation_and_table_are_those_that_were_found(way: Filling) -> None:
    found, shown = filled(way.document.project.text), units(way.document.project)
    assert way.verdict.text() == found.verdict
    assert [one.text() for one in way.equation] == list(found.equation)
    assert [row[0] for row in way.view.rows.cells] == [one.way.name for one in found.largest().rows]
    assert [row[2] for row in way.view.rows.cells] == [shown.tell(one.worst) for one in found.largest().rows]
    assert way.view.picture.isVisible()


def test_another_size_is_shown_when_it_is_pressed(qtbot: QtBot, way: Filling) -> None:
    found = filled(way.document.project.text)
    buttons = [one for one in way.findChildren(QPushButton) if one.accessibleName().startswith("show a fill of")]
    assert len(buttons) == len(found.sizes) == 3
    qtbot.mouseClick(buttons[0], Qt.MouseButton.LeftButton)
    assert way.words.text() == found.sizes[0].words
    assert "3.750" in way.view.says.text()
    qtbot.waitUntil(lambda: way.view.picture.scene is not None)
    assert way.view.picture.scene is not None
    assert "the learning cut-off" in way.view.picture.scene.texts()


def test_the_best_weight_is_taken_in_one_step(qtbot: QtBot, way: Filling) -> None:
    assert way.take.text() == "Take b = 1, the best of the PI"
    qtbot.mouseClick(way.take, Qt.MouseButton.LeftButton)
    assert way.document.project.loop_settings.set_point_weight.si == 1.0
    assert way.document.undo_stack.count() == 1
    way.document.undo_stack.undo()
    assert way.document.project.loop_settings.set_point_weight.text == "0.8"


def test_what_can_not_be_filled_says_why(qtbot: QtBot, way: Filling, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_rig: Rig, _progress: object) -> Found:
        raise RigError("There is nothing to fill.", "start", "Fill something.")

    monkeypatch.setattr(way_filling, "fill", refuse)
    way.answers.rig_changed.emit(assemble(way.document.project))
    qtbot.waitUntil(lambda: way.view.says.text().startswith("■ There is nothing to fill."), timeout=LONG)
    assert not way.verdict.isVisible()
    assert not way.view.under.isVisible()


def test_what_was_stopped_is_said_and_begins_again_when_chosen(
    qtbot: QtBot, way: Filling, monkeypatch: pytest.MonkeyPatch
) -> None:
    found, begun = filled(way.document.project.text), list[Rig]()

    def endless(rig: Rig, progress: Progress) -> Found:
        begun.append(rig)
        while progress.report(0.1):
            time.sleep(0.005)
        return found

    monkeypatch.setattr(way_filling, "fill", endless)
    way.answers.rig_changed.emit(assemble(way.document.project))
    qtbot.waitUntil(way.job_line.isVisible, timeout=LONG)
    qtbot.mouseClick(way.job_line.stop, Qt.MouseButton.LeftButton)
    assert way.view.says.text().startswith("You stopped this")
    monkeypatch.setattr(way_filling, "fill", lambda _rig, _progress: found)
    way.chosen()
    qtbot.waitUntil(way.view.picture.isVisible, timeout=LONG)
    assert len(begun) == 1


def test_a_replaced_project_leaves_nothing_of_the_older(way: Filling) -> None:
    way.document.replace(load(sample("parts_washer")), None)
    assert not way.verdict.isVisible()
    assert not way.view.picture.isVisible()
