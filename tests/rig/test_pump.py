"""Pump, reservoir, rim and back-flow: thresholds, affinity laws, what runs dry and what runs over."""

import math

import numpy as np
import pytest
from rigs import AREA, BY_HAND, LITRE, PLAIN, G, at, build, go, times_of

from levelbench.project import Value
from levelbench.rig import Action, Session

HAND = PLAIN | BY_HAND
FULL = 12 * LITRE / 60  # [m3/s] largest flow of that pump

THRESHOLDS: dict[str, Value] = {
    "pump.starts_moving_at": "9 %",
    "pump.stalls_at": "6 %",
    "pump.slowest_flow": "1 l/min",
    "loop_settings.output_rate": "1 %/s",
}


def test_pump_starts_and_stalls_at_its_thresholds() -> None:
    """The output climbs and falls by 0.1 % a scan: it starts at 9 %, not before, and stalls below 6 %, not before."""
    rig = build(HAND, THRESHOLDS)
    recording = go(rig, 45, Action(0, "manual output", 0.2), Action(22, "manual output", 0.0))
    running = recording["pump_flow"][1:] > 0.0  # in the row after the output that drives it
    output = recording["output"][:-1]
    first, last = int(np.argmax(running)), int(len(running) - 1 - np.argmax(running[::-1]))
    assert output[first] == pytest.approx(0.09, abs=1e-9)
    assert 0.06 - 1e-9 <= output[last] <= 0.061 + 1e-9  # the step that should be 0.06 may be a rounding below it
    assert running[first : last + 1].all()
    assert recording["pump_flow"][last + 1] == pytest.approx(1 * LITRE / 60, rel=0.02)  # its slowest steady flow
    # straight between the slowest flow at the stall and the largest at 100 % (as the project file describes it)
    line = (1 + (output - 0.06) / 0.94 * 11) * LITRE / 60
    assert recording["pump_flow"][1:][running] == pytest.approx(line[running], rel=1e-12)


def test_starts_of_the_motor_are_counted() -> None:
    session = Session(build(HAND, THRESHOLDS, {"loop_settings.output_rate": "off"}))
    for _ in range(3):
        session.act("manual output", 0.5)
        session.advance(20)
        session.act("manual output", 0.0)
        session.advance(20)
    assert session.starts == 3


@pytest.mark.parametrize("tau", ["0.6 s", "2 s"])
def test_spin_up_and_coast_down_are_of_the_first_order(tau: str) -> None:
    """After one time constant 63.2 % of the way, up and down (definition)."""
    after = float(tau.split(maxsplit=1)[0])
    recording = go(
        build(HAND, {"pump.spin_up": tau}), 60, Action(1, "manual output", 1.0), Action(40, "manual output", 0.0)
    )
    assert at(recording, 1 + after, "pump_flow") == pytest.approx(FULL * (1 - math.exp(-1)), rel=1e-9)
    assert at(recording, 40 + after, "pump_flow") == pytest.approx(FULL * math.exp(-1), rel=1e-6)
    assert recording["pump_flow"][-1] < 1e-4 * FULL
    assert go(build(HAND, {"pump.spin_up": tau}), 120)["pump_flow"].max() == 0.0


def test_stopped_pump_comes_to_rest() -> None:
    """Nothing flows for ever through a pump that was stopped (invariant); the flow ends at 0, not at a tiny number."""
    quick = {"pump.spin_up": "0.1 s"}
    recording = go(build(HAND, quick), 120, Action(0, "manual output", 1.0), Action(1, "manual output", 0.0))
    assert recording["pump_flow"][-1] == 0.0


