"""What is said about a fitted physics: each parameter with its interval, in words, and what the record can't tell."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Figure, rounded, written
from levelbench.records.measured import Measured
from levelbench.tuning.identify.choose import BLOCKS, Tried
from levelbench.tuning.identify.drive import restless
from levelbench.tuning.identify.entries import edits_of
from levelbench.tuning.identify.intervals import SOURCE, Direction, Known, noise_left
from levelbench.tuning.identify.law import Parameter
from levelbench.tuning.identify.noise import criterion
from levelbench.tuning.identify.on_rig import OnRig, noise_of_readings
from levelbench.tuning.identify.residuals import ANSWERS, verdicts
from levelbench.tuning.identify.result import Estimate, Fit, Verdict
from levelbench.tuning.identify.rows import Ready
from levelbench.tuning.identify.solve import new_in
from levelbench.tuning.identify.thresholds import STALLS, at_other_stall
from levelbench.tuning.process import FirstOrder, Integrating, Process

Floats = NDArray[np.float64]
D = Dimension
_FORMULA = "least squares of the freely simulated PV against the record, within limits, from many starts"
WITHHELD = "So nothing of it is offered for the project."
_TRACE = 0.02  # of what the PV did may be left over
_END = 1.001  # times a limit is at it
_WORTH = 3  # independent samples for each number that is fitted, at least
_BLOCKED = "M. Stone, J. R. Stat. Soc. B 36 (1974) 111-147: cross-validation"


@dataclass(frozen=True, eq=False)
class Account:
    """What there is to say beside the numbers: the record, its unit, laws that were tried."""

    measured: Measured
    ready: Ready
    unit: str
    tried: tuple[Tried, ...]
    best: Tried | None
    seen: OnRig | None = None
    more: tuple[Estimate, ...] = ()
    doubts: tuple[str, ...] = ()  # why nothing of it should go into a project


def said(known: Known, account: Account) -> Fit:
    """Say what was found."""
    found, ready = known.found, account.ready
    simulated = found.problem.simulate(found.values)
    left = ready.pv - simulated
    weights = noise_left(found, ready)
    new = new_in(found.left, weights)
    since = len(left) - len(new)
    shown = (
        ("record", account.measured.name),
        ("samples", str(len(left))),
        ("worth of independent samples", rounded(known.worth, 3)),
        ("law", found.problem.law.title),
    )
    law, weak = found.problem.law, known.weak()
    estimates = [_estimate(law.parameter(key), known, weak, shown) for key in law.free]
    estimates = [*_with_stall(estimates, account), *account.more]
    if account.seen is not None:
        averaging = next(one for one in estimates if one.figure.key == "fit.sensor.averaging")
        estimates.append(noise_of_readings(account.seen, left[found.problem.judged], averaging))
    k = len(found.problem.free)
    tests = verdicts(new, ready.output[since:], since, ready.step)
    doubts = () if account.seen is None else (*account.doubts, *_doubts(known, tests, ready))
    return Fit(
        found.problem.law.key,
        found.problem.law.title,
        _process(known),
        tuple(estimates),
        account.measured.time,
        simulated,
        account.measured.pv,
        np.ones(len(left), dtype=np.bool_),
        _rmse(account, found.rmse, shown),
        tests,
        (*doubts, *_warnings(known, account, weak)),
        criterion(float(new @ new), len(new), k + since + 1),
        "" if account.seen else account.unit,
        {} if account.seen is None or doubts else edits_of(account.seen, tuple(estimates)),
    )


def _doubts(known: Known, tests: Sequence[Verdict], ready: Ready) -> tuple[str, ...]:
    """Say why a fit should not go into a project: the rig does what the model has not, so its intervals don't hold.

    In a loop the output answers to what is left over, and draws the numbers aside; with an output moved by hands a
    trace of it does no harm.
    """
    answers = next(one for one in tests if one.figure.key == ANSWERS)
    found = known.found
    explained = found.rmse < _TRACE * float(np.std(ready.pv))
    words = []
    if not answers.passed and (restless(ready.output) or not explained):
        words.append(
            "What is left over still answers to the output, so numbers and intervals are drawn aside by what the model "
            f"lacks. {WITHHELD}"
        )
    ends = [one.name for one in found.problem.free if one.by_ratio and _at_an_end(one, found.values[one.key])]
    if ends:
        words.append(f"At the end of what was allowed: {', '.join(ends)}. The rig is not as described. {WITHHELD}")
    if known.worth < _WORTH * len(found.problem.free):
        words.append(
            f"What is left over hangs together so long that the record is worth only {rounded(known.worth, 2)} "
            f"independent samples: the model lacks something that the rig does. {WITHHELD}"
        )
    return tuple(words)


def _at_an_end(one: Parameter, value: float) -> bool:
    return value <= one.low * _END or value >= one.high / _END


def _with_stall(estimates: list[Estimate], account: Account) -> list[Estimate]:
    """Give the slowest flow at the stall that was found, not at the project's."""
    by_key = {one.figure.key: one for one in (*estimates, *account.more)}
    stall = by_key.get(f"fit.{STALLS}")
    if stall is None or not stall.told_apart or account.seen is None:
        return estimates
    before, largest = account.seen.rig.params.pump.stalls_at, by_key["fit.pump.largest"].figure.si
    return [
        at_other_stall(one, largest, before, stall.figure.si) if one.figure.key == "fit.pump.slowest" else one
        for one in estimates
    ]


