"""The linear closed loop over time against closed forms and a general control library."""

import math
from collections.abc import Callable

import control
import numpy as np
import pytest

from levelbench.rig.settings import Settings
from levelbench.tuning.measures import first_beyond
from levelbench.tuning.process import FirstOrder, Integrating, Process
from levelbench.tuning.rules import RULES, Choices
from levelbench.tuning.rules.linear import Answers, Loop, answers

BY_KEY = {one.key: one for one in RULES}


def averaging() -> tuple[Answers, float]:
    """The averaging rule's loop without dead time, and its load [PV unit/s]: a tank of 0.02 1/s, 0.05 m of room."""
    tank, load = Integrating(0.02, 0.0), 0.4 * 0.02
    one = BY_KEY["averaging_pi"].settings(tank, Choices(room=0.05, move=0.4))
    return answers(Loop(tank, one), duration=30 * one.integral_time), load


def test_averaging_level_uses_all_of_its_room() -> None:
    # T. E. Marlin, Process Control (2nd ed. 2000), chapter 18, from memory: the peak for the largest flow step is ΔL
    found, load = averaging()
    assert found.deviation() * load == pytest.approx(0.05, rel=1e-5)


def test_averaging_level_overdraws_the_flow_by_a_known_share() -> None:
    # closed form of the critically damped loop: the largest outflow is 1 + e⁻² of the step
    found, load = averaging()
    assert float(found.load_output.max()) * load / 0.4 == pytest.approx(1 + math.exp(-2.0), rel=1e-5)
    # it goes to the peak and back to 1: travel is 1 + 2·e⁻² of the step
    assert found.travel() * load / 0.4 == pytest.approx(1 + 2 * math.exp(-2.0), rel=1e-4)


def test_arrest_time_is_the_time_of_the_peak() -> None:
    # J. Beall, InTech Mar/Apr 2016: y = k'·d·t·e^(−t/λ), so the peak is at λ and k'·d·λ/e
    tank = Integrating(0.002, 0.0)
    one = BY_KEY["lambda_pi"].settings(tank, Choices(arrest_time=60.0))
    found = answers(Loop(tank, one), duration=900.0)
    peak = int(np.argmax(np.abs(found.load_pv)))
    assert found.time[peak] == pytest.approx(60.0, abs=0.3)
    load = 10.0 * 0.002  # an output of 10
    assert found.deviation() * load == pytest.approx(0.441455329406, rel=1e-6)


def test_lambda_on_a_first_order_process_answers_as_one_lag() -> None:
    # closed loop 1/(λs + 1): IAE = λ, no overshoot, 95 % after 3 λ
    process = FirstOrder(2.0, 10.0, 0.0)
    found = answers(Loop(process, BY_KEY["lambda_pi"].settings(process, Choices(arrest_time=4.0))), duration=80.0)
    assert found.overshoot() < 1e-9
    error = 1 - found.pv
    assert float(np.sum((error[1:] + error[:-1]) / 2 * np.diff(found.time))) == pytest.approx(4.0, rel=1e-5)
    assert first_beyond(found.time, found.pv, 1 - math.exp(-3.0)) == pytest.approx(12.0, rel=1e-3)


@pytest.mark.parametrize(("zeta", "overshoot"), [(0.2, 0.5266), (0.5, 0.163), (0.8, 0.0152)])
def test_overshoot_of_a_second_order_loop(zeta: float, overshoot: float) -> None:
    # Ogata, Modern Control Engineering: e^(−πζ/√(1 − ζ²)); with b = 0 the loop has no zero
    one = Settings(1.0, 4 * zeta**2, 0.0)  # K·k' = 1: s² + s + 1/Ti, ζ = √Ti/2
    found = answers(Loop(Integrating(1.0, 0.0), one, set_point_weight=0.0), duration=60.0)
    assert found.overshoot() == pytest.approx(overshoot, abs=1e-4)


CASES: dict[str, tuple[Process, Settings, float]] = {
    "tank, PI": (Integrating(0.1, 2.0, (1.0,)), Settings(1.5, 24.0, 0.0), 1.0),
    "tank, PID, weight": (Integrating(0.1, 2.0, (1.5, 0.4)), Settings(1.8, 20.0, 1.5), 0.4),
    "first order, PI": (FirstOrder(2.0, 10.0, 2.0), Settings(1.2, 10.0, 0.0), 1.0),
    "first order, P": (FirstOrder(2.0, 10.0, 2.0, (0.5,)), Settings(1.2, math.inf, 0.0), 1.0),
}


@pytest.mark.parametrize("case", CASES)
def test_answers_agree_with_a_control_library(case: str) -> None:
    """python-control with the dead time as a Padé fraction of 8th order, which is good at these low frequencies."""
    process, one, weight = CASES[case]
    s = control.tf("s")
    dead = control.tf(*control.pade(process.dead_time, 8))
    store = process.slope / (s + 1 / process.time_constant) if isinstance(process, FirstOrder) else process.slope / s
    lagged = dead
    for lag in process.lags:
        lagged = lagged / (lag * s + 1)
    integral = 0 if math.isinf(one.integral_time) else one.gain / (one.integral_time * s)
    filtered = one.gain * one.derivative_time * s / (1 + one.derivative_time / 8.0 * s)
    back, ahead = one.gain + integral + filtered, weight * one.gain + integral
    whole = 1 + store * lagged * back
    found = answers(Loop(process, one, weight, 8.0), duration=150.0)
    time = np.linspace(0.0, 150.0, 1501)
    for ours, theirs in (
        (found.pv, store * lagged * ahead / whole),
        (found.load_pv, -store / process.slope / whole),
        (found.load_output, store / process.slope * back / whole),
    ):
        _, expected = control.step_response(control.ss(control.minreal(theirs, 1e-6, verbose=False)), time)
        seen = np.interp(time, found.time, ours)
        after = time > 3 * process.dead_time  # before it a Padé fraction ripples about nothing
        assert seen[after] == pytest.approx(expected[after], abs=1e-3 * float(np.max(np.abs(expected))))


def test_half_the_step_is_four_times_as_near() -> None:
    """The trapezoidal rule's error falls with the square of the step."""
    tank, one = Integrating(0.1, 0.0), Settings(1.0, 20.0, 0.0)
    exact = averaging_exact(one, 0.1)
    errors = []
    for duration in (1600.0, 800.0):  # the same number of steps: half as long each
        found = answers(Loop(tank, one), duration)
        errors.append(float(np.max(np.abs(found.load_pv - exact(found.time)))))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)


def averaging_exact(one: Settings, slope: float) -> Callable[[np.ndarray], np.ndarray]:
    """y = −e^(−σt)·sin(ωt)/ω after a load of 1, of s² + k'Ks + k'K/Ti."""
    sigma = slope * one.gain / 2
    omega = math.sqrt(slope * one.gain / one.integral_time - sigma**2)
    return lambda time: -np.exp(-sigma * time) * np.sin(omega * time) / omega
