"""Check: a change is tried before it is made; findings by kind, by keyboard, and copied."""

import csv
import io

import pytest
from hands import show_stage
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.stages.check import Check
from levelbench.gui.work.answers import Answers
from levelbench.project import Project, edit_many
from levelbench.review import Severity

LONG = 100_000  # ms; the first test of a run compiles the scan
Keys = Qt.Key


@pytest.fixture
def slow(house: Project) -> Project:
    """The house with so short an integral time that the loop swings, and a dead band inside the noise."""
    return edit_many(house, {"loop_settings.integral": "4 s", "bands.high.dead_band": "0.0001 gal"})


@pytest.fixture
def stage(qtbot: QtBot, document: Document, slow: Project) -> Check:
    document.replace(slow, None)
    answers = Answers(document)
    made = Check(document, answers)
    show_stage(qtbot, made, 720)
    qtbot.waitUntil(lambda: not answers.working, timeout=LONG)
    checked = answers.checked
    assert checked is not None
    qtbot.waitUntil(lambda: len(made.boxes()) == len(checked.findings))
    return made


def words_of(widget: QWidget) -> str:
    return "\n".join(one.text() for one in widget.findChildren(QLabel) if one.isVisible())


def box_of(stage: Check, key: str) -> FindingBox:
    return next(one for one in stage.boxes() if one.finding.key == key)


def hide_the_good_ones(qtbot: QtBot, stage: Check) -> None:
    qtbot.mouseClick(stage.filters["good"], Qt.MouseButton.LeftButton)
    good = [one for one in stage.boxes() if one.finding.severity.word == "good"]
    qtbot.waitUntil(lambda: not any(one.isVisible() for one in good))


def test_a_change_is_tried_shown_before_and_after_and_left(qtbot: QtBot, document: Document, stage: Check) -> None:
    project = document.project
    box = box_of(stage, "loop.slow_cycling")
    assert box.finding.severity is Severity.STOP
    box.setFocus()
    qtbot.keyClick(box, Keys.Key_T)
    qtbot.waitUntil(lambda: box.outcome is not None and box.outcome.adopt.isEnabled(), timeout=LONG)
    assert box.outcome is not None
    outcome = box.outcome
    qtbot.waitUntil(lambda: f"■ to fix → ✓ good: {box.title}" in words_of(outcome))
    words = words_of(outcome)
    assert "4.0" in words  # k'·K·Ti of 4 is what Skogestad's rule asks for (J. Process Control 13, 2003)
    assert "phase margin" in words
    assert "Other findings that change" in words or "No other finding changes." in words
    assert document.project is project
    assert document.undo_stack.count() == 0
    qtbot.mouseClick(outcome.leave, Qt.MouseButton.LeftButton)
    assert box.outcome is None
    assert document.project is project


def test_the_keyboard_moves_opens_and_goes(qtbot: QtBot, stage: Check) -> None:
    first, second = stage.boxes()[:2]
    first.setFocus()
    qtbot.keyClick(first, Keys.Key_Down)
    assert second.hasFocus()
    was = second.fold.isChecked()
    qtbot.keyClick(second, Keys.Key_Return)
    assert second.fold.isChecked() is not was
    qtbot.keyClick(second, Keys.Key_Up)
    assert first.hasFocus()
    with qtbot.waitSignal(stage.go_to) as heard:
        qtbot.keyClick(first, Keys.Key_G)
    assert heard.args == [first.finding.go_to]


def test_every_finding_opens(stage: Check) -> None:
    for box in stage.boxes():
        if not box.fold.isChecked():
            box.toggle()
        assert box.fold.text() == "close"


def test_kinds_are_hidden_and_shown_and_counted(qtbot: QtBot, stage: Check) -> None:
    words = [one.finding.severity.word for one in stage.boxes()]
    assert stage.filters["good"].text() == f"✓ good {words.count('good')}"
    hide_the_good_ones(qtbot, stage)
    assert {one.finding.severity.word for one in stage.boxes() if one.isVisible()} == {"stop", "attend"}
    assert stage.headline.text().startswith(f"■ {words.count('stop')} to fix")


def test_what_is_shown_is_copied_as_text_and_as_a_table(qtbot: QtBot, stage: Check) -> None:
    hide_the_good_ones(qtbot, stage)
    qtbot.mouseClick(stage.copy_text, Qt.MouseButton.LeftButton)
    shown = [one.finding for one in stage.boxes() if one.isVisible()]
    words = QApplication.clipboard().text()
    assert all(one.title in words and one.text in words for one in shown)
    assert "✓ GOOD" not in words
    qtbot.mouseClick(stage.copy_csv, Qt.MouseButton.LeftButton)
    table = list(csv.DictReader(io.StringIO(QApplication.clipboard().text())))
    assert {row["finding"] for row in table} == {one.title for one in shown}
    assert {row["figure"] for row in table} >= {each.name for one in shown for each in one.figures}
    assert stage.copied.text() == f"✓ {len(shown)} findings copied as CSV"
