"""The record of the alarms as CSV: a row of names, a row of units, one row an alarm.

Comma between values, point in numbers, UTF-8, every cell in quotes. Texts that people typed are made harmless, so that
no spreadsheet works them out (`levelbench.records.harmless`).
"""

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

from levelbench.alarms.rationale import NO_ALARM, Row, rationale
from levelbench.alarms.timing import SAID
from levelbench.project import units, write_whole
from levelbench.quantity import Dimension, Figure, Quantity, Units, in_unit
from levelbench.records.errors import RecordError
from levelbench.records.harmless import as_typed, harmless
from levelbench.rig import Rig

V, T, L, A = Dimension.VOLUME, Dimension.TIME, Dimension.LENGTH, Dimension.CURRENT
NUMBERS: tuple[tuple[str, Dimension], ...] = (
    ("volume", V), ("height", L), ("signal", A), ("time to the next level", T), ("time to the consequence", T),
    ("delay before it is seen", T), ("time left to act", T), ("latest limit", V), ("time available as typed", T),
)  # fmt: skip
WORDS = (
    "tag", "alarm", "type", "is an alarm", "settings as typed", "priority", "suggested priority", "next level",
    "consequence of the worst rate", "verdict", "cause", "consequence", "operator action", "basis of the limit",
    "says the same as",
)  # fmt: skip
HINT = "Give a file that LevelBench wrote: names in its first row, units in its second."


@dataclass(frozen=True)
class RecordTable:
    """The record as it stands in a file: names, units ("" over words), and the cells of each alarm as texts."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def cell(self, alarm: str, name: str) -> str:
        """Give a cell of an alarm by its name and that of the column; raises KeyError when there is none."""
        if name not in self.names:
            raise KeyError(name)
        for row in self.rows:
            if row[self.names.index("alarm")] == alarm:
                return row[self.names.index(name)]
        raise KeyError(alarm)


def record_table(rig: Rig) -> RecordTable:
    """Put the record of a rig's alarms into words and numbers, in the person's units."""
    shown_in = units(rig.project)
    over = ("",) * len(WORDS) + tuple(shown_in.of(dimension) for _, dimension in NUMBERS)
    names = WORDS + tuple(name for name, _ in NUMBERS)
    return RecordTable(names, over, tuple((*_words(row), *_numbers(row, shown_in)) for row in rationale(rig)))


def _words(row: Row) -> tuple[str, ...]:
    typed = "; ".join(f"{label} {text}" for label, text in row.typed)
    return (
        row.tag, row.name, row.kind, "yes" if row.is_alarm else f"no: {NO_ALARM}, there is no operator action", typed,
        row.priority, row.suggested, row.timed.next_rung, row.timed.end, SAID[row.timed.stands][1], row.cause,
        row.consequence, row.action, row.basis, ", ".join(row.same_as),
    )  # fmt: skip


def _numbers(row: Row, shown_in: Units) -> tuple[str, ...]:
    """Write the numbers with all their digits; an empty cell where there is none, or no end to it."""
    place: tuple[Figure | None, ...] = row.place or (None, None, None)
    timed = row.timed
    found: tuple[Figure | Quantity | None, ...] = (
        *place, timed.to_next, timed.to_end, timed.late, timed.left, timed.latest, row.time_typed,
    )  # fmt: skip
    return tuple(
        "" if one is None or not math.isfinite(one.si) else repr(in_unit(one.si, dimension, shown_in.of(dimension)))
        for one, (_, dimension) in zip(found, NUMBERS, strict=True)
    )


def record_text(rig: Rig) -> str:
    """Write the record of a rig's alarms as CSV."""
    table, text = record_table(rig), io.StringIO()
    writer = csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL)
    writer.writerows((table.names, table.units))
    words = len(WORDS)
    writer.writerows((*map(harmless, row[:words]), *row[words:]) for row in table.rows)
    return text.getvalue()


def write_record(rig: Rig, path: Path | str) -> None:
    """Write the record of a rig's alarms to a file, whole or not at all (SaveError)."""
    write_whole(path, record_text(rig).encode())


def read_record(path: Path | str) -> RecordTable:
    """Read the record of a file as it was written. Raises RecordError with what is expected."""
    try:
        with Path(path).open(encoding="utf-8", newline="") as file:
            rows = [tuple(map(as_typed, row)) for row in csv.reader(file, strict=True)]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise RecordError(str(path), f"It can't be read: {error}.", HINT) from error
    if len(rows) < 2 or rows[0][: len(WORDS)] != WORDS or any(len(row) != len(rows[0]) for row in rows):
        raise RecordError(str(path), "It is not a record of alarms.", HINT)
    return RecordTable(rows[0], rows[1], tuple(rows[2:]))