@pytest.mark.parametrize("command", [1.0, 0.7, 0.4])
@pytest.mark.parametrize("floor", [1.2, 2.0, 3.0])
def test_flow_against_lift_by_the_affinity_laws(command: float, floor: float) -> None:
    """H = H0 n² - k q² (Karassik, Pump Handbook, from memory), k and n from the flows measured at 2.0 m of lift."""
    shut_off, measured = 4.0, 2.0
    curve: dict[str, Value] = {
        "pump.shut_off_head": f"{shut_off} m",
        "pump.measured_at_lift": f"{measured} m",
        "reservoir.floor_below_tank_floor": f"{floor} m",
    }
    rig = build(HAND, curve)
    recording = go(rig, 1, Action(0, "manual output", command))
    surface = recording["reservoir"][0] / rig.params.reservoir.area - floor
    lift = 0.6 - surface
    k = (shut_off - measured) / FULL**2
    speed_squared = (measured + k * (command * FULL) ** 2) / shut_off
    expected = math.sqrt(max(shut_off * speed_squared - lift, 0.0) / k)
    assert recording["pump_flow"][1] == pytest.approx(expected, rel=1e-3)  # the surfaces moved by one step since


def test_pump_gives_nothing_at_its_shut_off_head() -> None:
    """By definition of the shut-off head."""
    curve = {"pump.shut_off_head": "2 m", "pump.measured_at_lift": "1 m", "reservoir.floor_below_tank_floor": "2.5 m"}
    recording = go(build(HAND, curve), 5, Action(0, "manual output", 1.0))
    assert not recording["pump_flow"].any()
    assert recording.condition("pump running")[5:].all()


def test_lift_counts_from_the_liquid_when_the_fill_end_is_under_it() -> None:
    """A drowned fill end works against the tank's surface, one in the air against its own height (hydrostatics)."""
    curve: dict[str, Value] = {"pump.shut_off_head": "4 m", "pump.measured_at_lift": "2 m", "pump.check_valve": True}
    drowned = curve | {"pump.fill_end_above_floor": "0.05 m"}
    rig = build(HAND, drowned)
    recording = go(rig, 1, Action(0, "manual output", 1.0))
    surface = recording["reservoir"][0] / rig.params.reservoir.area - 2.0
    lift = recording["level"][0] - surface
    assert recording["pump_flow"][1] == pytest.approx(FULL * math.sqrt(1 + (2 - lift) / 2), rel=1e-3)


def test_wear_takes_its_share_of_the_flow() -> None:
    recording = go(build(HAND, {"pump.wear": "25 %"}), 5, Action(0, "manual output", 1.0))
    assert recording["pump_flow"][-1] == pytest.approx(0.75 * FULL, rel=1e-12)


def test_airlock_runs_without_flow() -> None:
    """Trade fact (common practice, no source): an airlocked pump turns and moves nothing."""
    recording = go(build(HAND), 20, Action(0, "manual output", 1.0), Action(10, "airlock", 1))
    assert at(recording, 9, "pump_flow") == pytest.approx(FULL)
    assert recording["pump_flow"][-1] == 0.0
    assert recording.condition("pump running")[-1]


# Reservoir and rim --------------------------------------------------------------------------------------------------


def test_reservoir_runs_dry_at_its_suction() -> None:
    """Below the suction the pump takes air; what is under it stays (invariant)."""
    little = {"reservoir.charge": "25 l", "reservoir.suction_above_floor": "5 mm", "overflow_switch.fitted": False}
    rig = build(HAND, little)
    recording = go(rig, 120, Action(0, "manual output", 1.0))
    (dry,) = times_of(recording, "pump dry")
    assert dry == pytest.approx((5 * LITRE - rig.params.reservoir.suction_volume) / FULL, abs=0.2)
    assert recording["reservoir"][-1] == pytest.approx(rig.params.reservoir.suction_volume, abs=FULL * 0.05)
    assert not recording["pump_flow"][-100:].any()
    assert recording.condition("pump running")[-100:].all()


def test_dry_reservoir_gives_no_more_than_it_holds() -> None:
    """With no suction height it empties to nothing, never below, also while a slow pump runs down (invariant)."""
    slow = {"reservoir.charge": "21 l", "pump.spin_up": "5 s"}
    recording = go(build(HAND, slow), 60, Action(0, "manual output", 1.0))
    assert recording["reservoir"].min() == 0.0
    assert recording["volume"][-1] == pytest.approx(21 * LITRE, rel=1e-12)


