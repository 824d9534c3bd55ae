"""Latches, hard wiring and what may start the pump: nothing but the start button, with power, and nothing latched.

The rules are trade facts of panel building (IEC 60204-1: no restart by itself when power returns, an emergency stop
latches and its release starts nothing; values and wording from memory).
"""

import itertools
import math

import numpy as np
import pytest
from rigs import AREA, BY_HAND, LITRE, PLAIN, at, build, go, times_of, together

from levelbench.rig import Action, Recording, Session, has

RUNNING = PLAIN | BY_HAND | {"start.output": "50 %", "start.tank_volume": "5 l", "sensor.hold_lost_echo": "0 s"}
FULL = 12 * LITRE / 60
ON = [(20, "reset"), (21, "power on")]

# what stops it, what takes the cause away, the latch that it leaves
CAUSES: dict[str, tuple[tuple[str, float], tuple[str, float], str | None]] = {
    "power cut": (("mains", 0), ("mains", 1), None),
    "stop": (("stop", 1), ("stop", 0), "stop latched"),
    "broken wire": (("switch wire open", 1), ("switch wire open", 0), "switch latched"),
    "lost echo": (("echo lost", 1), ("echo lost", 0), "sensor latched"),
}


def pumps(recording: Recording, time: float) -> bool:
    return at(recording, time, "pump_flow") > 0.0


def after(cause: str, *then: tuple[float, str], mend: float = 10.0) -> Recording:
    """Run 40 s: the cause at 5 s, mended at a time, then buttons at their times."""
    (what, value), (mended, back), _ = CAUSES[cause]
    actions = [Action(5, what, value), Action(mend, mended, back), *(Action(time, button) for time, button in then)]
    return go(build(RUNNING), 40, actions)


@pytest.mark.parametrize("cause", CAUSES)
class TestEveryCause:
    def test_stops_the_pump_and_a_mended_cause_starts_nothing(self, cause: str) -> None:
        recording = after(cause)
        assert pumps(recording, 4)
        assert not recording["pump_flow"][recording["time"] > 7].any()
        assert not recording["output"][recording["time"] > 7].any()
        assert not recording.condition("started")[-1]

    def test_reset_alone_starts_nothing(self, cause: str) -> None:
        recording = after(cause, (20, "reset"))
        assert not recording["pump_flow"][recording["time"] > 7].any()
        latch = CAUSES[cause][2]
        assert latch is None or not recording.condition(latch)[-1]

    def test_reset_and_power_on_start_it(self, cause: str) -> None:
        recording = after(cause, *ON)
        assert not pumps(recording, 20.9)
        assert pumps(recording, 21.2)

    def test_power_on_without_reset_starts_only_what_is_not_latched(self, cause: str) -> None:
        recording = after(cause, (21, "power on"))
        assert pumps(recording, 30) == (CAUSES[cause][2] is None)

    def test_nothing_starts_while_the_cause_lasts(self, cause: str) -> None:
        recording = after(cause, *ON, (22, "reset"), (23, "power on"), mend=35.0)
        assert not recording["pump_flow"][recording["time"] > 7].any()
        latch = CAUSES[cause][2]
        assert latch is None or recording.condition(latch)[recording["time"] > 7].all()

    def test_wrong_order_of_buttons_starts_nothing(self, cause: str) -> None:
        if CAUSES[cause][2] is None:
            pytest.skip("a power cut leaves no latch")
        recording = after(cause, (20, "power on"), (21, "reset"))
        assert not recording["pump_flow"][recording["time"] > 7].any()


@pytest.mark.parametrize(("one", "other"), list(itertools.permutations(CAUSES, 2)))
def test_two_causes_need_both_to_be_mended(one: str, other: str) -> None:
    """The start comes only when the second cause is gone, reset and started again, in either order."""
    actions = [
        Action(5, *CAUSES[one][0]),
        Action(6, *CAUSES[other][0]),
        Action(10, *CAUSES[one][1]),
        *(Action(time, button) for time, button in ON),
        Action(25, *CAUSES[other][1]),
        Action(30, "reset"),
        Action(31, "power on"),
    ]
    recording = go(build(RUNNING), 40, actions)
    assert not recording["pump_flow"][(recording["time"] > 8) & (recording["time"] <= 31)].any()
    assert pumps(recording, 32)


