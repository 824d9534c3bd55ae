"""F1 in every window that is not the main one: each dialog and question, the ten questions, the operator station."""

import ast
import itertools
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hands import Running
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QLineEdit, QMessageBox, QPushButton, QWidget
from pytestqt.qtbot import QtBot

import levelbench.gui
from levelbench.gui import dialogs
from levelbench.gui.document.difference import DifferenceDialog
from levelbench.gui.document.history import HistoryDialog
from levelbench.gui.help.about import AboutDialog
from levelbench.gui.help.desk import place_of
from levelbench.gui.help.window import HelpWindow
from levelbench.gui.interview.interview import Interview
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences_dialog import PreferencesDialog
from levelbench.gui.station.figures import Figures
from levelbench.project import Problem, SaveError
from levelbench.project.interview import ASKS, QUESTIONS
from levelbench.project.recovery import Recovered

PROBLEM = Problem(3, "tank.height", '"15"', "a length", None, "Has no unit.")
DIALOGS: dict[type[QDialog], Callable[[MainWindow, Path], object]] = {
    AboutDialog: lambda window, _: window.help.show_about(),
    DifferenceDialog: lambda window, path: DifferenceDialog(window, "a\n", path).open(),
    HistoryDialog: lambda window, _: HistoryDialog(window, window.document.undo_stack).open(),
    Interview: lambda window, _: window.menus.interviews.open(),
    PreferencesDialog: lambda window, _: PreferencesDialog(window, window.preferences).open(),
    dialogs.ProblemsDialog: lambda window, _: dialogs.ProblemsDialog(window, "a.toml", [PROBLEM]).open(),
}


def classes_of_dialogs() -> set[str]:
    """The names of all classes of the window that are dialogs."""
    room = Path(levelbench.gui.__file__).parent
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in room.rglob("*.py")]
    found = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    return {one.name for one in found if any(ast.unparse(base) == "QDialog" for base in one.bases)}


def f1(qtbot: QtBot, asking: QWidget) -> HelpWindow:
    """Press F1 in a window; gives the help that it opened."""
    in_hand = QApplication.focusWidget()
    qtbot.keyClick(in_hand if in_hand is not None and asking.isAncestorOf(in_hand) else asking, Qt.Key.Key_F1)
    found = asking.findChild(HelpWindow)
    assert found is not None
    assert found.isVisible()
    return found


def press_as_with_a_mouse(shown: HelpWindow, title: str) -> None:
    """Press a title in the contents by way of the window system, which lets nothing into a window that is shut."""
    item = next(
        shown.contents.item(at) for at in range(shown.contents.count()) if shown.contents.item(at).text() == title
    )
    place = shown.contents.visualItemRect(item).center()
    left, free = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    QTest.mouseClick(shown.windowHandle(), left, free, shown.contents.viewport().mapTo(shown, place))


def exists(window: MainWindow, place: str) -> bool:
    """Whether a place is one of the help."""
    name, _, anchor = place.partition("#")
    return any(page.name == name and (not anchor or anchor in page.anchors) for page in window.help.pages())


def test_no_dialog_is_left_out() -> None:
    assert {one.__name__ for one in DIALOGS} == classes_of_dialogs()


