"""What one run of an experiment says: k' and the delay, and the figures that a person would read off the chart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.project import units
from levelbench.quantity import Dimension, Figure
from levelbench.rig import Recording
from levelbench.tuning.experiments.curves import (
    AREA,
    TWO_POINTS,
    TWO_SLOPES,
    Corner,
    by_areas,
    corners,
    two_points,
)
from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.experiments.limit_cycle import (
    DESCRIBING,
    EXACT,
    INTEGRATING_ERROR,
    Balanced,
    Cycle,
    Relay,
    by_describing,
    integrating_from,
)
from levelbench.tuning.experiments.planned import RELAY, STEP, Plan
from levelbench.tuning.experiments.whole import FORMULA, SOURCE, laid_over, whole
from levelbench.tuning.measures import last_outside
from levelbench.tuning.response import ultimate

D = Dimension
Floats = NDArray[np.float64]
_FLANK = (0.4, 0.85)  # of a relay's flank: settled, and not yet where noise chooses the moment
_STRETCH = 0.3  # of a bump's stretch: settled
_SINE = "takes the swing for a sine: k' = ω·π·a/(4d), θ = (π/2 − asin(ε/a))/ω, Ku = π/(2·k'·θ)"
_LONGEST = 5.0  # delays of the model, up to which the delay is looked for


@dataclass(frozen=True)
class Read:
    """slope k' [m3/s per 1], delay [s], time constant [s] where the level came to rest; over: the PV by them [m3]."""

    slope: float
    delay: float
    constant: float | None
    over: Floats
    figures: tuple[Figure, ...]
    formula: str
    source: str


def read_one(plan: Plan, recording: Recording, begun: float, ended: float) -> Read:
    """Read one run, which lasted from `begun` to `ended` [s]; raises ExperimentError when nothing can be read of it."""
    if plan.kind == RELAY:
        return _relay(plan, recording, begun, ended)
    if plan.settles:
        return _settled(recording, begun, ended)
    time, pv, output = (recording[name] for name in ("time", "pv", "output"))
    until = time < ended - 1e-9
    found = whole(time[until], pv[until], output[until], _LONGEST * plan.model.dead_time)
    figures = _step_figures(plan, recording) if plan.kind == STEP else _bump_figures(recording, begun, ended)
    return Read(found.slope, found.delay, None, _padded(found.simulated, len(time)), figures, FORMULA, SOURCE)


def _padded(values: Floats, count: int) -> Floats:
    return np.concatenate((values, np.full(count - len(values), np.nan)))


def _itself(recording: Recording, begun: float, ended: float) -> tuple[Floats, Floats, Floats]:
    """Give time [s], PV [m3] and output [1] of the experiment itself."""
    time = recording["time"]
    within = (time >= begun - 1e-9) & (time < ended - 1e-9)
    return time[within], recording["pv"][within], recording["output"][within]


# --- relay -----------------------------------------------------------------------------------------------------------


def _relay(plan: Plan, recording: Recording, begun: float, ended: float) -> Read:
    time, pv, output = _itself(recording, begun, ended)
    read = corners(time, pv, output, *_FLANK)[1:]  # before the first one the level came from its rest
    high, low = float(np.max(output)), float(np.min(output))
    cycle, width = _cycle(read, plan.volume)
    found = integrating_from(cycle, high, low, width)
    process = found.process
    over = laid_over(time, pv, output, process.slope, process.dead_time)
    over = np.concatenate((np.full(int(np.sum(recording["time"] < begun - 1e-9)), np.nan), over))
    figures = _cycle_figures(plan, cycle, width, found, (high, low))
    words = (
        "k' = (rise + fall)/(high − low), delay = (swing − 2ε)/(rise + fall), ε where the flanks were at the switching"
    )
    return Read(process.slope, process.dead_time, None, _padded(over, len(recording)), figures, words, EXACT)


def _cycle(read: Sequence[Corner], volume: float) -> tuple[Cycle, float]:
    """Give the mean cycle, its peak and trough where the flanks meet, and the hysteresis that really was [m3]."""
    tops, bottoms = ([one for one in read if (one.jump < 0) is top] for top in (True, False))
    peak = float(np.mean([one.before(one.at + one.delay) - volume for one in tops]))
    trough = float(np.mean([volume - one.before(one.at + one.delay) for one in bottoms]))
    above = float(np.mean([one.before(one.at) - volume for one in tops]))
    below = float(np.mean([volume - one.before(one.at) for one in bottoms]))
    rise = float(np.mean([one.before.slope for one in tops] + [one.after.slope for one in bottoms]))
    fall = -float(np.mean([one.after.slope for one in tops] + [one.before.slope for one in bottoms]))
    if not (rise > 0 and fall > 0):
        raise ExperimentError(
            "The PV doesn't swing: it does not rise and fall in turn.",
            "the record",
            "Take a larger jump or a wider hysteresis.",
        )
    swing = peak + trough
    return Cycle(swing / rise, swing / fall, peak, trough), (above + below) / 2


