"""Published tuning rules against the examples and margin tables that were printed with them.

Values marked "from memory" were not read in the source; all else follows from the formula and is recomputed here.
Margins and Ms of full models come from python-control's frequency response, not from ours.
"""

import doctest
import math

import control
import numpy as np
import pytest

from levelbench.rig.settings import Settings
from levelbench.tuning import process as process_module
from levelbench.tuning.forms import to_series
from levelbench.tuning.process import FirstOrder, Integrating, Process, half_rule, open_loop_of
from levelbench.tuning.response import RawMargins, raw_margins
from levelbench.tuning.rules import RULES, Choices, RuleRefused, cycling

S = control.tf("s")
BY_KEY = {one.key: one for one in RULES}


def settings(key: str, process: Process, choices: Choices | None = None) -> Settings:
    return BY_KEY[key].settings(process, choices)


def margins(key: str, process: Process, choices: Choices | None = None) -> RawMargins:
    return raw_margins(open_loop_of(process, settings(key, process, choices)))


def degrees(found: RawMargins) -> float:
    return math.degrees(found.phase)


def test_doctests() -> None:
    assert doctest.testmod(process_module).failed == 0
    assert doctest.testmod(cycling).failed == 0


# --- SIMC: S. Skogestad, J. Process Control 13 (2003) 291-309 ---------------------------------------------------------

TIGHT = {  # Table 1, values from memory: GM, PM [degrees], Ms, delay that may be added in dead times
    "first order": (FirstOrder(2.0, 5.0, 1.5), 3.14, 61.4, 1.59, 2.14),
    "integrating": (Integrating(0.3, 1.5), 2.96, 46.9, 1.70, 1.59),
}


@pytest.mark.parametrize("kind", TIGHT)
def test_simc_gives_its_printed_margins(kind: str) -> None:
    process, gain, phase, sensitivity, delay = TIGHT[kind]
    found = margins("simc_pi", process)
    assert found.gain == pytest.approx(gain, abs=0.005)
    assert degrees(found) == pytest.approx(phase, abs=0.06)
    assert found.sensitivity == pytest.approx(sensitivity, abs=0.005)
    assert found.phase / found.crossover / process.dead_time == pytest.approx(delay, abs=0.005)


def test_simc_on_a_first_order_process_has_margins_in_closed_form() -> None:
    found = margins("simc_pi", FirstOrder(2.0, 5.0, 1.5))  # the loop is e^−θs/(2θs)
    assert found.gain == pytest.approx(math.pi, rel=1e-9)
    assert found.phase == pytest.approx(math.pi / 2 - 0.5, rel=1e-9)


# The printed largest complementary sensitivity Mt, from memory: 1.00 and 1.30
@pytest.mark.parametrize(("kind", "printed"), [("first order", 1.0), ("integrating", 1.30)])
def test_simc_gives_its_printed_closed_loop_peak(kind: str, printed: float) -> None:
    process = TIGHT[kind][0]
    loop = open_loop_of(process, settings("simc_pi", process))
    omega = np.geomspace(1e-4, 1e2, 20001)
    open_gain = loop.gain(omega) * np.exp(1j * loop.phase(omega))
    assert float(np.max(np.abs(open_gain / (1 + open_gain)))) == pytest.approx(printed, abs=0.005)


