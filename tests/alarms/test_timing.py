"""The time that alarms leave: worked figures of the bench rig, a published example, and runs of the rig itself.

Where nothing else is said, an expected value was derived by hand from geometry and a volume balance, to the digits
given here. The US gallon is 231 in3 exactly (NIST SP 811, appendix B).
"""

import math

import numpy as np
import pytest
from bench_rig import GAL, GPM, INCH, bench_rig, rig_with
from hypothesis import given, settings
from hypothesis import strategies as st
from whole_ladder import whole_rig

from levelbench.alarms.starting import starting
from levelbench.alarms.timing import AIR, BEHIND, ENOUGH, LATE, NEVER, SHORT, SPILL, Timed, latest_limit, timing
from levelbench.rig import Rig, run
from levelbench.rig.bench import Bench

SAME_DRAW = {"drain.valve_cv": "0.1", "duty.largest_draw": "0.5 gal/min"}  # the valve lets less through than is drawn


def of(rig: Rig, key: str) -> Timed:
    return next(one for one in timing(rig) if one.key == key)


def test_a_published_example_of_a_limit_from_the_response_time() -> None:
    """20 m2, 60 m3/h, overflow at 9.5 m, 12 min with half as much again: 8.6 m (open automation training text)."""
    area, flow = 20.0, 60.0 / 3600.0
    volume = latest_limit(9.5 * area, flow, 0.0, 1.5 * 12 * 60)
    assert volume / area == pytest.approx(8.6, rel=1e-9)


def test_the_published_example_as_a_rig() -> None:
    """The same as a project: 5.0463 m across is 20 m2. What sensor and scan eat is the only thing that is added."""
    rig = rig_with(
        {
            "tank.diameter": f"{math.sqrt(80 / math.pi):.9f} m", "tank.height": "10 m", "tank.rim_to_spill": "0.5 m",
            "pump.largest_flow": "60 m3/h", "pump.slowest_flow": "1 m3/h", "pump.fill_end_above_floor": "10 m",
            "pump.measured_at_lift": "0 m", "pump.shut_off_head": "100 m", "pump.spin_up": "0.001 s",
            "reservoir.capacity": "400 m3", "reservoir.charge": "300 m3", "reservoir.height": "12 m",
            "sensor.face_above_floor": "11 m", "sensor.signal_span": ["11 m", "0.5 m"], "sensor.averaging": 1,
            "sensor.update": "10 ms", "loop_settings.scan": "10 ms", "overflow_switch.trips_at": "9.2 m",
            "loop_settings.set_point_low": "10 m3", "loop_settings.set_point_high": "120 m3",
            "start.set_point": "40 m3", "start.tank_volume": "40 m3", "loop_settings.entry_step": "1 m3",
            "bands.high.limit": "130 m3",
            "bands.high.on_delay": "0 s", "duty.time_to_act": "18 min", "drain.crest_above_floor": "10.1 m",
        }
    )  # fmt: skip
    bench = Bench(rig)
    found = of(rig, "high")
    assert found.latest is not None
    grown = bench.fill_rate / (60.0 / 3600.0)  # at the least lift the pump gives a little more than at the given one
    assert grown == pytest.approx(1.0, abs=0.06)
    expected = 9.5 - 0.9 * grown
    assert bench.level_at(found.latest.si) == pytest.approx(expected, abs=0.001)


def test_seconds_from_each_alarm_of_the_bench_rig() -> None:
    """1 US gal/min into the room left: 44 s from the switch, 64 s from high to it, 108 s from high to the spill."""
    rig = bench_rig(bands__switch__priority="high")
    high, switch = of(rig, "high"), of(rig, "switch")
    assert (high.next_rung, high.end) == ("switch", SPILL)
    assert high.to_next.si == pytest.approx(64, abs=0.5)
    assert high.to_end.si == pytest.approx(108, abs=0.5)
    assert switch.to_end.si == pytest.approx(44, abs=0.5)


def test_seconds_to_air_in_the_drain() -> None:
    """44 s from 1.50 to 1.13 US gal at 0.5 US gal/min (cover of the inlet after ANSI/HI 9.8, from memory)."""
    low = of(rig_with(SAME_DRAW), "low")
    assert low.end == AIR
    assert low.to_end.si == pytest.approx(44, abs=0.6)
    assert low.rate.si == pytest.approx(0.5 * GPM, rel=1e-6)


