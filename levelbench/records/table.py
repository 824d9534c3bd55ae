"""A recording as it stands in a file: columns in the person's units, conditions as 0 and 1, the journal in words."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Units, in_unit
from levelbench.rig.panel import CONDITION_NAMES, ENTRIES
from levelbench.rig.recording import Entry, Recording

YES_NO = "0/1"  # what stands in the units row over a condition


@dataclass(frozen=True)
class Line:
    """One line of the journal: time [s], "action" or "event", what, and its value in the unit beside it."""

    time: float
    kind: str
    what: str
    value: float
    unit: str


@dataclass(frozen=True)
class Table:
    """Columns over time: `table["pv"]` is a numpy array in the unit `table.unit("pv")`, all columns equally long.

    Conditions follow the measured columns; they have the unit "0/1".
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
    columns = [converted(recording[column.name], dimension, unit) for column, dimension, unit in shown]
    columns += [recording.condition(name).astype(np.float64) for name in CONDITION_NAMES]
    row = tuple(unit for _, _, unit in shown) + (YES_NO,) * len(CONDITION_NAMES)
    return Table(names, row, tuple(columns), tuple(_line(entry, units) for entry in recording.journal))


def _line(entry: Entry, units: Units) -> Line:
    dimension = ENTRIES[entry.what].dimension if entry.kind == "action" else None
    if dimension is None:
        return Line(entry.time, entry.kind, entry.what, entry.value, YES_NO)
    unit = units.of(dimension)
    value = entry.value if math.isinf(entry.value) else in_unit(entry.value, dimension, unit)
    return Line(entry.time, entry.kind, entry.what, value, unit)