def test_reservoir_overflows_at_its_brim() -> None:
    recording = go(build(HAND), 10, Action(5, "top up", 40 * LITRE))
    assert recording["reservoir"][51:].max() == pytest.approx(100 * LITRE, rel=1e-12)
    assert recording["spilled"][-1] == pytest.approx(10 * LITRE, rel=1e-12)
    assert recording["added"][-1] == pytest.approx(40 * LITRE, rel=1e-12)
    assert times_of(recording, "reservoir spilling") == [5.0]


def test_tank_spills_at_its_lowest_way_out() -> None:
    """It never holds more than up to 0.05 m below the rim; the rest is counted as spilled (invariant)."""
    rig = build(HAND, {"overflow_switch.fitted": False})
    recording = go(rig, 200, Action(0, "manual output", 1.0))
    assert recording["volume"].max() == pytest.approx(0.55 * AREA, rel=1e-9)
    (spills,) = times_of(recording, "spilling")
    assert spills == pytest.approx((0.55 * AREA - 20 * LITRE) / FULL, abs=0.11)
    assert recording["spilled"][-1] == pytest.approx(FULL * 200 - (0.55 * AREA - 20 * LITRE), abs=FULL * 0.11)


# Through the stopped pump -------------------------------------------------------------------------------------------

DROWNED: dict[str, Value] = {
    "pump.fill_end_above_floor": "0.1 m",
    "pump.check_valve": False,
    "pump.stopped_coefficient": "0.5 Kv",
}
HIGH: dict[str, Value] = {"reservoir.floor_below_tank_floor": "-1 m", "pump.stopped_coefficient": "0.5 Kv"}


def test_tank_runs_back_through_a_stopped_pump_to_the_fill_end() -> None:
    """Flow by the coefficient and the two surfaces: q = (Kv/3600) √(ρ0 g h/1e5) (IEC 60534-1); ends at the fill end."""
    rig = build(HAND, DROWNED)
    recording = go(rig, 600)
    head = recording["level"][0] - (recording["reservoir"][0] / rig.params.reservoir.area - 2.0)
    assert recording["pump_flow"][1] == pytest.approx(-0.5 / 3600 * math.sqrt(1000 * G * head / 1e5), rel=1e-3)
    assert recording["level"][-1] == pytest.approx(0.1, rel=1e-9)
    assert recording["pump_flow"][-1] == 0.0
    assert recording["reservoir"][-1] == pytest.approx(90 * LITRE - 0.1 * AREA, rel=1e-9)


@pytest.mark.parametrize(
    "cure", [{"pump.check_valve": True}, {"pump.vented": True}, {"pump.fill_end_above_floor": "0.6 m"}]
)
def test_what_keeps_the_tank_from_running_back(cure: dict[str, Value]) -> None:
    """Check valve, vent hole, or a fill end in the air (trade fact, common practice)."""
    recording = go(build(HAND, DROWNED | cure), 600)
    assert recording["volume"][-1] == recording["volume"][0]


def test_leaking_check_valve_lets_it_run_back() -> None:
    recording = go(build(HAND, DROWNED, {"pump.check_valve": True}), 700, Action(60, "check valve leaks", 1))
    assert at(recording, 59, "volume") == recording["volume"][0]
    assert recording["level"][-1] == pytest.approx(0.1, rel=1e-9)


def test_running_pump_does_not_run_back() -> None:
    recording = go(build(HAND, DROWNED), 30, Action(0, "manual output", 0.5))
    assert np.diff(recording["volume"]).min() > 0.0


def test_higher_reservoir_fills_the_tank_through_the_stopped_pump() -> None:
    """A check valve passes forward flow: the "stopped" pump keeps filling (trade fact, common practice)."""
    rig = build(HAND, HIGH, {"pump.check_valve": True})
    recording = go(rig, 1000, Action(0, "mains", 0))
    head = recording["reservoir"][0] / rig.params.reservoir.area + 1.0 - 0.6
    assert recording["pump_flow"][1] == pytest.approx(0.5 / 3600 * math.sqrt(1000 * G * head / 1e5), rel=1e-3)
    assert recording.condition("spilling")[-1] or recording["volume"][-1] == pytest.approx(0.55 * AREA, rel=1e-6)
    vented = go(build(HAND, HIGH, {"pump.vented": True}), 100)
    assert vented["volume"][-1] == vented["volume"][0]


