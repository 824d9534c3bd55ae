"""The operator's controls: every one acts on the running rig, and what may not be entered is refused with a reason."""

from dataclasses import replace

import pytest
from hands import Hands
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QAbstractButton
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.typed_value import TypedValue
from levelbench.gui.stages.operator import Standing
from levelbench.gui.stages.rehearse import FAULTS, Rehearse, action_words, faults_of
from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import ENTRIES
from levelbench.rig.panel import event_words

US_GAL = 3.785411784e-3  # m3 (NIST SP 811, appendix B)


@pytest.fixture
def rehearse(qtbot: QtBot, document: Document, hands: Hands) -> Rehearse:
    made = Rehearse(document, hands)
    made.open()
    qtbot.addWidget(made)
    made.resize(408, 700)
    made.show()
    qtbot.waitExposed(made)
    return made


def press(qtbot: QtBot, button: QAbstractButton) -> None:
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def enter(qtbot: QtBot, value: TypedValue, words: str) -> None:
    value.box.selectAll()
    qtbot.keyClicks(value.box, words)
    qtbot.keyClick(value.box, Qt.Key.Key_Return)


def test_nothing_is_done_until_somebody_does_it(rehearse: Rehearse, hands: Hands) -> None:
    assert hands.acts == []
    rehearse.begin()
    assert hands.acts == []


