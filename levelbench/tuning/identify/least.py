"""Least squares of a process with dead time: what is linear in it is solved, what is not is searched.

PV = starts + what grows by itself + draw + gain·(answer to the output, a dead time later). Only dead time and time
constant are not linear, so the search is in one or two numbers and can't miss for want of good starts of the others.

Sources:
[1] G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413-432: separable least squares; the derivative after
    L. Kaufman, BIT 15 (1975) 49-57.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from levelbench.tuning.identify.drive import Held, Lagged
from levelbench.tuning.identify.noise import Noise, whitened
from levelbench.tuning.identify.rows import Ready, Rows

Floats = NDArray[np.float64]

_ALIKE = 1e-7  # a column that is the sum of others to this share of its size tells nothing


@dataclass(frozen=True)
class Bounds:
    """What may be searched: dead time up to `dead_time`, time constant from `quickest` to `slowest` [s]; sign of gain.

    `rises` True: a higher output lets the PV rise, False: fall, None: not known.
    """

    dead_time: float
    quickest: float
    slowest: float
    rises: bool | None = None

    def starts(self, *, bends: bool) -> list[tuple[float, ...]]:
        """Give points from which a search may start: (dead time [s],) or (dead time [s], log of the time constant)."""
        deads = [0.0, *np.geomspace(self.dead_time / 600, 0.7 * self.dead_time, 15).tolist()]
        if not bends:
            return [(one,) for one in deads]
        constants = np.geomspace(2 * self.quickest, self.slowest / 5, 9).tolist()
        return [(one, math.log(constant)) for constant in constants for one in deads]


@dataclass(frozen=True, eq=False)
class Solved:
    """The linear part at one point: all coefficients, which columns count, and what is left over, made independent."""

    point: tuple[float, ...]
    coefficients: Floats
    kept: NDArray[np.bool_]
    left: Floats
    base: Floats  # [m, kept] orthonormal columns
    slopes: Floats  # [m, searched] derivative of what the model gives, by each searched number
    columns: Floats  # [m, kept] as independent rows

    @property
    def squares(self) -> float:
        """The sum of squares left over."""
        return float(self.left @ self.left)


class Problem:
    """One process to be fitted to a record: its columns at any point, on any rows, with any noise."""

    def __init__(self, ready: Ready, *, bends: bool, rises: bool | None) -> None:
        """Take a record; `bends` for first order, else integrating."""
        self.ready, self.bends, self.rises = ready, bends, rises
        self._output = Held(ready.time, ready.output)
        self._draw = None if ready.draw is None else Held(ready.time, ready.draw)
        self._lagged: tuple[float, Lagged, Lagged | None] | None = None
        self.starts = len(ready.begins)
        self.gain_at = self.starts + 1 + (self._draw is not None)  # place of the gain among the columns

    def columns(self, point: tuple[float, ...], at: NDArray[np.intp]) -> tuple[Floats, list[dict[int, Floats]]]:
        """Give the columns [m, k] at samples; by each searched number the derivatives of those that depend on it."""
        return self._bending(point, at) if self.bends else self._straight(point, at)

    def _since(self, at: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """Give the time at samples [s], and which part each is in [m, parts]."""
        part = self.ready.part[at]
        return self.ready.time[at], (part[:, None] == np.arange(self.starts)).astype(np.float64)

    def _straight(self, point: tuple[float, ...], at: NDArray[np.intp]) -> tuple[Floats, list[dict[int, Floats]]]:
        time, parts = self._since(at)
        answer, grows = self._output.integral(time - point[0])
        drawn = [] if self._draw is None else [self._draw.integral(time)[0]]
        return np.column_stack((parts, time, *drawn, answer)), [{self.gain_at: -grows}]

    def _bending(self, point: tuple[float, ...], at: NDArray[np.intp]) -> tuple[Floats, list[dict[int, Floats]]]:
        dead_time, constant = point[0], math.exp(point[1])
        output, draw = self._lags(constant)
        time, parts = self._since(at)
        since = (time - self.ready.time[self.ready.begins][self.ready.part[at]]) / constant
        fades = parts * np.exp(-since)[:, None]
        answer, grows, by_constant = output.at(time - dead_time)
        by_log = {place: fades[:, place] * since for place in range(self.starts)}
        by_log[self.gain_at] = constant * by_constant
        drawn = []
        if draw is not None:
            given, _, drawn_by = draw.at(time)
            drawn = [given]
            by_log[self.starts + 1] = constant * drawn_by
        return np.column_stack((fades, np.ones(len(at)), *drawn, answer)), [{self.gain_at: -grows}, by_log]

    def _lags(self, constant: float) -> tuple[Lagged, Lagged | None]:
        if self._lagged is None or self._lagged[0] != constant:
            draw = None if self._draw is None else self._draw.first_order(constant)
            self._lagged = constant, self._output.first_order(constant), draw
        return self._lagged[1], self._lagged[2]

    def solve(self, point: tuple[float, ...], rows: Rows, noise: Noise) -> Solved:
        """Solve what is linear at a point."""
        columns, by = self.columns(point, rows.at)
        pv = self.ready.pv[rows.at]
        both = whitened(np.column_stack((columns, pv)), rows, self.ready, noise)
        white, wanted = both[:, :-1], both[:, -1]
        kept = np.ones(columns.shape[1], dtype=np.bool_)
        coefficients, base = _solve(white, wanted, kept, np.linalg.norm(columns, axis=0))
        if self.rises is not None and (coefficients[self.gain_at] > 0) != self.rises:
            kept[self.gain_at] = False
            coefficients, base = _solve(white, wanted, kept, np.linalg.norm(columns, axis=0))
        slopes = np.column_stack(
            [sum((coefficients[place] * one for place, one in each.items()), np.zeros(len(pv))) for each in by]
        )
        slopes = whitened(slopes, rows, self.ready, noise)
        left = wanted - base @ (base.T @ wanted)
        return Solved(point, coefficients, kept, left, base, slopes, white[:, kept])

    def whole(self, solved: Solved, *, shown: bool = False) -> tuple[Floats, Floats]:
        """Give PV as the model runs it over the whole record[n], and all coefficients.

        A start that the noise hides (it walks about, or the part was not looked at) is put where it fits best. What is
        `shown` has all starts, and what grows by itself, where the whole record lies nearest.
        """
        ready = self.ready
        columns, _ = self.columns(solved.point, np.arange(len(ready.time)))
        coefficients = solved.coefficients.copy()
        loose = ~solved.kept
        if shown:
            loose[: self.starts + 1] = True
        loose[self.gain_at] = False
        if loose.any():
            coefficients[loose] = 0.0
            rest = (ready.pv - columns @ coefficients)[ready.used]
            coefficients[loose] = np.linalg.lstsq(columns[ready.used][:, loose], rest, rcond=None)[0]
        return columns @ coefficients, coefficients


def _solve(columns: Floats, wanted: Floats, kept: NDArray[np.bool_], sizes: Floats) -> tuple[Floats, Floats]:
    """Solve; columns that say nothing of their own go from `kept`. Gives coefficients and the orthonormal base."""
    kept &= np.linalg.norm(columns, axis=0) > _ALIKE * np.maximum(sizes, 1e-300)
    while True:
        chosen = columns[:, kept]
        scale = np.linalg.norm(chosen, axis=0)
        base, upper = np.linalg.qr(chosen / scale)
        poor = np.abs(np.diag(upper)) < _ALIKE
        if not poor.any():
            break
        kept[np.flatnonzero(kept)[poor]] = False
    coefficients = np.zeros(columns.shape[1])
    coefficients[kept] = np.linalg.solve(upper, base.T @ wanted) / scale
    return coefficients, base


def search(problem: Problem, rows: Rows, noise: Noise, bounds: Bounds, starts: list[tuple[float, ...]]) -> Solved:
    """Go downhill from a few starting points within bounds, and give the lowest."""
    low = [0.0, math.log(bounds.quickest)][: 1 + problem.bends]
    high = [bounds.dead_time, math.log(bounds.slowest)][: 1 + problem.bends]
    scale = [max(bounds.dead_time / 20, 1e-9), 0.5][: 1 + problem.bends]
    last: list[Solved] = []

    def solved(point: Floats) -> Solved:
        key = tuple(point.tolist())
        if not last or last[0].point != key:
            last[:] = [problem.solve(key, rows, noise)]
        return last[0]

    def left(point: Floats) -> Floats:
        return np.asarray(solved(point).left / size)

    def steep(point: Floats) -> Floats:
        one = solved(point)
        return np.asarray((one.base @ (one.base.T @ one.slopes) - one.slopes) / size)

    best: Solved | None = None
    size = math.sqrt(max(problem.solve(starts[0], rows, noise).squares, 1e-300))
    for start in starts:
        inside = np.clip(np.array(start), low, high)
        found = least_squares(
            left,
            inside,
            steep,
            bounds=(low, high),
            x_scale=scale,
            max_nfev=40,
            xtol=1e-7,
            ftol=1e-9,
            gtol=1e-10,
        )
        one = solved(found.x)
        if best is None or one.squares < best.squares:
            best = one
    assert best is not None
    return best
