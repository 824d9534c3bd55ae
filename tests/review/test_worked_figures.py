"""The worked figures of the bench rig.

Where nothing else is said, an expected value was derived by hand from geometry and a volume balance, to the digits
given here. The US gallon is 231 in3 exactly (NIST SP 811, appendix B).
"""

import math

import numpy as np
import pytest
from bench_rig import GAL, GPM, INCH, bench_rig, rig_with

from levelbench.project import load, sample
from levelbench.review import RULES, Finding, Severity, ladder
from levelbench.review.pump import starts_per_hour
from levelbench.rig import Action, Rig, assemble, run
from levelbench.rig.bench import Bench, submergence

PERCENT_PER_GAL = 0.01 / GAL


def found(rig: Rig, key: str) -> Finding:
    return RULES[key](rig)


def gallons(rig: Rig, key: str, figure: str) -> float:
    return found(rig, key).figure(figure).si / GAL


def seconds(rig: Rig, upper: str, to: str | None = None) -> float:
    rungs = {rung.name: rung for rung in ladder(rig)}
    if to is None:
        return rungs[upper].seconds_to_spill
    return rungs[upper].seconds_to_spill - rungs[to].seconds_to_spill


def test_the_tank() -> None:
    bench = Bench(bench_rig())
    assert bench.working_area * INCH / GAL == pytest.approx(0.490, abs=0.0005)  # gal/in = π/4·12²/231
    assert bench.volume_at(bench.rim) / GAL == pytest.approx(9.79, abs=0.005)
    assert bench.spill_volume / GAL == pytest.approx(9.30, abs=0.005)
    assert bench.volume_at(17.5 * INCH) / GAL == pytest.approx(8.57, abs=0.005)


def test_a_sensor_flush_in_the_lid_is_blind_below_the_switch() -> None:
    flush = found(
        bench_rig(sensor__face_above_floor="20 in", sensor__signal_span=["20 in", "0.5 in"]), "sensor.dead_zone"
    )
    assert flush.severity is Severity.STOP
    assert flush.figure("sensor.highest_readable_level").si / INCH == pytest.approx(16.0)
    assert flush.figure("sensor.highest_readable_volume").si / GAL == pytest.approx(7.83, abs=0.005)
    assert flush.figure("sensor.riser_to_spill").si / INCH == pytest.approx(3.0)
    raised = found(bench_rig(), "sensor.dead_zone")
    assert raised.severity is Severity.GOOD
    assert raised.figure("sensor.highest_readable_volume").si / GAL == pytest.approx(9.79, abs=0.005)  # to the rim


def test_the_display_at_the_spill() -> None:
    finding = found(bench_rig(), "sensor.span")
    assert finding.severity is Severity.GOOD
    assert finding.figure("sensor.percent_at_spill").si == pytest.approx(0.949, abs=0.0005)
    assert finding.figure("sensor.current_at_spill").si * 1000 == pytest.approx(19.18, abs=0.006)
    assert "94.9 %" in finding.text


def test_a_short_span_says_less_than_full_while_the_tank_runs_over() -> None:
    """Derived: the spill at 19 in of a span that ends at 10 in; of 18 in it is 105.6 %."""
    assert found(bench_rig(sensor__signal_span=["24.5 in", "14.5 in"]), "sensor.span").severity is Severity.STOP
    short = found(bench_rig(sensor__signal_span=["24.5 in", "6.5 in"]), "sensor.span")
    assert short.severity is Severity.ATTEND
    assert short.figure("sensor.percent_at_spill").si == pytest.approx(19 / 18, rel=1e-6)


def test_seconds_at_the_worst_rate() -> None:
    """1 US gal/min into the room left: 44 s, 64 s and 108 s; an inch lasts 29 s; five minutes take 10.2 in."""
    rig = bench_rig()
    assert seconds(rig, "switch") == pytest.approx(44, abs=0.5)
    assert seconds(rig, "high", to="switch") == pytest.approx(64, abs=0.5)
    assert seconds(rig, "high") == pytest.approx(108, abs=0.5)
    bench = Bench(rig)
    assert bench.area_at(0.25) * INCH / bench.fill_rate == pytest.approx(29, abs=0.5)
    assert 300 * bench.fill_rate / bench.area_at(0.25) / INCH == pytest.approx(10.2, abs=0.05)


