"""Sensor, current loop and converter: IEC 60381-1, NAMUR NE 43, converter arithmetic, delays, errors, dead zone."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from rigs import AREA, BY_HAND, LITRE, PLAIN, at, build, go, times_of

from levelbench.project import Value
from levelbench.rig import Action, Recording, Rig, Session, kernel

HAND = PLAIN | BY_HAND
# A plain sensor whose level is its signal: 0 to 0.5 m, in the tank of 0.3 m.
LEVEL: dict[str, Value] = {"sensor.kind": "plain 4-20 mA", "sensor.signal_span": ["0 m", "0.5 m"]}


def signal_at(level: float, *changes: dict[str, Value]) -> float:
    """Current [A] at a level [m] that stands still."""
    still = {"start.tank_volume": f"{level * AREA * 1000:.12f} l", "overflow_switch.fitted": False}
    return float(go(build(HAND, LEVEL, still, *changes), 1)["signal"][-1])


@pytest.mark.parametrize(("share", "milliampere"), [(0, 4), (0.25, 8), (0.5, 12), (0.75, 16), (1, 20)])
def test_current_over_the_span(share: float, milliampere: float) -> None:
    """IEC 60381-1, live zero: 0, 25, 50, 75, 100 % are 4, 8, 12, 16, 20 mA."""
    assert signal_at(share * 0.5) * 1000 == pytest.approx(milliampere, rel=1e-9)


def test_current_of_a_raised_zero() -> None:
    """50 to 250 l, reading 120 l: 9.6 mA (linear scaling, IEC 60381-1); here as lengths in proportion."""
    raised: dict[str, Value] = {"sensor.signal_span": ["0.1 m", "0.5 m"]}
    assert signal_at(0.24, raised) * 1000 == pytest.approx(9.6, rel=1e-9)


@pytest.mark.parametrize(
    ("share", "milliampere"), [(-0.0125, 3.8), (-0.2, 3.8), (1.03, 20.48), (1.03125, 20.5), (1.05, 20.5)]
)
def test_measuring_signal_stays_within_ne_43(share: float, milliampere: float) -> None:
    """NAMUR NE 43: 3.8 and 20.5 mA are -1.25 and 103.125 % of span; beyond them the signal does not measure."""
    above = {"sensor.signal_span": ["0.12 m", "0.52 m"], "tank.rim_to_spill": "0.01 m"}
    assert signal_at(0.12 + share * 0.4, above) * 1000 == pytest.approx(milliampere, rel=1e-9)


def test_failure_currents_of_ne_43() -> None:
    """NAMUR NE 43: failure at or below 3.6 mA (-2.5 % of span), at or above 21.0 mA (106.25 %)."""
    for fails, milliampere, share in (("low", 3.6, -0.025), ("high", 21.0, 1.0625)):
        recording = go(build(HAND, {"sensor.fails": fails}), 10, Action(1, "echo lost", 1))
        current = recording["signal"][-1] * 1000
        assert current == pytest.approx(milliampere, rel=1e-12)
        assert (current - 4) / 16 == pytest.approx(share, rel=1e-9)
        assert recording.condition("sensor failed")[-1]


# Converter ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bits", "microampere"), [(14, 1.220778), (16, 0.3051804)])
def test_one_count_of_a_converter(bits: int, microampere: float) -> None:
    """Full scale/(2^n - 1) over 0 to 20 mA."""
    sensor = build(HAND, {"sensor.converter_bits": bits, "sensor.converter_range": ["0 mA", "20 mA"]}).params.sensor
    currents = np.linspace(0.010, 0.0101, 20_001)
    seen = np.array([kernel.convert(sensor, current) for current in currents])
    steps = np.unique(np.diff(np.unique(seen)).round(15))
    assert steps * 1e6 == pytest.approx(microampere, rel=1e-4)
    assert np.abs(seen - currents).max() <= 0.501e-6 * microampere


@pytest.mark.parametrize(("bits", "counts"), [(12, 3276), (14, 13106), (16, 52428)])
def test_counts_within_4_to_20_milliampere(bits: int, counts: int) -> None:
    """0.8 (2^n - 1) over 0 to 20 mA, whole counts."""
    sensor = build(HAND, {"sensor.converter_bits": bits, "sensor.converter_range": ["0 mA", "20 mA"]}).params.sensor
    one = 0.020 / (2**bits - 1)
    between = (kernel.convert(sensor, 0.020) - kernel.convert(sensor, 0.004)) / one
    assert between == pytest.approx(counts, abs=0.01)


@pytest.mark.parametrize(("bits", "low", "count"), [(12, "0 mA", 10.7885e-6), (16, "4 mA", 0.539298e-6)])
def test_volume_of_one_count(bits: int, low: str, count: float) -> None:
    """D = 0.30 m, span 0.50 m (35.3429 l): 10.7885 ml at 12 bits over 0 to 20 mA, 0.539298 ml at 16 over 4 to 20."""
    rig = build(HAND, LEVEL, {"sensor.converter_bits": bits, "sensor.converter_range": [low, "20 mA"]})
    assert rig.span[1] - rig.span[0] == pytest.approx(35.3429 * LITRE, rel=2e-4 if bits == 12 else 1e-5)
    recording = go(rig, 60, Action(0, "manual output", 0.05))
    steps = np.diff(np.unique(recording["pv"].round(12)))
    assert steps.min() == pytest.approx(count, rel=1e-4)
    assert steps.max() < 1.001 * max(count, np.diff(recording["volume"]).max() + count)


def test_quantisation_error_of_a_converter() -> None:
    """q/√12 for a signal that moves over many counts (Bennett, Bell System Tech. J. 27, 1948)."""
    rig = build(HAND, LEVEL, {"sensor.converter_bits": 12, "sensor.converter_range": ["0 mA", "20 mA"]})
    recording = go(rig, 600, Action(0, "manual output", 0.05))
    error = recording["pv"][1:] - recording["volume"][1:]
    assert error.std() == pytest.approx(3.11437e-6, rel=0.02)


def test_failure_high_is_not_seen_by_a_converter_that_ends_at_20_milliampere() -> None:
    """21 mA reads as 20 mA there: a failure looks like a full tank (trade fact, common practice)."""
    high: dict[str, Value] = {"sensor.fails": "high"}
    short = {"sensor.converter_range": ["0 mA", "20 mA"]}
    blind = go(build(PLAIN, high, short), 20, Action(1, "echo lost", 1))
    assert blind["signal"][-1] == pytest.approx(0.021)
    assert not blind.condition("sensor failed").any()
    assert blind["pv"][-1] == pytest.approx(0.6 * AREA, rel=1e-6)  # as if it were full to the 20 mA mark
    assert go(build(PLAIN, high), 20, Action(1, "echo lost", 1)).condition("sensor failed")[-1]


def test_failure_low_is_not_seen_by_a_converter_that_begins_at_4_milliampere() -> None:
    """3.6 mA reads as 4 mA there: the tank looks empty and the pump fills until the switch (common practice)."""
    short = {"sensor.converter_range": ["4 mA", "20 mA"], "reservoir.charge": "60 l"}
    recording = go(build(PLAIN, short), 120, Action(1, "echo lost", 1))
    assert not recording.condition("sensor failed").any()
    assert recording["output"][30:].max() == 1.0
    assert times_of(recording, "switch latched")


@pytest.mark.parametrize("bits", [8, 10, 12, 14, 16, 24])
@pytest.mark.parametrize("fails", ["low", "high"])
def test_failure_current_is_seen_through_any_converter_that_reaches_it(bits: int, fails: str) -> None:
    """The failure current itself may fall on either side of its limit by half a count (invariant)."""
    coarse = {"sensor.converter_bits": bits, "sensor.fails": fails}
    recording = go(build(HAND, coarse), 10, Action(1, "echo lost", 1))
    assert recording.condition("sensor failed")[-1]
    assert not go(build(HAND, coarse), 10).condition("sensor failed").any()


# Lost echo, failure delay -------------------------------------------------------------------------------------------


def test_lost_echo_is_held_then_fails_then_trips() -> None:
    """Held 2 s since the last echo, then 3.6 mA, believed 1 s later: each to the scan."""
    hold = {"sensor.hold_lost_echo": "2 s", "sensor.failure_delay": "1 s"}
    rig = build(HAND, hold, {"start.output": "50 %"})
    recording = go(rig, 20, Action(5.05, "echo lost", 1), Action(12, "echo lost", 0))
    low = recording["time"][recording["signal"] < 0.0037]
    # the action falls on the scan at 5.1 s or before; the last echo was one reading before the first lost one
    lost = recording["time"][int(np.argmax(np.diff(recording["pv"]) == 0.0)) + 1] - 0.1
    assert low[0] - lost == pytest.approx(2.1, abs=1e-6)  # the first reading that is later than 2 s
    (failed,) = times_of(recording, "sensor failed")
    assert failed - low[0] == pytest.approx(1.0, abs=1e-6)
    assert not recording["pump_flow"][recording["time"] > failed + 0.05].any()
    assert recording.condition("sensor latched")[-1]
    assert not recording.condition("sensor failed")[-1]
    held = (recording["time"] >= lost) & (recording["time"] < failed)
    assert np.ptp(recording["pv"][held][1:]) == 0.0


def test_a_short_loss_of_the_echo_passes_unseen() -> None:
    recording = go(build(HAND), 20, Action(5, "echo lost", 1), Action(6.8, "echo lost", 0))
    assert recording["signal"].min() > 0.0038
    assert not recording.condition("sensor failed").any()


def test_signal_held_freezes_the_reading() -> None:
    recording = go(build(HAND, {"start.output": "50 %"}), 20, Action(5, "signal held", 1))
    assert np.ptp(recording["pv"][52:]) == 0.0
    assert recording["volume"][-1] > recording["volume"][52]


# Near dead zone -----------------------------------------------------------------------------------------------------

NEAR: dict[str, Value] = {"sensor.near_dead_zone": "0.3 m", "overflow_switch.fitted": False, "start.output": "100 %"}
EDGE = 0.4 * AREA  # the face stands at 0.7 m


def entering(what: str) -> tuple[Rig, Recording, int]:
    """Fill into the dead zone; gives the row at which the level came into it."""
    rig = build(HAND, NEAR, {"sensor.in_dead_zone": what})
    recording = go(rig, 60)
    row = int(np.argmax(recording["volume"] > EDGE))
    assert row > 0
    return rig, recording, row


def test_second_echo_reads_low_while_the_tank_fills() -> None:
    """Twice the distance: 0.25 m is read as 0.50 m (trade fact, common practice), and it falls as the tank fills."""
    _, recording, row = entering("second echo")
    inside = slice(row + 2, None)
    assert recording["pv"][inside] == pytest.approx((0.7 - 2 * (0.7 - recording["level"][inside])) * AREA, rel=1e-5)
    assert recording["pv"][row + 2] < 0.3 * EDGE
    assert not recording.condition("sensor failed").any()


def test_last_good_value_is_kept_for_as_long_as_it_takes() -> None:
    _, recording, row = entering("last good")
    assert recording["time"][-1] - recording["time"][row] > 15
    assert np.ptp(recording["pv"][row + 1 :]) == 0.0
    assert recording["pv"][-1] == pytest.approx(EDGE, rel=2e-3)
    assert not recording.condition("sensor failed").any()


def test_failure_in_the_dead_zone_stops_the_pump() -> None:
    _, recording, row = entering("failure")
    (failed,) = times_of(recording, "sensor failed")
    assert failed == pytest.approx(recording["time"][row] + 1.0, abs=0.11)  # its delay, no hold
    assert recording["pump_flow"][-1] == 0.0


def test_lost_echo_fails_in_a_dead_zone_that_holds() -> None:
    """Two troubles at once: the lost echo keeps its own time limit."""
    rig = build(HAND, NEAR, {"sensor.in_dead_zone": "last good"})
    recording = go(rig, 60, Action(55, "echo lost", 1))
    (failed,) = times_of(recording, "sensor failed")
    assert failed == pytest.approx(58, abs=0.25)


# Clock and averaging ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("readings", [1, 2, 5, 20, 100])
def test_moving_average_delays_by_half_its_length(readings: int) -> None:
    """(N - 1)/2 readings on a ramp (any text on filters)."""
    rig = build(HAND, LEVEL, {"sensor.averaging": readings, "start.output": "20 %"})
    recording = go(rig, 40)
    rate = 0.2 * 12 * LITRE / 60
    behind = (recording["volume"] - recording["pv"])[300:] / rate
    assert behind == pytest.approx((readings - 1) / 2 * 0.1, abs=2e-3)


@pytest.mark.parametrize(("update", "scan"), [("0.5 s", "100 ms"), ("0.35 s", "100 ms"), ("20 ms", "100 ms")])
def test_sensor_keeps_a_clock_of_its_own(update: str, scan: str) -> None:
    """A reading every so often, whatever the scan: on a ramp each shows the level of its own moment."""
    rig = build(HAND, LEVEL, {"sensor.update": update, "loop_settings.scan": scan, "start.output": "20 %"})
    recording = go(rig, 30)
    every, rate = float(update.split(maxsplit=1)[0]) / (1000 if "ms" in update else 1), 0.2 * 12 * LITRE / 60
    taken = np.floor(recording["time"] / every + 1e-6) * every
    expected = recording["volume"][0] + rate * taken
    assert recording["pv"][5:] == pytest.approx(expected[5:], abs=rate * 2e-4 + 1e-9)


def test_moving_average_counts_readings_not_scans() -> None:
    """Ten readings of 20 ms are through in two scans of 100 ms: delay 0.09 s and the way to the scan, none here."""
    rig = build(HAND, LEVEL, {"sensor.update": "20 ms", "sensor.averaging": 10, "start.output": "20 %"})
    recording = go(rig, 20)
    behind = (recording["volume"] - recording["pv"])[100:] / (0.2 * 12 * LITRE / 60)
    assert behind == pytest.approx(0.09, abs=2e-3)


def test_pv_filter_is_of_the_first_order() -> None:
    """63.2 % of a step after its time constant; here a step by letting go of a held signal (definition)."""
    rig = build(HAND, {"loop_settings.pv_filter": "4 s", "start.output": "50 %"})
    actions = [Action(1, "signal held", 1), Action(21, "manual output", 0), Action(40, "signal held", 0)]
    recording = go(rig, 80, actions)
    before, after = at(recording, 39.9, "pv"), recording["volume"][-1]
    way = (recording["pv"] - before) / (after - before)
    first = int(np.argmax(way > 1e-6))
    assert way[first + 39] == pytest.approx(1 - math.exp(-1), rel=1e-3)


# Errors of the principle --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("air", "ratio"), [("40 degC", 1 - 0.03246), ("0 degC", math.sqrt(293.15 / 273.15))])
def test_uncompensated_sound_in_other_air(air: str, ratio: float) -> None:
    """c ~ √T: set for 20 °C, in 40 °C air the distance reads 3.246 % short, so the level reads high."""
    rig = build(HAND, {"sensor.air_temperature": air})
    recording = go(rig, 2)
    distance = 0.7 - recording["level"][-1]
    assert recording["pv"][-1] == pytest.approx((0.7 - ratio * distance) * AREA, rel=1e-4)
    assert (recording["pv"][-1] > recording["volume"][-1]) == (ratio < 1)


@pytest.mark.parametrize(("at_20", "percent"), [(293.15, 0.1706), (273.15, 0.18305)])
def test_error_of_sound_per_kelvin(at_20: float, percent: float) -> None:
    """1/(2T): 0.1706 %/K at 20 °C, 0.18305 %/K at 0 °C (derivative of √T)."""
    warmer = {"sensor.air_temperature": f"{at_20 + 0.01 - 273.15:.4f} degC"}
    rig = build(HAND, {"sensor.set_for_temperature": f"{at_20 - 273.15:.4f} degC"}, warmer)
    assert (1 - rig.params.sensor.ratio) / 0.01 * 100 == pytest.approx(percent, rel=3e-4)


def test_density_error_of_a_pressure_sensor() -> None:
    """p = ρ g h: a liquid 10 % heavier than it is set for reads 10 % more over the diaphragm (hydrostatics)."""
    weighs: dict[str, Value] = {
        "sensor.kind": "hydrostatic",
        "sensor.face_above_floor": "0.05 m",
        "sensor.signal_span": ["0.05 m", "0.5 m"],
        "sensor.set_for_density": "1000 kg/m3",
        "liquid.density": "1100 kg/m3",
    }
    recording = go(build(HAND, weighs), 2)
    expected = 0.05 + 1.1 * (recording["level"][-1] - 0.05)
    assert recording["pv"][-1] == pytest.approx(expected * AREA, rel=1e-5)
    low = go(build(HAND, weighs, {"start.tank_volume": "1 l"}), 2)  # 14 mm, under the diaphragm
    assert low["pv"][-1] == pytest.approx(0.05 * AREA, rel=1e-4)


def test_resolution_makes_steps() -> None:
    """A reading is a multiple of the resolution: 2 mm in this tank are 0.1414 l."""
    rig = build(HAND, LEVEL, {"sensor.resolution": "2 mm", "start.output": "5 %"})
    pv = go(rig, 60)["pv"]
    assert np.diff(np.unique(pv.round(9))) == pytest.approx(0.002 * AREA, rel=1e-3)


def test_two_point_scaling_is_a_straight_line() -> None:
    """As typed into the controller: 2 l at 4 mA, 40 l at 20 mA, whatever the tank (linear scaling)."""
    typed = {"sensor.scaled_by": "two points", "sensor.volume_at_ends": ["2 l", "40 l"]}
    recording = go(build(HAND, LEVEL, typed), 2)
    share = recording["level"][-1] / 0.5
    assert recording["pv"][-1] == pytest.approx((2 + share * 38) * LITRE, rel=1e-6)


def test_session_reads_no_sensor_while_it_stands() -> None:
    session = Session(build(HAND))
    first = session.advance(0)
    assert len(first.rows) == 0
    assert session.time == 0.0


@pytest.mark.parametrize(
    ("kind", "reads"),
    [
        ("radar", lambda level: 0.7 - 1.02 * (0.7 - level) + 0.004),
        ("hydrostatic", lambda level: 0.05 + 1.02 * (level - 0.05) + 0.004),
        ("plain 4-20 mA", lambda level: 1.02 * level + 0.004),
    ],
)
def test_zero_and_span_error_of_the_sensor_itself(kind: str, reads: Callable[[float], float]) -> None:
    """What zero and span error mean: a shift that is the same everywhere, a share of what is measured (definition)."""
    ends = {"radar": ["0.7 m", "0.1 m"], "hydrostatic": ["0.05 m", "0.6 m"], "plain 4-20 mA": ["0 m", "0.6 m"]}
    face = {} if kind == "plain 4-20 mA" else {"sensor.face_above_floor": "0.7 m" if kind == "radar" else "0.05 m"}
    wrong: dict[str, Value] = {"sensor.zero_error": "4 mm", "sensor.span_error": "2 %"}
    rig = build(HAND, {"sensor.kind": kind, "sensor.signal_span": ends[kind], **face}, wrong)
    recording = go(rig, 2)
    assert recording["pv"][-1] == pytest.approx(reads(recording["level"][-1]) * AREA, rel=1e-4)
