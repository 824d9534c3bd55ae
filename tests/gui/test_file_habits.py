"""Files as people handle them: recent, drag in, revert, changed or gone on the disk, disks that refuse."""

import errno
import os
import re
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui import dialogs
from levelbench.gui.dialogs import Overwrite, ProblemsDialog, Unsaved
from levelbench.gui.document.difference import DifferenceDialog, difference
from levelbench.gui.document.disk import State
from levelbench.gui.document.disk_notice import DiskNotice
from levelbench.gui.main_window import MainWindow
from levelbench.project import Project, load, sample
from levelbench.project import saving as saving_room

CONTROL = Qt.KeyboardModifier.ControlModifier


def words_in(parent: QWidget) -> str:
    return " | ".join(one.text() for one in parent.findChildren(QLabel) if one.isVisible())


def press(qtbot: QtBot, parent: QWidget, words: str) -> None:
    one = next(one for one in parent.findChildren(QPushButton) if one.text() == words and one.isVisible())
    qtbot.mouseClick(one, Qt.MouseButton.LeftButton)


def edit_gain(window: MainWindow, words: str) -> None:
    window.document.edit("loop_settings.gain", words)


def gain(window: MainWindow) -> str:
    return window.document.project.loop_settings.gain.text  # type: ignore[union-attr]


@pytest.fixture
def saved(window: MainWindow, tmp_path: Path) -> Path:
    path = tmp_path / "mine.toml"
    assert window.files.save_to(path)
    return path


@pytest.fixture
def notice(window: MainWindow) -> DiskNotice:
    return window.findChild(DiskNotice)


def by_another_program(path: Path, gain: str) -> None:
    text = re.sub(r'(?m)^gain = "[^"]*"', f'gain = "{gain}"', path.read_text(encoding="utf-8"))
    path.write_text(text.replace("title =", "# by hand\ntitle =", 1), encoding="utf-8")


# The file changes on the disk ---------------------------------------------------------------------------------------


def test_a_change_by_another_program_is_said_with_its_time(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice
) -> None:
    assert not notice.isVisible()
    by_another_program(saved, "6 %/%")
    at = datetime(2026, 1, 5, 14, 2).astimezone()
    os.utime(saved, (at.timestamp(), at.timestamp()))
    qtbot.waitUntil(notice.isVisible)
    assert "This file was changed by another program at 14:02" in words_in(notice)
    assert "changed by another program" in window.header.loop.text()
    assert [one.text() for one in notice.findChildren(QPushButton) if one.isVisible()] == [
        "Load theirs",
        "Keep mine",
        "Show the difference",
    ]


def test_loading_theirs_is_one_step_that_can_be_undone(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice
) -> None:
    mine = window.document.project
    by_another_program(saved, "6 %/%")
    qtbot.waitUntil(notice.isVisible)
    press(qtbot, notice, "Load theirs")
    qtbot.waitUntil(lambda: gain(window) == "6 %/%")
    assert window.document.project.text == saved.read_text(encoding="utf-8")
    assert not notice.isVisible()
    assert not window.document.edited
    assert window.document.undo_stack.undoText().startswith("load the file as changed at ")
    window.document.undo_stack.undo()
    assert window.document.project == mine
    assert window.document.edited