@pytest.mark.parametrize("flick", [[("stop", 1), ("stop", 0)], [("mains", 0), ("mains", 1)]])
def test_a_press_shorter_than_a_scan_still_stops(flick: list[tuple[str, float]]) -> None:
    """The stop and the mains are wired: they act even when they are back before the program looks."""
    recording = go(build(RUNNING), 20, [Action(5, what, value) for what, value in flick])
    assert not recording["pump_flow"][recording["time"] > 5].any()
    assert recording.condition("stop latched")[-1] == (flick[0][0] == "stop")


def test_buttons_count_at_the_moment_they_are_pressed() -> None:
    """Pressed before the power returns or the stop is let go, even in the same scan, they do nothing."""
    early = [Action(5, "mains", 0), Action(10, "power on"), Action(10, "mains", 1)]
    assert not go(build(RUNNING), 20, early).condition("started")[-1]
    early = [Action(5, "stop", 1), Action(10, "reset"), Action(10, "stop", 0), Action(11, "power on")]
    recording = go(build(RUNNING), 20, early)
    assert recording.condition("stop latched")[-1]
    assert not recording.condition("started")[-1]


def test_a_rig_that_begins_stopped_waits_for_its_start() -> None:
    recording = go(build(RUNNING, {"start.running": False}), 20, Action(10, "power on"))
    assert not recording["pump_flow"][recording["time"] <= 10].any()
    assert recording.condition("blue flashing")[:100].all()
    assert pumps(recording, 11)


# Overflow switch ----------------------------------------------------------------------------------------------------

TRIPS = 0.5 * AREA
NEAR_SWITCH = RUNNING | {"start.tank_volume": "34 l", "start.output": "100 %", "overflow_switch.trips_at": "0.5 m"}


def test_switch_acts_between_two_looks_of_the_program() -> None:
    """A scan of 10 s and a blind sensor: the pump is cut within a twentieth of a second all the same."""
    slow = {"loop_settings.scan": "10 s"}
    recording = go(build(NEAR_SWITCH, slow), 60, Action(0, "signal held", 1))
    assert TRIPS <= recording["volume"].max() <= TRIPS + 2 * 0.05 * FULL
    assert recording.condition("switch latched")[-1]


def test_switch_delay_is_kept() -> None:
    recording = go(build(NEAR_SWITCH, {"overflow_switch.delay": "2 s"}), 40)
    passed = recording["time"][int(np.argmax(recording["volume"] >= TRIPS))]
    (opened,) = times_of(recording, "switch open")
    assert opened == pytest.approx(passed + 2.0, abs=0.11)
    assert recording["volume"].max() == pytest.approx(TRIPS + 2.0 * FULL, abs=3 * 0.05 * FULL)


def test_switch_closes_below_its_hysteresis_and_only_then_resets() -> None:
    draw = {
        "drain.kind": "forced draw",
        "drain.draw": "6 l/min",
        "drain.goes_to": "away",
        "overflow_switch.hysteresis": "20 mm",
    }
    presses = [Action(float(time), "reset") for time in range(12, 40)]
    recording = go(build(NEAR_SWITCH, draw, {"start.tank_volume": "35.3 l"}), 60, presses)
    (opened,) = times_of(recording, "switch open")
    (closed,) = times_of(recording, "switch open", 0.0)
    at_closing = recording["level"][round(closed / 0.1)]
    assert at_closing == pytest.approx(0.48, abs=0.1 / 60 * LITRE / AREA + 1e-3)
    (reset,) = times_of(recording, "switch latched", 0.0)
    assert opened < closed <= reset <= closed + 1.1


def test_stuck_switch_lets_the_tank_spill() -> None:
    """Why a switch must be tried: stuck, it protects from nothing (common practice)."""
    recording = go(build(NEAR_SWITCH), 60, Action(0, "switch stuck", 1))
    assert not recording.condition("switch open").any()
    assert recording["spilled"][-1] > 0.0


def test_switch_stuck_open_keeps_the_pump_off() -> None:
    draw = {"drain.kind": "forced draw", "drain.goes_to": "away"}
    actions = [Action(20, "switch stuck", 1), Action(21, "draw", FULL), *(Action(*one) for one in [(50, "reset")])]
    recording = go(build(NEAR_SWITCH, draw), 60, actions)
    assert recording["volume"][-1] < 0.9 * TRIPS
    assert recording.condition("switch open")[-1]
    assert recording.condition("switch latched")[-1]