def _cycle_figures(
    plan: Plan, cycle: Cycle, width: float, found: Balanced, outputs: tuple[float, float]
) -> tuple[Figure, ...]:
    show, process = units(plan.rig.project).show, found.process
    relay = Relay(outputs[0] - found.balance, found.balance - outputs[1], width)
    exact, period = ultimate(process.slope, process.dead_time, ())
    seen = (
        ("swing", show(2 * cycle.amplitude, D.VOLUME)),
        ("jump", show(2 * relay.half, D.PERCENT)),
        ("2ε", show(2 * width, D.VOLUME)),
    )
    sine = by_describing(relay, cycle)
    about, _ = ultimate(sine.slope, sine.dead_time, ())
    rows = (
        ("period", "period of the swing", cycle.period, D.TIME, "high and low together, mean", EXACT),
        (
            "amplitude",
            "half of what the PV swings",
            cycle.amplitude,
            D.VOLUME,
            "straight flanks to where they meet",
            EXACT,
        ),
        ("balance", "balance", found.balance, D.PERCENT, "mean output over a cycle", "mass balance"),
        ("ku", "ultimate gain, exact", exact, D.GAIN, "π/(2·k'·delay)", EXACT),
        ("pu", "ultimate period, exact", period, D.TIME, "4·delay", EXACT),
        ("ku_describing", "ultimate gain, describing function", about, D.GAIN, _SINE, DESCRIBING),
        (
            "missed",
            "what it misses the exact gain by",
            about / exact - 1,
            D.PERCENT,
            f"describing function/exact − 1; {show(INTEGRATING_ERROR, D.PERCENT, 0.001)} without noise where ε is 0",
            DESCRIBING,
        ),
    )
    return tuple(
        Figure(f"relay.{key}", name, si, kind, words, seen, source) for key, name, si, kind, words, source in rows
    )


# --- open-loop step --------------------------------------------------------------------------------------------------


def _bump_figures(recording: Recording, begun: float, ended: float) -> tuple[Figure, ...]:
    """Give what two slopes say, each corner weighed by the square of its jump."""
    time, pv, output = _itself(recording, begun, ended)
    read = corners(time, pv, output, _STRETCH)
    weights = [one.jump**2 for one in read]
    slope = float(np.average([one.slope for one in read], weights=weights))
    delay = float(np.average([one.delay for one in read], weights=weights))
    shown = (("corners", str(len(read))),)
    away = float(np.ptp(pv))
    return (
        Figure("bump.slope", "k' by two slopes", slope, D.FLOW, "change of slope/jump", shown, TWO_SLOPES),
        Figure(
            "bump.delay", "delay by two slopes", delay, D.TIME, "from the jump to where they meet", shown, TWO_SLOPES
        ),
        Figure("bump.away", "how far the PV went", away, D.VOLUME, "highest less lowest", (), "the record"),
    )


def _settled(recording: Recording, begun: float, ended: float) -> Read:
    """Read the first jump of a bump after which the level came to rest: the mean of two points and of areas."""
    time, pv, output = _itself(recording, begun, ended)
    first, second = (np.flatnonzero(np.diff(output)) + 1).tolist()[:2]
    at, jump = float(time[first]), float(output[first] - output[first - 1])
    rise = pv[:second] - float(np.mean(pv[:first]))
    rows = ((two_points, "two points", TWO_POINTS), (by_areas, "areas", AREA))
    read = [(method(time[:second], rise, at, jump), name, source) for method, name, source in rows]
    figures = []
    for one, name, source in read:
        words = f"by {name} of the response to the first jump"
        figures += [
            Figure(
                f"bump.constant_{name[:3]}", f"time constant by {name}", one.time_constant, D.TIME, words, (), source
            ),
            Figure(f"bump.delay_{name[:3]}", f"delay by {name}", one.dead_time, D.TIME, words, (), source),
        ]
    gain = read[0][0].gain
    constant = float(np.mean([one.time_constant for one, _, _ in read]))
    delay = max(float(np.mean([one.dead_time for one, _, _ in read])), 0.0)
    since = np.maximum(time[:second] - at - delay, 0.0)
    over = float(np.mean(pv[:first])) + gain * jump * -np.expm1(-since / constant)
    before = np.full(int(np.sum(recording["time"] < begun - 1e-9)), np.nan)
    padded = _padded(np.concatenate((before, over)), len(recording))
    words = "gain = rise/jump; time constant and delay: mean of two points and of areas"
    return Read(gain / constant, delay, constant, padded, tuple(figures), words, AREA)


# --- closed-loop step ------------------------------------------------------------------------------------------------


def _step_figures(plan: Plan, recording: Recording) -> tuple[Figure, ...]:
    """Give overshoot, settling and output travel of the step up, and of the way back."""
    time, pv = recording["time"], recording["pv"]
    entries = [one.time for one in recording.journal if one.kind == "action" and one.what == "set point"]
    up, back = entries[0], entries[1]
    first = (time >= up) & (time < back)
    target, sign = plan.volume + plan.size, 1.0 if plan.size > 0 else -1.0
    window = max(plan.model.dead_time, 3 * plan.rig.scan)
    smooth = _smoothed(pv, max(round(window / plan.rig.scan / 2), 1))
    band = max(abs(plan.size) / 20, 0.0)
    show = units(plan.rig.project).show
    shown = (("from", show(plan.volume, D.VOLUME)), ("to", show(target, D.VOLUME)), ("band", show(band, D.VOLUME)))
    over = max(float(np.max(sign * (smooth[first] - target))), 0.0)
    settling = last_outside(time[first] - up, smooth[first], target, band)
    travel = float(np.sum(np.abs(np.diff(recording["output"][first]))))
    source = "the record"
    return (
        Figure("step.overshoot", "overshoot", over, D.VOLUME, "highest mean PV beyond the set point", shown, source),
        Figure(
            "step.settling",
            "settling time",
            settling,
            D.TIME,
            "until it stays within a twentieth of the step",
            shown,
            source,
        ),
        Figure("step.travel", "output travel", travel, D.PERCENT, "sum of all changes of the output", shown, source),
    )


def _smoothed(values: Floats, count: int) -> Floats:
    """Give the mean over so many samples around each."""
    kernel = np.ones(count) / count
    padded = np.concatenate((np.full(count // 2, values[0]), values, np.full(count - 1 - count // 2, values[-1])))
    return np.convolve(padded, kernel, mode="valid")
