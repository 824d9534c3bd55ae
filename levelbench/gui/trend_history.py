"""What the trend remembers of a run: the curves' values and the flags, found again quickly at any scale."""

from collections.abc import Sequence

import numpy as np

from levelbench.gui.pyramid import Floats, Pyramid, Reals
from levelbench.gui.trend_axes import CURVES
from levelbench.gui.trend_panes import Flag
from levelbench.rig.panel import BAND_NAMES, COLUMNS
from levelbench.rig.recording import Entry

_AT = {one.name: at for at, one in enumerate(COLUMNS)}
_TAKEN = [_AT[curve.column] for curve in CURVES]
_ALARMS = {
    *BAND_NAMES,
    *("stop pressed", "stop latched", "switch open", "switch latched", "sensor failed", "sensor latched"),
    *("pump dry", "spilling", "reservoir spilling"),
}


def flag_of(entry: Entry) -> Flag:
    """Give the mark for a line of the journal."""
    if entry.kind == "action":
        return Flag(entry.time, f"{entry.what} by hand", alarm=False, came=True)
    came = entry.value > 0
    return Flag(entry.time, f"{entry.what} {'came' if came else 'went'}", entry.what in _ALARMS, came)


class History:
    """Rows and flags over the time of one run; curves by their place in `CURVES`."""

    def __init__(self) -> None:
        self._rows = Pyramid(len(CURVES))
        self._flags: list[Flag] = []
        self._flag_times: list[float] = []

    @property
    def now(self) -> float:
        """Time of the last row [s]; 0 before the first."""
        return float(self._rows.times[-1]) if self._rows.rows else 0.0

    def append(self, rows: Reals, journal: Sequence[Entry]) -> None:
        """Take in rows of a run, ndarray[n, columns] (SI), and its journal's new lines."""
        if len(rows):
            self._rows.append(rows[:, 0], rows[:, _TAKEN].T)
        flags = [flag_of(entry) for entry in journal]
        self._flags += flags
        self._flag_times += [flag.time for flag in flags]

    def drawn(self, curve: int, start: float, end: float, points: int) -> tuple[Reals, Floats]:
        """Give times [s] and values (SI) to draw a curve between two times with about `points` points at most."""
        return self._rows.drawn(curve, start, end, points)

    def values(self, time: float) -> list[float]:
        """Give the value (SI) of every curve at a time [s]; nan where the run has not been."""
        known = self._rows.rows > 0 and self._rows.times[0] <= time <= self.now
        return [self._rows.value(curve, time) if known else float("nan") for curve in range(len(CURVES))]

    def flags(self, start: float, end: float, room: float) -> list[Flag]:
        """Give the flags between two times, one in every `room` [s] at most: the first alarm of each, or the first."""
        first, last = np.searchsorted(self._flag_times, [start, end])
        shown: dict[int, Flag] = {}
        for flag in self._flags[first:last]:
            place = int(flag.time / room)
            if place not in shown or (flag.alarm and flag.came and not shown[place].alarm):
                shown[place] = flag
        return list(shown.values())

    def flag_near(self, time: float, reach: float) -> Flag | None:
        """Give the flag nearest to a time, within `reach` [s], alarms first."""
        first, last = np.searchsorted(self._flag_times, [time - reach, time + reach])
        near = self._flags[first:last]
        return min(near, key=lambda flag: (not flag.alarm, abs(flag.time - time))) if near else None

    def last_flag(self) -> Flag | None:
        """Give the latest flag."""
        return self._flags[-1] if self._flags else None
