"""Least squares within limits, from many starts, of a law against a record; simulated freely, never fed the record.

Every part of the record between gaps begins at levels of its own, which are always fitted beside the law's parameters.

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), chapters 7 and 10: output error, starts.
[2] D. W. Marquardt, J. Soc. Ind. Appl. Math. 11 (1963) 431-441: damped steps; scaled by the diagonal, as there.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from levelbench.quantity import Dimension
from levelbench.rig import Cancelled, plant
from levelbench.tuning.identify.law import Law, Parameter, Values
from levelbench.tuning.identify.rows import Ready

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Progress = Callable[[float], bool]

_STEP = 1e-4  # of what matters: the difference from which a derivative is taken
_THREADED = 20000  # samples from which threads are worth it
_THREADS = 2
_GAIN = 1e-7  # of the squares: a step that gains less was the last
_SEED = 20160  # of the starts: the same record gives the same fit


@dataclass(frozen=True, eq=False)
class Problem:
    """A law and the record that it is held against; `judged` are the samples that count.

    `noise` are the weights of the samples before in what is left; with them only what is new in each sample counts.
    """

    law: Law
    record: plant.Record
    pv: Floats
    judged: Flags
    begins: tuple[Parameter, ...]  # the levels at the beginning of each part, also fitted
    noise: Floats = field(default_factory=lambda: np.zeros(0))

    @property
    def free(self) -> tuple[Parameter, ...]:
        """Everything that is fitted: the law's free parameters, then the levels at the beginnings."""
        return (*(self.law.parameter(key) for key in self.law.free), *self.begins)

    def simulate(self, found: Values) -> Floats:
        """Give what a law with these values shows at each sample, in the record's unit."""
        built, tables = self.law.build(self.law.values(found))
        starts = self.record.starts.copy()
        for part in range(len(starts)):
            starts[part, 1] = found.get(f"begins.{part}.upper", 0.0)
            starts[part, 2] = found[f"begins.{part}.volume"]
        seen = np.empty_like(self.pv)
        plant.simulate(built, tables, self.record._replace(starts=starts), seen)
        return seen

    def left(self, found: Values) -> Floats:
        """Give simulated less measured where it counts, or what is new in it."""
        left = (self.simulate(found) - self.pv)[self.judged]
        return new_in(left, self.noise) if len(self.noise) else left

    def judging(self, judged: Flags) -> "Problem":
        """Give the same problem that counts other samples only."""
        return replace(self, judged=self.judged & judged)


def new_in(left: Floats, noise: Floats) -> Floats:
    """Give what is new in each sample, of what is left, with the weights of the samples before."""
    return np.asarray(lfilter(np.concatenate(([1.0], -noise)), [1.0], left)[len(noise) :])


def pose(law: Law, ready: Ready, *, floor: float = 0.0, longest: float = 0.0) -> Problem:
    """Hold a law against a record whose PV is counted from a floor; steps of the physics at most `longest` [s].

    A sample that stands still at the sensor's limit is judged too: it says that the level is beyond it.
    """
    n = len(ready.time)
    draw = np.zeros(n) if ready.draw is None else ready.draw.astype(np.float64)
    starts = np.zeros((len(ready.begins), 3))
    starts[:, 0] = ready.begins
    step = longest if longest > 0 else ready.step
    record = plant.Record(ready.time.copy(), ready.output.astype(np.float64), draw, starts, step)
    begins: list[Parameter] = []
    span = max(float(np.ptp(ready.pv)), 0.1 * float(np.abs(ready.pv - floor).max()), 1e-30)
    for part, at in enumerate(ready.begins.tolist()):
        near = float(np.median(ready.pv[at : at + 3])) - floor
        low, high = max(near - 0.5 * span, 0.0), near + 0.5 * span
        begins.append(
            Parameter(f"begins.{part}.volume", "level at the start", Dimension.NUMBER, low, high, span / 20, near)
        )
        if law.upper:
            begins.append(
                Parameter(f"begins.{part}.upper", "upper level at the start", Dimension.PERCENT, 0.0, 1.0, 0.2)
            )
    settled = ready.time - ready.time[ready.begins][ready.part] >= min(law.settles, 0.1 * ready.lasts)
    return Problem(law, record, ready.pv, settled, tuple(begins))


# --- from values to what the solver moves ----------------------------------------------------------------------------


def _inward(one: Parameter, value: float) -> float:
    """Give what the solver moves: a ratio's logarithm, else the value in steps that matter."""
    return float(np.log(value)) if one.by_ratio else value / one.matters


def _outward(one: Parameter, moved: float) -> float:
    return float(np.exp(moved)) if one.by_ratio else moved * one.matters


@dataclass(frozen=True, eq=False)
class Found:
    """A solution: every fitted value, what is left, its derivatives in the solver's own steps.

    `cost` is the mean of the squares left.
    """

    problem: Problem
    values: dict[str, float]
    left: Floats
    slopes: Floats

    @property
    def cost(self) -> float:
        """The mean of the squares left."""
        return float(np.mean(self.left**2))

    @property
    def rmse(self) -> float:
        """The root of the mean of the squares left, in the record's unit."""
        return float(np.sqrt(self.cost))