def test_a_drain_thrown_open_counts_when_it_takes_more_than_the_users() -> None:
    rig = rig_with({"drain.valve_cv": "3"})
    low = of(rig, "low")
    at_rest = run(rig_with({"drain.valve_cv": "3", "drain.opening": "100 %", "start.running": False,
                            "start.tank_volume": "2 gal", "start.set_point": "4 gal"}), 5.0)  # fmt: skip
    flow = float(np.max(at_rest["drain_flow"]))
    assert low.rate.si > 0.5 * GPM
    assert low.rate.si < flow  # the run begins higher up, where the drain takes more
    assert low.to_end.si == pytest.approx(
        of(bench_rig(), "low").to_end.si * of(bench_rig(), "low").rate.si / low.rate.si
    )


def test_five_minutes_take_half_of_the_tank() -> None:
    """300 s at 1 US gal/min are 5 US gal, 10.2 in of a tank of 12 in across; more than 75 mm."""
    five, room = starting(bench_rig()).practice
    assert five.si / INCH == pytest.approx(10.2, abs=0.05)
    assert room.si / GAL == pytest.approx(5.0, rel=1e-6)


def test_on_a_slow_rig_the_seventy_five_millimetres_are_more() -> None:
    """75 mm of a tank of 12 in across: π/4·30.48²·7.5 cm3 = 5.47 l, and 0.1 US gal/min bring 1.9 l in five minutes."""
    slow = rig_with({"pump.largest_flow": "0.1 gal/min", "pump.slowest_flow": "0.02 gal/min"})
    assert starting(slow).practice[1].si * 1000 == pytest.approx(5.47, abs=0.01)


def test_the_published_starting_values_are_unusable_here() -> None:
    """5 % of a span of 9.8 US gal is 0.49, 60 s at 1 US gal/min are 1.0 US gal (ISA-18.2-2009; 60 s from memory)."""
    found = starting(bench_rig())
    assert found.dead_band.si / GAL == pytest.approx(0.49, abs=0.001)
    high = next(one for one in found.lines if one.key == "high")
    assert high.moved.si / GAL == pytest.approx(1.0, rel=1e-6)
    assert high.returns.si / GAL == pytest.approx(7.01, abs=0.001)
    assert not high.fits
    assert "44 s would be left to act, and people are given 300 s" in high.words
    low = next(one for one in found.lines if one.key == "low")
    assert low.crossed == (AIR,)
    assert low.left.si == 0.0


def test_a_starting_delay_passes_the_next_rung_where_it_is_near() -> None:
    found = starting(bench_rig(bands__high_high__limit="8 gal"))
    high, high_high = (next(one for one in found.lines if one.key == key) for key in ("high", "high_high"))
    assert high.crossed == ("high-high",)
    assert high_high.crossed == ("switch",)
    assert "is passed before it comes" in high.words


def test_a_wide_starting_dead_band_lets_an_alarm_stand_at_the_highest_set_point() -> None:
    found = starting(bench_rig(bands__high__limit="7.2 gal"))
    high = next(one for one in found.lines if one.key == "high")
    assert "would still stand with the loop at its highest set point" in high.words


def test_where_there_is_time_the_starting_values_would_do() -> None:
    slow = rig_with({"pump.largest_flow": "0.1 gal/min", "pump.slowest_flow": "0.02 gal/min"})
    high = next(one for one in starting(slow).lines if one.key == "high")
    assert high.fits
    assert high.words == "They would do here."


@pytest.mark.parametrize(("lag", "delay"), [("0 s", "3 s"), ("2 s", "0 s"), ("1 s", "10 s")])
def test_the_delay_is_that_of_a_run_of_the_rig(lag: str, delay: str) -> None:
    """By hand at full output with the drain shut: from the crossing of the limit to the alarm, without any formula."""
    rig = rig_with(
        {
            "drain.opening": "0 %", "start.mode": "manual", "start.output": "100 %", "start.tank_volume": "6 gal",
            "start.set_point": "6 gal", "sensor.noise": "0 in", "sensor.resolution": "0 in",
            "loop_settings.pv_filter": lag, "bands.high.on_delay": delay, "overflow_switch.fitted": False,
            "loop_settings.scan": "0.1 s",
        }
    )  # fmt: skip
    recording = run(rig, 200.0)
    limit = rig.project.bands.high.limit.si if rig.project.bands.high is not None else 0.0
    crossed = float(np.interp(limit, recording["volume"], recording["time"]))
    came = next(one.time for one in recording.journal if one.what == "high")
    half_each = (rig.scan + rig.params.sensor.update) / 2
    assert came - crossed == pytest.approx(of(rig, "high").late.si, abs=1.01 * half_each)


