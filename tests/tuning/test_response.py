"""Margins of an integrator with dead time against published rules and a general control library."""

import doctest
import math

import control
import numpy as np
import pytest

from levelbench.rig.settings import Settings
from levelbench.tuning import response
from levelbench.tuning.response import OpenLoop, raw_margins, ultimate

KU, PU = math.pi / 2, 4.0  # ultimate gain and period of e^−s/s: phase −90° − ω


def loop(gain: float, integral: float, derivative: float = 0.0) -> OpenLoop:
    return OpenLoop(1.0, 1.0, (), Settings(gain, integral, derivative))


# Gain margin, phase margin [degrees], Ms on e^−s/s; rules and figures from the sources named, margins computed with
# python-control. The rules of Skogestad, Beall, Tyreus & Luyben and Åström & Hägglund are quoted from memory.
RULES = {
    # S. Skogestad, J. Process Control 13 (2003) 291-309, Table 1: K = 0.5/(k'θ), Ti = 8θ
    "tight internal model": (loop(0.5, 8.0), 2.963402, 46.86429, 1.703522),
    # Ziegler & Nichols (1942), ultimate PI (0.45 Ku, Pu/1.2)
    "ultimate PI": (loop(0.45 * KU, PU / 1.2), None, 24.91601, 2.830955),
    # Ziegler & Nichols (1942), ultimate PID (0.6 Ku, Pu/2, Pu/8)
    "ultimate PID": (loop(0.6 * KU, PU / 2, PU / 8), 1.792252, 32.61284, 2.291637),
    # Ziegler & Nichols (1942), step PI (0.9, L/0.3)
    "step PI": (loop(0.9, 1 / 0.3), 1.467145, 18.26978, 4.15563),
    # Tyreus & Luyben, Ind. Eng. Chem. Res. 31 (1992) 2625: Ku/3.2, 2.2 Pu
    "calm PI": (loop(KU / 3.2, 2.2 * PU), 3.036681, 48.44217, 1.672332),
    # Åström & Hägglund, J. Process Control 14 (2004) 635-650: 0.35, 13.4 L
    "robust PI": (loop(0.35, 13.4), 4.342773, 57.72471, 1.410135),
    # the same, PID 0.45, 8 L, 0.5 L
    "robust PID": (loop(0.45, 8.0, 0.5), 3.52082, 61.19972, 1.406535),
    # J. Beall, InTech Mar/Apr 2016: Ti = 2λ + L, K = Ti/(λ + L)², λ = 1, 2, 3, 5 L
    "arrest time 1": (loop(3 / 4, 3.0), 1.712179, 21.19314, 3.291772),
    "arrest time 2": (loop(5 / 9, 5.0), None, 37.55468, 1.953825),
    "arrest time 3": (loop(7 / 16, 7.0), None, 46.42928, 1.612762),
    "arrest time 5": (loop(11 / 36, 11.0), 4.935154, 55.82772, 1.361753),
}


@pytest.mark.parametrize("rule", RULES)
def test_margins_of_the_published_rules(rule: str) -> None:
    one, gain, phase, sensitivity = RULES[rule]
    found = raw_margins(one)
    assert found.stable
    if gain is not None:
        assert found.gain == pytest.approx(gain, abs=2e-6 * gain)
    assert math.degrees(found.phase) == pytest.approx(phase, abs=1e-5)
    assert found.sensitivity == pytest.approx(sensitivity, abs=2e-6)
    assert found.lowest_gain == 0.0


def test_the_tight_rule_gives_its_printed_table() -> None:
    # Skogestad (2003), Table 1, values from memory: GM 2.96, PM 46.9°, Ms 1.70
    found = raw_margins(loop(0.5, 8.0))
    assert found.gain == pytest.approx(2.96, abs=0.005)
    assert math.degrees(found.phase) == pytest.approx(46.9, abs=0.06)
    assert found.sensitivity == pytest.approx(1.70, abs=0.005)
    assert found.phase / found.crossover == pytest.approx(1.59, abs=0.005)  # delay that may be added, in delays


def by_library(one: OpenLoop) -> tuple[float, float, float]:
    """Gain margin, phase margin [degrees] and Ms by python-control from sampled exact response data."""
    centre = one.slope * one.settings.gain  # near the gain crossover
    omega = np.geomspace(0.05 * centre, 2e2 * centre, 4001)
    s = 1j * omega
    c = one.settings
    filtered = 1 + c.derivative_time / one.derivative_filter * s
    controller = c.gain * (1 + 1 / (c.integral_time * s) + c.derivative_time * s / filtered)
    data = one.slope * controller * np.exp(-one.dead_time * s) / s
    for lag in one.lags:
        data = data / (1 + lag * s)
    gain, phase, _, _, _, _ = control.stability_margins(control.frd(data, omega, smooth=False))
    return float(gain), float(phase), float(np.max(1 / np.abs(1 + data)))


