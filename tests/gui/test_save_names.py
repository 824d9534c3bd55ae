"""Under which name a project is saved: its title with the ending of the file type, or the name that it has."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.disk import from_file
from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.main_window import MainWindow
from levelbench.places import resources
from levelbench.project import load

SAVE_AS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    return tmp_path


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[str]]:
    """Answer the dialog with these names one after the other; gives what it offered each time."""

    def answer(*typed: str | Path) -> list[str]:
        offered: list[str] = []
        left = list(typed)

        def ask(_parent: object, _title: str, start: str, _kinds: str) -> tuple[str, str]:
            offered.append(start)
            return (str(left.pop(0)) or start), ""

        monkeypatch.setattr(QFileDialog, "getSaveFileName", ask)
        return offered

    return answer


def press_save(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)


def press_save_as(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_S, SAVE_AS)


def test_a_new_project_is_offered_its_title_with_the_ending_of_the_file_type(
    qtbot: QtBot, window: MainWindow, home: Path, asked: Callable[..., list[str]]
) -> None:
    window.document.edit("title", "Day tank 3/4: north?")
    offered = asked("")
    press_save(qtbot, window)
    saved = home / "Day tank 3-4- north.levelbench.toml"
    assert offered == [str(saved)]
    assert load(saved).title == "Day tank 3/4: north?"
    kind = (resources() / "desktop" / "levelbench.xml").read_text(encoding="utf-8")
    assert 'pattern="*.levelbench.toml"' in kind


def test_a_plain_toml_keeps_its_name(
    qtbot: QtBot, window: MainWindow, home: Path, asked: Callable[..., list[str]]
) -> None:
    assert window.files.save_to(home / "mine.toml")
    window.document.edit("title", "Another title")
    offered = asked("")
    press_save(qtbot, window)
    assert offered == []
    press_save_as(qtbot, window)
    assert offered == [str(home / "mine.toml")]
    assert [one.name for one in home.iterdir()] == ["mine.toml"]
    assert load(home / "mine.toml").title == "Another title"


def test_an_ending_that_was_left_out_never_leads_over_another_file_unasked(
    qtbot: QtBot, window: MainWindow, home: Path, asked: Callable[..., list[str]]
) -> None:
    there = home / "tank.levelbench.toml"
    there.write_text("somebody's", encoding="utf-8")
    offered = asked(home / "tank", home / "tank no. 2")
    press_save(qtbot, window)
    assert offered[1:] == [str(there)]  # the dialog is asked again, and itself asks before it is replaced
    assert there.read_text(encoding="utf-8") == "somebody's"
    assert window.document.path == home / "tank no. 2.levelbench.toml"


def test_opening_a_file_clears_away_what_a_killed_save_left_beside_it(window: MainWindow, tmp_path: Path) -> None:
    assert window.files.save_to(tmp_path / "mine.toml")
    left = tmp_path / ".levelbench-12345-0a1b2c3d.part"
    left.write_bytes(b"half")
    os.utime(left, (1_000_000_000, 1_000_000_000))
    from_file(tmp_path / "mine.toml")
    assert not left.exists()
    assert (tmp_path / "mine.toml").exists()


KINDS = {"Picture (*.png)": ".png", "Values (*.csv)": ".csv"}


@pytest.mark.parametrize(
    ("chosen", "name"),
    [
        (("shown.csv", "Picture (*.png)"), "shown.csv"),
        (("SHOWN.CSV", "Picture (*.png)"), "SHOWN.CSV"),
        (("shown", "Values (*.csv)"), "shown.csv"),
        (("tank 3.5", "Picture (*.png)"), "tank 3.5.png"),
        (("tank.", ""), "tank.png"),
    ],
)
def test_what_is_saved_has_an_ending_of_its_kind(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, chosen: tuple[str, str], name: str
) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / chosen[0]), chosen[1]))
    parent = QWidget()
    qtbot.addWidget(parent)
    assert ask_where_by_kind(parent, "Save", "shown.png", KINDS) == tmp_path / name


def test_a_picture_is_not_put_over_another_unasked(
    qtbot: QtBot, home: Path, tmp_path: Path, asked: Callable[..., list[str]]
) -> None:
    (tmp_path / "shown.png").write_bytes(b"theirs")
    offered = asked(tmp_path / "shown", tmp_path / "shown.png")
    parent = QWidget()
    qtbot.addWidget(parent)
    assert ask_where_by_kind(parent, "Save", "trend.png", KINDS) == tmp_path / "shown.png"
    assert offered == [str(tmp_path / "trend.png"), str(tmp_path / "shown.png")]


def test_what_belongs_to_a_project_is_offered_a_place_beside_it(
    window: MainWindow, home: Path, asked: Callable[..., list[str]]
) -> None:
    """At home as long as the project has no file, or its folder is gone."""
    offered = asked("", "", "")
    folder = home / "rigs"
    folder.mkdir()
    ask_where_by_kind(window.header, "Save", "section.svg", KINDS)
    assert window.files.save_to(folder / "mine.toml")
    ask_where_by_kind(window.header, "Save", "section.svg", KINDS)
    folder.rename(home / "elsewhere")
    ask_where_by_kind(window.header, "Save", "section.svg", KINDS)
    assert offered == [str(home / "section.svg"), str(folder / "section.svg"), str(home / "section.svg")]
