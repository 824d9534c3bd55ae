"""Rows of a long run kept so that any stretch of them is drawn at the same cost: a pyramid of minima and maxima.

Floor 0 holds every row; each higher floor holds, for every `FAN` bins of the floor below, their smallest and largest
value. A drawing of some 2000 points is taken from the lowest floor that needs no more. Nothing is lost to the eye: a
spike of one row is still in the minimum or the maximum of its bin.

Memory is bounded: each floor keeps its newest blocks only. At 10 Hz every row of the last 25 h stays, then bins of
0.4 s up to 43 h, then bins of 1.6 s up to 7 days, then coarser ones. A week of nine columns takes 145 MB, of which
116 MB are touched.
"""

from bisect import bisect_right
from collections import deque
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FAN = 4
FLOORS = 10
BLOCK = 65_536  # bins in one piece of memory; a multiple of FAN
KEPT_ROWS, KEPT_BINS = 14, 6  # blocks that stay on floor 0, and on each higher one

Reals = NDArray[np.float64]
Floats = NDArray[np.float32]


@dataclass
class _Floor:
    """Bins in blocks: the time of each bin's first row, and its minima and maxima [columns, bins]; the oldest go."""

    columns: int
    kept: int
    paired: bool  # False on floor 0, where minimum and maximum are the row itself
    end: int = 0  # bins ever put
    first: int = 0  # the oldest bin that is still here
    _times: deque[Reals] = field(default_factory=deque)
    _lows: deque[Floats] = field(default_factory=deque)
    _highs: deque[Floats] = field(default_factory=deque)
    _starts: list[float] = field(default_factory=list)  # time of the first bin of each block

    def put(self, times: Reals, low: Floats, high: Floats) -> None:
        """Append bins: times [n], minima and maxima [columns, n]."""
        done = 0
        while done < times.size:
            at = self.end % BLOCK
            if at == 0:
                self._begin_block(float(times[done]))
            count = min(times.size - done, BLOCK - at)
            here, taken = slice(at, at + count), slice(done, done + count)
            self._times[-1][here] = times[taken]
            self._lows[-1][:, here] = low[:, taken]
            if self.paired:
                self._highs[-1][:, here] = high[:, taken]
            self.end += count
            done += count

    def _begin_block(self, time: float) -> None:
        if len(self._times) == self.kept:
            for blocks in (self._times, self._lows, self._highs):
                blocks.popleft()
            del self._starts[0]
            self.first += BLOCK
        self._times.append(np.empty(BLOCK))
        self._lows.append(np.empty((self.columns, BLOCK), np.float32))
        self._highs.append(np.empty((self.columns, BLOCK), np.float32) if self.paired else self._lows[-1])
        self._starts.append(time)

    @property
    def bytes(self) -> int:
        """The memory taken."""
        each = (self._times, self._lows, self._highs) if self.paired else (self._times, self._lows)
        return sum(block.nbytes for blocks in each for block in blocks)

    @property
    def used(self) -> int:
        """The memory that holds bins; the rest of a block is not touched before its bins come."""
        return (self.end - self.first) * (8 + (2 if self.paired else 1) * 4 * self.columns)

    def after(self, time: float) -> int:
        """Give the first bin that begins later than a time."""
        block = bisect_right(self._starts, time) - 1
        if block < 0:
            return self.first
        used = min(self.end - self.first - block * BLOCK, BLOCK)
        return self.first + block * BLOCK + int(np.searchsorted(self._times[block][:used], time, side="right"))

    def covers(self, time: float) -> bool:
        """Tell whether the bins from this time on are still here."""
        return self.first == 0 or self._starts[0] <= time

    def taken(self, begin: int, end: int, columns: slice) -> tuple[Reals, Floats, Floats]:
        """Give times, minima and maxima of the bins from `begin` to before `end`."""
        times: list[Reals] = []
        lows: list[Floats] = []
        highs: list[Floats] = []
        while begin < end:
            block, at = divmod(begin - self.first, BLOCK)
            count = min(end - begin, BLOCK - at)
            times.append(self._times[block][at : at + count])
            lows.append(self._lows[block][columns, at : at + count])
            highs.append(self._highs[block][columns, at : at + count])
            begin += count
        if len(times) == 1:
            return times[0], lows[0], highs[0]
        if not times:
            none = np.empty((len(range(*columns.indices(self.columns))), 0), np.float32)
            return np.empty(0), none, none
        return np.concatenate(times), np.concatenate(lows, axis=1), np.concatenate(highs, axis=1)


