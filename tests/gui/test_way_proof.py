"""Proof on the card: what was found is noted and forgotten in one step each, and proved against what is now."""

import pytest
from hands import show_way
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.tuning import way_proof
from levelbench.gui.tuning.way_proof import FOUND, OPENED, Proof
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import busy
from levelbench.project import load, sample

LONG = 100_000  # ms; the first test of a run compiles the scan


@pytest.fixture
def way(qtbot: QtBot, document: Document, monkeypatch: pytest.MonkeyPatch) -> Proof:
    few = way_proof.prove
    monkeypatch.setattr(way_proof, "prove", lambda *those: few(*those, seeds=(1, 2, 3)))
    document.replace(load(sample("seedling_house")), None)
    made = Proof(document, Answers(document))
    show_way(qtbot, made)
    proved(qtbot, made)
    return made


def proved(qtbot: QtBot, way: Proof) -> None:
    """Wait until the proof of what is now is there."""
    qtbot.waitUntil(lambda: busy() == 0 and bool(way.verdict.text()), timeout=LONG)


def rows(way: Proof) -> dict[str, tuple[str, ...]]:
    return {row[0]: row for row in way.view.rows.cells}


def test_without_a_note_it_is_against_the_file_as_opened(way: Proof) -> None:
    """Nothing was changed: both are the same, and that is said."""
    assert not way.choices[FOUND].isEnabled()
    assert way.choices[OPENED].isChecked()
    assert "the same settings: every difference is exactly 0" in way.verdict.text()
    assert {row[-1] for row in way.view.rows.cells} == {"= the same"}
    assert "Nothing is noted" in way.state.text()


def test_noting_keeps_the_settings_and_a_change_is_proved_against_them(qtbot: QtBot, way: Proof) -> None:
    document = way.document
    qtbot.keyClicks(way.noted, "12 March, first visit")
    qtbot.mouseClick(way.note, Qt.MouseButton.LeftButton)
    found = document.project.as_found
    assert found is not None
    assert (found.noted, found.gain) == ("12 March, first visit", document.project.loop_settings.gain)
    assert document.undo_stack.undoText() == "note the settings as found"
    document.edit("loop_settings.gain", "300 %/gal")
    qtbot.waitUntil(lambda: way.verdict.text().startswith("Better as it is now: "), timeout=LONG)
    assert rows(way)["settling time, s"][-1] == "▲ more"
    assert way.why.text().startswith("Gain lowered alone")
    assert "in the worst corner" in way.least.text()
    document.undo_stack.undo()
    document.undo_stack.undo()
    assert document.project.as_found is None
    assert document.project.text == load(sample("seedling_house")).text


def test_what_was_found_is_typed_and_forgotten(qtbot: QtBot, way: Proof) -> None:
    document = way.document
    qtbot.mouseClick(way.note, Qt.MouseButton.LeftButton)
    document.edit("as_found.gain", "113 %/gal")
    assert way.choices[FOUND].isChecked()
    qtbot.waitUntil(lambda: way.verdict.text().startswith("Better as it is now: settling"), timeout=LONG)
    way.noted.setText("13 March")
    way.noted.editingFinished.emit()
    assert document.project.as_found is not None
    assert document.project.as_found.noted == "13 March"
    qtbot.mouseClick(way.drop, Qt.MouseButton.LeftButton)
    assert document.project.as_found is None
    assert not way.choices[FOUND].isEnabled()
    assert document.undo_stack.undoText() == "forget what was found"


def test_the_form_of_what_was_found_edits_it(qtbot: QtBot, way: Proof) -> None:
    qtbot.mouseClick(way.note, Qt.MouseButton.LeftButton)
    way.folded.open()
    form = way.folded._inside
    assert form is not None
    assert form.focus_on("as_found.integral")
    box = form.fields["as_found.integral"].boxes()[0]
    box.setText("30 s")
    box.textEdited.emit("30 s")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert way.document.project.as_found is not None
    assert way.document.project.as_found.integral is not None
    assert way.document.project.as_found.integral.text == "30 s"


def test_the_picture_has_both_sides_by_name(qtbot: QtBot, way: Proof) -> None:
    qtbot.waitUntil(lambda: way.view.picture.scene is not None)
    assert way.view.picture.scene is not None
    said = way.view.picture.scene.texts()
    assert {OPENED, "as it is now", "SP"} <= set(said)
    assert "drain shut, US gal" in said
