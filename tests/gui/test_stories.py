"""Whole jobs in plain words, from the first entry to the files for the customer, as a technician does them."""

import re
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest
from hands import Running
from person import Person, words_in
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLineEdit, QPushButton
from pytestqt.qtbot import QtBot

from levelbench.gui import app, dialogs
from levelbench.gui.document.disk_notice import DiskNotice
from levelbench.gui.interview.interview import Interview
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.project import Project, load, recovery

Keys = Qt.Key
OFFSCREEN = "This plugin does not support (propagateSizeHints|raise|grabbing the keyboard)"  # there is no screen


@pytest.fixture
def person(qtbot: QtBot, running: Running) -> Person:
    return Person(qtbot, running)


def check_says(person: Person) -> str:
    return person.window.rail.buttons[1].accessibleDescription()


def hands_over(person: Person, folder: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, Path]:
    """Write everything into a folder by the one button; gives the files by their endings."""
    folder.mkdir()
    monkeypatch.setattr("PySide6.QtWidgets.QFileDialog.getExistingDirectory", lambda *_: str(folder))
    person.goes_to("Hand over")
    whole = person.window.hand_over.whole
    person.presses(whole.hand_over)
    person.waits_until(lambda: whole.words.text().startswith("✓"))
    return {one.suffix: one for one in folder.iterdir()}


def looks_what_a_limit_among_the_set_points_would_do(person: Person) -> None:
    window = person.window
    person.goes_to("Alarms")
    person.types(window.alarms.ladder.table.cell("high", "volume"), "3,5", enter=False)
    person.waits_until(lambda: window.alarms.ladder.warnings.text().startswith("If taken:"))
    assert (
        "is not above “set point, highest”" in window.alarms.ladder.warnings.text()
    )  # it would stand among the set points
    person.qtbot.keyClick(window.alarms.ladder.table.cell("high", "volume"), Keys.Key_Escape)
    assert window.alarms.ladder.warnings.text().startswith("✓")


def lets_a_high_alarm_come_acknowledges_it_and_lets_it_go(person: Person) -> None:
    window = person.window
    person.goes_to("Rehearse")
    person.runs_at(50)
    controls = window.rehearse.controls
    person.presses(controls.manual)
    person.waits_for("automatic", gone=True)
    person.types(controls.valve.box, "0 %")
    person.types(controls.output.box, "100 %")
    person.waits_for("high")
    person.waits_until(lambda: "high" in window.bar.alarm.text())
    assert "▲" in words_in(window.bar) or "■" in words_in(window.bar)  # a mark beside the colour

    station = person.opens_the_station()
    assert station.messages.acknowledge.isEnabled()
    assert any("high" in one.line for one in station.messages.list.said)
    person.presses(station.messages.acknowledge)
    person.waits_until(lambda: not station.messages.acknowledge.isEnabled())  # the rig says so, a scan later
    person.waits_for("horn", gone=True)
    person.presses(station.leave)

    person.presses(controls.auto)
    person.types(controls.valve.box, "40 %")
    person.waits_for("high", gone=True)
    person.pauses()


