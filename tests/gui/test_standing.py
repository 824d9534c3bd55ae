"""The alarms of the run as a person deals with them: listed, acknowledged, shelved, taken out of service, by name."""

import pytest
from hands import LONG, Running
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from levelbench.gui.bands.standing import StandingList
from levelbench.gui.bands.way_standing import Standing
from levelbench.gui.preferences import LONGEST_NAME, Preferences, one_line
from levelbench.gui.stages.staged import ALARMS, REHEARSE

HIGH_NOW = {"high limit": 0.001, "high on-delay": 0.0, "low limit": 0.02, "low on-delay": 0.0}  # m3, s: both come


@pytest.fixture
def standing(qtbot: QtBot, running: Running) -> StandingList:
    """The list of the Alarms stage, with two alarms that stand."""
    window, _, live = running
    window.rail.choose(ALARMS)
    way = window.alarms.choose("standing")
    assert isinstance(way, Standing)
    live.act("acknowledge by hand", 1.0)
    for what, value in HIGH_NOW.items():
        live.act(what, value)
    live.scan_once()
    qtbot.waitUntil(lambda: "2 standing" in way.list.says.text(), timeout=LONG)
    return way.list


def lines(standing: StandingList) -> list[str]:
    return [standing.list.item(at).text() for at in range(standing.list.count())]


def press(qtbot: QtBot, button: QPushButton) -> None:
    """Press a button with the keyboard."""
    assert button.isEnabled()
    button.setFocus()
    qtbot.keyClick(button, Qt.Key.Key_Space)


def take(qtbot: QtBot, running: Running, standing: StandingList, name: str) -> None:
    """Walk to an alarm with the arrows."""
    standing.list.setFocus()
    for _ in range(standing.list.count()):
        if standing.list.chosen == name:
            return
        qtbot.keyClick(standing.list, Qt.Key.Key_Down)
    for _ in range(standing.list.count()):
        if standing.list.chosen == name:
            return
        qtbot.keyClick(standing.list, Qt.Key.Key_Up)
    raise AssertionError(name)


def until(qtbot: QtBot, running: Running, standing: StandingList, words: str) -> None:
    """Let the scan take what was done, and wait until the list says so."""
    running[2].scan_once()
    qtbot.waitUntil(lambda: any(words in one for one in lines(standing)), timeout=LONG)


def journal(running: Running) -> list[tuple[str, str, str]]:
    return [(one.kind, one.what, one.who) for one in running[2].heard]


def test_what_stands_is_listed_with_state_letter_tag_priority_and_since(standing: StandingList) -> None:
    assert standing.says.text() == "2 standing, 2 to acknowledge, 0 kept apart"
    head, *alarms = lines(standing)
    assert head == "Standing: 2"
    assert sorted(one.split("\n")[0] for one in alarms) == [
        "▲ unacknowledged (B)  high LAH-310", "▲ unacknowledged (B)  low LAL-310",
    ]  # fmt: skip
    assert all(one.split("\n")[1].strip() == "medium priority · since 0:00:00" for one in alarms)
    assert "look at" in standing.about.text().lower()  # the operator action of the project


def test_one_is_acknowledged_with_enter_and_all_with_a_button_and_the_journal_says_who(
    qtbot: QtBot, running: Running, standing: StandingList
) -> None:
    standing.person.setFocus()
    qtbot.keyClicks(standing.person, "Ann Sample")
    qtbot.keyClick(standing.person, Qt.Key.Key_Return)
    take(qtbot, running, standing, "low")
    qtbot.keyClick(standing.list, Qt.Key.Key_Return)
    until(qtbot, running, standing, "● acknowledged (C)  low LAL-310")
    assert standing.says.text() == "2 standing, 1 to acknowledge, 0 kept apart"
    assert ("action", "low acknowledge", "Ann Sample") in journal(running)
    assert ("alarm", "low", "Ann Sample") in journal(running)
    press(qtbot, standing.every)
    until(qtbot, running, standing, "● acknowledged (C)  high LAH-310")
    assert not standing.every.isEnabled()
    window = running[0]
    said = [window.rehearse.messages.item(at).text() for at in range(window.rehearse.messages.count())]
    assert "0:00:00  Ann Sample  high alarm acknowledged" in said
    assert window.preferences.person == "Ann Sample"
    assert any("by Ann Sample" in flag.words for flag in running[1].trend._history.flags(0.0, 9.0, 1e-3))