@pytest.mark.parametrize("kind", DIALOGS, ids=lambda kind: kind.__name__)
def test_f1_in_a_dialog_opens_its_page_above_it(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, kind: type[QDialog]
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("b\n", encoding="utf-8")
    DIALOGS[kind](window, path)
    dialog = window.findChild(kind)
    assert dialog is not None
    qtbot.waitUntil(dialog.isActiveWindow)
    shown = f1(qtbot, dialog)
    assert exists(window, shown.place)
    assert shown.place.partition("#")[0] != "start"
    assert shown.parentWidget() is dialog  # a dialog lets nobody into a window that is not its own
    assert f1(qtbot, dialog) is shown
    dialog.close()
    assert not shown.isVisible()


ASKED: dict[str, Callable[[MainWindow], object]] = {
    "files#changed-by-another-program": lambda window: dialogs.ask_about_overwriting(window, Path("a.toml"), "12:00"),
    "files#handing-over-again": lambda window: dialogs.ask_about_replacing(window, Path("out"), 7),
    "files#work-that-was-not-saved-before": lambda window: dialogs.ask_about_recovered(
        window, Recovered(Path("x.toml"), Path("a.toml"), datetime(2026, 3, 1, 8, 30, tzinfo=UTC))
    ),
}
PLAIN = {"OK", "Don't save yet", "Write over theirs", "Save as …"}  # these say it all
ask_about_unsaved = dialogs.ask_about_unsaved  # the fixture of the window answers it by itself


@pytest.mark.parametrize("place", [*ASKED, "files#work-that-is-not-saved", "files#what-could-not-be-written"])
def test_f1_in_a_question_opens_what_its_answers_mean(qtbot: QtBot, window: MainWindow, place: str) -> None:
    seen: list[str] = []
    unsaid: list[str] = []

    def press() -> None:
        box = window.findChild(QMessageBox)
        try:
            qtbot.waitUntil(box.isActiveWindow)
            shown = f1(qtbot, box)
            seen.append(shown.place)
            press_as_with_a_mouse(shown, "Alarms and lamps")
            seen.append(shown.place)
            page = next(one for one in window.help.pages() if one.name == "files")
            told = page.markdown.replace("\n", " ")
            labels = {one.text().replace("&", "") for one in box.buttons()} - PLAIN
            unsaid.extend(label for label in labels if f"**{label}**" not in told)
        finally:
            box.done(0)

    QTimer.singleShot(0, press)
    if place == "files#work-that-is-not-saved":
        ask_about_unsaved(window, "A tank")
    elif place in ASKED:
        ASKED[place](window)
    else:
        dialogs.show_trouble(window, "Not saved", SaveError("The disk is full.", "full disk"))
        qtbot.waitUntil(lambda: bool(seen))
    assert seen == [place, "alarms"]
    assert exists(window, place)
    assert unsaid == []


@pytest.mark.parametrize("at", range(len(QUESTIONS)))
def test_f1_on_a_question_explains_the_box_in_hand(qtbot: QtBot, window: MainWindow, at: int) -> None:
    window.menus.interviews.open()
    interview = window.findChild(Interview)
    assert interview is not None
    qtbot.waitUntil(interview.isActiveWindow)
    interview.show_question(at)
    first = next(iter(QUESTIONS[at].asks))
    shown = f1(qtbot, interview)
    assert shown.place == f"questions#{first}"
    assert shown.top_heading() == ASKS[first].label
    shown.close()
    interview.activateWindow()
    interview.next.setFocus()
    assert f1(qtbot, interview).place == f"questions#question-{at + 1}"
    interview.close()


def test_every_ask_is_explained_with_what_is_assumed(window: MainWindow) -> None:
    page = next(one for one in window.help.pages() if one.name == "questions")
    assert set(ASKS) <= set(page.anchors)
    assert page.markdown.count("Assumed when left open: ") == len(ASKS)
    assert all(one.help in page.markdown for one in ASKS.values())


def test_every_preference_has_a_place_of_its_own(qtbot: QtBot, window: MainWindow) -> None:
    dialog = PreferencesDialog(window, window.preferences)
    dialog.open()
    boxes = dialog.findChildren(QComboBox)
    places = [place_of(one) for one in boxes]
    assert len(set(places)) == len(boxes) >= 6
    assert all("#" in place and exists(window, place) for place in places)
    qtbot.waitUntil(dialog.isActiveWindow)
    boxes[2].setFocus()
    assert f1(qtbot, dialog).place == places[2]
    dialog.close()


def test_f1_on_the_station_explains_what_is_in_hand(qtbot: QtBot, running: Running) -> None:
    window, bench, _live = running
    bench.station.open()
    station = bench.station.window
    assert station is not None
    qtbot.waitUntil(station.isActiveWindow)
    shown = f1(qtbot, station)
    assert shown.place == "station"
    places = {place_of(one) for one in station.station.findChildren(QPushButton)}
    assert all(exists(window, place) for place in places)
    assert len(places) >= 5
    shown.close()
    station.activateWindow()
    station.station.pad.enter.setFocus()
    assert f1(qtbot, station).place == "station#the-pad"
    station.close()


def test_every_figure_of_bench_and_station_is_explained(qtbot: QtBot, window: MainWindow) -> None:
    bar, figures = window.bar, Figures()
    qtbot.addWidget(figures)
    shown = (bar.pv, bar.sp, bar.op, bar.speed, bar.lamps, figures.pv, figures.sp, figures.op, figures.status)
    assert [
        one for one in (*shown, figures.lamps, figures.alarm, figures.pump, figures.horn) if not words_of(one)
    ] == []
    for one, term in ((bar.pv, "PV"), (bar.sp, "SP"), (bar.op, "OP")):
        assert f"({term})" in one.toolTip()
        assert exists(window, place_of(one))
        assert place_of(one) != "bench"


def words_of(one: QWidget) -> str:
    """What a control says of itself to somebody who points at it, or hears it."""
    return one.toolTip() or one.accessibleDescription() or one.whatsThis()


def test_every_control_of_the_other_windows_says_what_it_is(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("b\n", encoding="utf-8")
    silent = []
    for kind, opens in DIALOGS.items():
        opens(window, path)
        dialog = window.findChild(kind)
        assert dialog is not None
        controls = itertools.chain.from_iterable(
            dialog.findChildren(one) for one in (QPushButton, QComboBox, QLineEdit)
        )
        silent += [
            f"{kind.__name__}: {one.accessibleName() or one.objectName()}" for one in controls if not words_of(one)
        ]
        dialog.close()
    assert silent == []