def _slopes(problem: Problem, moved: Floats, left: Floats, upper: Floats) -> Floats:
    """Give the derivatives of what is left by forward differences, backward at an upper limit."""

    def one(at: int) -> Floats:
        step = _STEP if moved[at] + _STEP <= upper[at] else -_STEP
        tried = moved.copy()
        tried[at] += step
        return np.asarray((problem.left(_named(problem, tried)) - left) / step)

    if len(problem.pv) < _THREADED:
        return np.stack([one(at) for at in range(len(moved))], axis=1)
    with ThreadPoolExecutor(_THREADS) as pool:
        return np.stack(list(pool.map(one, range(len(moved)))), axis=1)


def _named(problem: Problem, moved: Floats) -> dict[str, float]:
    return {one.key: _outward(one, value) for one, value in zip(problem.free, moved.tolist(), strict=True)}


def improve(problem: Problem, values: Values, *, most: int = 60, progress: Callable[[], bool] | None = None) -> Found:
    """Go downhill from one start by Levenberg's and Marquardt's steps [2], cut off at the limits.

    A parameter at a limit that would be pushed beyond it rests for the step. `most` steps are tried. Raises Cancelled
    when `progress` answers False.
    """
    free = problem.free
    low = np.array([_inward(one, one.low) for one in free])
    high = np.array([_inward(one, one.high) for one in free])
    at = np.clip(np.array([_inward(one, values[one.key]) for one in free]), low, high)
    left = problem.left(_named(problem, at))
    slopes = _slopes(problem, at, left, high)
    damping, fresh = 1e-3, True
    for _ in range(most):
        if progress is not None and not progress():
            raise Cancelled
        tried = np.clip(at + _step(slopes, left, (at <= low, at >= high), damping), low, high)
        newer = problem.left(_named(problem, tried))
        gained = 1.0 - float(newer @ newer) / max(float(left @ left), 1e-300)
        moved = float(np.abs(tried - at).max())
        if gained > 0.0:
            at, left, fresh = tried, newer, False
            damping = max(damping / 5.0, 1e-12)
            if gained < _GAIN:
                break
            slopes, fresh = _slopes(problem, at, left, high), True
        else:
            damping *= 6.0
            if moved < 1e-9 or damping > 1e12:
                break
    if not fresh:
        slopes = _slopes(problem, at, left, high)
    return Found(problem, _named(problem, at), left, slopes)


def _step(slopes: Floats, left: Floats, ends: tuple[Flags, Flags], damping: float) -> Floats:
    """Give the step of the parameters that are free to move."""
    downhill = -(slopes.T @ left)
    rests = (ends[0] & (downhill < 0.0)) | (ends[1] & (downhill > 0.0))
    square = slopes.T @ slopes
    size = np.maximum(np.diag(square), 1e-12 * max(float(np.diag(square).max()), 1e-300))
    moves = np.flatnonzero(~rests)
    step = np.zeros(len(downhill))
    if len(moves):
        damped = square[np.ix_(moves, moves)] + damping * np.diag(size[moves])
        step[moves] = np.linalg.lstsq(damped, downhill[moves], rcond=1e-14)[0]
    return step


def many_starts(
    problem: Problem, *, tried: int = 150, kept: int = 4, ended: int = 2, progress: Callable[[], bool] | None = None
) -> Found:
    """Try many starts between the limits, go downhill from the best few, to the end from `ended`; give the lowest [1].

    Raises Cancelled when `progress` answers False.
    """
    chance = np.random.default_rng(_SEED)
    looked = []
    for number in range(tried):
        if progress is not None and not progress():
            raise Cancelled
        start = {one.key: _somewhere(one, chance, number) for one in problem.free}
        cost = float(np.mean(problem.left(start) ** 2))
        looked.append((cost if np.isfinite(cost) else np.inf, number, start))
    looked.sort(key=lambda one: one[:2])
    ends = [improve(problem, start, most=12, progress=progress) for _, _, start in looked[:kept]]
    ends.sort(key=lambda one: one.cost)
    better = [improve(problem, one.values, most=40, progress=progress) for one in ends[:ended]]
    return min(better, key=lambda one: one.cost)


def _somewhere(one: Parameter, chance: np.random.Generator, number: int) -> float:
    """Give a value to start from: what is known, or somewhere between the limits."""
    if one.known is not None and (number == 0 or one.key.endswith(".volume")):
        return one.known
    if one.known is not None:
        return float(np.clip(one.known + one.cares(one.known) * chance.normal() * 0.5, one.low, one.high))
    if one.by_ratio:
        return float(np.exp(chance.uniform(np.log(one.low), np.log(one.high))))
    if one.low == 0.0 and one.matters < 0.02 * one.high:  # over some decades
        return float(min(one.matters * 10.0 ** chance.uniform(-0.5, 2.0), one.high))
    return float(chance.uniform(one.low, one.high))