def test_what_still_runs_in_after_the_switch_trips() -> None:
    """1 US gal/min for 3.5 s; 0.67 US gal is left below the spill, about 0.4 with a pump of 5 US gal/min."""
    finding = found(bench_rig(), "switch.coast_down")
    assert finding.severity is Severity.GOOD
    assert finding.figure("switch.coast_down").si / GAL == pytest.approx(0.058, abs=0.0005)
    assert finding.figure("switch.margin").si / GAL == pytest.approx(0.67, abs=0.01)
    large = found(bench_rig(pump__largest_flow="5 gal/min"), "switch.coast_down")
    assert large.figure("switch.margin").si / GAL == pytest.approx(0.44, abs=0.01)


def test_the_run_rises_after_the_trip_by_no_more_than_is_reckoned_with() -> None:
    """The rig itself, run by hand at full output with the drain shut: an independent path to the same volume."""
    rig = rig_with({"drain.opening": "0 %", "start.mode": "manual", "start.output": "100 %"})
    recording = run(rig, 600.0)
    finding = found(rig, "switch.coast_down")
    risen = float(np.max(recording["volume"])) - Bench(rig).volume_at(17.5 * INCH)
    assert risen == pytest.approx(finding.figure("switch.coast_down").si, rel=0.05)


def test_starts_per_hour() -> None:
    """V = T Q/4 turned round (pumping station practice, UFC 3-240-04A): 750 and 154 starts in an hour."""
    assert starts_per_hour(1.0 * GPM, 0.02 * GAL) == pytest.approx(750)
    assert starts_per_hour(0.278 * GPM, 0.027 * GAL) == pytest.approx(154, abs=1)


def test_flow_where_the_pump_starts() -> None:
    """0.2 + 0.07/0.72 × 0.8 = 0.278 US gal/min."""
    assert found(bench_rig(), "pump.slowest_flow").figure("pump.flow_at_start").si / GPM == pytest.approx(
        0.28, abs=0.003
    )


def test_starts_agree_with_a_run_of_the_rig() -> None:
    """A draw of half the flow where the pump starts is the worst; the run counts its starts without any formula."""
    rig = rig_with(
        {
            "drain.kind": "forced draw",
            "drain.draw": "0.14 gal/min",
            "drain.goes_to": "reservoir",
            "sensor.noise": "0 in",
        }
    )
    recording = run(rig, 3600.0 + 600.0)
    running = recording.condition("pump running")[recording["time"] > 600.0].astype(int)
    counted = int(np.sum(np.diff(running) == 1))
    assert counted == pytest.approx(found(rig, "pump.starts").figure("pump.starts_per_hour").si, rel=0.25)


def test_the_delay_and_the_settings() -> None:
    """θ = 4 s; K = 1/(2 k' θ) = 675 %/US gal, Ti = 8 θ = 32 s; band 1.51 % of a span of 9.8 US gal.

    k' = 1/60/100 × 0.8/0.72 = 1.85e-4 US gal/s a per cent; the tuning rule is Skogestad's (2003), from memory.
    """
    rig = bench_rig()
    delay = found(rig, "loop.delay")
    assert delay.figure("delay.total").si == pytest.approx(4.0, abs=0.01)
    assert delay.figure("delay.averaging").si == pytest.approx(2.45)
    rise = found(rig, "loop.action").figure("loop.sign_test").si
    assert rise / 60 / GAL == pytest.approx(1.85e-4, abs=0.005e-4)
    gain = 1 / (2 * (rise / 60 * 100) * delay.figure("delay.total").si)
    assert gain / PERCENT_PER_GAL == pytest.approx(675, abs=2)
    assert 1 / (gain * 9.8 * GAL) == pytest.approx(0.0151, abs=0.0001)
    assert found(rig, "loop.slow_cycling").figure("loop.slow_cycling").si == pytest.approx(4.0, abs=0.02)


def test_the_ceiling_comes_down_with_averaging() -> None:
    """Ku = π/(2 k' θ) with dead time alone; lags make it higher. 300 readings at these settings cycle."""
    plain, slow = bench_rig(), bench_rig(sensor__averaging=300)
    assert found(plain, "loop.gain_ceiling").severity is Severity.GOOD
    assert found(slow, "loop.gain_ceiling").severity is Severity.STOP
    at_least = math.pi / (2 * 0.0185 * GAL * 4.0)
    assert found(plain, "loop.gain_ceiling").figure("ultimate.gain").si > at_least


