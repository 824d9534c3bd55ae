"""What is said about a process that was found: each number with its interval, in words, and what warns of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Figure, rounded, written
from levelbench.records.measured import Measured
from levelbench.tuning.identify.drive import without_draw
from levelbench.tuning.identify.excitation import POOR, Bump, bump_that_tells
from levelbench.tuning.identify.found import FIRST_ORDER, INTEGRATING, Found
from levelbench.tuning.identify.result import Estimate, Fit
from levelbench.tuning.identify.spread import HAZY, Spread
from levelbench.tuning.process import FirstOrder, Integrating, Process

Floats = NDArray[np.float64]
D = Dimension
SOURCE = (
    "L. Ljung, System Identification: Theory for the User, 2nd edition (1999), chapters 7 and 9; interval of 95 % from "
    "Student's t"
)
TITLES = {INTEGRATING: "integrating, with dead time", FIRST_ORDER: "first order, with dead time"}
_RATES = {D.VOLUME: D.FLOW, D.PERCENT: D.PERCENT_RATE}
_ENDLESS = 5.0  # an interval of a time constant over more than 10 000-fold has no ends worth saying
_FORMULAS = {
    INTEGRATING: "least squares of PV = start + k'·∫ OP(t − θ) dt + flow·t",
    FIRST_ORDER: "least squares of T·dPV/dt = K·OP(t − θ) + rest − PV",
}


@dataclass(frozen=True)
class _Scale:
    """How values of a record are shown: PV and PV per second, each as a dimension, or plain with a unit."""

    pv: Dimension
    rate: Dimension
    pv_unit: str
    rate_unit: str

    @classmethod
    def of(cls, measured: Measured) -> "_Scale":
        dimension = measured.pv_dimension
        if dimension is None:
            return cls(D.NUMBER, D.NUMBER, measured.pv_unit, f"{measured.pv_unit}/s")
        if dimension in _RATES:
            return cls(dimension, _RATES[dimension], "", "")
        return cls(dimension, D.NUMBER, "", "m/s" if dimension is D.LENGTH else "SI unit/s")


@dataclass(frozen=True)
class _Row:
    """One number before it is judged."""

    key: str
    name: str
    value: float
    half: float
    dimension: Dimension
    unit: str
    least: float = math.nan  # an interval that is not even on both sides
    most: float = math.nan
    scale: float = 0.0  # what half an interval is measured by; 0: the number's own size

    @property
    def interval(self) -> tuple[float, float]:
        if math.isnan(self.least):
            return self.value - self.half, self.value + self.half
        return self.least, self.most

    @property
    def share(self) -> float:
        return self.half / max(abs(self.value), self.scale, 1e-300)


def fit_of(measured: Measured, found: Found) -> Fit:
    """Say what was found."""
    tests = found.judged()
    sure = found.spread(hangs_together=not tests[0].passed)
    simulated, _ = found.problem.whole(found.solved, shown=True)
    drawn = 0.0 if found.problem.bends else without_draw(measured)[1]
    _, coefficients = found.problem.whole(found.solved)
    ready = found.problem.ready
    model = FIRST_ORDER if found.problem.bends else INTEGRATING
    scale = _Scale.of(measured)
    rows = _rows(found, sure, coefficients, scale)
    judged = [one for one in rows if one.key in JUDGED]
    bump = None if all(one.share <= POOR for one in judged) else bump_that_tells(found)
    shown = (("record", measured.name), ("samples used", str(int(ready.used.sum()))), ("noise", _noise_words(found)))
    rmse = float(np.sqrt(np.mean((ready.pv - simulated)[ready.used] ** 2)))
    return Fit(
        model,
        TITLES[model],
        _process(found),
        tuple(_estimate(one, found, sure, bump, (_FORMULAS[model], shown)) for one in rows),
        measured.time,
        simulated - drawn,
        measured.pv,
        ready.used,
        Figure(
            "fit.rmse",
            "root mean square of what is left over",
            rmse,
            scale.pv,
            "√(mean of (PV − model)²)",
            shown,
            SOURCE,
        ),
        tests,
        (*_warnings(measured, found, sure, rows, bump), *(one.words for one in tests if not one.passed)),
        found.criterion,
        scale.pv_unit,
    )


JUDGED = ("fit.slope", "fit.gain", "fit.time_constant", "fit.dead_time")


def _process(found: Found) -> Process | None:
    gain = float(found.solved.coefficients[found.problem.gain_at])
    if not found.solved.kept[found.problem.gain_at]:
        return None
    if found.problem.bends:
        return FirstOrder(gain, math.exp(found.solved.point[1]), found.solved.point[0])
    return Integrating(gain, found.solved.point[0])


def _noise_words(found: Found) -> str:
    noise = found.noise
    if noise.memory > 0:
        return f"of first order, remembers {rounded(noise.memory, 2)} s"
    return f"autoregressive of order {len(noise.weights)}" if len(noise.weights) else "white"


def _rows(found: Found, sure: Spread, coefficients: Floats, scale: _Scale) -> list[_Row]:
    """Give every number, what rules need of the process first."""
    problem, kept = found.problem, found.solved.kept
    half = np.full(len(kept), math.inf)
    half[kept] = sure.half[: int(kept.sum())]
    searched = sure.half[int(kept.sum()) :]
    gain, grows = problem.gain_at, problem.starts
    size = float(coefficients[gain])
    step = problem.ready.step
    dead = found.solved.point[0]
    low, high = found.dead_times(float(searched[0]))
    dead_row = _Row("fit.dead_time", "dead time θ", dead, (high - low) / 2, D.TIME, "", low, high, 2 * step)
    grown, flow = float(coefficients[grows]), float(half[grows])
    drawn = _drawn(found, coefficients, half, scale)
    if problem.bends:
        constant, share = math.exp(found.solved.point[1]), float(searched[1])
        ends = (constant / math.exp(share), constant * math.exp(share)) if share < _ENDLESS else (0.0, math.inf)
        return [
            _Row("fit.gain", "gain K, PV per 100 % of output", size, float(half[gain]), scale.pv, scale.pv_unit),
            _Row("fit.time_constant", "time constant T", constant, share * constant, D.TIME, "", *ends),
            dead_row,
            _Row("fit.rest", "PV at rest with the output at 0", grown, flow, scale.pv, scale.pv_unit),
            *drawn,
        ]
    rate = (scale.rate, scale.rate_unit)
    return [
        _Row("fit.slope", "rate of the PV per 100 % of output, k'", size, float(half[gain]), *rate),
        dead_row,
        _Row("fit.flow", "constant flow that nobody measured", grown, flow, *rate),
        *drawn,
        _Row("fit.start", "PV at the start", float(coefficients[0]), float(half[0]), scale.pv, scale.pv_unit),
    ]


def _drawn(found: Found, coefficients: Floats, half: Floats, scale: _Scale) -> list[_Row]:
    """Give what a measured draw does: −1 where PV and draw are measured in the same units, and rightly."""
    problem = found.problem
    if problem.ready.draw is None:
        return []
    at = problem.starts + 1
    value, half_of = float(coefficients[at]), float(half[at])
    pv_unit = f"{scale.pv_unit or 'SI unit'} per m3"
    if not problem.bends:
        return [_Row("fit.draw", "PV per volume drawn", value, half_of, D.NUMBER, pv_unit)]
    dimension, unit = (D.TIME, "") if scale.pv is D.VOLUME else (D.NUMBER, f"{pv_unit}/s")
    return [_Row("fit.draw", "PV at rest per draw", value, half_of, dimension, unit)]


def _estimate(
    one: _Row, found: Found, sure: Spread, bump: Bump | None, how: tuple[str, tuple[tuple[str, str], ...]]
) -> Estimate:
    low, high = one.interval
    figure = Figure(one.key, one.name, one.value, one.dimension, how[0], how[1], SOURCE, resolution=_digits(one))
    told = math.isfinite(one.half) and (one.key not in JUDGED or one.share <= POOR)
    return Estimate(figure, low, high, told, _words(one, found, sure, bump, told=told), one.unit)


def _digits(one: _Row) -> float:
    """Give the step in which a number is shown: two digits of half its interval, two of its own at least."""
    if not math.isfinite(one.half) or one.half <= 0 or one.value == 0:
        return 0.0
    return 10.0 ** (math.floor(math.log10(min(one.half, abs(one.value)))) - 1)


def _words(one: _Row, found: Found, sure: Spread, bump: Bump | None, *, told: bool) -> str:
    if told:
        if one.key == "fit.dead_time" and one.interval[0] == 0.0:
            return "May be none at all; no longer than the interval's end."
        if one.key in JUDGED:
            return f"Known to ± {written(100 * one.half / max(abs(one.value), 1e-300), '.2g')} %."
        return ""
    words = "The record can't tell it"
    other = _mixed_with(one, found, sure)
    if other:
        words += f" from {other}"
    if bump is not None:
        return f"{words}. What would: {bump.words}."
    return f"{words}. What would: a step of the output that moves the PV by ten times its noise, and back."


def _mixed_with(one: _Row, found: Found, sure: Spread) -> str:
    """Name the number that this one is mixed up with most, when it is."""
    names, at = _names(found), _place(one, found)
    if at is None:
        return ""
    others = np.abs(sure.correlation[at]).copy()
    others[at] = 0.0
    best = int(np.argmax(others))
    return names[best] if others[best] > 0.9 else ""


def _names(found: Found) -> list[str]:
    """Name every number that was found, in the order of the certainty."""
    problem = found.problem
    names = ["the start"] * problem.starts + ["the constant flow" if not problem.bends else "the PV at rest"]
    names += ["the draw"] * (problem.ready.draw is not None) + ["the gain"]
    kept = [name for name, kept in zip(names, found.solved.kept.tolist(), strict=True) if kept]
    return kept + ["the dead time", "the time constant"][: len(found.solved.point)]


def _place(one: _Row, found: Found) -> int | None:
    name = {
        "fit.slope": "the gain",
        "fit.gain": "the gain",
        "fit.dead_time": "the dead time",
        "fit.time_constant": "the time constant",
    }.get(one.key, "")
    names = _names(found)
    return names.index(name) if name in names else None


def _warnings(
    measured: Measured, found: Found, sure: Spread, rows: Sequence[_Row], bump: Bump | None
) -> tuple[str, ...]:
    words = [*measured.notes, *found.problem.ready.notes]
    unsure = [one.name for one in rows if one.key in JUDGED and not one.share <= POOR]
    if unsure:
        words.append(f"The record is not lively enough to tell: {', '.join(unsure)}.")
        if bump is not None:
            words.append(f"An experiment that would tell it: {bump.words}.")
    elif sure.condition > HAZY:
        words.append(
            f"Some numbers lean on each other (condition number {rounded(sure.condition, 2)}; above {HAZY:.0f} they "
            "are hard to tell apart): trust the intervals, not the digits."
        )
    left = (ready := found.problem.ready).pv - found.problem.whole(found.solved, shown=True)[0]
    if np.std(left[ready.used]) > np.std(ready.pv[ready.used]) / 2:
        words.append(
            "Most of what the PV did came from something that was not recorded, a draw perhaps. The numbers rest on "
            "its answers to the output; the model run by itself strays from the record."
        )
    words += _at_the_edge(found)
    return tuple(words)


def _at_the_edge(found: Found) -> list[str]:
    """Warn of a number that lies at an end of what was searched, or of what the record can show."""
    words, ready = [], found.problem.ready
    if found.solved.point[0] < 3 * ready.step:
        words.append(
            f"The dead time is hardly longer than the {rounded(ready.step, 2)} s between two samples, and what the "
            "output did between them is not recorded: it may be longer by a step. Tune for that."
        )
    if found.problem.bends:
        constant = math.exp(found.solved.point[1])
        if constant > 3 * ready.lasts:
            words.append("The PV does not bend within the record: the integrating model says the same with less.")
        elif constant < ready.step / 2:
            words.append("The PV follows faster than it was recorded: only the gain means something.")
    return words
