"""The controller by hand: PI and PID steps, forms, bumpless changes, limits, ramp, dead band, direction.

With the signal held the PV stands still, so that every output can be reckoned on paper.
"""

import math

import numpy as np
import pytest
from rigs import GALLON, LITRE, PLAIN, at, build, go, times_of

from levelbench.project import Value
from levelbench.rig import Action, Recording, Session

LEVEL: dict[str, Value] = {
    "sensor.kind": "plain 4-20 mA",
    "sensor.signal_span": ["0 m", "0.5 m"],
    "loop_settings.entry_step": "0.0001 l",
    "start.tank_volume": "10 l",
    "start.set_point": "10 l",
    "start.output": "20 %",
}
HELD = Action(0, "signal held", 1)
E18 = PLAIN | LEVEL | {"loop_settings.gain": "2.5", "loop_settings.integral": "30 s"}
SPAN = 0.5 * math.pi / 4 * 0.3**2  # [m3]
FOUR_PERCENT = 0.04 * SPAN


def to(volume: float, time: float = 5.0) -> Action:
    return Action(time, "set point", volume)


def stepped(*changes: dict[str, Value], error: float = FOUR_PERCENT, more: tuple[Action, ...] = ()) -> Recording:
    """Run 60 s at a PV that stands still, with a step of the set point at 5 s."""
    return go(build(E18, *changes), 60, HELD, to(10 * LITRE + error), more)


def test_integral_repeats_the_proportional_step_in_its_time() -> None:
    """Kc = 2.5, Ti = 30 s, error 4 %: 10 % at once, 10 % more after 30 s (definition of reset time, ISA-51.1)."""
    output = stepped()["output"]
    assert output[49] == pytest.approx(0.20, abs=1e-4)
    assert output[50] - output[49] == pytest.approx(0.10, abs=1e-4)
    assert output[350] - output[50] == pytest.approx(0.10, abs=1e-4)
    assert np.diff(output[50:]) == pytest.approx(2.5 * 0.04 * 0.1 / 30, rel=2e-3)


def test_proportional_band_is_the_inverse_of_the_gain() -> None:
    """PB = 100/Kc: 40 % for 2.5 (IEC 60050-351)."""
    band = {"loop_settings.gain": None, "loop_settings.proportional_band": "40 %"}
    assert stepped(band)["output"] == pytest.approx(stepped()["output"], abs=1e-12)


@pytest.mark.parametrize(("weight", "jump"), [("1", 0.10), ("0.5", 0.05), ("0", 0.0)])
def test_set_point_weight_takes_its_share_of_the_jump(weight: str, jump: float) -> None:
    """u = K (b·SP - PV) + I (Åström & Hägglund 1995, 3.4): the jump is K·b·step, the integral is as ever."""
    output = stepped({"loop_settings.set_point_weight": weight})["output"]
    assert output[50] - output[49] == pytest.approx(jump, abs=1e-4)
    assert output[350] - output[50] == pytest.approx(0.10, abs=1e-4)


FORMS: dict[str, dict[str, Value]] = {
    "standard": {"loop_settings.gain": "2.5", "loop_settings.integral": "12.5 s", "loop_settings.derivative": "2 s"},
    "series": {"loop_settings.gain": "2", "loop_settings.integral": "10 s", "loop_settings.derivative": "2.5 s"},
    "parallel": {"loop_settings.gain": "2.5", "loop_settings.integral": "12 1/min", "loop_settings.derivative": "5 s"},
}


def test_three_forms_of_the_same_settings_give_the_same_run() -> None:
    """Series (2, 10, 2.5) = standard (2.5, 12.5, 2) = parallel (2.5, 0.2, 5) (Åström & Hägglund 1995, ch. 3)."""
    draw = {"drain.kind": "forced draw", "drain.draw": "2 l/min", "sensor.noise": "0.5 mm"}
    runs = {
        form: go(build(PLAIN, LEVEL, draw, text, {"loop_settings.form": form}), 300, to(12 * LITRE, 50), seed=4)
        for form, text in FORMS.items()
    }
    for form in ("series", "parallel"):
        np.testing.assert_allclose(runs[form]["output"], runs["standard"]["output"], rtol=0, atol=1e-9)
        np.testing.assert_allclose(runs[form]["volume"], runs["standard"]["volume"], rtol=1e-10)
    assert np.ptp(runs["standard"]["output"]) > 0.2


