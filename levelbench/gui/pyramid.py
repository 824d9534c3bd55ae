"""Rows of a long run kept so that any stretch of them is drawn at the same cost: a pyramid of minima and maxima.

Floor 0 holds every row; each higher floor holds, for every `FAN` bins of the floor below, their smallest and largest
value. A drawing of some 2000 points is taken from the lowest floor that needs no more. Nothing is lost to the eye: a
spike of one row is still in the minimum or the maximum of its bin. A day at 10 Hz with seven columns takes 45 MB.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FAN = 4
FLOORS = 10
FIRST_ROOM = 4096

Reals = NDArray[np.float64]
Floats = NDArray[np.float32]


@dataclass
class _Floor:
    """Growing minima and maxima, one line a column."""

    low: Floats
    high: Floats
    bins: int = 0

    def put(self, low: Floats, high: Floats) -> None:
        """Append bins [columns, n]."""
        self.low = _grown(self.low, self.bins, low.shape[1])
        self.high = _grown(self.high, self.bins, high.shape[1])
        self.low[:, self.bins : self.bins + low.shape[1]] = low
        self.high[:, self.bins : self.bins + high.shape[1]] = high
        self.bins += low.shape[1]


def _grown(old: Floats, used: int, more: int) -> Floats:
    """Give an array with room for `more` values after those in use; the room doubles, so that growth stays cheap."""
    if used + more <= old.shape[1]:
        return old
    new = np.empty((old.shape[0], max(2 * old.shape[1], used + more)), np.float32)
    new[:, :used] = old[:, :used]
    return new


@dataclass
class Pyramid:
    """Rows of `columns` values over rising times, ready to be drawn at any scale."""

    columns: int
    rows: int = 0
    _times: Reals = field(init=False)
    _values: Floats = field(init=False)
    _floors: list[_Floor] = field(init=False)

    def __post_init__(self) -> None:
        self._times = np.empty(FIRST_ROOM)
        self._values = np.empty((self.columns, FIRST_ROOM), np.float32)
        rooms = [(self.columns, FIRST_ROOM // FAN**floor + 1) for floor in range(1, FLOORS)]
        self._floors = [_Floor(np.empty(room, np.float32), np.empty(room, np.float32)) for room in rooms]

    @property
    def times(self) -> Reals:
        """Times of all rows: ndarray[rows] [s]."""
        return self._times[: self.rows]

    def append(self, times: Reals, values: NDArray[np.floating]) -> None:
        """Append rows: times [s] ndarray[n], later than all before, and values ndarray[columns, n]."""
        count = times.size
        if self.rows + count > self._times.size:
            larger = np.empty(max(2 * self._times.size, self.rows + count))
            larger[: self.rows] = self._times[: self.rows]
            self._times = larger
        self._values = _grown(self._values, self.rows, count)
        self._times[self.rows : self.rows + count] = times
        self._values[:, self.rows : self.rows + count] = values
        self.rows += count
        low, high, full = self._values, self._values, self.rows
        for floor in self._floors:
            begin, end = floor.bins * FAN, full // FAN * FAN
            if begin < end:
                shape = (self.columns, -1, FAN)
                floor.put(low[:, begin:end].reshape(shape).min(2), high[:, begin:end].reshape(shape).max(2))
            low, high, full = floor.low, floor.high, floor.bins

    def value(self, column: int, time: float) -> float:
        """Give the value of the last row at or before a time [s]; nan before the first."""
        row = int(np.searchsorted(self.times, time, side="right")) - 1
        return float(self._values[column, row]) if row >= 0 else float("nan")

    def extent(self, column: int, start: float, end: float) -> tuple[float, float] | None:
        """Give the smallest and largest value between two times [s], or None when no row lies between them."""
        _, values = self.drawn(column, start, end, 64)
        return (float(values.min()), float(values.max())) if values.size else None

    def drawn(self, column: int, start: float, end: float, points: int) -> tuple[Reals, Floats]:
        """Give times [s] and values to draw a column between two times with no more than about `points` points.

        One row before the start and one after the end are included, so that the line runs to the edges.
        """
        first = max(int(np.searchsorted(self.times, start)) - 1, 0)
        last = min(int(np.searchsorted(self.times, end, side="right")) + 1, self.rows)
        size = 1
        floor = 0
        while (last - first) // size * (2 if floor else 1) > points and floor < FLOORS - 1:
            floor += 1
            size *= FAN
        if floor == 0 or last - first < 2 * FAN:
            return self._times[first:last], self._values[column, first:last]
        return self._envelope(column, first // size, last, floor)

    def _envelope(self, column: int, begin: int, last: int, floor: int) -> tuple[Reals, Floats]:
        """Give the minima and maxima of a floor from bin `begin` on, and the rows up to `last` that fill no bin yet."""
        size = FAN**floor
        end = min(-(-last // size), self._floors[floor - 1].bins)
        level = self._floors[floor - 1]
        tail_from = end * size
        tail = last - tail_from
        count = 2 * (end - begin) + (2 if tail > 0 else 0)
        times, values = np.empty(count), np.empty(count, np.float32)
        starts = np.arange(begin, end) * size
        paired = slice(0, 2 * (end - begin))
        times[paired][0::2], times[paired][1::2] = self._times[starts], self._times[starts + size // 2]
        values[paired][0::2], values[paired][1::2] = level.low[column, begin:end], level.high[column, begin:end]
        if tail > 0:
            rest = self._values[column, tail_from:last]
            times[-2], times[-1] = self._times[tail_from], self._times[last - 1]
            values[-2], values[-1] = rest.min(), rest.max()
        return times, values