# Table 4: full model without its delay, delay, model for the rule, and what is printed: K, Ti (series form) and Ms, all
# from memory. None where the printed figure is not known for sure; Ms marked * is computed with python-control, not
# printed. The reduced models of E2, E3, E6, E7 and E11 to E13 are the printed ones (their full models have zeros).
Example = tuple[control.TransferFunction, float, Process | None, tuple[float | None, float | None, float | None]]
PI_EXAMPLES: dict[str, Example] = {
    "E1": (1 / ((S + 1) * (0.2 * S + 1)), 0.0, FirstOrder(1.0, 1.0, 0.0, (0.2,)), (5.5, 0.8, 1.56)),
    "E2": (
        (-0.3 * S + 1) * (0.08 * S + 1) / ((2 * S + 1) * (S + 1) * (0.4 * S + 1) * (0.2 * S + 1) * (0.05 * S + 1) ** 3),
        0.0, FirstOrder(1.0, 2.5, 1.47), (0.85, 2.5, 1.66),
    ),
    "E3": (
        2 * (15 * S + 1) / ((20 * S + 1) * (S + 1) * (0.1 * S + 1) ** 2),
        0.0, FirstOrder(1.5, 1.05, 0.15), (2.33, 1.05, 1.55),
    ),
    "E4": (1 / (S + 1) ** 4, 0.0, FirstOrder(1.0, 1.0, 0.0, (1.0, 1.0, 1.0)), (0.3, 1.5, 1.46)),
    "E5": (
        1 / ((S + 1) * (0.2 * S + 1) * (0.04 * S + 1) * (0.008 * S + 1)),
        0.0, FirstOrder(1.0, 1.0, 0.0, (0.2, 0.04, 0.008)), (3.72, 1.1, 1.59),
    ),
    "E6": (
        (0.17 * S + 1) ** 2 / (S * (S + 1) ** 2 * (0.028 * S + 1)),
        0.0, Integrating(1.0, 1.69), (0.296, 13.5, 1.48),
    ),
    "E7": ((-2 * S + 1) / (S + 1) ** 3, 0.0, FirstOrder(1.0, 1.5, 3.5), (None, 1.5, 1.659)),  # Ms *
    "E8": (1 / (S * (S + 1) ** 2), 0.0, Integrating(1.0, 0.0, (1.0, 1.0)), (0.33, 12.0, 1.76)),
    "E9": (1 / (S + 1) ** 2, 1.0, FirstOrder(1.0, 1.0, 1.0, (1.0,)), (0.5, 1.5, 1.61)),
    "E10": (1 / ((20 * S + 1) * (2 * S + 1)), 1.0, FirstOrder(1.0, 20.0, 1.0, (2.0,)), (5.25, 16.0, None)),
    "E11": ((-S + 1) / ((6 * S + 1) * (2 * S + 1) ** 2), 1.0, FirstOrder(1.0, 7.0, 5.0), (0.7, 7.0, None)),
    "E12": (
        (6 * S + 1) * (3 * S + 1) / ((10 * S + 1) * (8 * S + 1) * (S + 1)),
        0.3, FirstOrder(0.225, 1.0, 0.3), (None, 1.0, 1.66),
    ),
    "E13": ((2 * S + 1) / ((10 * S + 1) * (0.5 * S + 1)), 1.0, FirstOrder(0.625, 4.5, 1.25), (2.88, 4.5, None)),
    "E14": ((-S + 1) / S, 0.0, Integrating(1.0, 1.0), (0.5, 8.0, 2.0)),
    "E15": ((-S + 1) / (S + 1), 0.0, FirstOrder(1.0, 1.0, 1.0), (None, 1.0, None)),
}  # fmt: skip
PID_EXAMPLES: dict[str, Example] = {
    "E2": (PI_EXAMPLES["E2"][0], 0.0, FirstOrder(1.0, 2.0, 0.77, (1.2,)), (None, 2.0, 1.73)),
    "E3": (PI_EXAMPLES["E3"][0], 0.0, FirstOrder(1.5, 1.0, 0.05, (0.15,)), (6.67, 0.4, None)),
    "E4": (PI_EXAMPLES["E4"][0], 0.0, FirstOrder(1.0, 1.5, 1.5, (1.0,)), (None, 1.5, None)),
    "E5": (PI_EXAMPLES["E5"][0], 0.0, PI_EXAMPLES["E5"][2], (17.9, 0.224, 1.829)),  # Ms *
    "E6": (PI_EXAMPLES["E6"][0], 0.0, Integrating(1.0, 0.358, (1.33,)), (None, 2.86, None)),
    "E7": (PI_EXAMPLES["E7"][0], 0.0, FirstOrder(1.0, 1.5, 2.5, (1.0,)), (0.3, 1.5, 1.851)),  # Ms *
    "E8": (PI_EXAMPLES["E8"][0], 0.0, Integrating(1.0, 0.0, (1.0, 1.0)), (1.0, 4.0, 1.603)),  # Ms *
    "E9": (PI_EXAMPLES["E9"][0], 1.0, FirstOrder(1.0, 1.0, 1.0, (1.0,)), (0.5, 1.0, 1.59)),
    "E10": (PI_EXAMPLES["E10"][0], 1.0, FirstOrder(1.0, 20.0, 1.0, (2.0,)), (10.0, 8.0, 1.65)),
    "E11": (PI_EXAMPLES["E11"][0], 1.0, FirstOrder(1.0, 6.0, 3.0, (3.0,)), (None, 6.0, 1.66)),
}