def test_what_is_eaten_is_the_sum_of_its_parts() -> None:
    """Mean age of 50 readings 0.1 s apart: 2.45 s; half an update, half a scan of 0.5 s, 3 s of on-delay."""
    high = of(bench_rig(), "high")
    assert {one.name: round(one.si, 9) for one in high.parts} == {
        "averaging of the sensor": 2.45,
        "update of the sensor": 0.05,
        "scan of the controller": 0.25,
        "on-delay": 3.0,
    }
    assert high.late.si == pytest.approx(5.75)
    assert high.moved.si / GAL == pytest.approx(5.75 / 60, rel=1e-6)
    assert high.left.si == pytest.approx(108.1 - 1.25 - 5.75, abs=0.3)


def test_the_latest_limit_leaves_just_the_time_to_act() -> None:
    rig = bench_rig(duty__time_to_act="2 min")
    latest = of(rig, "high").latest
    assert latest is not None
    moved = of(bench_rig(duty__time_to_act="2 min", bands__high__limit=f"{latest.si / GAL:.9f} gal"), "high")
    assert moved.left.si == pytest.approx(120.0, abs=1e-3)
    assert moved.stands == ENOUGH
    assert of(rig, "high").stands == SHORT
    low = of(bench_rig(duty__time_to_act="50 s"), "low").latest
    assert low is not None
    raised = of(bench_rig(duty__time_to_act="50 s", bands__low__limit=f"{low.si / GAL:.9f} gal"), "low")
    assert raised.left.si == pytest.approx(50.0, rel=0.02)  # higher up the open drain takes a little more


def test_every_kind_of_alarm_is_timed() -> None:
    found = {one.key: one for one in timing(whole_rig())}
    assert list(found) == [
        "high_high", "high", "low", "low_low", "deviation", "rate_of_change", "frozen_signal", "bad_signal", "no_rise",
        "switch", "spill",
    ]  # fmt: skip
    assert len({one.tag for one in found.values()}) == len(found)
    assert found["deviation"].stands == BEHIND
    assert found["rate_of_change"].stands == NEVER
    assert found["spill"].to_end.si == 0.0
    assert not found["no_rise"].rising
    assert of(bench_rig(bands__low__limit="1.0 gal"), "low").stands == LATE


def test_a_rate_alarm_comes_when_its_smoothing_has_seen_enough() -> None:
    """1 US gal/min through a lag of 5 s passes 0.5 US gal/min after 5·ln 2 = 3.47 s (step response of a lag)."""
    rig = bench_rig(bands__rate_of_change__limit="0.5 gal/min", drain__valve_cv="0.05", duty__largest_draw="0 gal/min")
    found = of(rig, "rate_of_change")
    assert found.rising
    smoothing = next(one for one in found.parts if one.key == "timing.smoothing")
    assert smoothing.si == pytest.approx(5 * math.log(2), rel=1e-6)


@given(
    st.floats(0.05, 9.0), st.floats(0.05, 9.0), st.floats(0.0, 600.0), st.floats(0.0, 5.0), st.booleans()
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_any_ladder_is_timed_and_the_numbers_hold_together(
    high: float, low: float, delay: float, draw: float, gravity: bool
) -> None:
    rig = rig_with(
        {
            "bands.high.limit": f"{high:.3f} gal", "bands.low.limit": f"{low:.3f} gal",
            "bands.high.on_delay": f"{delay:.1f} s", "duty.largest_draw": f"{draw:.3f} gal/min",
            "drain.kind": "siphon over the rim" if gravity else "none",
        }
    )  # fmt: skip
    for one in timing(rig):
        assert 0.0 <= one.to_next.si <= one.to_end.si
        assert 0.0 <= one.left.si <= one.to_end.si
        assert one.stands in (ENOUGH, SHORT, LATE)
        assert not any(math.isnan(figure.si) for figure in one.figures)
    starting(rig)