def test_one_millimetre_is_two_hundredths_of_a_gallon() -> None:
    """1 mm = 0.019 US gal on this tank, so 0.01 is not supported and 0.02 is."""
    coarse = rig_with({"sensor.resolution": "1 mm", "loop_settings.entry_step": "0.01 gal"})
    finding = found(coarse, "resolution.entry_step")
    assert finding.severity is Severity.ATTEND
    assert finding.figure("resolution.honest").si / GAL == pytest.approx(0.019, abs=0.0005)
    assert finding.what_if["loop_settings.entry_step"] == "0.02 US gal"


def test_one_count_of_the_converter() -> None:
    """15 bits over 0 to 20 mA, 9.8 US gal over 16 mA: 0.000374 US gal."""
    finding = found(bench_rig(), "resolution.entry_step")
    assert finding.figure("resolution.converter").si / GAL == pytest.approx(0.000374, abs=0.000001)


def test_converter_step_is_that_of_the_level_where_the_span_ends_above_the_rim() -> None:
    """Seedling house: 24 mA/16383 counts/16 mA × 15.5 in of span × (π/4)(12² − 0.5²) in² (geometry, worked by hand)."""
    house = assemble(load(sample("seedling_house")))
    by_hand = 24 / 16383 / 16 * 15.5 * math.pi / 4 * (12**2 - 0.5**2) / 231
    assert by_hand == pytest.approx(0.000694, abs=5e-7)
    step = RULES["resolution.entry_step"](house).figure("resolution.converter").si / GAL
    assert step == pytest.approx(by_hand, rel=1e-3)


def test_noise_after_averaging() -> None:
    """0.004 US gal a reading, 50 of them: 0.004/√50 = 0.0006; 675 %/US gal make that 0.4 %, 2.7 % without averaging."""
    rig = bench_rig()
    assert Bench(rig).noise(0.0) / GAL == pytest.approx(0.004 / math.sqrt(50), rel=1e-3)
    assert found(rig, "loop.noise").figure("loop.output_noise").si == pytest.approx(0.004, abs=0.0005)
    bare = found(bench_rig(sensor__averaging=1), "loop.noise")
    assert bare.severity is Severity.ATTEND
    assert bare.figure("loop.output_noise").si == pytest.approx(0.027, abs=0.0005)


@pytest.mark.parametrize("lag", [0.2, 1.0, 5.0, 30.0])
def test_noise_through_average_and_filter_agrees_with_numbers_drawn(lag: float) -> None:
    """White noise drawn by numpy, averaged by convolution, filtered by a recursion: no formula shared."""
    rig = bench_rig(loop_settings__pv_filter=f"{lag} s", loop_settings__scan="0.1 s")
    rng = np.random.default_rng(5)
    averaged = np.convolve(rng.normal(0.0, 0.004 * GAL, 400_000), np.ones(50) / 50, mode="valid")
    share, pv, spread = 1 - math.exp(-0.1 / lag), 0.0, []
    for reading in averaged.tolist():
        pv += share * (reading - pv)
        spread.append(pv)
    assert Bench(rig).noise(0.0) == pytest.approx(float(np.std(spread[5000:])), rel=0.06)


def test_ten_degrees_fahrenheit_of_air() -> None:
    """10 °F over a path of 20 in move the reading by 0.093 US gal: 0.17 %/K of the path."""
    rig = rig_with({"duty.air_swing": "10 delta degF", "sensor.face_above_floor": "24.0833 in"})
    finding = found(rig, "sensor.air")
    assert finding.figure("sensor.air_error").si / GAL == pytest.approx(0.093, abs=0.001)
    assert finding.severity is Severity.ATTEND


@pytest.mark.parametrize(("flow", "cover"), [(2.0, 3.7), (0.5, 1.3)])
def test_cover_over_a_half_inch_mouth(flow: float, cover: float) -> None:
    """After ANSI/HI 9.8, value from memory."""
    assert submergence(flow * GPM, 0.5 * INCH) / INCH == pytest.approx(cover, abs=0.05)