@pytest.mark.parametrize(
    "one",
    [
        OpenLoop(7e-5, 0.5, (0.6,), Settings(1500.0, 60.0, 0.0)),
        OpenLoop(7e-5, 0.5, (0.6, 2.0), Settings(2000.0, 90.0, 1.0), 8.0),
        OpenLoop(7e-5, 4.0, (), Settings(1980.0, 32.0, 0.0)),
        OpenLoop(3e-4, 0.15, (0.4,), Settings(900.0, 14.0, 0.3), 3.0),
    ],
)
def test_margins_with_lags_and_filter_agree_with_a_control_library(one: OpenLoop) -> None:
    found = raw_margins(one)
    gain, phase, sensitivity = by_library(one)
    assert found.gain == pytest.approx(gain, rel=2e-4)
    assert math.degrees(found.phase) == pytest.approx(phase, abs=0.01)
    assert found.sensitivity == pytest.approx(sensitivity, rel=1e-4)


def test_ultimate_gain_and_period_with_dead_time_only() -> None:
    gain, period = ultimate(0.002, 5.0, ())
    assert gain == pytest.approx(math.pi / (2 * 0.002 * 5.0), rel=1e-12)  # phase −90° − ωL = −180°
    assert period == pytest.approx(20.0, rel=1e-12)


def test_ultimate_gain_with_one_lag_only() -> None:
    gain, _ = ultimate(1.0, 1e-9, (1.0, 1.0))  # 1/(s(s+1)²) cycles at K = 2 (Routh)
    assert gain == pytest.approx(2.0, rel=1e-6)


def test_at_the_ultimate_gain_nothing_is_left() -> None:
    gain, period = ultimate(1.0, 0.4, (0.7,))
    found = raw_margins(OpenLoop(1.0, 0.4, (0.7,), Settings(gain, math.inf, 0.0)))
    assert found.gain == pytest.approx(1.0, rel=1e-9)
    assert found.phase == pytest.approx(0.0, abs=1e-9)
    assert 2 * math.pi / found.crossover == pytest.approx(period, rel=1e-9)


def test_twice_the_ultimate_gain_is_unstable_with_half_a_gain_margin() -> None:
    found = raw_margins(loop(2 * KU, math.inf))
    assert not found.stable
    assert found.gain == pytest.approx(0.5, rel=1e-9)
    assert math.isinf(found.sensitivity)


def test_an_integral_time_shorter_than_the_delay_has_no_gain_that_holds() -> None:
    # k'K(1 + 1/(Ti s))e^−θs/s: phase −180° + atan(ωTi) − ωθ is never above −180° when Ti < θ
    found = raw_margins(loop(0.3, 0.9))
    assert (found.stable, found.gain) == (False, 0.0)


def test_a_lower_gain_can_cycle_too() -> None:
    # Phase first under, then over −180°: with Ti shorter than the lags, only derivative action lifts it again.
    one = OpenLoop(1.0, 0.01, (1.0,), Settings(30.0, 0.8, 0.6), 50.0)
    found = raw_margins(one)
    assert found.stable
    assert 0 < found.lowest_gain < 1
    at_edge = OpenLoop(1.0, 0.01, (1.0,), Settings(30.0 * found.lowest_gain, 0.8, 0.6), 50.0)
    assert raw_margins(at_edge).phase == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("factor", [0.1, 10.0, 1000.0])
def test_margins_do_not_depend_on_the_unit_of_time(factor: float) -> None:
    slow = OpenLoop(1 / factor, factor, (0.5 * factor,), Settings(0.3, 9 * factor, 0.2 * factor), 8.0)
    fast = OpenLoop(1.0, 1.0, (0.5,), Settings(0.3, 9.0, 0.2), 8.0)
    assert raw_margins(slow).gain == pytest.approx(raw_margins(fast).gain, rel=1e-8)
    assert raw_margins(slow).sensitivity == pytest.approx(raw_margins(fast).sensitivity, rel=1e-8)


def test_the_examples_in_the_texts_are_true() -> None:
    assert doctest.testmod(response).failed == 0
