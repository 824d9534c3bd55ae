"""A record made ready for a fit: which samples count, where it is broken, and stretches to search in."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import written
from levelbench.records.measured import Measured
from levelbench.tuning.identify.errors import FitError

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]

_STUCK = 5  # equal readings in a row at an end of the range: the sensor had no more to say
_EVEN = 0.05  # steps within this share of the usual one count as equal
_FEW = 12  # blocks that a search in a part of a long record is spread over


@dataclass(frozen=True, eq=False)
class Rows:
    """Samples that a fit looks at: `at` [m] are their places in the record, in rising order.

    `since` [m] counts the samples since the record was last broken, so that 0 begins a run. `block` samples of a run
    are looked at as one, their mean.
    """

    at: Places
    since: Places
    block: int = 1

    def __len__(self) -> int:
        return len(self.firsts)

    @cached_property
    def firsts(self) -> Places:
        """Where each whole block begins, among the samples, one for each."""
        begins = np.flatnonzero(self.since % self.block == 0)
        ends = begins + self.block - 1
        whole = ends < len(self.at)
        begins, ends = begins[whole], ends[whole]
        return np.asarray(begins[self.since[ends] == self.since[begins] + self.block - 1])

    @property
    def run(self) -> Places:
        """Count the blocks since the record was last broken, for each."""
        return self.since[self.firsts] // self.block

    def means(self, columns: Floats) -> Floats:
        """Give the mean of each block, of columns [m, k] or of one [m]."""
        if self.block == 1:
            return columns
        if not len(self.firsts):
            return columns[:0]
        gathered = columns[self.firsts].copy()
        for after in range(1, self.block):
            gathered += columns[self.firsts + after]
        return np.asarray(gathered / self.block)

    def in_blocks(self, block: int) -> "Rows":
        """Look at so many samples as one."""
        return Rows(self.at, self.since, max(block, 1))


@dataclass(frozen=True, eq=False)
class Ready:
    """A record that can be fitted: time from its first sample [s], all columns[n].

    `used`[n] is False for what is left out; `part`[n] numbers the parts between gaps over which nothing is known;
    `even` says that the steps are equal, so that noise may be described from sample to sample. `notes` say what was
    done, for a person.
    """

    time: Floats
    pv: Floats
    output: Floats
    draw: Floats | None
    used: Flags
    part: Places
    begins: Places  # [parts] the first sample of each part
    even: bool
    step: float
    notes: tuple[str, ...]

    @property
    def lasts(self) -> float:
        """From the first sample to the last [s]."""
        return float(self.time[-1])

    def rows(self, chosen: Flags | None = None) -> Rows:
        """Give the samples that count, all or those chosen[n]."""
        flags = self.used if chosen is None else self.used & chosen
        at = np.flatnonzero(flags)
        broken = np.ones(len(at), dtype=np.bool_)
        if len(at) > 1:
            broken[1:] = self.part[at[1:]] != self.part[at[:-1]]
            if self.even:  # a step of another length, and a sample left out, break what goes from sample to sample
                steps = self.time[at[1:]] - self.time[at[:-1]]
                broken[1:] |= np.abs(steps - self.step) > _EVEN * self.step
        first = np.maximum.accumulate(np.where(broken, np.arange(len(at)), 0))
        return Rows(at, np.arange(len(at)) - first)

    def lively(self, most: int) -> Rows:
        """Give at most so many samples in whole blocks: those in which the output moved most, and the first."""
        n = len(self.time)
        if n <= most:
            return self.rows()
        length = most // _FEW
        moved = np.abs(np.diff(self.output, prepend=self.output[0]))
        blocks = n // length
        sums = moved[: blocks * length].reshape(blocks, length).sum(axis=1)
        best = np.argsort(sums, kind="stable")[::-1][: _FEW - 1]
        chosen = np.zeros(n, dtype=np.bool_)
        for block in {0, *best.tolist()}:
            chosen[block * length : (block + 1) * length] = True
        return self.rows(chosen)

    def without_starts(self, dead_time: float) -> "Ready":
        """Leave out what follows a gap within a dead time [s]: it answers to an output that nobody recorded."""
        if len(self.begins) == 1:
            return self
        since = self.time - self.time[self.begins][self.part]
        unknown = (since < dead_time) & (self.part > 0)
        return Ready(
            self.time, self.pv, self.output, self.draw, self.used & ~unknown, self.part, self.begins, self.even,
            self.step, self.notes,
        )  # fmt: skip


def must_move(measured: Measured) -> None:
    """Refuse a record in which output or PV stays the same. Raises FitError."""
    if np.ptp(measured.output) == 0.0:
        raise FitError(
            "The output stays the same through the whole record, so nothing can be told of what it does.",
            measured.name,
            "Take a record in which it moves: a step by hand of 10 % and back will do; from nothing to its largest "
            "and back tells most.",
        )
    if np.ptp(measured.pv) == 0.0:
        raise FitError(
            "The PV stays the same through the whole record.",
            measured.name,
            "Look whether the right column was taken, and whether the sensor was alive.",
        )


def make_ready(measured: Measured) -> Ready:
    """Look a record through: samples at which the sensor had no more to say, gaps, even or uneven steps."""
    time = measured.time - measured.time[0]
    used, notes = _not_stuck(measured.pv)
    begins = _parts(measured)
    part = np.zeros(len(time), dtype=np.intp)
    part[begins[1:]] = 1
    part = np.cumsum(part)
    words = list(notes)
    if len(begins) > 1:
        count = len(begins) - 1
        words.append(
            f"{count} gap{'s' if count > 1 else ''} over which the output changed unseen: each part of the record gets "
            "a start of its own."
        )
    steps = np.diff(time)
    even = bool(np.mean(np.abs(steps - measured.step) <= _EVEN * measured.step) > 0.9)
    draw = None if measured.draw is None or np.ptp(measured.draw) == 0.0 else measured.draw
    return Ready(time, measured.pv, measured.output, draw, used, part, begins, even, measured.step, tuple(words))


def _not_stuck(pv: Floats) -> tuple[Flags, tuple[str, ...]]:
    """Leave out runs of equal readings at an end of the range, unless the record is coarse everywhere."""
    used = np.ones(len(pv), dtype=np.bool_)
    starts = np.flatnonzero(np.concatenate(([True], pv[1:] != pv[:-1])))
    lengths = np.diff(np.append(starts, len(pv)))
    values = pv[starts]
    low, high = float(pv.min()), float(pv.max())
    inside = lengths[(values != low) & (values != high)]
    usual = int(inside.max()) if len(inside) else 0
    if low == high:
        return used, ()
    ends = ((values == low) | (values == high)) & (lengths >= max(_STUCK, 2 * usual + 1))
    for start, length in zip(starts[ends].tolist(), lengths[ends].tolist(), strict=True):
        used[start : start + length] = False
    left_out = int((~used).sum())
    if not left_out or used.sum() < 8:
        return np.ones(len(pv), dtype=np.bool_), ()
    share = written(100 * left_out / len(pv), ".3g")
    return used, (
        f"{left_out} samples ({share} %) stand still at an end of the range, as a sensor at its limit: left out.",
    )


def _parts(measured: Measured) -> Places:
    """Give the first sample of each part; a gap over which the output stayed the same breaks nothing."""
    steps = np.diff(measured.time)
    long = steps > 5.0 * measured.step
    changed = measured.output[1:] != measured.output[:-1]
    return np.concatenate(([0], np.flatnonzero(long & changed) + 1)).astype(np.intp)