def test_the_lowest_safe_volume_and_the_time_to_it() -> None:
    """1.13 US gal at a draw of 0.5 US gal/min, 44 s below the low limit (the cover after ANSI/HI 9.8, from memory)."""
    finding = found(bench_rig(), "drain.air_draw")
    assert finding.figure("drain.lowest_safe_volume").si / GAL == pytest.approx(1.13, abs=0.005)
    assert finding.figure("drain.time_to_air").si == pytest.approx(44, abs=0.6)


def test_an_emergency_stop_does_not_stop_the_siphon() -> None:
    """5 US gal leave in ten minutes at 0.5 US gal/min."""
    rig = bench_rig(start__set_point="6.74 gal")
    assert gallons(rig, "drain.after_stop", "drain.left_after_stop") == pytest.approx(1.74, abs=0.005)


def test_drain_back_through_a_drowned_fill_end() -> None:
    """From 6.75 US gal (13.8 in) down to 1 in: 6.3 US gal."""
    finding = found(bench_rig(pump__fill_end_above_floor="1 in"), "circuit.back_siphon")
    assert finding.figure("circuit.drain_back").si / GAL == pytest.approx(6.26, abs=0.01)


def test_a_minute_of_delay_is_a_gallon() -> None:
    """60 s at 1 US gal/min: 1.00 of the 1.07 US gal between the high limit and the switch."""
    late = found(bench_rig(bands__high__on_delay="60 s"), "bands.on_delay")
    assert late.severity is Severity.ATTEND
    assert late.figure("bands.high.moved").si / GAL == pytest.approx(1.00)
    assert "1.068 US gal to switch" in late.text


def test_water_at_twenty_degrees_boils_in_a_siphon_of_ten_metres() -> None:
    """10.11 m of still water at 20 °C and 101.325 kPa: (p − p_vapour)/(ρ g), p_vapour by IAPWS-95."""
    limit = found(bench_rig(), "drain.crest").figure("drain.crest_limit").si
    assert limit == pytest.approx(10.11, abs=0.01)


def test_holding_through_a_block_does_not_wind_up() -> None:
    """Ten minutes blocked: with the integral held the overshoot stays within a few hundredths of a gallon.

    Shape known from a throwaway model of the same tank (0.016 US gal held, 7.6 without); common practice, no source.
    """
    finding = found(bench_rig(), "loop.wind_up")
    assert finding.severity is Severity.GOOD
    assert finding.figure("loop.overshoot_after_block").si / GAL < 0.05


def test_the_run_behind_the_wind_up_really_was_blocked() -> None:
    rig = bench_rig()
    recording = run(rig, 620.0, actions=(Action(0.0, "stop", 1.0), Action(600.0, "stop", 0.0)))
    assert not recording.condition("pump running")[5:].any()


def test_a_reservoir_that_nothing_comes_back_to_lasts_as_long_as_it_says() -> None:
    """(20 − 4 − 1.25) gal at 0.5 gal/min is 29.5 min: half an inch of 12 in holds 1.25 of 30 gal. The rig agrees."""
    rig = rig_with(
        {
            "drain.kind": "forced draw",
            "drain.draw": "0.5 gal/min",
            "drain.goes_to": "away",
            "duty.largest_draw": "0.5 gal/min",
            "start.tank_volume": "4 gal",
            "start.set_point": "4 gal",
        }
    )
    finding = found(rig, "reservoir.lasts")
    assert finding.figure("reservoir.lasts").si == pytest.approx(29.5 * 60, rel=1e-6)
    assert "29 min" in finding.text
    dry = [one.time for one in run(rig, 2400.0).journal if one.what == "pump dry"]
    assert dry[0] == pytest.approx(29.5 * 60, rel=0.01)


def test_the_highest_readable_volume_is_the_one_of_the_ladder_and_no_more_than_the_tank_holds() -> None:
    """Derived: the sensor sees to 20.5 in, half an inch above the rim of π/4·12²·20/231 = 9.79 US gal."""
    rig = bench_rig()
    rung = next(one for one in ladder(rig) if one.name == "highest readable")
    told = found(rig, "sensor.dead_zone").figure("sensor.highest_readable_volume").si
    assert told == pytest.approx(rung.volume)
    assert told / GAL == pytest.approx(9.79, abs=0.005)