def test_a_shelf_has_a_time_that_runs_and_a_limit_and_is_left_again(
    qtbot: QtBot, running: Running, standing: StandingList
) -> None:
    take(qtbot, running, standing, "high")
    box = standing.shelve.box
    assert box.text() == "10 min"
    box.selectAll()
    qtbot.keyClicks(box, "3 h")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert "up to 30 min" in standing.shelve.reason.text()
    box.selectAll()
    qtbot.keyClicks(box, "90 s")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    until(qtbot, running, standing, "◷ shelved (G)  high LAH-310")
    assert "Kept apart: 1" in lines(standing)
    assert any("shelf 0:01:" in one for one in lines(standing))
    running[2].set_speed(200)
    running[2].run()
    qtbot.waitUntil(lambda: "0 kept apart" in standing.says.text(), timeout=LONG)  # its time is over
    running[2].pause()
    assert ("alarm", "high", "clock") in journal(running)
    take(qtbot, running, standing, "high")
    press(qtbot, standing.shelve.go)
    until(qtbot, running, standing, "◷ shelved (G)  high LAH-310")
    press(qtbot, standing.down)
    until(qtbot, running, standing, "▲ unacknowledged (B)  high LAH-310")


def test_a_normal_alarm_is_taken_out_of_service_and_brought_back(
    qtbot: QtBot, running: Running, standing: StandingList
) -> None:
    qtbot.keyClick(standing.normal, Qt.Key.Key_Space)
    assert any(one.startswith("✓ normal (A)  spill") for one in lines(standing))
    take(qtbot, running, standing, "spill")
    assert standing.out.text() == "Take out of service"
    press(qtbot, standing.out)
    until(qtbot, running, standing, "✕ out of service (I)  spill")
    assert standing.out.text() == "Bring back into service"
    qtbot.keyClick(standing.normal, Qt.Key.Key_Space)
    assert any("spill" in one for one in lines(standing)), "what is out of service stays in sight"
    press(qtbot, standing.out)
    running[2].scan_once()
    qtbot.waitUntil(lambda: "0 kept apart" in standing.says.text(), timeout=LONG)


def test_a_latched_alarm_is_reset_only_when_somebody_has_acknowledged(
    qtbot: QtBot, running: Running, standing: StandingList
) -> None:
    running[2].act("high latching", 1.0)
    running[2].act("high limit", 0.03)
    until(qtbot, running, standing, "■ latched unacknowledged (E)  high")
    assert not standing.reset.isEnabled()
    take(qtbot, running, standing, "high")
    press(qtbot, standing.one)
    until(qtbot, running, standing, "□ latched acknowledged (F)  high")
    press(qtbot, standing.reset)
    running[2].scan_once()
    qtbot.waitUntil(lambda: "1 standing" in standing.says.text(), timeout=LONG)


def test_rehearse_has_the_same_list_and_name(qtbot: QtBot, running: Running, standing: StandingList) -> None:
    window = running[0]
    standing.person.setText("Bo")
    standing.person.editingFinished.emit()
    window.rail.choose(REHEARSE)
    other = window.rehearse.standing
    qtbot.waitUntil(lambda: "2 standing" in other.says.text(), timeout=LONG)
    assert other.person.text() == "Bo"
    assert lines(other) == lines(standing)


def test_a_name_is_one_line_and_no_word_of_the_journal(standing: StandingList, running: Running) -> None:
    standing.person.setText("Clock")
    standing.person.editingFinished.emit()
    assert "word of the journal" in standing.note.text()
    assert running[2].who == "operator"
    standing.person.setText("  Ann \u202e Bo ")
    standing.person.editingFinished.emit()
    assert standing.note.text() == ""
    assert running[2].who == "Ann  Bo".replace("  ", " ")
    assert standing.person.text() == running[2].who


@pytest.mark.parametrize("name", ["a\nb", "a\r\nb\tc", "x" * 500, "\x00\x1b[31mred", "", "   "])
def test_a_remembered_name_is_clean_whatever_stands_in_the_file(name: str, qapp: object) -> None:
    preferences = Preferences()
    preferences.person = name
    kept = preferences.person
    assert kept == one_line(name)
    assert len(kept) <= LONGEST_NAME
    assert kept.isprintable()
    assert "\n" not in kept
