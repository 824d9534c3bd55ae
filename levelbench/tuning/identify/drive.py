"""What a record's output does to a tank: exact between stamps, at any dead time, however unevenly it was sampled.

The output holds from each sample to the next, and before the first as it was then. Its answer is worked out once,
without dead time; a dead time only asks it at an earlier instant, and there it has a closed form too.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dtbtrs

from levelbench.quantity import Dimension
from levelbench.records.measured import GAP, Measured

Floats = NDArray[np.float64]
_MOVES = 0.2  # of the samples move the output: nobody's hand does that
_SPARSE = 1.5  # scans from one sample to the next: then some are not in the record
_JUMP = 8.0  # times as far as the output mostly moves from one sample to the next


class Held:
    """A quantity that holds between stamps: its integral, and its answer of first order with its derivative."""

    def __init__(self, time: Floats, values: Floats) -> None:
        """Take stamps [s], rising, and the values that hold from each."""
        self._time = time
        self._values = values
        self._steps = np.diff(time)
        self._whole = np.concatenate(([0.0], np.cumsum(values[:-1] * self._steps)))

    def _place(self, at: Floats) -> tuple[NDArray[np.intp], Floats]:
        """Give for each instant [s] the sample that holds then, and how long it has held [s]; below 0 before all."""
        place = np.maximum(np.searchsorted(self._time, at, side="right") - 1, 0)
        return place, at - self._time[place]

    def integral(self, at: Floats) -> tuple[Floats, Floats]:
        """Give the integral from the first stamp at instants [s], and what it grows by per second then."""
        place, since = self._place(at)
        held = self._values[place]
        return self._whole[place] + held * since, held

    def first_order(self, time_constant: float) -> "Lagged":
        """Give the answer of 1/(Ts + 1), at rest before the first stamp, with T [s]."""
        ratio = self._steps / time_constant
        stays = np.exp(-ratio)
        away = np.concatenate(([0.0], np.diff(self._values)))
        # what the answer lacks to the value held: e(i + 1) = stays·e(i) − (u(i + 1) − u(i))
        lacks = _recursion(stays, -away)
        slope = _recursion(stays, np.concatenate(([0.0], lacks[:-1] * ratio / time_constant * stays)))
        return Lagged(self._time, self._values, time_constant, lacks, slope)


class Lagged:
    """The answer of first order to something held: at any instant, with its derivatives."""

    def __init__(self, time: Floats, values: Floats, time_constant: float, lacks: Floats, slope: Floats) -> None:
        self._held = Held(time, values)
        self._values = values
        self._t = time_constant
        self._lacks = lacks
        self._slope = slope

    def at(self, instants: Floats) -> tuple[Floats, Floats, Floats]:
        """Give the answer at instants [s], what it grows by per second, and its derivative by the time constant."""
        place, since = self._held._place(instants)
        since = np.maximum(since, 0.0)  # at rest before the first stamp
        fades = np.exp(-since / self._t)
        lacks = self._lacks[place] * fades
        by_constant = (self._slope[place] + self._lacks[place] * since / self._t**2) * fades
        return self._values[place] + lacks, -lacks / self._t, by_constant


def without_draw(measured: Measured) -> tuple[Measured, Floats]:
    """Give a record of a volume as if nothing had been drawn, by its mass balance, and what was drawn until then [m3].

    A record without a draw, and one in another unit than that of a volume, stays as it is.
    """
    if measured.draw is None or measured.pv_dimension is not Dimension.VOLUME:
        return measured, np.zeros(len(measured))
    drawn = Held(measured.time, measured.draw).integral(measured.time)[0]
    return replace(measured, pv=measured.pv + drawn, draw=None), drawn


def between_scans(measured: Measured, scan: float, *, jumps: bool = False) -> Measured:
    """Give a record as its output went on between two samples, where a controller moved it every `scan` [s].

    Held from a sample to the next, such an output comes late by half the time between scans that no row shows, and a
    dead time is found short by that. It went nearly straight: a step of m scans holds the mean u + (m − 1)/(2 m)·Δu. A
    jump (a set point was changed, a fault came) is taken as seen at once, or as in the middle of its step with `jumps`.
    A record of every scan, and one that hands moved, stays as it is.
    """
    steps = np.diff(measured.time)
    ahead = np.diff(measured.output)
    if measured.step < _SPARSE * scan or not restless(measured.output):
        return measured
    share = np.where(steps > GAP * measured.step, 0.0, np.maximum(1.0 - scan / steps, 0.0) / 2)
    if not jumps:
        share[np.abs(ahead) > _JUMP * np.median(np.abs(ahead[ahead != 0.0]))] = 0.0
    output = measured.output.copy()
    output[:-1] += share * ahead
    words = "The controller moved its output between two samples: it is taken as straight, but for jumps."
    return replace(measured, output=output, notes=(*measured.notes, words))


def restless(output: Floats) -> bool:
    """Tell whether a controller moved an output[n] all the time, in answer to the PV and its noise."""
    return float(np.mean(np.diff(output) != 0.0)) > _MOVES


def _recursion(stays: Floats, adds: Floats) -> Floats:
    """Solve x(0) = adds(0), x(i + 1) = stays(i)·x(i) + adds(i + 1)."""
    bands = np.ones((2, len(adds)))
    bands[1, :-1] = -stays
    solved, _ = dtbtrs(bands, adds, uplo="L", diag="U")
    return np.asarray(solved)
