"""A whole record read at once, by the integral of the process: no slope is taken of anything noisy.

PV(t) = a + b·t + k'·∫u(τ − θ)dτ − c·∫PV dτ, linear in a, b, k', c for a delay θ, which is searched. c is what makes a
gravity drain take more when the level rises; without it a long record bends the delay.

Sources:
[1] The equation is the mass balance, integrated once; least squares after any textbook.
[2] Q. Bi, W.-J. Cai, E.-L. Lee and others, Control Engineering Practice 7 (1999) 71-77: processes with dead time from
    integrals of step records (quoted from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

Floats = NDArray[np.float64]
FORMULA = "least squares on the integral of the process, PV = a + b·t + k'·∫u(t − θ)dt − c·∫PV dt"
SOURCE = "Q. Bi, W.-J. Cai, E.-L. Lee and others, Control Engineering Practice 7 (1999) 71-77 (quoted from memory)"
_GRID = 40


@dataclass(frozen=True)
class Whole:
    """slope k' [PV/s per 1], delay θ [s], regulation c [1/s], and the PV by them [PV], no value before the delay."""

    slope: float
    delay: float
    regulation: float
    simulated: Floats


class _Record:
    def __init__(self, time: Floats, pv: Floats, output: Floats, longest: float) -> None:
        self.time, self.pv, self.output = time - time[0], pv, output
        self.total = np.concatenate(([0.0], np.cumsum(output[:-1] * np.diff(time))))
        mean = (pv[1:] + pv[:-1]) / 2 - np.mean(pv)
        self.away = np.concatenate(([0.0], np.cumsum(mean * np.diff(time))))
        self.used = self.time >= longest

    def driven(self, delay: float) -> Floats:
        """Give the integral of the output, so much later."""
        at = self.time - delay
        return np.asarray(np.interp(at, self.time, self.total) + np.minimum(at, 0.0) * self.output[0])

    def solve(self, delay: float, slope: float | None) -> tuple[Floats, Floats, float]:
        """Give coefficients, the PV by them and the squares that are left, for a delay and maybe a known slope."""
        driven = self.driven(delay)
        columns = [np.ones_like(self.time), self.time, self.away]
        known = slope * driven if slope is not None else np.zeros_like(driven)
        if slope is None:
            columns.append(driven)
        matrix = np.stack(columns, axis=1)
        scale = np.maximum(np.max(np.abs(matrix), axis=0), 1e-300)
        found = np.linalg.lstsq(matrix[self.used] / scale, (self.pv - known)[self.used])[0] / scale
        given = known + matrix @ found
        left = (self.pv - given)[self.used]
        return found, np.asarray(given), float(np.dot(left, left))


def whole(time: Floats, pv: Floats, output: Floats, longest: float) -> Whole:
    """Read a record over time [s]; the delay is searched up to `longest` [s], which is left out at the start."""
    record = _Record(time, pv, output, longest)
    grid = np.linspace(0.0, longest, _GRID + 1)
    near = float(grid[int(np.argmin([record.solve(one, None)[2] for one in grid.tolist()]))])
    step = longest / _GRID
    found = minimize_scalar(
        lambda one: record.solve(one, None)[2], bounds=(max(near - step, 0.0), near + step), method="bounded"
    )
    delay = float(found.x)
    coefficients, given, _ = record.solve(delay, None)
    return Whole(float(coefficients[3]), delay, -float(coefficients[2]), _from(given, record.used))


def laid_over(time: Floats, pv: Floats, output: Floats, slope: float, delay: float) -> Floats:
    """Give the PV by a known process, its delay in [s]; its rest and what else flows are fitted."""
    record = _Record(time, pv, output, delay)
    return _from(record.solve(delay, slope)[1], record.used)


def _from(given: Floats, used: NDArray[np.bool_]) -> Floats:
    return np.where(used, given, np.nan)
