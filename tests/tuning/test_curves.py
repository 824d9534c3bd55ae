"""Slopes, two points, areas and the whole record, against closed forms and handbook examples."""

import math

import numpy as np
import pytest

from levelbench.tuning.experiments import ExperimentError
from levelbench.tuning.experiments.curves import by_areas, corners, line_through, two_points
from levelbench.tuning.experiments.whole import laid_over, whole

Floats = np.ndarray[tuple[int], np.dtype[np.float64]]


def times(lasts: float, step: float = 0.01) -> Floats:
    return np.arange(0.0, lasts, step)


def response(time: Floats, gain: float, constant: float, dead: float) -> Floats:
    """Step response of first order with dead time (closed form)."""
    return gain * -np.expm1(-np.maximum(time - dead, 0.0) / constant)


def test_two_points() -> None:
    """C. L. Smith (1972): T = 1.5·(t63.2 − t28.3), exact for first order; T = 8 s, L = 2 s, a jump of 0.1 at 10 s."""
    time = times(120.0)
    found = two_points(time, response(time - 10.0, 0.3, 8.0, 2.0), 10.0, 0.1)
    assert found.time_constant == pytest.approx(8.0, rel=2e-3)
    assert found.dead_time == pytest.approx(2.0, abs=0.02)
    assert found.gain == pytest.approx(3.0, rel=1e-4)


def test_shares_reached() -> None:
    """28.3 % and 63.2 % are reached a third of T and one T after the dead time (definition)."""
    assert response(np.array([8.0 / 3, 8.0]), 1.0, 8.0, 0.0) == pytest.approx([0.283, 0.632], abs=5e-4)


def test_areas_of_three_lags() -> None:
    """1/(s + 1)³: residence time 3 s, T = 1.827 s, L = 1.173 s (Åström & Hägglund 1995, section 2.4)."""
    time = times(40.0, 0.002)
    rise = 1 - np.exp(-time) * (1 + time + time**2 / 2)
    found = by_areas(time, rise, 0.0, 1.0)
    assert found.time_constant == pytest.approx(1.827, abs=2e-3)
    assert found.dead_time == pytest.approx(1.173, abs=2e-3)


def test_areas_are_exact_for_first_order() -> None:
    time = times(150.0, 0.005)
    found = by_areas(time, response(time - 5.0, 2.0, 8.0, 2.0), 5.0, 1.0)
    assert (found.time_constant, found.dead_time) == pytest.approx((8.0, 2.0), abs=5e-3)


def test_two_slopes() -> None:
    """Slopes of +0.05 and −0.15 %/s for a step of 10 % are k' = −0.02 1/s (definition of the two-slope test)."""
    time = times(400.0, 0.5)
    turned = 200.0 + 7.0
    pv = np.where(time < turned, 0.05 * time, 0.05 * turned - 0.15 * (time - turned))
    (found,) = corners(time, pv, np.where(time < 200.0, 40.0, 50.0))
    assert found.slope == pytest.approx(-0.02, rel=1e-9)
    assert found.delay == pytest.approx(7.0, abs=1e-6)


def test_too_few_samples_for_a_line() -> None:
    with pytest.raises(ExperimentError, match="samples"):
        line_through(np.arange(3.0), np.arange(3.0))


def test_no_rise() -> None:
    time = times(10.0)
    with pytest.raises(ExperimentError, match="ends where it began"):
        two_points(time, np.zeros_like(time), 1.0, 1.0)


def test_whole_record_of_a_leaning_integrator() -> None:
    """k' = 0.02, θ = 3.3 s, the level regulating itself with 400 s, by the exact answer of each constant stretch."""
    time = times(300.0, 0.1)
    output = np.select([time < 50, time < 120, time < 190], [0.4, 0.6, 0.2], 0.4)
    pv, late = np.empty_like(time), np.interp(time - 3.3, time, output)
    at = 5.0
    for row in range(len(time)):
        pv[row] = at
        rest = 5.0 + 0.02 * 400.0 * (late[row] - 0.4)
        at = rest + (at - rest) * math.exp(-0.1 / 400.0)
    found = whole(time, pv, output, 15.0)
    assert found.slope == pytest.approx(0.02, rel=2e-3)
    assert found.delay == pytest.approx(3.3, abs=0.1)
    assert found.regulation == pytest.approx(1 / 400.0, rel=0.02)
    over = laid_over(time, pv, output, found.slope, found.delay)
    assert np.nanmax(np.abs(over - pv)) < 5e-3


def test_an_output_that_is_let_go_at_a_rate_jumps_at_its_middle() -> None:
    """20 s from 40 to 50 % count as one jump half way: a ramp is a step delayed by half its length (definition)."""
    time = times(400.0, 0.5)
    output = np.clip(40.0 + 0.5 * (time - 190.0), 40.0, 50.0)
    late = np.clip(40.0 + 0.5 * (time - 197.0), 40.0, 50.0)
    pv = np.concatenate(([0.0], np.cumsum(0.002 * (late[:-1] - 45.0) * 0.5)))
    (found,) = corners(time, pv, output)
    assert found.at == pytest.approx(200.0, abs=0.5)
    assert found.jump == pytest.approx(10.0)
    assert found.delay == pytest.approx(7.0, abs=0.5)
