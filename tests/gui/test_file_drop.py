"""Files dragged into the window: what is let go where, and what becomes of several."""

from pathlib import Path

from person import words_in
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.dialogs import ProblemsDialog
from levelbench.gui.main_window import MainWindow
from levelbench.project import Project, load, sample


def dropped(paths: list[Path]) -> QMimeData:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    return data


def drop(window: MainWindow, over: QWidget, data: QMimeData, *, go_away: bool = False) -> None:
    at = over.mapTo(window, over.rect().center())
    left, none, copy = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, Qt.DropAction.CopyAction
    enter = QDragEnterEvent(QPoint(at), copy, data, left, none)
    QApplication.sendEvent(window.windowHandle(), enter)
    assert enter.isAccepted()
    assert "Let go to open" in window.header.news.text()
    go = QDragLeaveEvent() if go_away else QDropEvent(QPointF(at), copy, data, left, none)
    QApplication.sendEvent(window.windowHandle(), go)
    assert "Let go" not in window.header.news.text()


def test_a_file_let_go_over_a_box_is_opened_and_not_typed(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "Wäscherei 水槽.toml"
    path.write_text(load(sample("parts_washer")).text, encoding="utf-8")
    window.go_to("loop_settings.gain")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    before = box.text()
    data = dropped([path])
    drop(window, box, data, go_away=True)
    assert not window.files.job_line.isVisible()
    drop(window, box, data)
    qtbot.waitUntil(lambda: window.document.path == path)
    assert "Wäscherei 水槽.toml" in window.windowTitle()
    assert box.text() == window.document.project.loop_settings.gain.text != before


def test_a_bad_file_dragged_in_shows_all_its_problems(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(house.text.replace('"12 in"', '"12 gal"').replace("[pump]", "[pimp]"), encoding="utf-8")
    data = dropped([bad])
    drop(window, window.rail, data)
    qtbot.waitUntil(lambda: window.findChild(ProblemsDialog) is not None)
    dialog = window.findChild(ProblemsDialog)
    assert "tank.diameter" in words_in(dialog)
    assert "pimp" in words_in(dialog)
    assert window.document.project == house
    dialog.accept()


def test_of_several_files_the_first_comes_here_and_the_others_beside(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path
) -> None:
    paths = [tmp_path / name for name in ("a.toml", "b.toml")]
    for path in paths:
        path.write_text(house.text, encoding="utf-8")
    beside: list[Path] = []
    window.files.window_wanted.connect(lambda held: beside.append(held.path))
    window.files.open_all(paths)
    qtbot.waitUntil(lambda: window.document.path == paths[0] and beside == [paths[1]])


def test_of_several_files_the_one_that_is_open_here_stays(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path
) -> None:
    paths = [tmp_path / name for name in ("a.toml", "b.toml", "c.toml")]
    for path in paths:
        path.write_text(house.text, encoding="utf-8")
    window.files.open(paths[1])
    qtbot.waitUntil(lambda: window.document.path == paths[1])
    beside: list[Path] = []
    window.files.window_wanted.connect(lambda held: beside.append(held.path))
    window.files.open_all(paths)
    qtbot.waitUntil(lambda: sorted(beside) == [paths[0], paths[2]])
    assert window.document.path == paths[1]
    assert window.header.news.text() == "b.toml is open already."