def full_sensitivity(model: control.TransferFunction, delay: float, series: Settings) -> float:
    """Ms of a full model with a series controller, from python-control's frequency response and an exact delay."""
    omega = np.geomspace(1e-3, 1e3, 60001)
    controller = series.gain * (1 + 1 / (series.integral_time * S)) * (1 + series.derivative_time * S)
    loop = control.frequency_response(model * controller, omega).frdata[0, 0] * np.exp(-1j * omega * delay)
    return float(np.max(1 / np.abs(1 + loop)))


CASES = [
    *(("simc_pi", name, one) for name, one in PI_EXAMPLES.items()),
    *(("simc_pid", name, one) for name, one in PID_EXAMPLES.items()),
]


@pytest.mark.parametrize(("rule", "name", "example"), CASES, ids=[f"{name} {rule}" for rule, name, _ in CASES])
def test_simc_gives_its_printed_examples(rule: str, name: str, example: Example) -> None:
    model, delay, process, (gain, integral, sensitivity) = example
    assert process is not None
    series = to_series(settings(rule, process))
    if gain is not None:
        assert series.gain == pytest.approx(gain, rel=0.012)
    if integral is not None:
        assert series.integral_time == pytest.approx(integral, rel=0.003)
    if sensitivity is not None:
        assert full_sensitivity(model, delay, series) == pytest.approx(sensitivity, abs=0.0125)


def test_the_half_rule_gives_the_printed_reductions() -> None:
    # S. Skogestad (2003), Table 4, reduced models, from memory
    assert half_rule([1.0, 0.2], 0.0, 1) == ((1.1,), 0.1)
    assert half_rule([1.0] * 4, 0.0, 1) == ((1.5,), 2.5)
    (time,), dead = half_rule([1.0, 0.2, 0.04, 0.008], 0.0, 1)
    assert (time, dead) == (pytest.approx(1.1), pytest.approx(0.148))
    (first, second), dead = half_rule([1.0, 0.2, 0.04, 0.008], 0.0, 2)
    assert (first, second, dead) == (pytest.approx(1.0), pytest.approx(0.22), pytest.approx(0.028))
    assert Integrating(1.0, 0.0, (1.0, 1.0)).reduced() == Integrating(1.0, 1.5)
    assert Integrating(1.0, 0.0, (1.0, 1.0)).reduced(1) == Integrating(1.0, 0.5, (1.5,))


def test_simc_keeps_clear_of_slow_cycling() -> None:
    one = settings("simc_pi", Integrating(0.002, 0.0, (1.0,)), Choices(closed_loop_time=20.0))
    assert 0.002 * one.gain * one.integral_time == pytest.approx(4.0, rel=1e-9)  # Skogestad (2003): at least 4


# --- lambda -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("times", "gain", "phase"), [(1.0, 3.14159265359, 61.3521102435), (2.0, 4.71238898038, 70.901406829)]
)
def test_lambda_on_a_first_order_process(times: float, gain: float, phase: float) -> None:
    # Rivera, Morari & Skogestad 1986: the loop is e^−θs/((λ + θ)s), margins in closed form
    found = margins("lambda_pi", FirstOrder(0.7, 12.0, 3.0), Choices(arrest_time=times * 3.0))
    assert found.gain == pytest.approx(gain, rel=1e-6)
    assert degrees(found) == pytest.approx(phase, rel=1e-6)


def test_lambda_three_times_on_a_first_order_process() -> None:
    found = margins("lambda_pi", FirstOrder(0.7, 12.0, 3.0))  # three dead times is what is taken by itself
    assert degrees(found) == pytest.approx(75.6760551217, rel=1e-6)


