"""The open project: every edit can be undone, saving and its mark, opening without losing anything."""

from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from levelbench.gui.document.disk import from_file
from levelbench.gui.document.document import Document
from levelbench.project import Project, ProjectProblems, SaveError, load, recovery, sample

Edit = Callable[[Document], None]
EDITS: dict[str, tuple[Edit, str]] = {
    "one entry": (lambda it: it.edit("loop_settings.gain", "5.5"), "set gain to 5.5"),
    "an entry left out": (lambda it: it.edit("bands.high.on_delay", None), "leave out high on-delay"),
    "a whole limit left out": (lambda it: it.edit("bands.low_low", None), "leave out low-low alarm"),
    "several entries": (
        lambda it: it.edit_several({"tank.diameter": "13 in", "tank.height": "16 in"}),
        "set tank inside diameter to 13 in (and 1 more)",
    ),
    "a proposal": (lambda it: it.adopt({"bands.high.dead_band": "0.07 gal"}, "high chatters"), "adopt: high chatters"),
}


@pytest.mark.parametrize(("edit", "words"), EDITS.values(), ids=EDITS.keys())
def test_every_edit_is_one_step_that_goes_back_and_forth(document: Document, edit: Edit, words: str) -> None:
    before = document.project
    edit(document)
    after = document.project
    assert after != before
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == words
    document.undo_stack.undo()
    assert document.project == before
    document.undo_stack.redo()
    assert document.project == after


def test_an_edit_that_makes_no_project_changes_nothing(document: Document) -> None:
    before = document.project
    with pytest.raises(ProjectProblems, match="gain"):
        document.edit("loop_settings.gain", "a lot")
    assert document.project == before
    assert document.undo_stack.count() == 0


def test_setting_what_is_set_already_is_no_step(document: Document) -> None:
    document.edit("loop_settings.gain", document.project.loop_settings.gain.text)  # type: ignore[union-attr]
    assert document.undo_stack.count() == 0


def test_ten_steps_are_undone_to_the_very_text(document: Document) -> None:
    text = document.project.text
    for at in range(10):
        document.edit("loop_settings.gain", f"{4 + at / 10:.1f}")
    assert document.project.loop_settings.gain.text == "4.9"  # type: ignore[union-attr]
    for _ in range(10):
        document.undo_stack.undo()
    assert document.project.text == text
    assert not document.undo_stack.canUndo()


def test_the_title_carries_a_mark_until_it_is_saved(document: Document, tmp_path: Path) -> None:
    titles: list[str] = []
    document.title_changed.connect(titles.append)
    assert not document.title.startswith("●")
    document.edit("loop_settings.gain", "5.5")
    assert titles[-1].startswith("● Seedling house nutrient day tank (not saved yet)")
    document.save_as(tmp_path / "mine.toml")
    assert titles[-1] == "Seedling house nutrient day tank (mine.toml) – LevelBench"
    assert load(tmp_path / "mine.toml").loop_settings.gain == document.project.loop_settings.gain
    document.undo_stack.undo()
    assert document.edited


def test_a_failed_save_leaves_the_mark_and_the_path(document: Document, tmp_path: Path) -> None:
    document.edit("loop_settings.gain", "5.5")
    with pytest.raises(SaveError):
        document.save_as(tmp_path / "no such folder" / "mine.toml")
    assert document.edited
    assert document.path is None


def test_revert_goes_back_to_the_file(document: Document, tmp_path: Path) -> None:
    document.save_as(tmp_path / "mine.toml")
    saved = document.project
    document.edit("loop_settings.gain", "5.5")
    document.take_over(from_file(tmp_path / "mine.toml"), "revert to the saved file")
    assert document.project == saved
    assert not document.edited
    assert document.undo_stack.undoText() == "revert to the saved file"
    document.undo_stack.undo()
    assert document.project.loop_settings.gain.text == "5.5"  # type: ignore[union-attr]
    assert document.edited


def test_a_bad_file_leaves_the_open_project_alone(document: Document, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('levelbench = 1\ntitle = "x"\n[tank]\nshape = "ball"\n', encoding="utf-8")
    document.edit("loop_settings.gain", "5.5")
    before = document.project
    with pytest.raises(ProjectProblems):
        document.take(from_file(bad))
    assert document.project == before
    assert document.edited
    assert document.undo_stack.canUndo()


def test_a_new_project_from_a_sample_has_no_file(document: Document) -> None:
    heard: list[Project] = []
    document.project_changed.connect(heard.append)
    document.new_from(sample("parts_washer"))
    assert document.path is None
    assert heard == [load(sample("parts_washer"))]


def test_a_recovery_copy_is_kept_and_forgotten(qtbot: QtBot, document: Document, tmp_path: Path) -> None:
    kept = tmp_path / "user" / "LevelBench" / "recovery"
    document.edit("loop_settings.gain", "5.5")
    qtbot.waitUntil(lambda: len(list(kept.glob("*.toml"))) == 1, timeout=6000)
    text = next(kept.glob("*.toml")).read_text(encoding="utf-8")
    assert document.project.text in text
    document.save_as(tmp_path / "mine.toml")
    assert list(kept.glob("*.toml")) == []
    assert recovery.found() == ()