def test_describe_check_try_adopt_run_alarm_acknowledge_hand_over(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The controller came with an integral of 4 s. The loop swings; it is mended, rehearsed and handed over."""
    window, document = person.window, person.document
    person.enters("overflow_switch.trips_at", "300 mm")
    person.enters("loop_settings.integral", "4 s")
    person.waits_for_the_answers()

    box = person.finding("loop.slow_cycling")
    assert "to fix" in check_says(person)
    read = person.tries(box)
    assert f"■ to fix → ✓ good: {box.title}" in read
    assert document.project.loop_settings.integral is not None
    assert document.project.loop_settings.integral.text == "4 s"  # nothing is edited yet
    assert box.outcome is not None
    person.presses(box.outcome.adopt)
    adopted = document.project.loop_settings.integral.text
    assert adopted != "4 s"
    assert document.undo_stack.undoText() == f"adopt: {box.title}"
    person.waits_for_the_answers()
    assert "to fix" not in check_says(person)

    looks_what_a_limit_among_the_set_points_would_do(person)
    lets_a_high_alarm_come_acknowledges_it_and_lets_it_go(person)

    path = tmp_path / "day tank.toml"
    assert window.files.save_to(path)
    assert "●" not in window.windowTitle()
    files = hands_over(person, tmp_path / "for the customer", monkeypatch)
    assert set(files) == {".pdf", ".html", ".json", ".txt", ".toml", ".csv"}
    assert adopted in files[".html"].read_text(encoding="utf-8")
    assert load(files[".toml"]) == load(path) == document.project
    assert "300 mm" in files[".toml"].read_text(encoding="utf-8")


def interview_of(person: Person) -> Interview:
    asked = person.window.findChildren(Interview)[-1]
    person.waits_until(asked.isActiveWindow)
    return asked


def box_of(asked: Interview, key: str) -> QLineEdit:
    found = asked.pages[asked.at].fields[key].box
    assert isinstance(found, QLineEdit)
    return found


def answers_oddly_is_called_away_and_comes_again(person: Person) -> None:
    window, qtbot = person.window, person.qtbot
    window.menus.interviews.open()
    asked = interview_of(person)
    box = partial(box_of, asked)
    person.types(box("title"), "Dye vat 7")
    person.types(box("loop"), "77")
    assert asked.count.text() == "Question 2 of 10"
    units = asked.pages[1].fields["units"].box
    assert isinstance(units, QComboBox)
    units.setCurrentText("litres and millimetres")
    units.activated.emit(units.currentIndex())
    person.presses(asked.next)
    person.presses(asked.next)

    person.types(box("diameter"), "0,3 gal")  # a volume for a length, with a comma
    assert asked.count.text() == "Question 4 of 10"
    assert "✗" in words_in(asked)
    assert box("diameter").text() == "0,3 gal"  # kept, to be mended
    person.types(box("diameter"), "0,3 m", enter=False)
    assert "✗" not in words_in(asked)
    person.types(box("height"), "15", enter=False)  # half-typed: no unit yet
    person.presses(asked.back)
    assert asked.count.text() == "Question 3 of 10"
    person.presses(asked.next)
    assert box("height").text() == "15"
    person.presses(asked.next)
    assert asked.count.text() == "Question 4 of 10"  # it is held, with the reason beside the box
    qtbot.keyClick(asked, Keys.Key_Escape)
    assert not asked.isVisible()
    assert person.document.project.title != "Dye vat 7"

    window.menus.interviews.open()
    asked = interview_of(person)
    box = partial(box_of, asked)
    assert asked.count.text() == "Question 4 of 10"
    assert box("height").text() == "15"
    assert box("diameter").text() == "0,3 m"
    person.types(box("height"), "15 3/4 in", enter=False)
    asked.steps.buttons[9].click()
    with qtbot.waitSignal(person.document.replaced, timeout=60_000):
        person.presses(asked.next)


@pytest.mark.qt_log_ignore(OFFSCREEN, extend=True)
def test_ten_questions_with_odd_answers_then_a_run_and_the_hand_over(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rig nobody has described yet; the person types as people do, goes back, is called away, and comes again."""
    answers_oddly_is_called_away_and_comes_again(person)
    project = person.document.project
    assert (project.title, project.loop, project.display.volume) == ("Dye vat 7", "77", "l")
    assert project.tank.diameter is not None
    assert project.tank.height is not None
    assert (project.tank.diameter.text, project.tank.height.text) == ("0,3 m", "15 3/4 in")
    assert person.document.edited

    person.waits_for_the_answers()
    assert "to fix" not in check_says(person)  # what is assumed never stops the job
    begun = person.live.view
    person.runs_at(20)
    person.waits_until(lambda: person.live.view is not begun and person.live.view["time"] > 30)
    person.pauses()
    files = hands_over(person, tmp_path / "vat", monkeypatch)
    assert load(files[".toml"]) == project
    assert all("77" in one.name for one in files.values())


def dies_at_work_on(path: Path) -> None:
    """Let a program of its own edit a file and be killed once its recovery copy is kept."""
    program = subprocess.Popen([sys.executable, "-c", _DYING, str(path)], stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    assert program.stdout.readline() == "kept\n"
    program.kill()
    program.wait()
    program.stdout.close()


def test_a_crash_gives_the_work_back_and_a_changed_file_is_not_written_over(
    qtbot: QtBot, window: MainWindow, house: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The laptop died in the middle of the work; meanwhile a colleague has edited the file on the share."""
    path = tmp_path / "mine.toml"
    path.write_text(house.text, encoding="utf-8")
    dies_at_work_on(path)
    assert load(path) == house  # the file itself is as it was

    monkeypatch.setattr(dialogs, "ask_about_recovered", lambda *_: True)
    app.offer_recovered(window, Preferences())
    document = window.document
    assert document.project.loop_settings.integral is not None
    assert document.project.loop_settings.integral.text == "31 s"
    assert document.path == path
    assert "● " in window.windowTitle()
    assert recovery.found() == ()

    window.go_to("loop_settings.scan")
    box = window.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    qtbot.keyClicks(box, "0,2 s")
    qtbot.keyClick(box, Keys.Key_Return)
    assert document.undo_stack.undoText() == "set scan to 0,2 s"

    theirs = re.sub(r'(?m)^gain = "[^"]*"', 'gain = "900 %/gal"', path.read_text(encoding="utf-8"))
    path.write_text(theirs, encoding="utf-8")
    notice = window.findChild(DiskNotice)
    qtbot.waitUntil(notice.isVisible)
    assert "changed by another program" in words_in(notice)
    keep = next(one for one in notice.findChildren(QPushButton) if one.text() == "Keep mine")
    qtbot.mouseClick(keep, Qt.MouseButton.LeftButton)
    assert not notice.isVisible()
    assert path.read_text(encoding="utf-8") == theirs  # nothing is written until it is saved

    qtbot.keyClick(window, Keys.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert load(path) == document.project
    assert not document.edited
    document.undo_stack.undo()
    assert "● " in window.windowTitle()


_DYING = """
import sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from levelbench.gui.document.disk import from_file
from levelbench.gui.document.document import Document

app = QApplication([])
held = from_file(Path(sys.argv[1]))
document = Document(held.project, held.path, mark=held.mark)
document.edit("loop_settings.integral", "31 s")
document.copy._have = lambda _of: print("kept", flush=True)
app.exec()
"""