# J. Beall, InTech Mar/Apr 2016 (formula from memory); margins by python-control
@pytest.mark.parametrize(
    ("times", "gain", "phase", "sensitivity"),
    [(1, 1.712, 21.19, 3.292), (2, None, 37.55, 1.954), (3, None, 46.43, 1.613), (5, 4.935, 55.83, 1.362)],
)
def test_lambda_on_a_tank(times: int, gain: float | None, phase: float, sensitivity: float) -> None:
    found = margins("lambda_pi", Integrating(0.002, 5.0), Choices(arrest_time=times * 5.0))
    if gain is not None:
        assert found.gain == pytest.approx(gain, abs=0.002)
    assert degrees(found) == pytest.approx(phase, abs=0.02)
    assert found.sensitivity == pytest.approx(sensitivity, abs=0.002)


def test_lambda_gives_the_gain_of_its_worked_example() -> None:
    without = settings("lambda_pi", Integrating(0.002, 0.0), Choices(arrest_time=60.0))
    assert without.gain == pytest.approx(16.6666666667, rel=1e-9)
    assert without.integral_time == pytest.approx(120.0)
    assert settings("lambda_pi", Integrating(0.002, 5.0), Choices(arrest_time=60.0)).gain == pytest.approx(
        14.7929, rel=1e-5
    )


# --- Ziegler-Nichols, Tyreus-Luyben -----------------------------------------------------------------------------------

ON_A_TANK = {  # gain margin, phase margin [degrees], Ms on k'·e^−s/s by python-control; the rules from memory
    "ultimate_pi": (None, 24.92, 2.831),
    "ultimate_pid": (1.792, 32.61, 2.292),
    "step_pi": (1.467, 18.27, 4.156),
    "tyreus_luyben_pi": (3.037, 48.44, 1.672),
    "amigo_pi": (4.343, 57.72, 1.410),
    "amigo_pid": (3.521, 61.20, 1.4065),
}


@pytest.mark.parametrize("key", ON_A_TANK)
def test_margins_on_a_tank(key: str) -> None:
    gain, phase, sensitivity = ON_A_TANK[key]
    found = margins(key, Integrating(1e-4, 1.0))
    if gain is not None:
        assert found.gain == pytest.approx(gain, abs=0.002)
    assert degrees(found) == pytest.approx(phase, abs=0.02)
    assert found.sensitivity == pytest.approx(sensitivity, abs=0.002)


def test_ziegler_nichols_worked_example_of_three_lags() -> None:
    # K. J. Åström, T. Hägglund, PID Controllers (1995), chapter 4, process 1/(s + 1)³, from memory: a = 0.218,
    # L = 0.806; Ku = 8, Pu = 3.63; step PID K = 5.5, Td = 0.403; frequency PID K = 4.8, Ti = 1.81
    slope = 2 * math.exp(-2.0)  # steepest tangent, at t = 2
    dead = 2.0 - (1 - 5 * math.exp(-2.0)) / slope
    assert dead == pytest.approx(0.806, abs=0.001)
    assert slope * dead == pytest.approx(0.218, abs=0.0005)
    by_step = settings("step_pid", Integrating(slope, dead))
    assert by_step.gain == pytest.approx(5.5, abs=0.01)
    assert by_step.derivative_time == pytest.approx(0.403, abs=0.001)
    process = FirstOrder(1.0, 1.0, 0.0, (1.0, 1.0))
    by_cycle = settings("ultimate_pid", process)
    assert by_cycle.gain == pytest.approx(4.8, rel=1e-9)
    assert by_cycle.integral_time == pytest.approx(1.81, abs=0.005)
    assert 2 * by_cycle.integral_time == pytest.approx(3.63, abs=0.005)
    assert by_cycle.derivative_time == pytest.approx(0.4534, abs=0.0001)
    # Ms computed with python-control
    assert raw_margins(open_loop_of(process, by_step)).sensitivity == pytest.approx(2.78, abs=0.002)
    assert raw_margins(open_loop_of(process, by_cycle)).sensitivity == pytest.approx(2.132, abs=0.002)