def test_rig_without_a_switch_has_none() -> None:
    recording = go(build(NEAR_SWITCH, {"overflow_switch.fitted": False}), 60, Action(1, "switch wire open", 1))
    assert not recording.condition("switch open").any()


@pytest.mark.parametrize("tau", ["0.6 s", "3 s"])
def test_coast_down_after_a_trip(tau: str) -> None:
    """What still comes after the switch opens is q·τ (common practice, no source); exactly so for steps of 0.05 s."""
    rig = build(NEAR_SWITCH, {"pump.spin_up": tau, "start.tank_volume": "31 l"})
    recording = go(rig, 120)
    assert recording.condition("switch latched")[-1]
    seconds = float(tau.split(maxsplit=1)[0])
    came = recording["volume"][-1] - TRIPS
    assert came == pytest.approx(FULL * seconds, abs=2 * 0.05 * FULL)
    settled = FULL * (1 - math.exp(-(TRIPS - 31 * LITRE) / FULL / seconds))
    assert settled == pytest.approx(FULL, rel=2e-3)


# Wind-up ------------------------------------------------------------------------------------------------------------

HOLDING = PLAIN | {
    "drain.kind": "forced draw",
    "drain.draw": "1 l/min",
    "loop_settings.integral": "200 s",
    "start.output": "8 %",
}


def wound(minutes: int) -> float:
    """Overshoot [l] of a naive PI whose integral runs on while the pump is blocked, in the same tank."""
    volume, integral, set_point, h = 20.0, 1 / 12, 20.0, 0.1
    top = 0.0
    for scan in range(round((minutes * 60 + 2400) / h)):
        error = set_point - volume
        output = min(max(0.2 * error + integral, 0.0), 1.0)
        integral += 0.2 * h / 200 * error
        blocked = scan * h < minutes * 60
        volume += h * ((0.0 if blocked else 12 * output) - 1) / 60
        top = max(top, volume)
    return top - set_point


@pytest.mark.parametrize("block", ["stop", "mains"])
def test_integral_holds_while_the_pump_is_blocked(block: str) -> None:
    """Ten minutes blocked under a draw: a naive PI would run over by litres, this one by what its tuning gives."""
    actions = [Action(300, block, block == "stop"), Action(900, block, block != "stop")]
    actions += [Action(900.5, "reset"), Action(901, "power on")]
    recording = go(build(HOLDING), 3600, actions)
    assert recording["volume"][9000] == pytest.approx(10 * LITRE, rel=0.01)
    overshoot = recording["volume"][9010:].max() - 20 * LITRE
    # by hand: from saturation the error runs as e0·s/(s² + 0.04 s + 0.0002), 8.3 % of (1 - 1/12)/0.2 l beyond zero
    assert overshoot == pytest.approx(0.0827 * (1 - 1 / 12) / 0.2 * LITRE, rel=0.1)
    assert wound(10) > 5 * overshoot / LITRE
    assert recording["volume"][-1] == pytest.approx(20 * LITRE, rel=1e-3)


def test_automatic_comes_back_without_a_jump_after_a_block() -> None:
    """At the set point the output goes on where it stood."""
    still = HOLDING | {"drain.draw": "0 l/min", "start.output": "0 %"}
    actions = [Action(10, "stop", 1), Action(11, "stop", 0), Action(12, "reset"), Action(13, "power on")]
    recording = go(build(still), 60, actions)
    assert recording["output"].max() < 1e-6
    assert has(int(recording["conditions"][-1]), "started")


def test_session_obeys_the_buttons_as_a_run_does() -> None:
    session = Session(build(RUNNING))
    session.advance(10)
    session.act("stop", 1)
    session.act("stop", 0)
    session.advance(1)
    session.act("power on")
    assert not together(session, [session.advance(10)]).condition("started")[-1]


def test_actions_wait_for_the_next_scan_that_is_run() -> None:
    """A press while the clock stands is not lost."""
    session = Session(build(RUNNING))
    session.advance(5)
    session.act("stop", 1)
    session.advance(0)
    handed_out = together(session, [session.advance(5)])
    assert handed_out.condition("stop latched")[-1]
    assert [one.what for one in handed_out.journal if one.kind == "action"] == ["stop"]
