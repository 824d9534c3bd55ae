"""What a change of the loop settings does and why, in words and in Figures.

    before, after = known(rig), known(other_rig)
    effect(before, after, units).words   # "Gain lowered alone: now k'·K·Ti = 1.2, it will swing slowly (…)."

A tank that integrates under a PI controller is a loop with two integrators. Without its delay
s² + k'·K·s + k'·K/Ti = 0, so its damping ratio is ζ = ½·√(k'·K·Ti): a lower gain damps it less. With k'·K·Ti ≥ 4 it
doesn't swing [1].

Sources:
[1] S. Skogestad, J. Process Control 13 (2003) 291-309: K·k'·Ti at least 4 (quoted from memory).
[2] K. Ogata, "Modern Control Engineering": damping ratio, damped period and decay of a second-order loop.
[3] Variance of a weighted sum of independent readings: the sum of the squared weights times theirs (any book on
statistics).
"""

import math
from dataclasses import dataclass

import numpy as np

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Units, rounded, written
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import SLOW, Margins, margins, operating_point, settings_in
from levelbench.tuning.prediction import Prediction

D = Dimension

CALM = 4.0  # k'·K·Ti from which two integrators do not swing [1]
LEAST_GAIN, LEAST_PHASE = 2.0, 30.0  # the least margins that the review calls robust
SECOND_ORDER = "K. Ogata, Modern Control Engineering: second-order systems"
WEIGHTED_SUM = "variance of a weighted sum of independent readings (any book on statistics)"
_SAME = 1e-6  # relative
_FELT = 0.01  # of a swing that is left in the next: below it nobody sees a second one
_LOUD = 0.02  # of the output: a standard deviation that is felt (common practice, no source)


@dataclass(frozen=True)
class Known:
    """What is known of one tuning: settings in the standard form, margins, noise on the output, travel while holding.

    `travel` is None where nothing was simulated. weight: of the set point; pv_filter [s].
    """

    settings: Settings
    margins: Margins
    noise: Figure
    travel: Figure | None = None
    weight: float = 1.0
    pv_filter: float = 0.0


@dataclass(frozen=True)
class Move:
    """One figure before and after a change; None where there is none."""

    before: Figure | None
    after: Figure | None


@dataclass(frozen=True)
class Effect:
    """What a change did: one sentence, why it is so (empty when there is nothing to explain), and the figures."""

    words: str
    why: str
    moves: tuple[Move, ...]
    reasons: tuple[Figure, ...]


def known(rig: Rig, prediction: Prediction | None = None) -> Known:
    """Gather what is known of a rig's tuning; raises RigError when the pump gives no flow at the set point."""
    travel = None if prediction is None else prediction.travel
    weight, pv_filter = float(rig.panel[kernel.P_WEIGHT]), float(rig.panel[kernel.P_PV_FILTER])
    return Known(settings_in(rig), margins(rig), output_noise(rig), travel, weight, pv_filter)


def effect(before: Known, after: Known, shown_in: Units) -> Effect:
    """Tell what the change from one tuning to another does, and why."""
    moved = _moved(before, after)
    words = f"{moved}: {consequence(after)}" if moved else f"The loop's settings stay: {consequence(after)}"
    why, reasons = because(after, shown_in)
    pairs = (
        Move(before.margins.slow_cycling, after.margins.slow_cycling),
        Move(before.margins.gain, after.margins.gain),
        Move(before.margins.phase, after.margins.phase),
        Move(before.margins.sensitivity, after.margins.sensitivity),
        Move(before.noise, after.noise),
        Move(before.travel, after.travel),
    )
    return Effect(words, why, tuple(one for one in pairs if one.before or one.after), reasons)


def consequence(after: Known) -> str:
    """Say how a loop behaves, the worst first."""
    found, off = after.margins, math.isinf(after.settings.integral_time)
    if not found.stable:
        return "it would swing ever wider."
    product = "" if off else f"now k'·K·Ti = {rounded(found.slow_cycling.si, 2)}, "
    robust = f"gain margin {rounded(found.gain.si, 2)}, phase margin {written(found.phase.si, '.0f')}°"
    if found.gain.si < LEAST_GAIN:
        return f"{product}it is close to cycling fast ({robust})."
    if off:
        return "without integral action a load leaves an offset."
    if _slow(after):
        return f"{product}it will swing slowly{' and long' if found.slow_cycling.si < 1 else ''} ({robust})."
    if found.phase.si < LEAST_PHASE:
        return f"{product}it is close to cycling ({robust})."
    return f"{product}calm ({robust})."


