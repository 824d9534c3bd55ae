"""A recording as it stands in a file: columns in the person's units, conditions as 0 and 1, the journal in words.

The state of an alarm is a number from 0 to 8, its place among the letters A to I of ANSI/ISA-18.2-2016.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Units, in_unit
from levelbench.rig.panel import ALARM_NAMES, ALARM_STATES, CONDITION_NAMES, ENTRIES
from levelbench.rig.recording import Entry, Recording

YES_NO = "0/1"  # what stands in the units row over a condition
STATE = "state"  # and over the state of an alarm


@dataclass(frozen=True)
class Line:
    """One line of the journal: time [s], its kind, what, its value in the unit beside it, and who did it.

    The kind is "action", "event" or "alarm"; of an alarm the value is the number of its new state, the unit its name.
    """

    time: float
    kind: str
    what: str
    value: float
    unit: str
    who: str


@dataclass(frozen=True)
class Table:
    """Columns over time: `table["pv"]` is a numpy array in the unit `table.unit("pv")`, all columns equally long.

    Conditions follow the measured columns; they have the unit "0/1". The states of the alarms come last.
    """

    names: tuple[str, ...]
    units: tuple[str, ...]
    columns: tuple[NDArray[np.float64], ...]
    journal: tuple[Line, ...] = ()

    def __len__(self) -> int:
        return len(self.columns[0]) if self.columns else 0

    def _at(self, name: str) -> int:
        if name not in self.names:
            raise KeyError(f"no column {name!r}; there are {', '.join(self.names)}")
        return self.names.index(name)

    def __getitem__(self, name: str) -> NDArray[np.float64]:
        """Give one column by its name; a KeyError lists the names."""
        return self.columns[self._at(name)]

    def unit(self, name: str) -> str:
        """Give the unit of one column; a KeyError lists the names."""
        return self.units[self._at(name)]


def converted(values: NDArray[np.float64], dimension: Dimension, unit: str) -> NDArray[np.float64]:
    """Convert SI values to a unit: every unit of a recorded dimension is a plain multiple of the SI unit."""
    one = in_unit(1.0, dimension, unit)
    return values if one == 1.0 else values * one


def table_of(recording: Recording, units: Units) -> Table:
    """Put a recording into the person's units."""
    measured = [column for column in recording.columns if column.dimension is not None]
    shown = [(column, column.dimension, units.of(column.dimension)) for column in measured if column.dimension]
    names = tuple(column.name for column, _, _ in shown) + CONDITION_NAMES
    names += tuple(f"{alarm} state" for alarm in ALARM_NAMES)
    columns = [converted(recording[column.name], dimension, unit) for column, dimension, unit in shown]
    columns += [recording.condition(name).astype(np.float64) for name in CONDITION_NAMES]
    columns += [recording.alarm(name).astype(np.float64) for name in ALARM_NAMES]
    row = tuple(unit for _, _, unit in shown) + (YES_NO,) * len(CONDITION_NAMES) + (STATE,) * len(ALARM_NAMES)
    return Table(names, row, tuple(columns), tuple(_line(entry, units) for entry in recording.journal))


def _line(entry: Entry, units: Units) -> Line:
    value, unit = entry.value, YES_NO
    if entry.kind == "alarm":
        unit = ALARM_STATES[int(entry.value)]
    elif entry.kind == "action" and (panel := ENTRIES[entry.what]).choices:
        unit = panel.choices[int(entry.value)]
    elif entry.kind == "action" and (dimension := ENTRIES[entry.what].dimension) is not None:
        unit = units.of(dimension)
        value = entry.value if math.isinf(entry.value) else in_unit(entry.value, dimension, unit)
    return Line(entry.time, entry.kind, entry.what, value, unit, entry.who)
