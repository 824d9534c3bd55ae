"""Which columns of a file are time, PV, output, set point and draw, and in what units."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.project import units
from levelbench.project.records import DISTANCE_SENSORS
from levelbench.quantity import Dimension, Quantity, QuantityError, in_unit, read, rounded
from levelbench.records.dialect import Dialect
from levelbench.records.errors import RecordError
from levelbench.records.stamps import NUMBER
from levelbench.records.unit_words import COUNTS, FRACTION, SPAN, USUAL_ENDS, dimension_of
from levelbench.rig import Rig

Floats = NDArray[np.float64]
TIME, PV, OUTPUT, SET_POINT, DRAW = "time", "pv", "output", "set point", "draw"
ROLES = (TIME, PV, OUTPUT, SET_POINT, DRAW)


@dataclass(frozen=True)
class Scale:
    """Two values of a signal, and what each of them means as a person types it ("0 gal", "100 %")."""

    low: float
    high: float
    at_low: str
    at_high: str


@dataclass(frozen=True)
class Pick:
    """One chosen column, counted from 0: the unit it is in, its scale where it is a signal, the unit in its cells."""

    at: int
    unit: str
    scale: Scale | None = None
    in_cells: str = ""


@dataclass(frozen=True)
class TimePick:
    """Where the time stands: a column, maybe with the time of day in a second one; or rows in equal steps `every` [s].

    `form` is one of the forms of `stamps`; `unit` is that of plain numbers.
    """

    at: int | None
    form: str = NUMBER
    unit: str = "s"
    clock: int | None = None
    every: float = 0.0


@dataclass(frozen=True)
class Columns:
    """All that has to be known to read a file; set point and draw may not be there."""

    dialect: Dialect
    time: TimePick
    pv: Pick
    output: Pick
    set_point: Pick | None = None
    draw: Pick | None = None

    def pick(self, role: str) -> Pick | None:
        """Give the column of a role other than time."""
        return {PV: self.pv, OUTPUT: self.output, SET_POINT: self.set_point, DRAW: self.draw}[role]

    def with_pick(self, role: str, pick: Pick | None) -> "Columns":
        """Give the same with another column for a role; PV and output can't be left out."""
        if role in (SET_POINT, DRAW):
            return replace(self, **{role.replace(" ", "_"): pick})  # type: ignore[arg-type]  # both are a Pick or None
        if pick is None:
            raise RecordError(role, "It can't be left out.", "Say which column it is.")
        return replace(self, pv=pick) if role == PV else replace(self, output=pick)


@dataclass(frozen=True)
class Scaled:
    """A column in SI [n], or in its own unit where `dimension` is None; `unit` is the one to show it in."""

    values: Floats
    unit: str
    dimension: Dimension | None
    note: str = ""


def output_of(values: Floats, pick: Pick) -> Floats:
    """Turn an output into a fraction; raises RecordError for a scale without a span."""
    if pick.scale is None and pick.unit not in USUAL_ENDS:
        raise RecordError("output", f"What is 0 % and what 100 % in {pick.unit}?", "Give both ends of its scale.")
    scale = pick.scale or Scale(*USUAL_ENDS[pick.unit], "0 %", "100 %")
    return _straight(values, scale, "output", lambda text: read(text, Dimension.PERCENT))[0]


def draw_of(values: Floats, pick: Pick) -> Floats:
    """Turn a draw into [m3/s]; raises RecordError for what is no flow."""
    if pick.scale is not None:
        return _straight(values, pick.scale, "draw", lambda text: read(text, Dimension.FLOW))[0]
    if dimension_of(pick.unit) is not Dimension.FLOW:
        raise RecordError(
            "draw", f"{pick.unit or 'Its unit'} is no unit of flow.", "Choose one, or leave the draw out."
        )
    return values / in_unit(1.0, Dimension.FLOW, pick.unit)


def pv_of(values: Floats, pick: Pick, rig: Rig | None, role: str = PV) -> Scaled:
    """Turn a PV or set point into SI where that can be done; on a rig a level becomes the volume of its table.

    Raises RecordError for a scale that can't be read.
    """
    made = _in_si(values, pick, rig, role)
    if rig is None or made.dimension is not Dimension.LENGTH:
        return made
    table = rig.strapping
    low, high = float(np.nanmin(made.values)), float(np.nanmax(made.values))
    beyond = low < table.levels[0] - 1e-9 or high > table.levels[-1] + 1e-9
    note = f"{role}: some levels lie outside the tank; they are taken as its floor or rim." if beyond else ""
    volumes = np.where(np.isnan(made.values), np.nan, table.volume_at(made.values))
    return Scaled(volumes, units(rig.project).volume, Dimension.VOLUME, note)


def _in_si(values: Floats, pick: Pick, rig: Rig | None, role: str) -> Scaled:
    if pick.scale is not None:
        si, typed = _straight(values, pick.scale, role, lambda text: read(text, Dimension.VOLUME, Dimension.LENGTH))
        return Scaled(si, typed.unit, typed.dimension)
    dimension = dimension_of(pick.unit)
    if dimension in (Dimension.VOLUME, Dimension.LENGTH):
        return Scaled(values / in_unit(1.0, dimension, pick.unit), pick.unit, dimension)
    if rig is not None and pick.unit in ("mA", COUNTS, SPAN):
        return _by_sensor(values, pick.unit, rig)
    return Scaled(values, "%" if pick.unit == SPAN else pick.unit, None)


def _by_sensor(values: Floats, unit: str, rig: Rig) -> Scaled:
    """Scale a signal as the rig's controller does: by its sensor's span, and by its table or between two points."""
    sensor, shown = rig.project.sensor, units(rig.project)
    share = values / 100.0
    if unit == "mA":
        share = (values - 4.0) / 16.0
    elif unit == COUNTS:
        low, high = (one.si for one in sensor.converter_range)
        share = (low + values / rig.params.sensor.full_count * (high - low) - 0.004) / 0.016
    if sensor.scaled_by == "two points" and sensor.volume_at_ends is not None:
        empty, full = (one.si for one in sensor.volume_at_ends)
        return Scaled(empty + share * (full - empty), shown.volume, Dimension.VOLUME)
    near, far = (one.si for one in sensor.signal_span)
    level = near + share * (far - near)
    if sensor.kind in DISTANCE_SENSORS and sensor.face_above_floor is not None:
        level = sensor.face_above_floor.si - level
    return Scaled(level, shown.length, Dimension.LENGTH)


def _straight(values: Floats, scale: Scale, role: str, reader: Callable[[str], Quantity]) -> tuple[Floats, Quantity]:
    """Scale values on the straight line between two points; give what was typed for the upper one too."""
    try:
        low, high = reader(scale.at_low), reader(scale.at_high)
    except QuantityError as error:
        raise RecordError(f"the scale of the {role}", error.reason, error.hint) from error
    if scale.low == scale.high or low.si == high.si or low.dimension is not high.dimension:
        ends = f"{rounded(scale.low, 6)} and {rounded(scale.high, 6)}"
        hint = "Give two different values and two different meanings of one kind."
        raise RecordError(f"the scale of the {role}", f"Between {ends} there is no straight line.", hint)
    made = values - scale.low
    made /= (scale.high - scale.low) / (high.si - low.si)
    made += low.si
    return made, high


def needs_scale(role: str, unit: str) -> bool:
    """Tell whether a person should say the two ends of a column's scale."""
    return role == OUTPUT and unit not in ("%", FRACTION)
