"""A record from anywhere: a table of text with columns for time, PV and output, in any units, however it was written.

`look` guesses all of it and says why; a person confirms or overrules that; `read_measured` reads the file. Nothing is
put into another order and nothing is left out in silence: what was done stands in the notes of the record.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import rounded, written
from levelbench.records.columns import (
    DRAW,
    OUTPUT,
    PV,
    ROLES,
    SET_POINT,
    TIME,
    Columns,
    Pick,
    Scaled,
    TimePick,
    draw_of,
    needs_scale,
    output_of,
    pv_of,
)
from levelbench.records.dialect import Dialect, bytes_of, cells, dialect_of, in_utf8, start_of
from levelbench.records.errors import RecordError
from levelbench.records.guess import Guessed, Seen, is_own, roles_of, seen
from levelbench.records.measured import FEWEST, Measured
from levelbench.records.mending import Mended, in_order, told
from levelbench.records.rows import Rows, rows_of
from levelbench.records.stamps import CLOCK, DATED, FORMS, HOURS, NUMBER, over_midnight, stamped
from levelbench.records.unit_words import USUAL_ENDS, known_unit
from levelbench.rig import Cancelled, Rig

Floats = NDArray[np.float64]
_PER_UNIT = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3, "d": 86400.0}
_LOOKED_AT = 200  # rows that tell what the columns are
_HOW = "Say which column is which and in what unit."


@dataclass(frozen=True)
class Guess:
    """What a file seems to hold. `columns` in the order of the file; `questions` are what a person should look at."""

    path: Path
    dialect: Dialect
    seen: tuple[Seen, ...]
    guessed: tuple[Guessed, ...]
    own: bool  # a recording of this program
    questions: tuple[str, ...]

    def at(self, role: str) -> list[int]:
        """Give the columns that have a role."""
        return [at for at, one in enumerate(self.guessed) if one.role == role]

    @property
    def columns(self) -> Columns:
        """The choice that the guess comes to; raises RecordError when time, PV or output could not be found."""
        missing = [role for role in (TIME, PV, OUTPUT) if not self.at(role)]
        if missing:
            there = ", ".join(f"{at} “{one.header.shown}”" for at, one in enumerate(self.seen, start=1))
            what = " and ".join({TIME: "the time", PV: "the PV", OUTPUT: "the output"}[one] for one in missing)
            raise RecordError(str(self.path), f"It can't be told which column is {what}; there are {there}.", _HOW)
        pv, output = self.pick(PV), self.pick(OUTPUT)
        if pv is None or output is None:
            raise RecordError(str(self.path), "It has no PV or no output.", _HOW)
        return Columns(self.dialect, self.time, pv, output, self.pick(SET_POINT), self.pick(DRAW))

    def pick(self, role: str) -> Pick | None:
        """Give the column that was guessed for a role other than time; None when none was."""
        found = self.at(role)
        return Pick(found[0], self.guessed[found[0]].unit, None, self.seen[found[0]].in_cells) if found else None

    @property
    def time(self) -> TimePick:
        """The time as it was guessed; there must be one."""
        at, *more = self.at(TIME)
        return replace(self.time_at(at), clock=more[0] if more else None)

    def unit_of(self, at: int) -> str:
        """Give the unit that stands with a column, in our words for it; "" where none does."""
        typed = self.seen[at].unit_text
        known = known_unit(typed) if typed else None
        return known[0] if known else typed

    def time_at(self, at: int) -> TimePick:
        """Give one column that was guessed to be of the time."""
        unit = self.guessed[at].unit
        return TimePick(at, unit) if unit in FORMS else TimePick(at, NUMBER, unit)


def look(path: Path | str) -> Guess:
    """Look at the first lines of a file and guess how it is written and what its columns are.

    Raises RecordError for a file that can't be read, or in which no table can be seen.
    """
    path = Path(path)
    text, encoding = in_utf8(bytes_of(path, start_only=True), str(path))
    dialect = dialect_of(text, encoding, str(path))
    first = dialect.first - 1
    rows = [cells(line, dialect.separator) for line in start_of(text)[first : first + _LOOKED_AT]]
    columns = seen(dialect.names, [row for row in rows if len(row) == dialect.width], dialect.mark)
    roles = roles_of(columns)
    guessed = tuple(roles[at] for at in range(dialect.width))
    return Guess(path, dialect, tuple(columns), guessed, is_own(columns), _questions(columns, guessed))


def _questions(columns: list[Seen], guessed: tuple[Guessed, ...]) -> tuple[str, ...]:
    """Say what a person should look at before the guess is trusted."""
    asked = []
    for one, what in zip(columns, guessed, strict=True):
        name = f"“{one.header.shown}”"
        if "could be" in what.why or "no unit" in what.why:
            asked.append(f"Column {one.at + 1} {name}: {what.why}.")
        if needs_scale(what.role, what.unit):
            ends = USUAL_ENDS.get(what.unit)
            taken = f"; taken as {written(ends[0], 'g')} and {written(ends[1], 'g')}" if ends else ""
            asked.append(f"Column {one.at + 1} {name}: how many {what.unit} are 0 % and 100 % of the output{taken}?")
    return tuple(asked)


def read_measured(
    path: Path | str, columns: Columns, rig: Rig | None = None, progress: Callable[[float], bool] | None = None
) -> Measured:
    """Read a record. On a rig, a level or a signal of its sensor becomes the volume that its controller would see.

    Raises RecordError when the file can't be read so, and Cancelled when `progress` answers no.
    """
    path = Path(path)
    _go_on(progress, 0.0)
    text, _ = in_utf8(bytes_of(path), str(path))
    _go_on(progress, 0.1)
    rows = _rows(text, columns, str(path))
    _go_on(progress, 0.7)
    notes: list[str] = []
    time = _time(rows, columns.time, notes)
    raw = {role: rows.numbers[pick.at] for role in ROLES if role != TIME and (pick := columns.pick(role)) is not None}
    if SET_POINT in raw:
        raw[SET_POINT] = _held_on(raw[SET_POINT], notes)
    mended = in_order(time, raw)
    notes += told(rows, columns, mended)
    if len(mended.keep) < FEWEST:
        reason = f"{len(mended.keep)} of {len(rows)} rows can be used; {FEWEST} are needed."
        raise RecordError(str(path), " ".join((reason, *notes[:3])), _HOW)
    _go_on(progress, 0.9)
    return _measured(path, columns, mended, rig, notes)


def _go_on(progress: Callable[[float], bool] | None, share: float) -> None:
    if progress is not None and not progress(share):
        raise Cancelled


def _rows(text: bytes, columns: Columns, name: str) -> Rows:
    picks = [pick for role in ROLES if role != TIME and (pick := columns.pick(role)) is not None]
    numbers = [pick.at for pick in picks]
    time = columns.time
    stamps = [at for at in (time.at, time.clock) if at is not None] if time.form != NUMBER else []
    if time.at is not None and time.form == NUMBER:
        numbers.append(time.at)
    width = columns.dialect.width
    if any(not 0 <= at < width for at in (*numbers, *stamps)):
        raise RecordError(name, f"A column is asked for that it has not: it has {width}.", _HOW)
    if set(numbers) & set(stamps):
        raise RecordError(name, "One column is taken both for a stamp of time and for a number.", _HOW)
    in_cells = {pick.at: pick.in_cells for pick in picks if pick.in_cells}
    return rows_of(text, columns.dialect, numbers, stamps, units=in_cells, name=name)


def _time(rows: Rows, pick: TimePick, notes: list[str]) -> Floats:
    """Give the time of each row [s], not a number where there is none."""
    if pick.at is None:
        if not (math.isfinite(pick.every) and pick.every > 0):
            raise RecordError("time", "Rows without a time need the time from one to the next.", "Give it in seconds.")
        return np.arange(len(rows), dtype=np.float64) * pick.every
    if pick.form == NUMBER:
        values = rows.numbers[pick.at]
        per = _PER_UNIT[pick.unit]
        return values if per == 1.0 else values * per
    found = stamped(rows.stamps[pick.at], pick.form)
    if pick.form not in DATED:
        return _around(found.seconds, notes)
    days = found.days
    good = days[np.isfinite(days)]
    seconds = found.since(float(good[0]) if len(good) else 0.0)
    if pick.clock is None:
        return seconds
    texts = rows.stamps[pick.clock]
    beside = stamped(texts, CLOCK)
    if np.all(np.isnan(beside.seconds)):
        beside = stamped(texts, HOURS)
    return seconds + beside.seconds


def _held_on(set_point: Floats, notes: list[str]) -> Floats:
    """Let a set point that is written only when it changes hold on until the next one."""
    good = np.isfinite(set_point)
    if np.all(good) or not np.any(good):
        return set_point
    notes.append(f"The set point stands in {int(good.sum())} of {len(good)} rows: it was held until the next one.")
    last = np.maximum.accumulate(np.where(good, np.arange(len(good)), int(np.argmax(good))))
    return set_point[last]


def _around(seconds: Floats, notes: list[str]) -> Floats:
    time, nights = over_midnight(seconds)
    if nights:
        notes.append(
            f"The clock went past midnight {nights} time{'s' if nights > 1 else ''}: a day was added each time."
        )
    return time


def _measured(path: Path, columns: Columns, mended: Mended, rig: Rig | None, notes: list[str]) -> Measured:
    values = mended.values
    pv = pv_of(values[PV], columns.pv, rig)
    set_point = _set_point(values[SET_POINT], columns.set_point, rig, pv) if columns.set_point else None
    draw = draw_of(values[DRAW], columns.draw) if columns.draw else None
    output = output_of(values[OUTPUT], columns.output)
    notes += [one.note for one in (pv, set_point) if one is not None and one.note]
    low, high = float(output.min()), float(output.max())
    if low < -0.05 or high > 1.05:
        ends = f"{rounded(100 * low, 3)} to {rounded(100 * high, 3)} %"
        notes.append(f"The output goes from {ends}: look at its unit and its scale.")
    begun = mended.time[0]
    return Measured(
        mended.time - begun,
        pv.values,
        output,
        None if set_point is None else set_point.values,
        draw,
        pv.unit,
        pv.dimension,
        path.name,
        tuple(notes),
    )


def _set_point(values: Floats, pick: Pick, rig: Rig | None, pv: Scaled) -> Scaled:
    made = pv_of(values, pick, rig, SET_POINT)
    if made.dimension is not pv.dimension or (made.dimension is None and made.unit != pv.unit):
        reason = f"It is in {made.unit or 'a unit that is not known'}, the PV in {pv.unit or 'one that is not known'}."
        raise RecordError("set point", reason, "Give both in one unit or on one scale, or leave the set point out.")
    return made
