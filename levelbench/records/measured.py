"""A record of time, PV and output, wherever it comes from: a recording of the bench, or a file from a real rig.

What the fits of `levelbench.tuning` work on. Plain SI floats where the unit is known; a PV in a unit of its own ("V",
"%") stays in it. Between two samples the output holds, as a controller's does; the PV goes straight.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Units
from levelbench.records.errors import RecordError
from levelbench.rig.recording import Recording

Floats = NDArray[np.float64]
GAP = 5.0  # a step this many times the usual one is a gap
FEWEST = 8  # samples of a record that anything can be said about
MOST = 5_000_000  # samples that a record may be filled up to


@dataclass(frozen=True, eq=False)
class Measured:
    """One record, all columns equally long [n], without holes: a row that lacked a value is not there.

    `time` [s] rises strictly; `pv` is in SI when `pv_dimension` says of what, else in `pv_unit`; `pv_unit` is also the
    unit to show it in; `output` is a fraction; `set_point` is as the PV, `draw` is [m3/s]. `notes` say what was done to
    the data on the way here, in words for a person.
    """

    time: Floats
    pv: Floats
    output: Floats
    set_point: Floats | None
    draw: Floats | None
    pv_unit: str
    pv_dimension: Dimension | None
    name: str
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.time)

    @property
    def step(self) -> float:
        """The usual time from one sample to the next [s], their median."""
        return float(np.median(np.diff(self.time)))

    @property
    def lasts(self) -> float:
        """The time from the first sample to the last [s]."""
        return float(self.time[-1] - self.time[0])

    def gaps(self, longer: float | None = None) -> Floats:
        """Give begin and end of every gap [gaps, 2] [s]: a step longer than `longer` [s], else 5 usual ones."""
        steps = np.diff(self.time)
        at = np.flatnonzero(steps > (GAP * self.step if longer is None else longer))
        return np.stack((self.time[at], self.time[at + 1]), axis=1)

    def part(self, begin: float, end: float) -> Measured:
        """Give the samples from `begin` to before `end` [s of its own time], all columns alike."""
        first, last = np.searchsorted(self.time, (begin, end))
        cut = slice(int(first), int(last))
        set_point = None if self.set_point is None else self.set_point[cut]
        draw = None if self.draw is None else self.draw[cut]
        return replace(
            self, time=self.time[cut], pv=self.pv[cut], output=self.output[cut], set_point=set_point, draw=draw
        )

    def regular(self, step: float | None = None) -> Regular:
        """Give the record in equal steps [s], the usual one where none is said; what lies in a gap is marked.

        Output, set point and draw are the mean of what held over each step, so none of it is lost or made up; the PV
        goes straight between samples, and is the mean around each instant where the step is that of two samples or
        more. Raises RecordError for a step that would make too many samples of it, or too few.
        """
        step = self.step if step is None else step
        count = int(np.floor(self.lasts / step * (1 + 1e-12))) + 1 if step > 0 else 0
        if not FEWEST <= count <= MOST:
            raise RecordError(
                self.name, f"{count} equal steps can't be worked with.", f"Take a step that gives {FEWEST} to {MOST}."
            )
        time = self.time[0] + step * np.arange(count)
        whole = np.ones(count, dtype=np.bool_)
        for begin, end in self.gaps(max(GAP * self.step, 1.5 * step)):
            whole[np.searchsorted(time, begin, side="right") : np.searchsorted(time, end)] = False
        wide = step >= 2 * self.step
        pv = _mean_around(self.time, self.pv, time, step) if wide else np.interp(time, self.time, self.pv)
        set_point = None if self.set_point is None else _mean_held(self.time, self.set_point, time, step)
        draw = None if self.draw is None else _mean_held(self.time, self.draw, time, step)
        output = _mean_held(self.time, self.output, time, step)
        return Regular(
            replace(self, time=time, pv=pv, output=output, set_point=set_point, draw=draw), float(step), whole
        )


@dataclass(frozen=True, eq=False)
class Regular:
    """A record in equal steps [s]; `whole` [n] is False for a sample that lies in a gap and was filled in."""

    measured: Measured
    step: float
    whole: NDArray[np.bool_]


def from_recording(recording: Recording, units: Units, name: str = "", *, with_draw: bool = False) -> Measured:
    """Give what a person could have measured of a run: PV, output and set point; the drain's flow where it is asked.

    Raises RecordError for a run too short to say anything about.
    """
    if len(recording) < FEWEST:
        raise RecordError(
            name or "the run", f"It has {len(recording)} samples.", f"{FEWEST} at least are needed: run it for longer."
        )
    return Measured(
        recording["time"].copy(),
        recording["pv"].copy(),
        recording["output"].copy(),
        recording["set_point"].copy(),
        recording["drain_flow"].copy() if with_draw else None,
        units.volume,
        Dimension.VOLUME,
        name or recording.rig.project.title,
    )


def _mean_held(time: Floats, held: Floats, at: Floats, step: float) -> Floats:
    """Give the mean over [at, at + step) of what holds from each sample to the next."""
    total = np.concatenate(([0.0], np.cumsum(held[:-1] * np.diff(time))))
    ends = np.append(at, at[-1] + step)
    done = np.interp(ends, time, total)
    beyond = np.maximum(ends - time[-1], 0.0) * held[-1]
    return np.asarray(np.diff(done + beyond) / step)


def _mean_around(time: Floats, values: Floats, at: Floats, step: float) -> Floats:
    """Give the mean over `step` around each instant of what goes straight between samples; at the ends over less."""
    half = 0.5 * np.diff(time) * (values[1:] + values[:-1])
    total = np.concatenate(([0.0], np.cumsum(half)))
    low, high = np.maximum(at - step / 2, time[0]), np.minimum(at + step / 2, time[-1])
    return np.asarray((_integral(time, values, total, high) - _integral(time, values, total, low)) / (high - low))


def _integral(time: Floats, values: Floats, total: Floats, until: Floats) -> Floats:
    """Give the integral from the first sample of what goes straight between samples."""
    at = np.clip(np.searchsorted(time, until, side="right") - 1, 0, len(time) - 2)
    since = until - time[at]
    slope = (values[at + 1] - values[at]) / (time[at + 1] - time[at])
    return np.asarray(total[at] + since * (values[at] + 0.5 * slope * since))