@pytest.mark.parametrize("typed", ["30 s", "0.5 min", "2 repeats/min"])
def test_integral_as_a_time_or_as_a_rate(typed: str) -> None:
    """30 s = 0.5 min per repeat = 2 repeats per minute (definition)."""
    assert stepped({"loop_settings.integral": typed})["output"] == pytest.approx(stepped()["output"], abs=1e-12)


def test_without_integral_the_output_stands() -> None:
    output = stepped({"loop_settings.integral": "off"})["output"]
    assert np.ptp(output[50:]) == 0.0


# Without a bump -----------------------------------------------------------------------------------------------------

MOVING = PLAIN | LEVEL | {"drain.kind": "forced draw", "drain.draw": "3 l/min", "loop_settings.derivative": "3 s"}


def test_to_manual_and_back_without_a_bump() -> None:
    """The output stands at the change to manual and goes on from there at the change back (common practice)."""
    recording = go(build(MOVING), 120, to(11 * LITRE), Action(20, "auto", 0), Action(40, "auto", 1))
    output = recording["output"]
    assert output[200] == output[199]
    assert np.ptp(output[199:400]) == 0.0
    assert abs(output[400] - output[399]) < 2e-3  # the PV moved for one scan
    assert np.abs(np.diff(output[400:])).max() < 0.01
    still = stepped(more=(Action(20, "auto", 0), Action(40, "auto", 1)))["output"]
    assert still[400] == pytest.approx(still[399], abs=1e-12)


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("gain", 900.0),
        ("gain", 50.0),
        ("integral time", 5.0),
        ("integral time", math.inf),
        ("derivative time", 12.0),
        ("derivative time", 0.0),
        ("derivative filter", 3.0),
        ("set point weight", 0.2),
    ],
)
def test_settings_change_without_a_bump(what: str, value: float) -> None:
    """In the scan of the change the output is what it would have been without it (common practice)."""
    rig = build(MOVING)
    before = go(rig, 60, to(11 * LITRE, 19))
    as_it_was = before["output"]
    changed = go(rig, 60, to(11 * LITRE, 19), Action(20, what, value))["output"]
    assert changed[:200].tolist() == as_it_was[:200].tolist()
    # beyond rounding only what the new settings make of the PV's own movement in this one scan
    gain = max(value, 200.0) if what == "gain" else 200.0
    assert abs(changed[200] - as_it_was[200]) <= gain * (1 + 8) * abs(before["pv"][200] - before["pv"][199])
    assert not np.array_equal(changed[250:], as_it_was[250:])
    held = [HELD, to(10 * LITRE + FOUR_PERCENT)]
    plain = go(build(E18), 60, held)["output"]
    assert go(build(E18), 60, held, Action(20, what, value))["output"][200] == pytest.approx(plain[200], abs=1e-12)


def test_derivative_comes_in_without_a_bump_on_a_moving_pv() -> None:
    """Without integral and with a steady ramp: the new derivative grows from nothing."""
    rig = build(MOVING, {"loop_settings.derivative": "0 s", "loop_settings.integral": "off"})
    quiet = [Action(0, "airlock", 1)]
    output = go(rig, 60, quiet, Action(20, "derivative time", 10.0))["output"]
    # K·Td·slope = 0.1 in the end, reached with the filter's 10/8 s: at most 8 % of it in the first scan
    assert 0.0 < (output[200] - output[199]) - (output[199] - output[198]) <= 0.1 * 0.08
    assert output[400] > output[199]


# Limits -------------------------------------------------------------------------------------------------------------


