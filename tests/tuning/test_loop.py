"""The linear loop against hand calculation, a control library and the rig that it stands for."""

import math
from dataclasses import replace

import control
import numpy as np
import pytest
from plain_rig import GPM, US_GALLON, plain, swing

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import RigError
from levelbench.rig.recording import Action
from levelbench.rig.run import run
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import draw_at, loop_model, margins, open_loop, operating_point, pump_at, settings_in


def test_a_straight_pump_of_one_gallon_a_minute_has_that_slope() -> None:
    model = loop_model(plain())
    assert model.slope.si == pytest.approx(GPM, rel=1e-9)  # 0 to 100 % is 0 to 1 US gal/min
    assert operating_point(plain()).output == pytest.approx(0.25, rel=1e-9)  # against the draw of 0.25 US gal/min


def test_the_delay_is_the_sum_of_its_parts_by_hand() -> None:
    # (N − 1)/2 × update = 1.0 s, update/2 = 0.05 s, scan/2 = 0.1 s, filter 2 s, spin-up 0.5 s
    model = loop_model(plain(loop_settings__scan="0.2 s", loop_settings__pv_filter="2 s", pump__spin_up="0.5 s"))
    parts = {one.key: one.si for one in model.parts}
    assert parts == pytest.approx(
        {"delay.averaging": 1.0, "delay.update": 0.05, "delay.scan": 0.1, "delay.filter": 2.0, "delay.spin_up": 0.5}
    )
    assert model.total_delay.si == pytest.approx(3.65)
    assert (model.dead_time, model.lags) == (pytest.approx(1.15), pytest.approx((2.0, 0.5)))
    assert len(model.total_delay.inputs) == 5


def test_an_on_off_pump_adds_half_its_cycle_and_acts_by_its_mean_flow() -> None:
    rig = plain(pump__drive="on/off", pump__cycle="10 s", pump__starts_moving_at="9 %")
    model = loop_model(rig)
    assert {one.key: one.si for one in model.parts}["delay.cycle"] == pytest.approx(5.0)
    assert model.slope.si == pytest.approx(GPM, rel=1e-9)
    assert operating_point(rig).output == pytest.approx(0.25, rel=1e-9)


def test_thresholds_make_the_slope_steeper() -> None:
    # from 0.1 US gal/min at the stall (20 %) to 1 US gal/min at 100 %: 0.9/0.8
    rig = plain(pump__starts_moving_at="25 %", pump__stalls_at="20 %", pump__slowest_flow="0.1 gal/min")
    assert loop_model(rig).slope.si == pytest.approx(0.9 / 0.8 * GPM, rel=1e-9)
    assert operating_point(rig).output == pytest.approx(0.2 + 0.15 / 0.9 * 0.8, rel=1e-9)


def test_a_shut_drain_is_replaced_by_the_largest_draw() -> None:
    assert operating_point(plain(drain__draw="0 gal/min")).flow == pytest.approx(0.5 * GPM)


@pytest.mark.parametrize(("asked", "given"), [(5.0, 1.0), (0.001, 0.1)])
def test_a_draw_outside_the_pumps_range_is_taken_as_the_nearest(asked: float, given: float) -> None:
    flow, output, slope = pump_at(plain().params.pump, asked * GPM, 0.5)
    assert flow == pytest.approx(given * GPM, rel=1e-9)
    assert output == pytest.approx(given, rel=1e-9)
    assert slope == pytest.approx(GPM, rel=1e-9)


def test_a_pump_that_cannot_lift_so_high_is_refused() -> None:
    pump = plain(pump__shut_off_head="3 m").params.pump
    with pytest.raises(RigError, match="can't lift") as caught:
        pump_at(pump, 0.2 * GPM, 3.5)
    assert caught.value.where == "pump.shut_off_head"


@pytest.mark.parametrize("name", ["seedling", "washer"])
def test_the_slope_is_that_of_flows_measured_on_the_running_rig(name: str, request: pytest.FixtureRequest) -> None:
    rig: Rig = request.getfixturevalue(name)
    point = operating_point(rig)
    flows = []
    for output in (point.output - 0.02, point.output + 0.02):
        actions = (Action(0.0, "auto", 0.0), Action(0.0, "manual output", 0.5), Action(1.0, "manual output", output))
        flows.append(float(run(rig, 15.0, actions=actions)["pump_flow"][-1]))
    assert (flows[1] - flows[0]) / 0.04 == pytest.approx(point.slope, rel=0.02)
    assert (flows[1] + flows[0]) / 2 == pytest.approx(point.flow, rel=0.02)