def test_a_set_point_is_typed_in_any_unit(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    enter(qtbot, rehearse.controls.set_point, "3.10 gal")
    enter(qtbot, rehearse.controls.set_point, "12 l")
    assert [what for what, _ in hands.acts] == ["set point", "set point"]
    assert [value for _, value in hands.acts] == pytest.approx([3.10 * US_GAL, 0.012])


@pytest.mark.parametrize("words", ["42.5 gal", "0.1 gal", "3.1", "3 in"])
def test_a_slip_of_the_keys_is_refused(qtbot: QtBot, rehearse: Rehearse, hands: Hands, words: str) -> None:
    enter(qtbot, rehearse.controls.set_point, words)
    assert hands.acts == []
    assert rehearse.controls.set_point.reason.isVisible()
    assert rehearse.controls.set_point.box.text() == words


def test_the_limits_of_the_set_point_are_named(rehearse: Rehearse, document: Document) -> None:
    settings = document.project.loop_settings
    words = rehearse.controls.set_point.now.text()
    assert settings.set_point_low.shown in words
    assert settings.set_point_high.shown in words
    assert settings.entry_step.shown in words


def test_limits_edited_during_the_run_hold_from_then_on(
    qtbot: QtBot, rehearse: Rehearse, document: Document, hands: Hands
) -> None:
    rehearse.controls.take(edit_many(document.project, {"loop_settings.set_point_high": "3.20 gal"}))
    enter(qtbot, rehearse.controls.set_point, "3.5 gal")
    assert hands.acts == []
    assert "3.20 US gal" in rehearse.controls.set_point.now.text()


def test_manual_opens_the_output_and_auto_closes_it(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    controls = rehearse.controls
    assert not controls.output.box.isEnabled()
    press(qtbot, controls.manual)
    enter(qtbot, controls.output, "45 %")
    enter(qtbot, controls.output, "145 %")
    press(qtbot, controls.auto)
    assert not controls.output.box.isEnabled()
    assert hands.acts == [("auto", 0.0), ("manual output", pytest.approx(0.45)), ("auto", 1.0)]


def test_stop_stays_in_until_it_is_released(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    stop = rehearse.controls.stop
    press(qtbot, stop)
    assert stop.text() == "Release stop"
    press(qtbot, stop)
    assert stop.text() == "STOP"
    assert hands.acts == [("stop", 1.0), ("stop", 0.0)]


def test_every_other_button_acts(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    controls = rehearse.controls
    for button in (controls.reset, controls.start, controls.silence, controls.prime, controls.mains, controls.mains):
        press(qtbot, button)
    enter(qtbot, controls.valve, "60 %")
    enter(qtbot, controls.top_up, "1 gal")
    assert hands.acts == [
        ("reset", 1.0),
        ("power on", 1.0),
        ("silence", 1.0),
        ("prime", 1.0),
        ("mains", 0.0),
        ("mains", 1.0),
        ("valve opening", pytest.approx(0.6)),
        ("top up", pytest.approx(US_GAL)),
    ]


def test_every_act_is_one_that_the_panel_knows(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    offered = [what for what, box in rehearse.faults.items() if box.isVisible()]
    for what in offered:
        qtbot.keyClick(rehearse.faults[what], Qt.Key.Key_Space)
    assert hands.acts == [(what, 1.0) for what in offered]
    own = {"set point", "auto", "manual output", "valve opening", "draw", "top up", "prime", "stop", "mains"}
    assert set(FAULTS) | own | {"reset", "power on", "silence"} <= set(ENTRIES)


def test_only_what_this_rig_has_is_there(rehearse: Rehearse, document: Document) -> None:
    controls = rehearse.controls
    assert controls.prime.isVisible()
    assert controls.valve.isVisible()
    assert not controls.draw.isVisible()
    document.new_from(sample("parts_washer"))
    rehearse.begin()
    assert load(sample("parts_washer")).drain.kind == "bottom outlet"
    assert not controls.prime.isVisible()


def test_nothing_can_be_pressed_before_there_is_a_rig(qtbot: QtBot, document: Document, hands: Hands) -> None:
    made = Rehearse(document, hands)
    qtbot.addWidget(made)
    made.show()
    assert made.aside.text() == "waits for the rig"
    press(qtbot, made.controls.stop)
    qtbot.keyClick(made.faults["airlock"], Qt.Key.Key_Space)
    assert hands.acts == []
    made.open()
    press(qtbot, made.controls.stop)
    assert hands.acts == [("stop", 1.0)]


def test_the_controls_follow_what_was_done_elsewhere(qtbot: QtBot, rehearse: Rehearse, hands: Hands) -> None:
    controls = rehearse.controls
    words = controls.set_point.box.text()
    now = Standing(3.0 * US_GAL, 0.35, 0.25, auto=True, stop=False, mains=True)
    controls.follow(now)
    assert controls.set_point.box.text() == words  # as typed in the project
    controls.follow(replace(now, set_point=3.5 * US_GAL))
    assert controls.set_point.box.text() == "3.50 US gal"
    qtbot.keyClicks(controls.set_point.box, "9")
    controls.follow(replace(now, opening=0.6, set_point=3.2 * US_GAL))
    assert controls.valve.box.text() == "60.0 %"
    controls.follow(replace(now, output=0.335))
    assert controls.output.box.text() == "33.5 %"  # the controller moves it
    assert controls.set_point.box.text() == "3.50 US gal9"  # half-typed text is left alone
    controls.follow(replace(now, output=0.335, auto=False, stop=True, mains=False))
    assert controls.manual.isChecked()
    assert controls.output.box.isEnabled()
    assert (controls.stop.text(), controls.mains.text()) == ("Release stop", "Mains off")
    assert hands.acts == []


def test_a_press_is_not_undone_by_a_late_report(qtbot: QtBot, rehearse: Rehearse) -> None:
    now = Standing(3.0 * US_GAL, 0.35, 0.25, auto=True, stop=False, mains=True)
    rehearse.controls.follow(now)
    press(qtbot, rehearse.controls.stop)
    rehearse.controls.follow(now)
    assert rehearse.controls.stop.isChecked()


SENSORS: dict[str, dict[str, Value]] = {
    "ultrasonic": {},
    "hydrostatic": {"sensor.kind": "hydrostatic", "sensor.face_above_floor": "0 in"},
    "plain 4-20 mA": {"sensor.kind": "plain 4-20 mA"},
}


@pytest.mark.parametrize("kind", SENSORS)
def test_a_broken_loop_wire_is_offered_for_every_sensor_and_nothing_that_is_not_there(kind: str) -> None:
    changes = SENSORS[kind] | ({"sensor.signal_span": ["0 in", "18 in"]} if kind != "ultrasonic" else {})
    project = edit_many(load(sample("seedling_house")), changes)
    assert "loop wire open" in faults_of(project)
    assert ("echo lost" in faults_of(project)) == (kind == "ultrasonic")
    with_valve = edit_many(project, {"pump.check_valve": True, "overflow_switch.fitted": False})
    assert "check valve leaks" in faults_of(with_valve)
    assert not {"switch stuck", "switch wire open"} & set(faults_of(with_valve))


def test_messages_come_newest_first_in_words_and_are_copied(qtbot: QtBot, rehearse: Rehearse) -> None:
    assert not rehearse.copy.isEnabled()
    rehearse.tell(61.0, "you", action_words("stop", 1.0, ""))
    rehearse.tell(3725.2, "rig", event_words("pump allowed", 0.0))
    lines = [rehearse.messages.item(at).text() for at in range(rehearse.messages.count())]
    assert lines == ["1:02:05  rig  pump blocked", "0:01:01  you  emergency stop pressed"]
    qtbot.keyClick(rehearse.copy, Qt.Key.Key_Space)
    assert QGuiApplication.clipboard().text() == "\n".join(lines)
    assert rehearse.copied.text() == "✓ 2 copied"
    assert action_words("airlock", 1.0, "on") == "fault: air in the pump"


def test_messages_of_one_alarm_are_listed_alone(qtbot: QtBot, rehearse: Rehearse) -> None:
    rehearse.tell(1.0, "rig", "high alarm", "high")
    rehearse.tell(2.0, "rig", "low alarm", "low")
    rehearse.tell(3.0, "Ann", "acknowledge", "every")
    rehearse.tell(4.0, "rig", "pump blocked")
    qtbot.keyClicks(rehearse.about, "low")
    assert rehearse.about.currentText() == "low"
    assert listed(rehearse) == ["0:00:03  Ann  acknowledge", "0:00:02  rig  low alarm"]
    rehearse.tell(5.0, "Bo", "low shelve 60 s", "low")
    rehearse.tell(6.0, "rig", "high back to normal", "high")
    qtbot.keyClick(rehearse.copy, Qt.Key.Key_Space)
    assert QGuiApplication.clipboard().text().splitlines()[0] == "0:00:05  Bo  low shelve 60 s"
    assert rehearse.copied.text() == "✓ 3 copied"
    qtbot.keyClick(rehearse.about, Qt.Key.Key_Home)
    qtbot.keyClick(rehearse.about, Qt.Key.Key_Down)
    assert rehearse.about.currentText() == "every alarm"
    assert len(listed(rehearse)) == 5
    qtbot.keyClick(rehearse.about, Qt.Key.Key_Home)
    assert len(listed(rehearse)) == 6


def listed(rehearse: Rehearse) -> list[str]:
    every = [rehearse.messages.item(at) for at in range(rehearse.messages.count())]
    return [one.text() for one in every if not one.isHidden()]
