"""What the trend remembers of a run: the pens' values and the flags, found again quickly at any scale."""

from collections.abc import Sequence

import numpy as np

from levelbench.gui.bench.live import OPERATOR
from levelbench.gui.bench.told import because, words_of
from levelbench.gui.trend.pens import CURVES
from levelbench.gui.trend.pyramid import Floats, Pyramid, Reals
from levelbench.gui.trend.strip import Flag
from levelbench.quantity import Units
from levelbench.rig.panel import ALARM_NAMES, ALARM_STATES, COLUMNS, WHO, goes_without_saying
from levelbench.rig.recording import Entry

FLAGS = 20_000  # that stay: two a minute for a week, some 6 MB; when there are more, the oldest quarter goes
_AT = {one.name: at for at, one in enumerate(COLUMNS)}
_TAKEN = [_AT[curve.column] for curve in CURVES]
_ALARMS = {
    *ALARM_NAMES,
    *("stop pressed", "stop latched", "switch open", "switch latched", "sensor failed", "sensor latched"),
    *("pump dry", "spilling", "reservoir spilling"),
}


def flag_of(entry: Entry, units: Units) -> Flag:
    """Give the mark for a line of the journal, with values in these units."""
    said = words_of(entry, units)
    if entry.kind == "action":
        by = "by hand" if entry.who in (OPERATOR, WHO[0]) else f"by {entry.who}"
        return Flag(entry.time, f"{said} {by}", alarm=False, came=True)
    if entry.kind == "alarm":
        came = ALARM_STATES[int(entry.value)] == "unacknowledged"
        return Flag(entry.time, f"{said}{because(entry)}", alarm=True, came=came)
    return Flag(entry.time, said, entry.what in _ALARMS, entry.value > 0)


class History:
    """Rows and flags over the time of one run; curves by their place in `CURVES`."""

    def __init__(self, units: Units) -> None:
        self._units = units
        self._rows = Pyramid(len(CURVES))
        self._flags: list[Flag] = []
        self._gone = 0  # older flags that were let go
        self._times = np.empty(FLAGS)
        self._raised = np.empty(FLAGS, np.bool_)  # whether the flag is an alarm that came

    @property
    def now(self) -> float:
        """Time of the last row [s]; 0 before the first."""
        return self._rows.now

    @property
    def rows(self) -> int:
        """How many rows were ever taken in."""
        return self._rows.rows

    @property
    def used(self) -> int:
        """The memory that the rows take [bytes]."""
        return self._rows.used

    def append(self, rows: Reals, journal: Sequence[Entry]) -> None:
        """Take in rows of a run, ndarray[n, columns] (SI), and its journal's new lines."""
        if len(rows):
            self._rows.append(rows[:, 0], rows[:, _TAKEN].T)
        for entry in journal:
            if goes_without_saying(entry.kind, entry.value, entry.who):
                continue
            if len(self._flags) == FLAGS:
                self._let_go(FLAGS // 4)
            flag = flag_of(entry, self._units)
            at = len(self._flags)
            self._times[at], self._raised[at] = flag.time, flag.alarm and flag.came
            self._flags.append(flag)

    def _let_go(self, count: int) -> None:
        """Let the oldest flags go; the others keep their numbers."""
        del self._flags[:count]
        for kept in (self._times, self._raised):
            kept[:-count] = kept[count:]
        self._gone += count

    def drawn(self, curve: int, start: float, end: float, points: int) -> tuple[Reals, Floats]:
        """Give times [s] and values (SI) to draw a curve between two times with about `points` points at most."""
        return self._rows.drawn(curve, start, end, points)

    def values(self, time: float) -> list[float]:
        """Give the value (SI) of every curve at a time [s]; nan where the run has not been."""
        known = self._rows.rows > 0 and time <= self.now
        return [self._rows.value(curve, time) if known else float("nan") for curve in range(len(CURVES))]

    def grain(self, time: float) -> float:
        """Give to how many seconds a value at this time is known; 0: to the row."""
        return self._rows.grain(time)

    def flags(self, start: float, end: float, room: float) -> list[Flag]:
        """Give the flags between two times, one in every `room` [s] at most: the first alarm of each, or the first."""
        times = self._times[: len(self._flags)]
        first, last = np.searchsorted(times, [start, end])
        if first == last:
            return []
        places = np.floor(times[first:last] / room).astype(np.int64)
        order = np.lexsort((~self._raised[first:last], places))  # stable: within a place alarms first, then by time
        _, at = np.unique(places[order], return_index=True)
        return [self._flags[first + order[one]] for one in at]

    def flag_near(self, time: float, reach: float) -> Flag | None:
        """Give the flag nearest to a time, within `reach` [s], alarms first."""
        first, last = np.searchsorted(self._times[: len(self._flags)], [time - reach, time + reach])
        near = self._flags[first:last]
        return min(near, key=lambda flag: (not flag.alarm, abs(flag.time - time))) if near else None

    def beside(self, time: float, *, back: bool) -> int:
        """Give the number of the next flag after a time, or with `back` of the one before it; there may be none."""
        times = self._times[: len(self._flags)]
        at = int(np.searchsorted(times, time - 1e-6)) - 1 if back else int(np.searchsorted(times, time + 1e-6))
        return self._gone + at

    def flag(self, number: int | None) -> Flag | None:
        """Give a flag by its number, in the order of time; None where there is none."""
        at = -1 if number is None else number - self._gone
        return self._flags[at] if 0 <= at < len(self._flags) else None

    def last_flag(self) -> Flag | None:
        """Give the latest flag."""
        return self._flags[-1] if self._flags else None
