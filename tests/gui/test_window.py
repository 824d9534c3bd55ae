"""The window as a whole, before the rig is there: stages, menus, keyboard, names for every control, nothing clipped."""

from collections.abc import Callable
from pathlib import Path

import pytest
import walk
from hands import Hands
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit, QListWidget, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui import dialogs
from levelbench.gui.dialogs import ProblemsDialog, Unsaved
from levelbench.gui.fields.forms import Form
from levelbench.gui.look import theme
from levelbench.gui.main_window import MainWindow
from levelbench.gui.rail import STAGES
from levelbench.gui.stages.describe import NAMES
from levelbench.project import Project, load

CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CONTROLS = (QAbstractButton, QLineEdit, QComboBox, QListWidget)


def visible(parent: QWidget, *kinds: type[QWidget]) -> list[QWidget]:
    return [one for kind in kinds for one in parent.findChildren(kind) if one.isVisible()]


def type_gain(qtbot: QtBot, window: MainWindow, words: str, *, enter: bool = True) -> QLineEdit:
    window.go_to("loop_settings.gain")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, words)
    if enter:
        qtbot.keyClick(box, Qt.Key.Key_Return)
    return box


@pytest.mark.parametrize("at", range(6))
def test_the_keyboard_brings_up_each_stage(qtbot: QtBot, window: MainWindow, at: int) -> None:
    qtbot.keyClick(window, Qt.Key(Qt.Key.Key_1 + at), CONTROL)
    stages = [window.describe, window.check, window.tune, window.alarms, window.rehearse, window.hand_over]
    assert [stage.isVisible() for stage in stages] == [one == at for one in range(6)]
    assert window.rail.buttons[at].isChecked()


@pytest.mark.parametrize("at", range(6))
def test_the_mouse_brings_up_each_stage(qtbot: QtBot, window: MainWindow, at: int) -> None:
    qtbot.mouseClick(window.rail.buttons[at], Qt.MouseButton.LeftButton)
    assert window.rail.at == at


def test_the_rail_says_what_is_going_on(window: MainWindow) -> None:
    said = [one.state.headline for one in window.rail.buttons]
    assert said[0].startswith("all ")
    assert said[1] == "preparing …"
    assert [one.text() for one in window.rail.buttons] == list(STAGES)


def test_every_control_has_a_name(window: MainWindow) -> None:
    nameless = []
    for at in range(6):
        window.rail.choose(at)
        controls = visible(window, *CONTROLS)
        assert len(controls) >= 6
        nameless += [
            (at, one) for one in controls if not one.accessibleName() and not one.objectName().startswith("qt")
        ]
    assert nameless == []


@pytest.mark.parametrize("size", [(1280, 800), (1600, 1000)])
def test_nothing_is_clipped(window: MainWindow, size: tuple[int, int]) -> None:
    window.resize(*size)
    for at in range(6):
        window.rail.choose(at)
        QApplication.processEvents()
        assert clipped(window) == [], STAGES[at]
    window.rail.choose(0)
    for part, name in enumerate(NAMES):
        window.describe.buttons.button(part).click()
        walk.until(lambda: all(form.whole for form in window.findChildren(Form) if form.isVisible()))
        walk.settle()
        assert clipped(window) == [], name


def clipped(window: QWidget) -> list[str]:
    """Give the words of every visible label and button that has less room than they need."""
    short = [
        one.text() for one in visible(window, QLabel) if isinstance(one, QLabel) and one.text() and not _has_room(one)
    ]
    buttons = [one for one in visible(window, QAbstractButton) if isinstance(one, QAbstractButton)]
    return short + [one.text() for one in buttons if one.text() and one.width() < one.minimumSizeHint().width()]


def _has_room(label: QLabel) -> bool:
    if label.wordWrap():
        return label.height() >= label.heightForWidth(label.width())
    return label.width() >= label.sizeHint().width()


def test_typing_undo_and_redo_by_keyboard(qtbot: QtBot, window: MainWindow, house: Project) -> None:
    box = type_gain(qtbot, window, "5.5")
    assert window.windowTitle().startswith("● ")
    assert "edited" in window.header.loop.text()
    window.rail.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_Z, CONTROL)
    assert window.document.project == house
    assert box.text() != "5.5"
    assert not window.windowTitle().startswith("●")
    qtbot.keyClick(window, Qt.Key.Key_Z, CONTROL | SHIFT)
    assert box.text() == "5.5"


def test_undo_in_a_box_undoes_the_project_unless_it_is_half_typed(
    qtbot: QtBot, window: MainWindow, house: Project
) -> None:
    box = type_gain(qtbot, window, "5.5")
    qtbot.keyClicks(box, "7")
    qtbot.keyClick(box, Qt.Key.Key_Z, CONTROL)
    assert window.document.project.loop_settings.gain.text == "5.5"  # type: ignore[union-attr]
    assert box.text() == "5.5"
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    qtbot.keyClick(box, Qt.Key.Key_Z, CONTROL)
    assert window.document.project == house