def because(after: Known, shown_in: Units) -> tuple[str, tuple[Figure, ...]]:
    """Say why a loop behaves so and what would help, with the figures that it rests on; empty for a calm loop."""
    found = after.margins
    if found.stable and found.gain.si >= LEAST_GAIN and _slow(after):
        return _why_slow(after, shown_in)
    if not found.stable and not _too_much_gain(after):
        return "", ()
    if not found.stable or found.gain.si < LEAST_GAIN:
        return _why_fast(after, shown_in)
    if after.noise.si > _LOUD:
        words = (
            f"The noise of the reading moves the output by {shown_in.tell(after.noise)} (standard deviation), "
            "which the pump follows and wears by: smooth the reading more, or lower gain or derivative."
        )
        return words, (after.noise,)
    return "", ()


# --- why -------------------------------------------------------------------------------------------------------------


def _slow(one: Known) -> bool:
    return one.margins.slow_cycling.si < CALM * (1 - 1e-3)


def _too_much_gain(one: Known) -> bool:
    return one.settings.gain >= one.margins.ultimate_gain.si


def _why_slow(after: Known, shown_in: Units) -> tuple[str, tuple[Figure, ...]]:
    """Explain slow swinging: two integrators, too little gain for the integral time."""
    swing = swings(after, shown_in)
    longest, strongest = _least_integral_time(after, shown_in), _least_gain(after, shown_in)
    words = (
        "The tank adds up and the integral adds up: two integrators stay calm only with k'·K·Ti of 4 or more "
        "(Skogestad 2003), so a lower gain swings more, not less. "
    )
    if swing[1].si > _FELT:
        words += (
            f"It swings once in {shown_in.tell(swing[0])}, each swing {written(100 * swing[1].si, '.0f')} % "
            "of the one before. "
        )
    words += (
        f"At this gain take Ti of at least {shown_in.tell(longest)}; or with this Ti a gain of at least "
        f"{shown_in.tell(strongest)}."
    )
    return words, (*swing, longest, strongest)


def _why_fast(after: Known, shown_in: Units) -> tuple[str, tuple[Figure, ...]]:
    """Explain fast cycling: too much gain for the delay."""
    largest = Figure(
        "effect.largest_gain",
        "gain with half of the ultimate gain to spare",
        after.margins.ultimate_gain.si / 2,
        D.GAIN,
        "ultimate gain/2: a gain margin of 2 of proportional action alone",
        (("ultimate gain", shown_in.tell(after.margins.ultimate_gain)),),
        after.margins.ultimate_gain.source,
    )
    words = (
        "The answer comes later than the loop corrects: with its delay it cycles once in "
        f"{shown_in.tell(after.margins.ultimate_period)} from a gain of {shown_in.tell(after.margins.ultimate_gain)} "
        f"on. Take at most {shown_in.tell(largest)}, or shorten the delay (averaging, filter)."
    )
    return words, (after.margins.ultimate_period, after.margins.ultimate_gain, largest)


def _inputs(after: Known) -> tuple[tuple[str, str], ...]:
    return after.margins.slow_cycling.inputs


def swings(after: Known, shown_in: Units) -> tuple[Figure, Figure]:
    """Give the period of the slow swing and what is left from one swing to the next; for k'·K·Ti below 4 [2]."""
    product, integral = after.margins.slow_cycling.si, after.settings.integral_time
    damping = math.sqrt(product) / 2
    left = math.sqrt(1 - damping**2)
    natural = math.sqrt(product) / integral
    inputs = (*_inputs(after), ("ζ", written(damping, ".3g")))
    return (
        Figure(
            "effect.swing_period",
            "period of the slow swing",
            2 * math.pi / (natural * left),
            D.TIME,
            "2π·Ti/(√(k'·K·Ti)·√(1 − ζ²)), ζ = ½·√(k'·K·Ti); the delay left out, which only swings it more",
            inputs,
            SECOND_ORDER,
        ),
        Figure(
            "effect.swing_left",
            "left from one swing to the next",
            math.exp(-2 * math.pi * damping / left),
            D.PERCENT,
            "e^(−2π·ζ/√(1 − ζ²)), ζ = ½·√(k'·K·Ti); the delay left out",
            (*inputs, ("period", shown_in.show(2 * math.pi / (natural * left), D.TIME))),
            SECOND_ORDER,
        ),
    )


def _slope(after: Known) -> float:
    """Give k' [m3/s]."""
    return after.margins.slow_cycling.si / (after.settings.gain * after.settings.integral_time)


def _least_integral_time(after: Known, shown_in: Units) -> Figure:
    inputs = (("k'", shown_in.show(_slope(after), D.FLOW)), ("K", shown_in.show(after.settings.gain, D.GAIN)))
    least = CALM / (_slope(after) * after.settings.gain)
    return Figure("effect.least_integral_time", "least integral time", least, D.TIME, "4/(k'·K)", inputs, SLOW)