def test_a_worn_pump_against_a_head_follows_its_curve() -> None:
    rig = plain(pump__shut_off_head="3 m", pump__measured_at_lift="0.5 m", pump__wear="20 %")
    point = operating_point(rig)
    state = rig.start()
    state.conditions |= 1 << kernel.PUMP_ALLOWED
    below, above = (kernel.pump_wants(rig.params, state, point.output + d, point.lift) for d in (-1e-4, 1e-4))
    assert point.slope == pytest.approx((above - below) / 2e-4, rel=1e-5)
    assert point.flow == pytest.approx((above + below) / 2, rel=1e-5)


def test_the_draw_is_that_of_the_running_rig(seedling: Rig) -> None:
    drawn = run(seedling, 5.0)["drain_flow"][-1]
    assert draw_at(seedling, seedling.project.start.tank_volume.si) == pytest.approx(float(drawn), rel=0.01)


def test_margins_agree_with_a_control_library(seedling: Rig) -> None:
    loop, found = open_loop(seedling), margins(seedling)
    omega = np.geomspace(2e-3, 20.0, 4001)
    s = 1j * omega
    one = settings_in(seedling)
    data = loop.slope * one.gain * (1 + 1 / (one.integral_time * s)) * np.exp(-loop.dead_time * s) / s
    for lag in loop.lags:
        data = data / (1 + lag * s)
    gain, phase, *_ = control.stability_margins(control.frd(data, omega, smooth=False))  # python-control
    assert found.stable
    assert found.gain.si == pytest.approx(gain, rel=2e-4)
    assert found.phase.si == pytest.approx(phase, abs=0.01)
    assert found.sensitivity is not None
    assert found.sensitivity.si == pytest.approx(np.max(1 / np.abs(1 + data)), rel=1e-4)
    assert found.delay is not None
    assert found.delay.si == pytest.approx(math.radians(phase) * found.crossover.si / (2 * math.pi), rel=1e-3)


def test_slow_cycling_is_the_product_by_hand() -> None:
    # k'·K·Ti = 1 US gal/min × 100 %/US gal × 240 s = 4
    found = margins(plain())
    assert found.slow_cycling.si == pytest.approx(4.0, rel=1e-9)
    assert found.lowest_gain is None
    assert all(one.source and one.formula and one.inputs for one in found.figures)


def test_no_integral_is_named_off() -> None:
    found = margins(plain(loop_settings__integral="off"))
    assert math.isinf(found.slow_cycling.si)
    assert ("Ti", "off") in found.gain.inputs


def test_too_short_an_integral_time_is_told_apart() -> None:
    found = margins(plain(loop_settings__integral="1 s"))
    assert not found.stable
    assert found.gain.si == 0.0
    assert "no gain holds" in found.gain.formula
    assert found.sensitivity is None
    assert found.delay is None


def test_direct_action_on_a_filling_pump_is_never_stable() -> None:
    found = margins(plain(loop_settings__action="direct"))
    assert not found.stable
    assert (found.gain.si, found.sensitivity) == (0.0, None)


def test_other_settings_can_be_asked_about(seedling: Rig) -> None:
    own = settings_in(seedling)
    half = margins(seedling, replace(own, gain=own.gain / 2))
    assert half.gain.si == pytest.approx(2 * margins(seedling).gain.si, rel=1e-9)
    assert settings_in(seedling) == own


def test_a_lowest_gain_is_reported_where_there_is_one() -> None:
    rig = plain(sensor__averaging=1, loop_settings__derivative_filter="50", pump__spin_up="20 s")
    found = margins(rig, Settings(60.0 / US_GALLON, 16.0, 12.0))
    assert found.stable
    assert found.lowest_gain is not None
    assert 0 < found.lowest_gain.si < 1


@pytest.mark.parametrize(("factor", "cycles"), [(0.8, False), (1.25, True)])
def test_the_rig_itself_cycles_above_the_ultimate_gain_only(factor: float, cycles: bool) -> None:
    """Common practice, no source: below the ultimate gain a swing dies out, above it it stays."""
    slow = {"pump__spin_up": "2 s", "loop_settings__pv_filter": "1 s", "sensor__averaging": 1}
    rig = plain(loop_settings__integral="off", **slow)
    ultimate = margins(rig).ultimate_gain.si
    actions = (
        Action(0.0, "gain", factor * ultimate),
        Action(20.0, "set point", 4.01 * US_GALLON),
    )
    recording = run(rig, 220.0, actions=actions)
    last = recording["time"] > 180.0
    assert (swing(recording["output"][last]) > 0.1) == cycles
    if cycles:
        output = recording["output"][last] - np.mean(recording["output"][last])
        rising = np.flatnonzero((output[1:] > 0) & (output[:-1] <= 0))
        period = float(np.mean(np.diff(rising))) * rig.scan
        assert period == pytest.approx(margins(rig).ultimate_period.si, rel=0.15)
