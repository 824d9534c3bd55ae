"""Windows side by side, their layout and preferences, recovery after a kill, the whole hand-over by one button."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QRect, QSize, Qt, QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QMainWindow
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

from levelbench.gui import app, dialogs, window_layout
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.document.disk import from_file
from levelbench.gui.document.history import HistoryDialog
from levelbench.gui.look import look, theme
from levelbench.gui.main_window import MainWindow
from levelbench.gui.paper.whole_hand_over import WholeHandOver
from levelbench.gui.preferences import PAPERS, SCALES, UNITS, Preferences
from levelbench.gui.preferences_dialog import PreferencesDialog
from levelbench.gui.work import jobs
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import Project, load, recovery, sample

CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
Beside = Callable[[str], MainWindow]


def let_go_of_windows() -> None:
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()


@pytest.fixture
def beside(qtbot: QtBot, house: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Beside]:
    """More windows beside the first, without a bench: their rig is never prepared."""
    monkeypatch.setattr("levelbench.gui.bench.warm.Warm.start", lambda _self: None)
    shown: list[MainWindow] = []

    def show(name: str) -> MainWindow:
        path = tmp_path / name
        path.write_text(house.text.replace(house.title, path.stem), encoding="utf-8")
        shown.append(app.show_another(Preferences(), from_file(path)))
        return shown[-1]

    yield show
    for one in shown:
        if isValid(one):
            one.close()
    let_go_of_windows()


# Two windows --------------------------------------------------------------------------------------------------------


def test_two_windows_hold_two_projects(
    qtbot: QtBot, window: MainWindow, beside: Beside, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    asked = answer_unsaved(Unsaved.LET_GO)
    other = beside("other.toml")
    other.document.edit("loop_settings.gain", "5.5 %/%")
    assert other.windowTitle() == "● other (other.toml) – LevelBench"
    assert not window.document.edited
    assert window.document.project.title != other.document.project.title
    assert other.close()
    assert asked == ["other"]
    qtbot.waitUntil(lambda: not isValid(other))
    assert window.isVisible()


def test_work_of_one_window_ends_with_it_and_that_of_the_other_goes_on(
    qtbot: QtBot, window: MainWindow, beside: Beside
) -> None:
    other = beside("other.toml")
    done: list[str] = []

    def until_cancelled(progress: Progress) -> str:
        while not progress.cancelled:
            pass
        return "stopped"

    def until_told(_progress: Progress) -> str:
        while not go_on:
            pass
        return "mine"

    go_on: list[bool] = []
    theirs = Job(other.document, until_cancelled, done.append, lambda _error: None)
    mine = Job(window.document, until_told, done.append, lambda _error: None)
    assert other.close()
    assert theirs.cancelled
    assert not mine.cancelled
    go_on.append(True)
    qtbot.waitUntil(lambda: not mine.running)
    assert done == ["mine"]


def test_opening_what_another_window_has_brings_that_one_up(
    qtbot: QtBot, window: MainWindow, beside: Beside, tmp_path: Path
) -> None:
    other = beside("other.toml")
    window.files.open(tmp_path / "other.toml")
    assert window.document.path is None
    assert "other.toml is open already" in window.header.news.text()
    assert other.isVisible()


def test_quit_asks_for_each_window_and_stays_when_told(
    qtbot: QtBot, window: MainWindow, beside: Beside, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    others = [beside("first.toml"), beside("second.toml")]
    for one in (window, *others):
        one.document.edit("loop_settings.gain", "5.5 %/%")
    asked = answer_unsaved(Unsaved.STAY)
    quit_action = next(one for one in window.menuBar().actions()[0].menu().actions() if one.text() == "&Quit")
    quit_action.trigger()
    assert len(asked) == 1
    assert all(one.isVisible() for one in (window, *others))
    asked.clear()
    answer_unsaved(Unsaved.LET_GO)
    quit_action.trigger()
    assert sorted(asked) == sorted([window.document.project.title, "first", "second"])


@pytest.mark.parametrize("edited", [0, 1, 2])
def test_whoever_stays_when_asked_keeps_the_windows_without_changes_too(
    window: MainWindow, beside: Beside, answer_unsaved: Callable[[Unsaved], list[str]], edited: int
) -> None:
    every = [window, beside("first.toml"), beside("second.toml")]
    every[edited].document.edit("loop_settings.gain", "5.5 %/%")
    answer_unsaved(Unsaved.STAY)
    next(one for one in window.menuBar().actions()[0].menu().actions() if one.text() == "&Quit").trigger()
    assert [one.isVisible() for one in every] == [True, True, True]
    answer_unsaved(Unsaved.LET_GO)


def test_recovery_copies_of_two_windows_stay_apart(
    qtbot: QtBot, window: MainWindow, beside: Beside, tmp_path: Path
) -> None:
    other = beside("other.toml")
    other.document.new_from(sample("parts_washer"))
    for one in (window, other):
        one.document.edit("loop_settings.scan", "0.2 s")
        one.document.copy.now()
    folder = tmp_path / "user" / "LevelBench" / "recovery"
    assert len(list(folder.glob("*.toml"))) == 2
    other.document.copy.forget()
    (left,) = folder.glob("*.toml")
    assert window.document.project.text in left.read_text(encoding="utf-8")


def test_a_killed_program_offers_its_work_at_the_next_start(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(house.text, encoding="utf-8")
    script = (
        "import os, sys; from pathlib import Path; from PySide6.QtWidgets import QApplication\n"
        "from levelbench.gui.document.disk import from_file; from levelbench.gui.document.document import Document\n"
        "app = QApplication([]); held = from_file(Path(sys.argv[1]))\n"
        "document = Document(held.project, held.path, mark=held.mark)\n"
        "document.edit('loop_settings.gain', '5.5 %/%')\n"
        "document.copy._have = lambda _of: (print('kept', flush=True))\n"
        "app.exec()\n"
    )
    program = subprocess.Popen([sys.executable, "-c", script, str(path)], stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    assert program.stdout.readline() == "kept\n"
    assert recovery.found() == ()  # its owner lives
    program.kill()
    program.wait()
    program.stdout.close()
    monkeypatch.setattr(dialogs, "ask_about_recovered", lambda *_: True)
    app.offer_recovered(window, Preferences())
    assert window.document.path == path
    assert window.document.project.loop_settings.gain.text == "5.5 %/%"  # type: ignore[union-attr]
    assert window.document.edited
    assert load(path) == house
    assert recovery.found() == ()


# Layout and preferences ---------------------------------------------------------------------------------------------


def test_layout_is_kept_and_taken_up(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(window_layout, "screens", lambda: [QRect(0, 0, 1920, 1080)])
    window.resize(1310, 850)
    window.rail.choose(2)
    preferences = Preferences()
    window_layout.remember(window, window.centre, window.rail.at, preferences)
    window.resize(1150, 720)
    window_layout.take_up(window, Preferences())
    assert (window.width(), window.height()) == (1310, 850)
    assert Preferences().stage == 2


@pytest.mark.parametrize(
    ("place", "seen"),
    [
        (QRect(100, 50, 1280, 800), QRect(100, 50, 1280, 800)),
        (QRect(3000, 50, 1280, 800), QRect(320, 140, 1280, 800)),  # its screen is gone
        (QRect(100, -790, 1280, 800), QRect(320, 140, 1280, 800)),  # its head is above the screen
        (QRect(-200, 700, 1280, 800), QRect(0, 240, 1280, 800)),  # a part of it is outside, and 40 px of its frame
        (QRect(32, 32, 1900, 1030), QRect(12, 10, 1900, 1030)),  # the frame of a further window would hang out
        (QRect(0, 0, 2560, 1400), QRect(0, 0, 1920, 1080)),  # the screen is smaller now
        (QRect(-5000, -5000, 4000, 3000), QRect(0, 0, 1920, 1080)),  # larger than the screen that is left
    ],
)
def test_a_window_is_never_off_every_screen(place: QRect, seen: QRect) -> None:
    found = window_layout.within(place, [QRect(0, 0, 1920, 1080)])
    assert abs(found.x() - seen.x()) <= 1
    assert abs(found.y() - seen.y()) <= 1
    assert found.size() == seen.size()
    assert window_layout.within(place, []) == place


def test_a_first_window_fits_the_screen_with_its_title(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    for room, fits in ((QRect(0, 0, 1280, 800), QSize(1272, 760)), (QRect(0, 0, 1920, 1080), QSize(1280, 800))):
        monkeypatch.setattr(window_layout, "screens", lambda room=room: [room])
        window = QMainWindow()
        qtbot.addWidget(window)
        window.resize(1280, 800)
        window_layout.take_up(window, Preferences())
        assert window.size() == fits


def choose(qtbot: QtBot, box: QComboBox, words: str) -> None:
    """Choose by the keyboard, as a person does."""
    box.setFocus()
    while box.currentText() != words:
        before = box.currentText()
        qtbot.keyClick(box, Qt.Key.Key_Down)
        assert box.currentText() != before, f"no choice “{words}”"


def test_preferences_are_kept_and_shape_new_projects(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_Comma, CONTROL)
    dialog = window.findChild(PreferencesDialog)
    assert dialog is not None
    choose(qtbot, dialog.units, "litres, millimetres, l/min")
    choose(qtbot, dialog.paper, "Letter")
    choose(qtbot, dialog.scale, "200 %")
    assert "needs 2528 × 1460 points" in dialog.scale_words.text()
    choose(qtbot, dialog.theme, "dark")
    try:
        assert theme.current() is theme.DARK
    finally:
        Preferences().theme = "light"
        look.put_on(QApplication.instance(), Preferences())  # type: ignore[arg-type]
    dialog.accept()
    assert (Preferences().scale, Preferences().paper) == (200, "Letter")
    before = load(sample("seedling_house"))
    window.files.new_from(sample("seedling_house"))
    made = window.document.project
    assert (made.display.volume, made.display.length, made.display.flow) == ("l", "mm", "l/min")
    assert made.sheet.paper == "Letter"
    assert made.tank == before.tank  # typed values are as they were typed
    assert not window.document.edited
    assert not window.document.undo_stack.canUndo()


def test_preferences_that_make_no_sense_count_as_never_chosen(tmp_path: Path) -> None:
    file = tmp_path / "window.ini"
    file.write_text("[General]\ntheme=plaid\nscale=7000\nunits=firkins\npaper=vellum\n", encoding="utf-8")
    kept = Preferences(file)
    assert (kept.theme, kept.scale, kept.units, kept.paper) == ("light", SCALES[0], next(iter(UNITS)), PAPERS[0])


def test_the_system_s_theme_is_followed(qapp: QApplication) -> None:
    preferences = Preferences()
    preferences.theme = "system"
    dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
    look.put_on(qapp, preferences)
    assert theme.current() is (theme.DARK if dark else theme.LIGHT)
    preferences.theme = "light"
    look.put_on(qapp, preferences)


def test_the_size_goes_to_qt_before_the_first_window(monkeypatch: pytest.MonkeyPatch) -> None:
    preferences = Preferences()
    preferences.scale = 150
    monkeypatch.delenv("QT_SCALE_FACTOR", raising=False)
    monkeypatch.setattr(os, "environ", dict(os.environ))
    look.scale_up(preferences)
    assert os.environ["QT_SCALE_FACTOR"] == "1.5"
    assert look.scale_now() == 1.5


def test_the_history_goes_back_and_forth_by_name(qtbot: QtBot, window: MainWindow, house: Project) -> None:
    window.document.edit("loop_settings.gain", "5.5 %/%")
    window.document.edit("loop_settings.scan", "0.2 s")
    qtbot.keyClick(window, Qt.Key.Key_H, CONTROL)
    dialog = window.findChild(HistoryDialog)
    assert dialog is not None
    model = dialog.steps.model()
    said = [model.data(model.index(at, 0)) for at in range(model.rowCount())]
    assert said == ["as it was opened", "set gain to 5.5 %/%", "set scan to 0.2 s"]
    dialog.steps.setCurrentIndex(model.index(0, 0))
    assert window.document.project == house
    qtbot.mouseClick(dialog.forth, Qt.MouseButton.LeftButton)
    assert window.document.project.loop_settings.gain.text == "5.5 %/%"  # type: ignore[union-attr]
    dialog.accept()


# The whole hand-over ------------------------------------------------------------------------------------------------


@pytest.fixture
def whole(window: MainWindow) -> WholeHandOver:
    window.rail.choose(5)
    window.hand_over.whole.allow(True)
    return window.hand_over.whole


def test_everything_is_handed_over_by_one_button(
    qtbot: QtBot, whole: WholeHandOver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "for the customer"
    folder.mkdir()
    monkeypatch.setattr("PySide6.QtWidgets.QFileDialog.getExistingDirectory", lambda *_: str(folder))
    qtbot.mouseClick(whole.hand_over, Qt.MouseButton.LeftButton)
    assert not whole.hand_over.isEnabled()
    qtbot.waitUntil(lambda: whole.words.text().startswith("✓"), timeout=110_000)
    assert f"files written to {folder}" in whole.words.text()
    assert {one.suffix for one in folder.iterdir()} == {".pdf", ".html", ".json", ".txt", ".toml", ".csv"}
    opened: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: opened.append(url) or True)
    qtbot.mouseClick(whole.open_folder, Qt.MouseButton.LeftButton)
    assert [Path(url.toLocalFile()) for url in opened] == [folder]
    monkeypatch.setattr(dialogs, "ask_about_replacing", lambda *_: False)
    qtbot.mouseClick(whole.hand_over, Qt.MouseButton.LeftButton)
    assert whole.hand_over.isEnabled()  # it was asked, and nothing began


def test_a_hand_over_that_is_stopped_writes_nothing(
    qtbot: QtBot, whole: WholeHandOver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from levelbench.handover import package  # noqa: PLC0415  brings the compiler in

    def slow(_project: object, _folder: object, progress: Progress, **_how: object) -> None:
        while progress.report(0.4, "second of five"):
            pass

    monkeypatch.setattr(package, "hand_over", slow)
    whole.begin(tmp_path / "folder")
    qtbot.waitUntil(whole.job_line.isVisible)
    assert "about" in whole.job_line.left.text() or whole.job_line.bar.maximum() == 1000
    qtbot.mouseClick(whole.job_line.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(whole.hand_over.isEnabled)
    assert whole.words.text().startswith("Stopped.")
    assert not (tmp_path / "folder").exists()


def test_a_hand_over_into_a_file_s_place_is_refused_in_words(
    qtbot: QtBot, whole: WholeHandOver, tmp_path: Path
) -> None:
    (tmp_path / "folder").write_text("a file", encoding="utf-8")
    whole.begin(tmp_path / "folder")
    qtbot.waitUntil(lambda: whole.words.text().startswith("■"), timeout=110_000)
    assert "a file stands where a folder is needed" in whole.words.text()
    assert whole.hand_over.isEnabled()


def test_stopped_answers_say_so_and_begin_again(qtbot: QtBot, window: MainWindow) -> None:
    answers = window.answers
    begun: list[Job[object]] = []
    answers.job_begun.connect(begun.append)
    answers.begin()
    qtbot.waitUntil(lambda: len(begun) >= 1)
    window.answers_line.show()
    qtbot.mouseClick(window.answers_line.stop, Qt.MouseButton.LeftButton)
    assert answers.trouble.startswith("You stopped this") or answers.tune_trouble.startswith("You stopped this")
    assert not answers.working
    jobs.stop_all()
    qtbot.keyClick(window, Qt.Key.Key_R, CONTROL)
    assert answers.trouble == ""
    qtbot.waitUntil(lambda: answers.tuned is not None, timeout=110_000)


def test_a_bad_file_at_the_start_shows_its_problems(
    qtbot: QtBot, house: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("levelbench.gui.bench.warm.Warm.start", lambda _self: None)
    bad = tmp_path / "bad.toml"
    bad.write_text(house.text.replace('"12 in"', '"12 gal"').replace("[pump]", "[pimp]"), encoding="utf-8")
    window, _ = app.make_window(bad, Preferences())
    qtbot.addWidget(window)
    window.show()
    words = " ".join(one.text() for one in window.findChildren(dialogs.ProblemsDialog)[0].findChildren(QLabel))
    assert "tank.diameter" in words
    assert "pimp" in words
    window.findChildren(dialogs.ProblemsDialog)[0].accept()
    window.close()