@dataclass
class Pyramid:
    """Rows of `columns` values over rising times, ready to be drawn at any scale."""

    columns: int
    _floors: list[_Floor] = field(init=False)

    def __post_init__(self) -> None:
        rows = _Floor(self.columns, KEPT_ROWS, paired=False)
        self._floors = [rows, *(_Floor(self.columns, KEPT_BINS, paired=True) for _ in range(1, FLOORS))]

    @property
    def rows(self) -> int:
        """How many rows were ever put in."""
        return self._floors[0].end

    @property
    def now(self) -> float:
        """Time of the last row [s]; 0 before the first."""
        rows = self._floors[0]
        return float(rows.taken(rows.end - 1, rows.end, slice(0, 1))[0][0]) if rows.end else 0.0

    @property
    def bytes(self) -> int:
        """The memory taken."""
        return sum(floor.bytes for floor in self._floors)

    @property
    def used(self) -> int:
        """The part of it that holds something, and so takes room in the machine."""
        return sum(floor.used for floor in self._floors)

    def append(self, times: Reals, values: NDArray[np.floating]) -> None:
        """Append rows: times [s] ndarray[n], later than all before, and values ndarray[columns, n]."""
        for begin in range(0, times.size, BLOCK):  # a block at a time, so that nothing goes before it is binned
            part = slice(begin, begin + BLOCK)
            rows = values[:, part].astype(np.float32)
            self._floors[0].put(times[part], rows, rows)
            for below, floor in zip(self._floors, self._floors[1:], strict=False):
                self._raise(below, floor)

    @staticmethod
    def _raise(below: _Floor, floor: _Floor) -> None:
        """Put the full bins of a floor together from those below."""
        begin, end = floor.end * FAN, below.end // FAN * FAN
        if begin == end:
            return
        times, low, high = below.taken(begin, end, slice(None))
        shape = (floor.columns, -1, FAN)
        floor.put(times[::FAN], low.reshape(shape).min(2), high.reshape(shape).max(2))

    def value(self, column: int, time: float) -> float:
        """Give the value of the last row at or before a time [s]; nan before the first.

        Where the rows themselves are gone (see `grain`) it is the middle of the lowest and highest of their bin.
        """
        floor = self._finest(time)
        at = floor.after(time) - 1
        if at < floor.first:
            return float("nan")
        _, low, high = floor.taken(at, at + 1, slice(column, column + 1))
        return float((low[0, 0] + high[0, 0]) / 2) if floor.paired else float(low[0, 0])

    def grain(self, time: float) -> float:
        """Give the length [s] of the bins that are left at a time; 0 where every row is still there."""
        floor = self._finest(time)
        if not floor.paired:
            return 0.0
        times, _, _ = floor.taken(floor.first, floor.first + 2, slice(0, 1))
        return float(times[1] - times[0])

    def _finest(self, time: float) -> _Floor:
        return next((floor for floor in self._floors if floor.covers(time)), self._floors[-1])

    def drawn(self, column: int, start: float, end: float, points: int) -> tuple[Reals, Floats]:
        """Give times [s] and values to draw a column between two times with no more than about `points` points.

        One bin before the start and one after the end are included, so that the line runs to the edges.
        """
        begin = last = number = 0
        for at, floor in enumerate(self._floors):
            number = at
            begin = max(floor.after(start) - 1, floor.first)
            last = min(floor.after(end) + 1, floor.end)
            if floor.covers(start) and (last - begin) * (2 if floor.paired else 1) <= points:
                break
        if number == 0:
            times, low, _ = self._floors[0].taken(begin, last, slice(column, column + 1))
            return times, low[0]
        return self._envelope(column, number, (begin, last), end)

    def _envelope(self, column: int, number: int, bins: tuple[int, int], end: float) -> tuple[Reals, Floats]:
        """Give the minima and maxima of bins of a floor, and of the rows that fill no bin of it yet."""
        floor, rows, only = self._floors[number], self._floors[0], slice(column, column + 1)
        starts, low, high = floor.taken(*bins, only)
        tail_from = floor.end * FAN**number
        tail_to = min(rows.after(end) + 1, rows.end) if bins[1] == floor.end else tail_from
        tail = 2 if tail_to > tail_from else 0
        times, values = np.empty(2 * starts.size + tail), np.empty(2 * starts.size + tail, np.float32)
        paired = slice(0, 2 * starts.size)
        half = np.diff(starts, append=2 * starts[-1:] - starts[-2:-1]) / 2 if starts.size > 1 else 0.0
        times[paired][0::2], times[paired][1::2] = starts, starts + half
        values[paired][0::2], values[paired][1::2] = low[0], high[0]
        if tail:
            rest_times, rest, _ = rows.taken(tail_from, tail_to, only)
            times[-2], times[-1] = rest_times[0], rest_times[-1]
            values[-2], values[-1] = rest.min(), rest.max()
        return times, values
