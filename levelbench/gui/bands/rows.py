"""The rows of the ladder: every alarm and what stands among them, told in volume, height and signal, and typed back.

A place in the tank has a volume, a height, a signal and seconds to the spill. A distance (from the set point, or a
rise) is reckoned upward from the set point, and a change of volume per time by the slope there; both are told in
volume, height and signal too.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from levelbench.gui.tuning.setting_texts import is_bare, with_unit
from levelbench.project.fields import entries
from levelbench.project.records import Bands
from levelbench.quantity import Dimension, Quantity, QuantityError, in_unit, precise, read

if TYPE_CHECKING:
    from levelbench.project.records import Project
    from levelbench.rig.bench import Bench

D = Dimension
MINUTE = 60.0  # [s]


class Kind(Enum):
    """What a limit is."""

    VOLUME = "a volume in the tank"
    HEIGHT = "a height in the tank, typed as a length"
    AWAY = "a distance in volume"
    RATE = "a change of volume per time"
    NONE = "no limit of its own"


@dataclass(frozen=True)
class Column:
    """One way to tell a limit: its name, its dimension, and the smallest step worth showing (SI)."""

    key: str
    name: str
    dimension: Dimension
    step: float


COLUMNS = (
    Column("volume", "volume", D.VOLUME, 0.0),
    Column("height", "height", D.LENGTH, 1e-3),
    Column("signal", "signal", D.CURRENT, 1e-4),
    Column("seconds", "to spill", D.TIME, 1.0),
)
VOLUME, HEIGHT, SIGNAL, SECONDS = COLUMNS


@dataclass(frozen=True)
class Row:
    """A row: an alarm by its key in the section bands, or a place among them that no alarm has."""

    key: str
    kind: Kind
    entry: str = ""  # what its cells edit
    rung: str = ""  # its name on the ladder of levels
    other: str = ""  # its name where it is no alarm

    @property
    def is_alarm(self) -> bool:
        """Whether it is a member of the section bands, which may be left out."""
        return not self.other

    @property
    def name(self) -> str:
        """What it is called."""
        return self.other or entries(Bands)[self.key].label


def _limit(key: str, kind: Kind, rung: str = "") -> Row:
    return Row(key, kind, f"bands.{key}.limit", rung)


PLACES = (
    Row("spill", Kind.NONE, rung="spill"),
    Row("switch", Kind.HEIGHT, "overflow_switch.trips_at", "switch"),
    _limit("high_high", Kind.VOLUME, "high-high"),
    _limit("high", Kind.VOLUME, "high"),
    Row("set_point_high", Kind.VOLUME, "loop_settings.set_point_high", "set point, highest", "set point, highest"),
    Row("set_point_low", Kind.VOLUME, "loop_settings.set_point_low", "set point, lowest", "set point, lowest"),
    _limit("low", Kind.VOLUME, "low"),
    _limit("low_low", Kind.VOLUME, "low-low"),
    Row("inlet", Kind.HEIGHT, "drain.inlet_above_floor", "drain takes air", "drain takes air"),
)
"""From the top down; the order is that of meaning, whatever stands in the file."""
MOVES = (
    _limit("deviation", Kind.AWAY),
    _limit("rate_of_change", Kind.RATE),
    _limit("no_rise", Kind.AWAY),
    _limit("frozen_signal", Kind.AWAY),
    Row("bad_signal", Kind.NONE),
)
"""Those that have no place in the tank."""
ROWS = (*PLACES, *MOVES)
BY_KEY = {row.key: row for row in ROWS}
ALARMS = tuple(row for row in ROWS if row.is_alarm)


def quantity_of(project: Project, key: str) -> Quantity | None:
    """Give the quantity of an entry; None where it, or its section, is left out."""
    found: object = project
    for name in key.split("."):
        found = getattr(found, name, None)
    return found if isinstance(found, Quantity) else None


def told(bench: Bench, row: Row) -> dict[str, float]:
    """Give what a row stands for, by column (SI; a rate per second); empty where it is left out or has no place."""
    if row.key == "spill":
        return _place(bench, bench.spill, bench.spill_volume)
    typed = quantity_of(bench.project, row.entry) if row.entry and _is_there(bench, row) else None
    if typed is None:
        return {}
    if row.kind is Kind.HEIGHT:
        return _place(bench, typed.si, bench.volume_at(typed.si))
    if row.kind is Kind.VOLUME:
        return _place(bench, bench.level_at(typed.si), typed.si)
    return _change(bench, row, typed.si)


def _is_there(bench: Bench, row: Row) -> bool:
    """Tell whether the rig has the thing that a row is about; only a switch or an inlet may be missing."""
    return {"switch": bench.trip, "inlet": bench.inlet}.get(row.key, 0.0) is not None


def _change(bench: Bench, row: Row, si: float) -> dict[str, float]:
    """Tell a distance [m3] or a rate [m3/s], reckoned at the set point; in volume alone where it leaves the tank."""
    volume, level = _rest(bench)
    if row.kind is Kind.RATE:
        rise = si / bench.area_at(level)
    elif volume + si > bench.volume_at(bench.rim):
        return {"volume": si}
    else:
        rise = bench.level_at(volume + si) - level
    return {"volume": si, "height": rise, "signal": rise * _current_of_one(bench)}


def _place(bench: Bench, level: float, volume: float) -> dict[str, float]:
    signal = 0.004 + (level - bench.signal_levels[0]) * _current_of_one(bench)
    return {"volume": volume, "height": level, "signal": signal, "seconds": bench.seconds_to_spill(volume)}


def _rest(bench: Bench) -> tuple[float, float]:
    """Give the set point with which a run starts: its volume [m3] and its level [m]."""
    volume = bench.project.start.set_point.si
    return volume, bench.level_at(volume)


def _current_of_one(bench: Bench) -> float:
    """Give the change of the signal for a metre [A/m]."""
    empty, full = bench.signal_levels
    return 0.016 / (full - empty)


def unit_of(bench: Bench, row: Row, column: Column) -> str:
    """Give the unit in which a cell is shown, and which a bare number typed into it has."""
    if row.kind is Kind.RATE:
        return bench.units.flow if column is VOLUME else f"{bench.units.of(column.dimension)}/min"
    return bench.units.of(column.dimension)


def shown(bench: Bench, row: Row, column: Column, si: float) -> str:
    """Write a value of a column without its unit."""
    if row.kind is Kind.RATE:
        if column is VOLUME:
            return without_noughts(bench.units.show(si, D.FLOW, abs(si) / 100).removesuffix(bench.units.flow).strip())
        si *= MINUTE
    unit = bench.units.of(column.dimension)
    step = bench.project.loop_settings.entry_step.si / 5 if column is VOLUME else column.step
    if row.kind is not Kind.VOLUME and column is not SECONDS:
        step = min(step, abs(si) / (100 if column is VOLUME else 20)) if si else step
    words = bench.units.show(si, column.dimension, step).removesuffix(unit).strip()
    return words if row.kind in (Kind.VOLUME, Kind.HEIGHT, Kind.NONE) else without_noughts(words)


def without_noughts(words: str) -> str:
    """Give a number without the noughts at its end that say nothing: a change has no fixed number of places."""
    return words.rstrip("0").rstrip(".,") if "." in words or "," in words else words


def scale(bench: Bench, row: Row, column: Column) -> float:
    """Give how much (SI) one of a cell's unit is."""
    if row.kind is Kind.RATE and column is VOLUME:
        return 1.0 / in_unit(1.0, D.FLOW, bench.units.flow)
    one = 1.0 / in_unit(1.0, column.dimension, bench.units.of(column.dimension))
    return one / MINUTE if row.kind is Kind.RATE else one


