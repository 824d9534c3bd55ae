"""At which outputs a described pump starts and stalls: found by trying, since nothing changes smoothly with them.

The error jumps only where a threshold passes an output that the record has seen. So each threshold is known to lie
between two such outputs, or not at all where the output never came near. Its interval is that of the likelihood's
profile: all thresholds whose squares are no more than (1 + χ²/n) times the least, n the independent samples [1].

Source: [1] D. M. Bates, D. G. Watts, "Nonlinear Regression Analysis and Its Applications" (1988), chapter 6 (memory).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from levelbench.quantity import Dimension, Figure
from levelbench.tuning.identify.law import Law
from levelbench.tuning.identify.result import Estimate
from levelbench.tuning.identify.solve import Found, Problem, improve

STARTS, STALLS = "pump.starts_at", "pump.stalls_at"
NAMES = {STARTS: "output at which the pump starts", STALLS: "output at which the pump stalls"}
SOURCE = "D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications (1988), chapter 6 (from memory)"
_GRID = 12  # thresholds tried, at most
_ROUNDS, _KEPT = 3, 4  # of trying in pairs; pairs to which the rest is fitted
_WORTH = 0.995  # times the squares: what is no better than that changes nothing
_FINE = 6  # and again between the neighbours of the best
_HIGHEST = 0.6  # output
_CHI = 3.84  # χ² of one degree of freedom at 95 %
_WIDE = 0.1  # of output: a wider interval tells nothing to work with
Look = Callable[[], bool]


@dataclass(frozen=True)
class Tried:
    """Thresholds that were tried for one of the two, rising, and the mean of the squares left with each."""

    key: str
    at: tuple[float, ...]
    costs: tuple[float, ...]

    @property
    def best(self) -> float:
        """The threshold with the least error; in the middle where several are alike (fraction of output)."""
        least = min(self.costs)
        alike = [at for at, cost in zip(self.at, self.costs, strict=True) if cost <= least * (1 + 1e-9)]
        return alike[len(alike) // 2]

    def interval(self, worth: float) -> tuple[float, float]:
        """Give the thresholds that the record can't refute, when it is worth so many independent samples."""
        limit = min(self.costs) * (1 + _CHI / max(worth, 1.0))
        good = [at for at, cost in zip(self.at, self.costs, strict=True) if cost <= limit]
        step = max(self.at[1] - self.at[0], 0.0) if len(self.at) > 1 else 0.0
        return max(good[0] - step, 0.0), good[-1] + step


def law_without(law: Law) -> Law:
    """Give a law whose pump runs whenever it is told to: where the project's thresholds are wrong, a better start."""
    return law.holding(STARTS, 0.0).holding(STALLS, 0.0)


def seek(found: Found, look: Look | None = None) -> tuple[Found, tuple[Tried, ...]]:
    """Try both thresholds, in pairs where others than those of the law are better, with the rest fitted anew.

    Raises Cancelled when `look` answers False.
    """
    tried = _each(found)
    for _ in range(_ROUNDS):
        if min(min(one.costs) for one in tried) > _WORTH * found.cost:
            break
        newer = _in_pairs(found, look)
        if newer.cost > _WORTH * found.cost:
            break
        found, tried = newer, _each(newer)
    return found, tried


def _each(found: Found) -> tuple[Tried, ...]:
    """Try each threshold for itself."""
    rest = _Rest(found)
    return tuple(_try(rest, key, _grid(found.problem)) for key in (STARTS, STALLS))


def _in_pairs(found: Found, look: Look | None) -> Found:
    """Try thresholds in pairs, fit the rest to the best few of them, and give the best of these."""
    grid = _grid(found.problem)
    pairs = [(start, stall) for start in grid for stall in grid if stall <= start]
    rest = _Rest(found)
    costs = [rest.cost({STARTS: start, STALLS: stall}) for start, stall in pairs]
    if min(costs) > _WORTH * found.cost:
        return found
    ends = []
    for at in np.argsort(costs, kind="stable")[:_KEPT].tolist():
        law = found.problem.law.holding(STARTS, pairs[at][0]).holding(STALLS, pairs[at][1])
        ends.append(improve(replace(found.problem, law=law), found.values, most=8, progress=look))
    best = min(ends, key=lambda one: one.cost)
    return improve(best.problem, best.values, most=25, progress=look)


def _grid(problem: Problem) -> list[float]:
    """Give the thresholds worth trying: between the outputs that the record has seen, not too many of them."""
    seen = np.unique(np.round(problem.record.command, 4))
    seen = seen[seen <= _HIGHEST]
    between = [0.0, *((seen[1:] + seen[:-1]) / 2).tolist()]
    if len(between) > _GRID:
        between = [between[at] for at in np.linspace(0, len(between) - 1, _GRID).round().astype(int).tolist()]
    return between


class _Rest:
    """What is left with other thresholds once the rest has made up for them, as far as its derivatives tell."""

    def __init__(self, found: Found) -> None:
        self._found = found
        self._base, _ = np.linalg.qr(found.slopes)

    def cost(self, thresholds: Mapping[str, float]) -> float:
        """Give the mean of the squares left with these thresholds (fractions of output)."""
        left = self._found.problem.left({**self._found.values, **thresholds})
        made_up = self._base.T @ left
        return float(left @ left - made_up @ made_up) / len(left)

    def now(self, key: str) -> float:
        """Give the threshold that the law has (fraction of output)."""
        return float(self._found.problem.law.fixed[key])


def _try(rest: _Rest, key: str, grid: Sequence[float]) -> Tried:
    """Try thresholds, and finer ones between the neighbours of the best."""
    known = {at: rest.cost({key: at}) for at in [*grid, rest.now(key)]}
    at = sorted(known)
    best = int(np.argmin([known[one] for one in at]))
    low, high = at[max(best - 1, 0)], at[min(best + 1, len(at) - 1)]
    for one in np.linspace(low, high, _FINE + 2)[1:-1].tolist():
        known[one] = rest.cost({key: one})
    at = sorted(known)
    return Tried(key, tuple(at), tuple(known[one] for one in at))


def estimates_of(tried: Sequence[Tried], found: Found, worth: float, name: str) -> tuple[Estimate, ...]:
    """Say what is known of both thresholds, for a record of this name that is worth so many independent samples."""
    return tuple(_estimate(one, found, worth, name) for one in tried)


def at_other_stall(slowest: Estimate, largest: float, before: float, after: float) -> Estimate:
    """Give the slowest steady flow [m3/s] where the stall is at another output, on the line to the largest [m3/s]."""
    share = (1.0 - after) / (1.0 - before)
    value, low, high = (
        max(largest - (largest - one) * share, 0.0) for one in (slowest.figure.si, slowest.low, slowest.high)
    )
    return replace(slowest, figure=replace(slowest.figure, si=value), low=low, high=high)


def _estimate(one: Tried, found: Found, worth: float, name: str) -> Estimate:
    low, high = one.interval(worth)
    said = found.problem.law.parameter(one.key).known
    told = high - low <= _WIDE
    value = said if said is not None and (low <= said <= high or not told) else (low + high) / 2
    figure = Figure(
        f"fit.{one.key}",
        NAMES[one.key],
        value,
        Dimension.PERCENT,
        "threshold with the least squares; the interval has all whose squares are within 1 + χ²/n of it",
        (("record", name), ("n", str(round(worth)))),
        SOURCE,
        resolution=0.001,
    )
    words = "" if told else "The output never came near enough to tell it. Left as it is."
    return Estimate(figure, low, high, told, words)