def test_keeping_mine_leaves_work_to_save_and_asks_no_more(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_another_program(saved, "6 %/%")
    qtbot.waitUntil(notice.isVisible)
    press(qtbot, notice, "Keep mine")
    assert not notice.isVisible()
    assert window.document.edited
    monkeypatch.setattr(dialogs, "ask_about_overwriting", lambda *_: pytest.fail("it was answered already"))
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert load(saved) == window.document.project
    assert not window.document.edited


def test_saving_over_a_changed_file_asks_first(
    qtbot: QtBot, window: MainWindow, saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edit_gain(window, "5.5 %/%")
    by_another_program(saved, "6 %/%")
    theirs = saved.read_bytes()
    monkeypatch.setattr(dialogs, "ask_about_overwriting", lambda *_: Overwrite.STAY)
    assert not window.files.save()
    assert saved.read_bytes() == theirs
    assert window.document.edited
    other = saved.with_name("other.toml")
    monkeypatch.setattr("PySide6.QtWidgets.QFileDialog.getSaveFileName", lambda *_: (str(other), ""))
    monkeypatch.setattr(dialogs, "ask_about_overwriting", lambda *_: Overwrite.ELSEWHERE)
    assert window.files.save()
    assert saved.read_bytes() == theirs
    assert load(other) == window.document.project
    by_another_program(other, "7 %/%")
    monkeypatch.setattr(dialogs, "ask_about_overwriting", lambda *_: Overwrite.WRITE)
    assert window.files.save()
    assert load(other) == window.document.project


def test_the_difference_names_what_stands_where(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice
) -> None:
    by_another_program(saved, "6 %/%")
    qtbot.waitUntil(notice.isVisible)
    press(qtbot, notice, "Show the difference")
    dialog = window.findChild(DifferenceDialog)
    assert dialog is not None
    assert "+ # by hand" in dialog.lines.toPlainText()
    dialog.accept()


def test_lines_that_differ_are_marked() -> None:
    assert difference("a\nb\nc\n", "a\nx\nc\n") == ["  a", "− b", "+ x", "  c"]
    assert difference("a\n", "a\n") == []


def test_a_file_that_goes_is_said_and_saved_again(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice
) -> None:
    saved.unlink()
    qtbot.waitUntil(notice.isVisible)
    assert "mine.toml is no longer in its folder" in words_in(notice)
    assert window.windowTitle().startswith("● ")
    press(qtbot, notice, "Save it again")
    assert load(saved) == window.document.project
    assert not notice.isVisible()
    assert not window.windowTitle().startswith("●")


def test_a_folder_that_goes_is_said_and_another_is_asked_for(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, notice: DiskNotice, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    assert window.files.save_to(folder / "mine.toml")
    (folder / "mine.toml").unlink()
    folder.rmdir()
    qtbot.waitUntil(notice.isVisible)
    qtbot.waitUntil(lambda: "The folder of mine.toml is gone" in words_in(notice))
    other = tmp_path / "other.toml"
    monkeypatch.setattr("PySide6.QtWidgets.QFileDialog.getSaveFileName", lambda *_: (str(other), ""))
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert load(other) == window.document.project
    assert not notice.isVisible()


def test_a_file_put_in_the_place_of_mine_is_noticed_each_time(
    qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice, house: Project
) -> None:
    for title in ("One", "Two"):
        beside = saved.with_name("beside.toml")
        beside.write_text(house.text.replace(house.title, title), encoding="utf-8")
        beside.replace(saved)
        qtbot.waitUntil(notice.isVisible)
        press(qtbot, notice, "Load theirs")
        qtbot.waitUntil(lambda title=title: window.document.project.title == title)  # type: ignore[misc]


def test_my_own_save_is_no_change_by_another(qtbot: QtBot, window: MainWindow, saved: Path, notice: DiskNotice) -> None:
    for words in ("5.5 %/%", "5.6 %/%"):
        edit_gain(window, words)
        assert window.files.save()
        assert window.document.watch.look_now().state is State.SAME
        assert not notice.isVisible()


# Opening ------------------------------------------------------------------------------------------------------------


def test_opening_twice_in_a_row_opens_once(qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(house.text, encoding="utf-8")
    replaced: list[Project] = []
    window.document.replaced.connect(replaced.append)
    window.files.open(path)
    window.files.open(path)
    qtbot.waitUntil(lambda: window.document.path == path)
    qtbot.waitUntil(lambda: not window.files.job_line.isVisible())
    window.files.open(path)  # it is open here already
    assert "is open already" in window.header.news.text()
    assert len(replaced) == 1


def test_closing_while_a_file_is_read_leaves_nothing_behind(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path
) -> None:
    path = tmp_path / "large.toml"
    path.write_text(house.text + "# padding\n" * 60_000, encoding="utf-8")
    window.files.open(path)
    assert window.close()
    assert window.document.path is None


def test_a_file_with_a_thousand_problems_shows_the_first_hundred(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(house.text + "".join(f"\n[a{at}]\nb = {at}\n" for at in range(1000)), encoding="utf-8")
    window.files.open(bad)
    qtbot.waitUntil(lambda: window.findChild(ProblemsDialog) is not None)
    dialog = window.findChild(ProblemsDialog)
    assert "1000 problems" in words_in(dialog)
    assert any("and 900 more" in one.text() for one in dialog.findChildren(QLabel))
    dialog.accept()


def test_missing_recent_files_are_shut_and_the_list_can_be_cleared(
    qtbot: QtBot, window: MainWindow, saved: Path, tmp_path: Path
) -> None:
    gone = tmp_path / "gone.toml"
    assert window.files.save_to(gone)
    assert window.files.save_to(saved)
    gone.unlink()
    window.menus.recent.aboutToShow.emit()
    first, second, *_ = window.menus.recent.actions()
    assert first.isEnabled()
    assert str(saved) in first.text()
    assert not second.isEnabled()
    assert second.text().endswith("(missing)")
    window.menus.recent.actions()[-1].trigger()
    window.menus.recent.aboutToShow.emit()
    assert [one.text() for one in window.menus.recent.actions()] == ["none yet"]


def test_a_recent_file_opens(qtbot: QtBot, window: MainWindow, saved: Path, tmp_path: Path) -> None:
    assert window.files.save_to(tmp_path / "second.toml")
    window.menus.recent.aboutToShow.emit()
    window.menus.recent.actions()[1].trigger()
    qtbot.waitUntil(lambda: window.document.path == saved)


def test_revert_goes_back_in_one_step(qtbot: QtBot, window: MainWindow, saved: Path) -> None:
    assert not window.menus.revert_action.isEnabled()
    edit_gain(window, "5.5 %/%")
    edit_gain(window, "5.6 %/%")
    assert window.menus.revert_action.isEnabled()
    window.menus.revert_action.trigger()
    qtbot.waitUntil(lambda: not window.document.edited)
    assert window.document.undo_stack.undoText() == "revert to the saved file"
    window.document.undo_stack.undo()
    assert gain(window) == "5.6 %/%"


# Disks that refuse --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "words"), [(errno.ENOSPC, "the disk is full"), (errno.EACCES, "can't be written to")]
)
def test_a_disk_that_refuses_loses_nothing(
    window: MainWindow, saved: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    old = saved.read_bytes()
    edit_gain(window, "5.5 %/%")

    def refuse(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(saving_room, "_write", refuse)
    assert not window.files.save()
    box = QApplication.activeModalWidget()
    assert box is not None
    assert words in words_in(box)
    box.close()
    assert saved.read_bytes() == old
    assert window.document.edited
    monkeypatch.undo()
    assert window.files.save()


@pytest.mark.skipif(sys.platform == "win32", reason="folders have no such mode there")
def test_a_name_that_is_too_long_is_refused_in_words(window: MainWindow, tmp_path: Path) -> None:
    assert not window.files.save_to(tmp_path / ("x" * 300 + ".toml"))
    box = QApplication.activeModalWidget()
    assert box is not None
    assert "was not saved" in words_in(box)
    box.close()
    assert window.document.path is None
    assert window.files.save_to(tmp_path / ("x" * 250 + ".toml"))


def test_a_deep_folder_with_any_name_is_saved_to_and_opened(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    folder = tmp_path
    for _ in range(12):
        folder = folder / "ordner mit ümlaut & 水"
    folder.mkdir(parents=True)
    path = folder / "Tank №1 – „Probe“.toml"
    edit_gain(window, "5.5 %/%")
    assert window.files.save_to(path)
    window.files.new_from(sample("parts_washer"))
    window.files.open(path)
    qtbot.waitUntil(lambda: window.document.path == path)
    assert gain(window) == "5.5 %/%"


def test_half_typed_text_is_saved_on_the_way_out(
    qtbot: QtBot, window: MainWindow, saved: Path, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    window.go_to("loop_settings.gain")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, "5.5 %/%")
    answer_unsaved(Unsaved.SAVE)
    assert window.close()
    assert load(saved).loop_settings.gain.text == "5.5 %/%"  # type: ignore[union-attr]
