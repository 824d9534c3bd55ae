"""What a run leaves behind: columns over time, and the journal of who did what and what tripped."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from levelbench.rig.panel import ALARM_NAMES, BITS, COLUMNS, Column

if TYPE_CHECKING:
    from levelbench.rig.assemble import Rig

_AT = {column.name: at for at, column in enumerate(COLUMNS)}


@dataclass(frozen=True)
class Action:
    """Something a person does: at a time [s] sets the panel entry `what` to a value (SI; 1 for a press)."""

    time: float
    what: str
    value: float = 1.0
    who: str = "operator"


@dataclass(frozen=True)
class Entry:
    """One line of the journal: an action of a person; an event, a condition that came, 1, or went, 0; or an alarm.

    An alarm's line has the code of its new state, its place in `ALARM_STATES`. Who did it is the person's name, or
    "process", "clock" (a shelf's time is over), "design" (suppression).
    """

    time: float  # [s]
    kind: str  # "action", "event" or "alarm"
    what: str
    value: float
    who: str = "process"


@dataclass(frozen=True)
class Recording:
    """A finished run: `recording["pv"]` is a numpy array [m3] over `recording["time"]` [s]."""

    rig: "Rig"
    seed: int
    rows: NDArray[np.float64]  # [n, columns]
    journal: tuple[Entry, ...]

    def __repr__(self) -> str:
        lasts = float(self["time"][-1]) if len(self) else 0.0
        return f"<Recording of “{self.rig.project.title}”: {len(self)} rows to {lasts:.6g} s, seed {self.seed}>"

    @property
    def columns(self) -> tuple[Column, ...]:
        """Name, unit and dimension of each column."""
        return COLUMNS

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, name: str) -> NDArray[np.float64]:
        """Give one column by its name; a KeyError lists the names."""
        if name not in _AT:
            raise KeyError(f"no column {name!r}; there are {', '.join(_AT)}")
        return self.rows[:, _AT[name]]

    @cached_property
    def _bits(self) -> NDArray[np.int64]:
        return self["conditions"].astype(np.int64)

    def condition(self, name: str) -> NDArray[np.bool_]:
        """Give for each row whether a condition held; a KeyError lists the names."""
        if name not in BITS:
            raise KeyError(f"no condition {name!r}; there are {', '.join(BITS)}")
        return (self._bits >> BITS[name]) & 1 == 1

    def alarm(self, name: str) -> NDArray[np.int64]:
        """Give for each row the code of an alarm's state, its place in `ALARM_STATES`; a KeyError lists the names."""
        if name not in ALARM_NAMES:
            raise KeyError(f"no alarm {name!r}; there are {', '.join(ALARM_NAMES)}")
        return (self["alarms"].astype(np.int64) >> (4 * ALARM_NAMES.index(name))) & 15

    @property
    def liquid(self) -> NDArray[np.float64]:
        """All the liquid that was there at the start [m3]; the same in every row, to rounding."""
        return self["volume"] + self["reservoir"] + self["spilled"] + self["used"] - self["added"]