def test_integral_does_not_wind_up_against_a_limit() -> None:
    """After a minute at 100 % a smaller set point is answered in the same scan (Åström & Hägglund 1995, 3.5)."""
    back = Action(70, "set point", 10 * LITRE + 0.9 * FOUR_PERCENT)
    recording = go(build(E18, {"loop_settings.integral": "3 s"}), 80, HELD, to(10 * LITRE + FOUR_PERCENT), back)
    output = recording["output"]
    assert output[400:700].min() == 1.0
    assert recording.condition("output limited")[400:700].all()
    step = 2.5 * 0.04 * 0.1 / 3
    assert output[700] == pytest.approx(1.0 - 2.5 * 0.1 * 0.04, abs=1.1 * step)
    low = go(build(E18, {"loop_settings.integral": "3 s"}), 80, HELD, to(10 * LITRE - FOUR_PERCENT))["output"]
    assert low[-1] == 0.0


def test_output_keeps_its_limits() -> None:
    between = {"loop_settings.output_low": "15 %", "loop_settings.output_high": "35 %"}
    up = stepped(between)["output"]
    down = stepped(between, error=-FOUR_PERCENT)["output"]
    assert (up.min(), up.max()) == pytest.approx((0.2, 0.35), abs=1e-4)
    assert (down.min(), down.max()) == pytest.approx((0.15, 0.2), abs=1e-4)
    assert up.max() <= 0.35 + 1e-12
    assert down.min() >= 0.15 - 1e-12


def test_output_limits_bind_in_automatic_only() -> None:
    """In manual the person decides (common practice, no source); back in automatic the limits hold again."""
    between = {"loop_settings.output_low": "15 %", "loop_settings.output_high": "35 %", "start.mode": "manual"}
    more = (Action(15, "manual output", 0.9), Action(30, "manual output", 0.0), Action(45, "auto", 1.0))
    output = stepped(between, more=more)["output"]
    assert (output[200], output[400]) == (0.9, 0.0)
    assert 0.15 <= output[450:].min() <= output[450:].max() <= 0.35


@pytest.mark.parametrize("mode", ["auto", "manual"])
def test_output_keeps_its_rate(mode: str) -> None:
    rate = {"loop_settings.output_rate": "2 %/s", "start.mode": mode}
    more = (Action(30, "manual output", 0.9),) if mode == "manual" else ()
    output = stepped(rate, error=5 * FOUR_PERCENT, more=more)["output"]
    assert np.diff(output).max() == pytest.approx(0.002, rel=1e-9)
    assert output[-1] > 0.6


def test_rate_limit_does_not_wind_the_integral_up() -> None:
    """While the output lags at its rate the integral waits: the end is the same as without the limit, not beyond."""
    fast, slow = (stepped({"loop_settings.output_rate": rate})["output"] for rate in ("off", "1 %/s"))
    assert slow[-1] < fast[-1]
    assert slow[-1] > 0.35


@pytest.mark.parametrize(
    ("typed", "becomes"), [(20.26, 20.3), (20.24, 20.2), (1000.0, 35.0), (0.0, 1.0), (20.25001, 20.3)]
)
def test_set_point_is_rounded_and_kept_within_its_limits(typed: float, becomes: float) -> None:
    session = Session(build(PLAIN))
    session.act("set point", typed * LITRE)
    session.advance(1)
    assert session.panel("set point") == pytest.approx(becomes * LITRE, rel=1e-12)


def test_ramp_leads_the_working_set_point() -> None:
    """6 l/min: 0.1 l each second, then it stands."""
    set_point = go(build(PLAIN, {"loop_settings.ramp": "6 l/min"}), 60, to(22 * LITRE))["set_point"]
    assert np.diff(set_point[50:249]) == pytest.approx(0.01 * LITRE, rel=1e-9)
    assert set_point[-1] == pytest.approx(22 * LITRE, rel=1e-12)
    down = go(build(PLAIN, {"loop_settings.ramp": "6 l/min"}), 60, to(19 * LITRE))["set_point"]
    assert np.diff(down).min() == pytest.approx(-0.01 * LITRE, rel=1e-9)