def test_worked_example_of_a_process_with_a_long_delay() -> None:
    # Seborg, Edgar & Mellichamp, Process Dynamics and Control (2nd ed. 2004), chapter 12, 4·e^−3.5s/(7s + 1), from
    # memory: Ku = 0.95, Pu = 12; Ziegler-Nichols PID 0.57; Tyreus-Luyben PID 0.43, Td = 1.9
    process = FirstOrder(4.0, 7.0, 3.5)
    zn, tl = settings("ultimate_pid", process), settings("tyreus_luyben_pid", process)
    assert zn.gain / 0.6 == pytest.approx(0.95, abs=0.005)
    assert zn.integral_time * 2 == pytest.approx(12.0, abs=0.05)
    assert zn.gain == pytest.approx(0.57, abs=0.003)
    assert tl.gain == pytest.approx(0.43, abs=0.005)
    assert tl.derivative_time == pytest.approx(1.9, abs=0.01)


def test_ziegler_nichols_in_the_parallel_form() -> None:
    # errata of Åström & Murray, Feedback Systems (2nd ed.): ki = 0.54·Ku/Pu (ultimate PI), ki = 0.27·T/(K·L²) (step PI)
    one = cycling.from_cycle(1.0, 1.0, "ultimate_pi")
    assert one.gain / one.integral_time == pytest.approx(0.54, rel=1e-12)
    two = settings("step_pi", FirstOrder(2.0, 7.0, 3.0))
    assert two.gain / two.integral_time == pytest.approx(0.27 * 7.0 / (2.0 * 9.0), rel=1e-12)


@pytest.mark.parametrize(("key", "sensitivity"), [("ultimate_pi", 2.427), ("tyreus_luyben_pi", 1.591)])
def test_cycling_rules_on_a_first_order_process(key: str, sensitivity: float) -> None:
    # Ms by python-control on e^−s/(5s + 1)
    assert margins(key, FirstOrder(1.0, 5.0, 1.0)).sensitivity == pytest.approx(sensitivity, abs=0.002)


def test_tyreus_luyben_reaches_its_design_aim() -> None:
    # Tyreus & Luyben (1992), from memory: the closed-loop log modulus peaks at +2 dB
    process = Integrating(1.0, 1.0)
    loop = open_loop_of(process, settings("tyreus_luyben_pi", process))
    omega = np.geomspace(1e-3, 1e2, 20001)
    open_gain = loop.gain(omega) * np.exp(1j * loop.phase(omega))
    assert 20 * math.log10(np.max(np.abs(open_gain / (1 + open_gain)))) == pytest.approx(2.0, abs=0.1)


# --- AMIGO: Åström & Hägglund, J. Process Control 14 (2004) 635-650 ---------------------------------------------------


def test_amigo_gives_its_table() -> None:
    process = FirstOrder(1.0, 5.0, 1.0)
    pi, pid = settings("amigo_pi", process), settings("amigo_pid", process)
    assert pi.gain == pytest.approx(1.205556, rel=1e-6)
    assert pi.integral_time == pytest.approx(3.882609, rel=1e-6)
    assert pid.gain == pytest.approx(2.45, rel=1e-9)
    assert pid.integral_time == pytest.approx(2.933333, rel=1e-6)


@pytest.mark.parametrize(
    ("time", "pi", "pid"),
    [
        (0.5, None, 1.387), (1.0, 1.249, 1.398), (2.0, 1.212, 1.404), (5.0, 1.264, 1.406), (10.0, 1.317, 1.406),
        (50.0, 1.387, 1.406),
    ],
)  # fmt: skip
def test_amigo_keeps_below_its_design_value(time: float, pi: float | None, pid: float) -> None:
    # Ms by python-control on e^−s/(Ts + 1); the design value is 1.4
    process = FirstOrder(1.0, time, 1.0)
    if pi is not None:
        assert margins("amigo_pi", process).sensitivity == pytest.approx(pi, abs=0.002)
    assert margins("amigo_pid", process).sensitivity == pytest.approx(pid, abs=0.002)


@pytest.mark.parametrize("key", ["amigo_pi", "amigo_pid"])
def test_amigo_on_a_tank_meets_its_design_value(key: str) -> None:
    process = Integrating(1.0, 1.0)
    loop = open_loop_of(process, settings(key, process))
    omega = np.geomspace(1e-3, 1e2, 20001)
    open_gain = loop.gain(omega) * np.exp(1j * loop.phase(omega))
    peak = max(float(np.max(1 / np.abs(1 + open_gain))), float(np.max(np.abs(open_gain / (1 + open_gain)))))
    assert peak == pytest.approx(1.4, abs=0.015)


