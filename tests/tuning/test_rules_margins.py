"""Margins of random processes under published rules against python-control."""

import math
from collections.abc import Callable

import control
import numpy as np
import pytest

from levelbench.rig.settings import Settings
from levelbench.tuning.process import FirstOrder, Integrating, Process, open_loop_of
from levelbench.tuning.response import raw_margins
from levelbench.tuning.rules import RULES, RuleRefused

BY_KEY = {one.key: one for one in RULES}


def by_library(process: Process, one: Settings, n: float, omega: np.ndarray) -> tuple[float, float, float]:
    s = 1j * omega
    c = one.gain * (1 + 1 / (one.integral_time * s) + one.derivative_time * s / (1 + one.derivative_time / n * s))
    data = process.gain / (process.time_constant * s + 1) if isinstance(process, FirstOrder) else process.slope / s
    for lag in process.lags:
        data = data / (lag * s + 1)
    data = data * c * np.exp(-process.dead_time * s)
    gain, phase, *_ = control.stability_margins(control.frd(data, omega, smooth=False))
    return float(gain), float(phase), float(np.max(1 / np.abs(1 + data)))


def random_loop(draw: np.random.Generator) -> tuple[Process, Settings]:
    dead = float(draw.uniform(0.2, 5.0))
    lags = tuple(draw.uniform(0.1, 2.0, draw.integers(0, 3)).tolist())
    slope = float(10 ** draw.uniform(-5, 0))
    process: Process = Integrating(slope, dead, lags)
    if draw.random() < 0.6:
        time = dead * float(10 ** draw.uniform(-0.3, 1.5))
        process = FirstOrder(slope * time, time, dead, lags)
    usable: list[Callable[[], Settings]] = []
    for rule in RULES:
        if rule.key not in ("averaging_p", "averaging_pi") and not (
            rule.key.startswith("cohen") and isinstance(process, Integrating)
        ):
            usable.append(lambda rule=rule: rule.settings(process))
    try:
        one = usable[draw.integers(len(usable))]()
    except RuleRefused:
        one = BY_KEY["simc_pi"].settings(process)
    return process, Settings(one.gain * float(draw.uniform(0.5, 1.3)), one.integral_time, one.derivative_time)


SEEDS = [*range(16), *(pytest.param(one, marks=pytest.mark.long) for one in range(16, 60))]


@pytest.mark.parametrize("seed", SEEDS)
def test_margins_agree_with_a_control_library(seed: int) -> None:
    process, one = random_loop(np.random.default_rng([4, seed]))
    n = 8.0
    found = raw_margins(open_loop_of(process, one, n))
    centre = found.crossover if found.stable else 1 / process.dead_time
    gain, phase, sensitivity = by_library(process, one, n, np.geomspace(0.02 * centre, 60 * centre, 5001))
    if not found.stable:
        assert min(gain, 1.0) < 1.0 or phase < 0.0
        return
    assert found.gain == pytest.approx(gain, rel=5e-4)
    assert math.degrees(found.phase) == pytest.approx(phase, abs=0.02)
    assert found.sensitivity == pytest.approx(sensitivity, rel=3e-4)


# Gains that rise above 1 again: dead time 1 s, gain 1; T, K, Ti, Td. Whether they are stable say python-control's poles
# of the loop with a Padé fraction of 14th order.
AGAIN = [
    (0.814, 0.584, 2.468, 2.231),
    (2.883, 1.519, 2.891, 1.883),
    (4.529, 2.619, 1.61, 1.79),
    (0.625, 1.023, 0.777, 0.644),
    (0.426, 0.335, 3.568, 1.898),
    (3.223, 1.187, 4.227, 2.794),
]


@pytest.mark.parametrize("case", AGAIN)
def test_a_gain_that_rises_above_1_again_is_judged_right(case: tuple[float, float, float, float]) -> None:
    time, gain, integral, derivative = case
    found = raw_margins(open_loop_of(FirstOrder(1.0, time, 1.0), Settings(gain, integral, derivative), 8.0))
    s = control.tf("s")
    controller = gain * (1 + 1 / (integral * s) + derivative * s / (1 + derivative / 8.0 * s))
    delay = control.ss(control.tf(*control.pade(1.0, 14)))
    closed = control.feedback(control.ss(controller / (time * s + 1)) * delay, 1)
    assert found.stable == bool(np.max(closed.poles().real) < 0)
