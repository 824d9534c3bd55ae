"""Times read from a response, against the closed forms of a second-order step (Ogata, Modern Control Engineering)."""

import doctest
import math

import numpy as np
import pytest

from levelbench.tuning import measures
from levelbench.tuning.measures import Floats, first_beyond, last_outside


def second_order(zeta: float) -> tuple[Floats, Floats]:
    """Unit step response of 1/(s² + 2ζs + 1)."""
    time = np.linspace(0.0, 40.0, 400_001)
    damped = math.sqrt(1 - zeta**2)
    wave = np.cos(damped * time) + zeta / damped * np.sin(damped * time)
    return time, 1 - np.exp(-zeta * time) * wave


def test_settling_into_two_percent() -> None:
    time, values = second_order(0.5)
    assert last_outside(time, values, 1.0, 0.02) == pytest.approx(8.0763, abs=0.001)  # exact; the rule 4/(ζω) gives 8


@pytest.mark.parametrize(("zeta", "overshoot"), [(0.2, 0.5266), (0.5, 0.1630), (0.8, 0.0152)])
def test_a_band_as_wide_as_the_overshoot_is_left_before_the_peak_only(zeta: float, overshoot: float) -> None:
    # overshoot exp(−πζ/√(1 − ζ²)), peak at π/√(1 − ζ²)
    time, values = second_order(zeta)
    peak = math.pi / math.sqrt(1 - zeta**2)
    assert last_outside(time, values, 1.0, overshoot + 1e-4) < peak
    assert last_outside(time, values, 1.0, overshoot - 1e-4) > peak


def test_first_crossing_of_the_final_value() -> None:
    # ζ = 0.5: first at (π − acos ζ)/√(1 − ζ²), same source
    time, values = second_order(0.5)
    assert first_beyond(time, values, 1.0) == pytest.approx((math.pi - math.acos(0.5)) / math.sqrt(0.75), abs=1e-6)


def test_what_never_happens_is_infinite() -> None:
    time, values = np.arange(3.0), np.array([0.0, 0.1, 0.2])
    assert math.isinf(first_beyond(time, values, 1.0))
    assert math.isinf(last_outside(time, values, 1.0, 0.1))


def test_what_was_always_so_takes_no_time() -> None:
    time, values = np.arange(3.0), np.ones(3)
    assert first_beyond(time, values, 0.5) == 0.0
    assert last_outside(time, values, 1.0, 0.1) == 0.0


def test_the_examples_in_the_texts_are_true() -> None:
    assert doctest.testmod(measures, extraglobs={"np": np}).failed == 0