def test_amigo_becomes_its_rule_for_tanks_as_the_process_slows() -> None:
    slow = settings("amigo_pi", FirstOrder(1e6, 1e6, 1.0))
    assert slow.gain == pytest.approx(0.35, rel=1e-4)
    assert slow.integral_time == pytest.approx(13.35, rel=1e-4)


# --- Cohen-Coon: Trans. ASME 75 (1953) 827-834, formulas from memory --------------------------------------------------


def test_cohen_coon_gives_its_formulas() -> None:
    process = FirstOrder(1.0, 5.0, 1.0)
    pi, pid = settings("cohen_coon_pi", process), settings("cohen_coon_pid", process)
    assert pi.gain == pytest.approx(0.9 / 0.2 + 1 / 12)
    assert pi.integral_time == pytest.approx(2.353846, rel=1e-6)
    assert pid.gain == pytest.approx(4 / 3 / 0.2 + 0.25)
    assert pid.integral_time == pytest.approx(2.273973, rel=1e-6)
    assert pid.derivative_time == pytest.approx(0.3508772, rel=1e-6)
    assert margins("cohen_coon_pi", process).sensitivity == pytest.approx(3.759, abs=0.002)  # by python-control


def test_cohen_coon_gives_a_quarter_amplitude_decay() -> None:
    # the aim of the rule: the slowest pair of poles decays to 1/4 in one period; root of 1 + L with its exact delay
    one = settings("cohen_coon_pi", FirstOrder(1.0, 5.0, 1.0))
    s = -0.25 + 1.1j
    for _ in range(60):
        value, step = characteristic(one, s), 1e-6
        s -= value / ((characteristic(one, s + step) - value) / step)
    assert abs(characteristic(one, s)) < 1e-8
    assert math.exp(2 * math.pi * s.real / s.imag) == pytest.approx(0.25, abs=0.01)


def characteristic(one: Settings, s: complex) -> complex:
    return 1 + one.gain * (1 + 1 / (one.integral_time * s)) * np.exp(-s) / (5 * s + 1)


# --- averaging: T. E. Marlin, Process Control (2nd ed. 2000), chapter 18, from memory ---------------------------------


def test_averaging_level_gives_its_formulas() -> None:
    tank = Integrating(0.02, 0.0)
    asked = Choices(room=0.25, move=0.5)
    assert settings("averaging_p", tank, asked).gain == pytest.approx(2.0)  # 100 % of travel over ±25 % of level
    pi = settings("averaging_pi", tank, asked)
    assert pi.gain == pytest.approx(0.736 * 0.5 / 0.25, rel=1e-3)
    assert pi.integral_time == pytest.approx(4 / (0.02 * pi.gain))


# --- what can't be used -----------------------------------------------------------------------------------------------

REFUSED: dict[str, tuple[str, Process, Choices]] = {
    "Cohen-Coon on a tank": ("cohen_coon_pi", Integrating(1.0, 1.0), Choices()),
    "Cohen-Coon PID on a tank": ("cohen_coon_pid", Integrating(1.0, 1.0), Choices()),
    "SIMC PID without a second lag": ("simc_pid", Integrating(1.0, 1.0), Choices()),
    "AMIGO without dead time": ("amigo_pi", Integrating(1.0, 0.0), Choices()),
    "step method without dead time": ("step_pid", Integrating(1.0, 0.0), Choices()),
    "ultimate method without delay": ("ultimate_pi", Integrating(1.0, 0.0), Choices()),
    "SIMC at once without dead time": ("simc_pi", Integrating(1.0, 0.0), Choices()),
    "lambda at once without dead time": ("lambda_pi", FirstOrder(1.0, 1.0, 0.0), Choices()),
    "averaging what comes to rest": ("averaging_p", FirstOrder(1.0, 1.0, 1.0), Choices(room=1.0, move=0.5)),
    "averaging without room": ("averaging_pi", Integrating(1.0, 1.0), Choices(move=0.5)),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_rule_that_is_not_made_for_it_says_so_and_what_to_do(case: str) -> None:
    key, process, choices = REFUSED[case]
    with pytest.raises(RuleRefused) as refused:
        settings(key, process, choices)
    assert refused.value.what.endswith(".")
    assert refused.value.do.endswith(".")