def test_saving_takes_up_what_is_half_typed(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    assert window.files.save_to(tmp_path / "mine.toml")
    type_gain(qtbot, window, "5.5", enter=False)
    qtbot.keyClick(window, Qt.Key.Key_S, CONTROL)
    assert load(tmp_path / "mine.toml").loop_settings.gain.text == "5.5"  # type: ignore[union-attr]
    assert window.windowTitle() == "Seedling house nutrient day tank (mine.toml) – LevelBench"


def test_a_failed_save_is_shown_and_loses_nothing(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    type_gain(qtbot, window, "5.5")
    assert not window.files.save_to(tmp_path / "nowhere" / "mine.toml")
    box = QApplication.activeModalWidget()
    assert box is not None
    assert "was not saved" in visible(box, QLabel)[0].text() or any(  # type: ignore[attr-defined]
        "was not saved" in one.text()  # type: ignore[attr-defined]
        for one in visible(box, QLabel)
    )
    box.close()
    assert window.document.edited


def test_a_bad_file_shows_all_its_problems(qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    text = house.text.replace('diameter = "12 in"', 'diameter = "12 gal"').replace("[pump]", "[pimp]")
    bad.write_text(text, encoding="utf-8")
    window.files.open(bad)
    qtbot.waitUntil(lambda: window.findChild(ProblemsDialog) is not None)
    dialog = window.findChild(ProblemsDialog)
    words = " ".join(one.text() for one in visible(dialog, QLabel) if isinstance(one, QLabel))
    assert "tank.diameter" in words
    assert "pimp" in words
    assert "Did you mean “pump”?" in words
    assert window.document.project == house
    dialog.accept()


def test_an_opened_file_is_remembered(qtbot: QtBot, window: MainWindow, tmp_path: Path, house: Project) -> None:
    other = tmp_path / "other.toml"
    other.write_text(house.text.replace(house.title, "The other tank"), encoding="utf-8")
    window.files.open(other)
    qtbot.waitUntil(lambda: window.header.title.text() == "The other tank")
    window.menus.recent.aboutToShow.emit()
    assert window.menus.recent.actions()[0].text() == f"&1  {other}"


def test_unsaved_work_is_asked_about(
    qtbot: QtBot, window: MainWindow, house: Project, answer_unsaved: Callable[[Unsaved], list[str]], tmp_path: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(house.text, encoding="utf-8")
    asked = answer_unsaved(Unsaved.STAY)
    third = tmp_path / "third.toml"
    third.write_text(house.text, encoding="utf-8")
    window.files.open(other)
    qtbot.waitUntil(lambda: window.document.path == other)
    assert asked == []
    type_gain(qtbot, window, "5.5")
    window.files.open(third)
    assert asked == [window.document.project.title]
    assert window.document.edited
    assert not window.close()
    answer_unsaved(Unsaved.LET_GO)
    window.files.open(third)
    qtbot.waitUntil(lambda: window.document.path == third)
    assert window.document.project == house


def test_the_question_about_unsaved_work_has_three_ways(
    qtbot: QtBot, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    for words, meant in (("Save", Unsaved.SAVE), ("Let the changes go", Unsaved.LET_GO), ("Stay here", Unsaved.STAY)):

        def press(self: object, words: str = words) -> int:
            button = next(one for one in self.buttons() if one.text() == words)  # type: ignore[attr-defined]
            button.click()
            return 0

        monkeypatch.setattr("PySide6.QtWidgets.QMessageBox.exec", press)
        assert dialogs.ask_about_unsaved(parent, "x") is meant


def test_the_theme_is_switched_and_remembered(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_D, CONTROL)
    try:
        assert theme.current() is theme.DARK
    finally:
        qtbot.keyClick(window, Qt.Key.Key_D, CONTROL)
    assert theme.current() is theme.LIGHT


@pytest.mark.parametrize(
    ("key", "stage"),
    [("tank.diameter", 0), ("sensor.signal_span", 0), ("loop_settings.gain", 2), ("loop_settings.scan", 2)],
)
def test_go_to_puts_the_cursor_into_the_field(window: MainWindow, key: str, stage: int) -> None:
    window.go_to(key)
    assert window.rail.at == stage
    box = QApplication.focusWidget()
    assert box is not None
    assert isinstance(box, QLineEdit)
    assert box.isVisible()


def test_a_limit_is_reached_edited_and_left_out(qtbot: QtBot, window: MainWindow) -> None:
    window.go_to("bands.high.dead_band")
    assert window.alarms.ladder.alarm == "high"
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, "0.07 gal")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert window.document.project.bands.high.dead_band.text == "0.07 gal"  # type: ignore[union-attr]
    qtbot.mouseClick(window.alarms.ladder.table.rows["high"].in_use, Qt.MouseButton.LeftButton)
    assert window.document.project.bands.high is None
    assert window.document.undo_stack.undoText() == "leave out high alarm"
    window.document.undo_stack.undo()
    assert window.document.project.bands.high is not None


def test_controls_act_from_the_window(qtbot: QtBot, window: MainWindow, hands: Hands) -> None:
    window.rail.choose(4)
    window.rehearse.open()
    qtbot.mouseClick(window.rehearse.controls.stop, Qt.MouseButton.LeftButton)
    assert hands.acts == [("stop", 1.0)]