def typed_back(bench: Bench, row: Row, column: Column, words: str) -> str:
    """Give the text with which the entry of a row is typed, for a text in one of its cells.

    Raises QuantityError for what can't be read, or lies outside the tank.
    """
    own = {Kind.HEIGHT: HEIGHT}.get(row.kind, VOLUME)
    if column is own and not is_bare(words):
        _si(bench, row, column, words)
        return words.strip()
    si = _entry_si(bench, row, column, _si(bench, row, column, words), words)
    return _as_typed(bench, row, si)


def _si(bench: Bench, row: Row, column: Column, words: str) -> float:
    """Read a text in a cell (SI; a rate per second)."""
    if row.kind is not Kind.RATE:
        return read(with_unit(words, bench.units.of(column.dimension)), column.dimension).si
    if column is VOLUME:
        return read(with_unit(words, bench.units.flow), D.FLOW).si
    length, _, time = words.partition("/")
    per = read(f"1 {time.strip()}", D.TIME).si if time.strip() else MINUTE
    return read(with_unit(length, bench.units.of(column.dimension)), column.dimension).si / per


def _entry_si(bench: Bench, row: Row, column: Column, si: float, words: str) -> float:
    """Turn the value of a column into that of the entry (SI)."""
    if column is VOLUME and row.kind is not Kind.HEIGHT:
        return si
    if row.kind in (Kind.VOLUME, Kind.HEIGHT):
        level = _level(bench, column, si, words)
        return level if row.kind is Kind.HEIGHT else bench.volume_at(level)
    rise = si if column is HEIGHT else si / _current_of_one(bench)
    volume, level = _rest(bench)
    if row.kind is Kind.RATE:
        return rise * bench.area_at(level)
    return bench.volume_at(_inside(bench, words, level + rise)) - volume


def _level(bench: Bench, column: Column, si: float, words: str) -> float:
    """Give the level [m] of a place told in a column."""
    if column is VOLUME:
        return _inside(bench, words, bench.level_at(si), 0.0 <= si <= bench.volume_at(bench.rim))
    if column is SECONDS:
        return _inside(bench, words, bench.level_at(bench.spill_volume - si * bench.fill_rate), si >= 0)
    level = si if column is HEIGHT else bench.signal_levels[0] + (si - 0.004) / _current_of_one(bench)
    return _inside(bench, words, level)


def _inside(bench: Bench, words: str, level: float, fits: bool = True) -> float:
    if not fits or not 0.0 <= level <= bench.rim:
        rim = bench.show(bench.rim, D.LENGTH, 1e-4)
        raise QuantityError(words, "That lies outside the tank.", f"It reaches from its floor to {rim}.")
    return level


def _as_typed(bench: Bench, row: Row, si: float) -> str:
    """Write a value as an entry is typed: in the unit that the person gave it, else the project's."""
    now = quantity_of(bench.project, row.entry)
    dimension = {Kind.HEIGHT: D.LENGTH, Kind.RATE: D.FLOW}.get(row.kind, D.VOLUME)
    return typed_in(bench, si, dimension, now.unit if now is not None else "")


def typed_in(bench: Bench, si: float, dimension: Dimension, unit: str = "") -> str:
    """Write a value as it is typed, in a unit or else the project's."""
    unit = unit or bench.units.of(dimension)
    return f"{precise(in_unit(si, dimension, unit))} {unit}"