def test_forward_flow_ends_when_the_suction_takes_air() -> None:
    """What lies under the suction cannot be siphoned out (any fluid mechanics text)."""
    rig = build(HAND, HIGH, {"reservoir.suction_above_floor": "0.1 m", "reservoir.charge": "45 l"})
    recording = go(rig, 1500)
    kept = rig.params.reservoir.suction_volume
    assert kept == pytest.approx(20 * LITRE)
    assert recording["reservoir"][-1] == pytest.approx(kept, abs=0.05 * 0.5 / 3600)
    assert recording["pump_flow"][-1] == 0.0


# On/off and prescribed draw -----------------------------------------------------------------------------------------

ON_OFF: dict[str, Value] = {
    "pump.drive": "on/off",
    "pump.cycle": "10 s",
    "pump.least_on": "1 s",
    "pump.least_off": "2 s",
}


@pytest.mark.parametrize(
    ("output", "share"), [(0.4, 0.4), (0.0999, 0.0), (0.1, 0.1), (0.8, 0.8), (0.801, 1.0), (1.0, 1.0), (0.0, 0.0)]
)
def test_on_off_pump_is_on_for_its_share_of_the_cycle(output: float, share: float) -> None:
    """Time-proportioning: on for output × cycle, no pulse under the least on, no pause under the least off time."""
    recording = go(build(HAND, ON_OFF, {"start.tank_volume": "5 l"}), 100, Action(0, "manual output", output))
    flow = recording["pump_flow"][1:]
    assert set(np.round(flow / FULL, 9)) <= {0.0, 1.0}
    assert flow.mean() == pytest.approx(share * FULL, abs=0.002 * FULL)


def test_start_begins_a_switching_cycle_of_its_own() -> None:
    """So no stump of an interrupted pulse is given that is shorter than the least on time (invariant)."""
    actions = [
        Action(0, "manual output", 0.3),
        Action(2.0, "stop", 1),
        Action(2.5, "stop", 0),
        Action(2.6, "reset"),
        Action(2.7, "power on"),
    ]
    recording = go(build(HAND, ON_OFF), 30, actions)
    on = recording["pump_flow"][1:] > 0.0
    edges = np.flatnonzero(np.diff(np.concatenate([[False], on, [False]]).astype(int)))
    lengths = np.diff(edges)[::2] * 0.1
    assert lengths[0] == pytest.approx(2.0, abs=0.11)  # the stop cut it
    assert lengths[1:] == pytest.approx(3.0, abs=0.11)


def test_prescribed_draw_is_taken_until_nothing_is_left() -> None:
    draw = {"drain.kind": "forced draw", "drain.draw": "6 l/min", "drain.goes_to": "away"}
    recording = go(build(HAND, draw), 300, Action(60, "draw", 2 * LITRE / 60))
    assert at(recording, 60, "used") == pytest.approx(6 * LITRE, rel=1e-9)
    assert at(recording, 120, "used") == pytest.approx(8 * LITRE, rel=1e-9)
    late = go(build(HAND, draw), 300)
    assert late["volume"].min() == 0.0
    assert late["used"][-1] == pytest.approx(20 * LITRE, rel=1e-12)
    assert late["drain_flow"][-1] == 0.0


def test_dry_pump_does_not_flood_the_journal() -> None:
    """What trickles back is pumped in gulps once the suction is covered: some events a minute, not ten a second."""
    trickle: dict[str, Value] = {
        "drain.kind": "bottom outlet",
        "drain.valve_cv": "0.1 Kv",
        "drain.opening": "100 %",
        "drain.outlet_above_floor": "0 m",
        "drain.tube_diameter": "12 mm",
        "drain.tube_length": "1 m",
        "reservoir.charge": "25 l",
        "reservoir.suction_above_floor": "5 mm",
    }
    recording = go(build(HAND, trickle), 600, Action(0, "manual output", 1.0))
    dry = times_of(recording, "pump dry")
    assert 2 <= len(dry) <= 600 / 5
    assert recording["volume"][-1] == pytest.approx(recording["volume"][3000], rel=0.05)