# Derivative, dead band, direction -----------------------------------------------------------------------------------


def test_derivative_does_not_see_the_set_point() -> None:
    """D on PV only: a step of the set point gives the proportional jump and no kick (Åström & Hägglund 1995, 3.4)."""
    with_d = stepped({"loop_settings.derivative": "20 s"})["output"]
    assert with_d == pytest.approx(stepped()["output"], abs=1e-9)


@pytest.mark.parametrize("filtering", [2, 8])
def test_derivative_of_a_ramp(filtering: int) -> None:
    """K·Td·slope in the end, 63.2 % of it after Td/N (definition of the filtered derivative)."""
    # an airlock takes the pump away from the tank, and a draw of 3 l/min makes the ramp
    ramp: dict[str, Value] = {
        "drain.kind": "forced draw",
        "loop_settings.gain": "20 %/l",
        "loop_settings.integral": "off",
        "loop_settings.derivative": "8 s",
        "loop_settings.derivative_filter": str(filtering),
    }
    actions = [Action(0, "airlock", 1), Action(10, "draw", 3 * LITRE / 60)]
    recording = go(build(PLAIN, LEVEL, ramp), 40, actions)
    proportional = 0.2 * (10 - recording["pv"] / LITRE) + recording["output"][0]
    part = recording["output"] - proportional
    assert part[-1] == pytest.approx(0.2 * 8 * 0.05, rel=0.01)
    begin = 101  # the first scan at which the PV has moved
    after = round(8 / filtering / 0.1)
    assert part[begin + after - 1] == pytest.approx(0.08 * (1 - math.exp(-1)), rel=0.05)


def test_integral_dead_band_stops_the_integral_only() -> None:
    wide = {"loop_settings.integral_dead_band": f"{1.01 * FOUR_PERCENT / LITRE:.9f} l"}
    tight = {"loop_settings.integral_dead_band": f"{0.99 * FOUR_PERCENT / LITRE:.9f} l"}
    output = stepped(wide)["output"]
    assert output[50] - output[49] == pytest.approx(0.10, abs=1e-4)
    assert np.ptp(output[50:]) == 0.0
    assert stepped(tight)["output"][50:] == pytest.approx(stepped()["output"][50:], abs=1e-4)


def test_direct_action_runs_away() -> None:
    """The wrong direction is positive feedback: the tank ends full or empty (common practice)."""
    wrong = {"loop_settings.action": "direct", "overflow_switch.fitted": False}
    full = go(build(MOVING, wrong), 1500, to(9.5 * LITRE))
    empty = go(build(MOVING, wrong), 1500, to(10.5 * LITRE))
    assert times_of(full, "spilling")
    assert empty["volume"][-1] < 1 * LITRE
    right = go(build(MOVING), 1500, to(10.5 * LITRE))
    assert right["volume"][-1] == pytest.approx(10.5 * LITRE, rel=1e-3)


# The job itself -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_a_tenth_of_a_gallon_up(seed: int) -> None:
    """Facts of the trade (common practice, no source) for a pump of 1 US gal/min, from 3.00 to 3.10 US gal.

    It runs flat out first, slows as it arrives, overshoots by less than a hundredth of a gallon, holds within a
    hundredth while the draw goes on, and never takes less than 0.1/(1 - draw) minutes.
    """
    recording = go(build(), 1500, to(3.10 * GALLON, 600), seed=seed)
    volume, output = recording["volume"] / GALLON, recording["output"]
    draw = recording["drain_flow"][6000] / GALLON * 60
    assert 0.1 < draw < 0.9
    assert output[6003:6030].min() > 0.95
    arrives = recording["time"][6000 + int(np.argmax(volume[6000:] >= 3.09))] - 600
    assert arrives >= 0.9 * 0.1 / (1 - draw) * 60
    assert volume[6000:].max() < 3.11
    assert np.abs(volume[12_000:] - 3.10).max() < 0.01
    assert at(recording, 590, "volume") == pytest.approx(3.0 * GALLON, abs=0.01 * GALLON)