def _rmse(account: Account, value: float, shown: tuple[tuple[str, str], ...]) -> Figure:
    held = () if account.best is None else (("held out", f"{rounded(account.best.held_out, 3)} {account.unit}"),)
    dimension = D.NUMBER if account.seen is None else D.VOLUME
    name = "root mean square of what is left over"
    return Figure("fit.rmse", name, value, dimension, "√(mean of (PV − model)²)", (*shown, *held), SOURCE)


def _estimate(
    one: Parameter, known: Known, weak: tuple[Direction, ...], shown: tuple[tuple[str, str], ...]
) -> Estimate:
    value = known.found.values[one.key]
    low, high = known.interval(one)
    figure = Figure(f"fit.{one.key}", one.name, value, one.of, _FORMULA, shown, SOURCE, _step((high - low) / 2))
    mixed = [each.words for each in weak if one in each.parameters]
    if known.told(one):
        return Estimate(figure, low, high, True, " ".join([_words(one, value, low, high), *mixed]).strip(), one.unit)
    why = " ".join(mixed) or "The record can't tell it closely enough to matter."
    kept = " Left as it is." if known.found.problem.law.described else ""
    return Estimate(figure, low, high, False, why + kept, one.unit)


def _step(half: float) -> float:
    """Give the step in which a number deserves to be shown: two digits of half its interval."""
    return 10.0 ** (math.floor(math.log10(half)) - 1) if half > 0 and math.isfinite(half) else 0.0


def _words(one: Parameter, value: float, low: float, high: float) -> str:
    room = 1e-3 * (one.high - one.low)
    if one.key.endswith(("leak", "spin_up", "dead_time")) and low <= 0.0:
        return "May be none at all; no more than the interval's end."
    if not one.by_ratio and (value - one.low < room or one.high - value < room):
        return "At the end of what was allowed: look whether the law suits the rig."
    if low <= 0.0 <= high:
        return "May be nought."
    if one.key == "tank.head" and value < 0:
        shown = f"{rounded(-value, 3)} {one.unit}".strip()
        return f"The outlet ends {shown} above the PV's zero: the PV counts from below it, or the sensor has an offset."
    if value != 0:
        return f"Known to ± {written(50 * (high - low) / abs(value), '.2g')} %."
    return ""


def _warnings(known: Known, account: Account, weak: tuple[Direction, ...]) -> tuple[str, ...]:
    words = [*account.measured.notes, *account.ready.notes]
    words = [one.replace("left out", "judged as beyond it") if "at its limit" in one else one for one in words]
    words += [one.words for one in weak]
    if account.seen is not None:
        words += account.seen.notes
    if account.best is not None and len(account.tried) > 1:
        errors = "; ".join(f"{one.law.title}: {rounded(one.held_out, 3)} {account.unit}" for one in account.tried)
        words.append(f"Law chosen by {BLOCKS} held-out blocks, root mean square error ({_BLOCKED}): {errors}.")
    if account.seen is None and known.worth < _WORTH * len(known.found.problem.free):
        words.append(
            f"What is left over hangs together so long that the record is worth only {rounded(known.worth, 2)} "
            "independent samples: the model lacks something that the rig does, and the intervals are wide for it."
        )
    if not account.seen:
        words.append(
            "The tank's size is not in the record: flows are in its own unit per second, only as ratios, and the scale "
            "of the sensor is part of that. Its offset shows as the outlet's height; a leak, as part of the outlet."
        )
    return tuple(words)


def _process(known: Known) -> Process | None:
    """Give the process that loop rules and search may use: about the middle of the record."""
    problem = known.found.problem
    values = problem.law.values(known.found.values)
    built, _ = problem.law.build(values)
    pump = built.pump
    running = problem.record.command[problem.record.command > max(pump.zero, 0.0)]
    if not len(running):
        return None
    share = (float(np.median(running)) - pump.zero) / (pump.full - pump.zero)
    slope = pump.largest * (1 + pump.curvature * (2 * share - 1)) / (pump.full - pump.zero)
    if not slope > 0:
        return None
    lags = tuple(one for one in (pump.spin_up, built.sensor.smoothing) if one > 0)
    if problem.law.described:
        return Integrating(slope, pump.dead_time + built.sensor.averaging / 2, lags)
    tank = built.tank
    eases = tank.outlet * tank.exponent / (tank.reference + tank.head)
    if eases * problem.record.time[-1] < 0.3:
        return Integrating(slope, pump.dead_time, lags)
    if problem.law.upper and built.upper.outlet > 0:
        lags = (built.upper.capacity / (built.upper.outlet * built.upper.exponent), *lags)
    return FirstOrder(slope / eases, 1 / eases, pump.dead_time, lags)