def _least_gain(after: Known, shown_in: Units) -> Figure:
    integral = shown_in.show(after.settings.integral_time, D.TIME)
    inputs = (("k'", shown_in.show(_slope(after), D.FLOW)), ("Ti", integral))
    least = CALM / (_slope(after) * after.settings.integral_time)
    return Figure("effect.least_gain", "least gain", least, D.GAIN, "4/(k'·Ti)", inputs, SLOW)


# --- noise on the output ---------------------------------------------------------------------------------------------


def output_noise(rig: Rig) -> Figure:
    """Give the standard deviation of the output that the noise of the readings alone makes.

    Each reading enters the moving average, the PV filter, and the controller's proportional and derivative part; the
    readings are independent. What the loop makes of it and the steps of sensor and converter are left out.
    """
    sensor, panel = rig.params.sensor, rig.panel
    point = operating_point(rig)
    area = float(rig.strapping.area_at(point.level))
    share = min(point.flow / rig.params.pump.largest_flow, 1.0)
    one_reading = math.hypot(sensor.noise, sensor.ripple * share)
    deviation = float(panel[kernel.P_GAIN]) * area * one_reading * math.sqrt(_passed(rig))
    show = units(rig.project).show
    inputs = (
        ("K", show(float(panel[kernel.P_GAIN]), D.GAIN)),
        ("noise of one reading", show(one_reading, D.LENGTH, one_reading / 100)),
        ("readings averaged", str(sensor.averaging)),
        ("PV filter", show(float(panel[kernel.P_PV_FILTER]), D.TIME)),
        ("Td", show(float(panel[kernel.P_DERIVATIVE]), D.TIME)),
    )
    formula = "K·σ·√(Σ weight²), the weights of the readings after averaging, PV filter and derivative"
    return Figure("effect.output_noise", "noise on the output", deviation, D.PERCENT, formula, inputs, WEIGHTED_SUM)


def _passed(rig: Rig) -> float:
    """Give the variance of PV + derivative part that readings of the variance 1 make, in the mean over the scans.

    Each reading is followed from the scan that first sees it until it is forgotten; its weights squared add up.
    """
    sensor, panel, scan = rig.params.sensor, rig.panel, rig.scan
    smoothing, derivative = float(panel[kernel.P_PV_FILTER]), float(panel[kernel.P_DERIVATIVE])
    n = float(panel[kernel.P_DERIVATIVE_FILTER])
    slowest = max(smoothing, derivative / n)
    ages = np.arange(math.ceil((sensor.averaging * sensor.update + 12 * slowest) / scan) + 1) * scan
    per_scan = max(1, round(scan / sensor.update))  # readings that come between two scans
    total = 0.0
    for number in range(per_scan):
        held = (ages + number * sensor.update < sensor.averaging * sensor.update - 1e-9) / sensor.averaging
        filtered = _lagged(held, 1.0 if smoothing <= 0 else 1 - math.exp(-scan / smoothing))
        behind = _lagged(filtered, n * scan / (derivative + n * scan))
        answer = filtered + (n * (filtered - behind) if derivative > 0 else 0.0)
        total += float(np.sum(answer**2))
    return total * scan / sensor.update / per_scan


def _lagged(
    values: "np.ndarray[tuple[int], np.dtype[np.float64]]", share: float
) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Pass values through the filter y += share·(x − y), from 0."""
    out, last = np.empty_like(values, dtype=np.float64), 0.0
    for at, one in enumerate(values):
        last += share * (float(one) - last)
        out[at] = last
    return out


# --- what moved ------------------------------------------------------------------------------------------------------


def _moved(before: Known, after: Known) -> str:
    """Name what moved and which way, in the standard form."""
    was, now = before.settings, after.settings
    times, sizes = ("shortened", "lengthened"), ("lowered", "raised")
    parts = [
        ("gain", was.gain, now.gain, sizes),
        ("integral time", was.integral_time, now.integral_time, times),
        ("derivative time", was.derivative_time, now.derivative_time, times),
        ("PV filter", before.pv_filter, after.pv_filter, times),
        ("set point weight", before.weight, after.weight, sizes),
    ]
    words = [f"{name} {_way(old, new, ways)}" for name, old, new, ways in parts if not _same(old, new)]
    if not words:
        return ""
    found = f"{words[0]} alone" if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
    return found[0].upper() + found[1:]


def _same(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=_SAME)


def _way(was: float, now: float, ways: tuple[str, str]) -> str:
    if math.isinf(now):
        return "switched off"
    if was == 0 or math.isinf(was):
        return "switched on"
    if now == 0:
        return "switched off"
    return ways[1] if now > was else ways[0]
