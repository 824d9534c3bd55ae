"""A recording as CSV: a row of names, a row of units, one row a scan; the journal in a second file beside it.

Comma between values, point in numbers, UTF-8. Numbers are written with all the digits that they need to be read back
exactly. A condition is a column of 0 and 1, so that a spreadsheet can filter by it; the state of an alarm is one of 0
to 8. The journal of "run.csv" is "run.journal.csv".
"""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TextIO

import numpy as np
from numpy.typing import NDArray

from levelbench.project.saving import is_stream, write_together, write_whole
from levelbench.quantity import Units
from levelbench.records.errors import RecordError
from levelbench.records.harmless import as_typed, harmless
from levelbench.records.table import STATE, YES_NO, Line, Table, table_of
from levelbench.rig.errors import Cancelled
from levelbench.rig.recording import Recording

JOURNAL_HEAD = ("time", "kind", "what", "value", "unit", "who")
JOURNAL_UNITS = ("s", "", "", "as beside", "", "")
NAMELESS_HEAD = JOURNAL_HEAD[:-1]  # of the journals written before it was kept who did what
PIECE = 2000  # rows that are put into words at a time
HINT = "Give a file that LevelBench wrote: names in its first row, units in its second."


def journal_path(path: Path) -> Path:
    """Give the place of the journal that belongs to a recording's file."""
    return path.with_name(f"{path.stem}.journal{path.suffix}")


def write_csv(
    recording: Recording | Iterable[Recording],
    target: Path | str | TextIO,
    units: Units,
    *,
    progress: Callable[[float], bool] | None = None,
) -> None:
    """Write a recording in these units; a long one may come in pieces, of which one at a time is held.

    A path gets the columns, and the journal beside it; neither takes its place before both are complete (SaveError
    otherwise). An open text stream, a device or a pipe gets the columns only. `progress` is told the share done and
    answers whether to go on; Cancelled is raised when it says no, and then a path is as it was. Of pieces nobody knows
    how many there are: who gives them tells.
    """
    journal: list[bytes] = []  # of a rig whose alarms chatter for a week it grows long, but not so long as its lines
    pieces = _pieces(_parts(recording, progress), units, journal)
    if not isinstance(target, Path | str):
        target.writelines(pieces)
        return
    path = Path(target)
    columns = (piece.encode() for piece in pieces)
    if is_stream(path):
        write_whole(path, columns)
    else:
        write_together({path: columns, journal_path(path): journal})


def _parts(recording: Recording | Iterable[Recording], progress: Callable[[float], bool] | None) -> Iterator[Recording]:
    """Give a recording some rows at a time, each done quickly, so that a window stays alive while a week is written."""
    for whole in (recording,) if isinstance(recording, Recording) else recording:
        yield replace(whole, rows=whole.rows[:0])  # with all of its journal
        bare = replace(whole, journal=())
        for begin in range(0, len(whole), PIECE):
            if progress is not None and not progress(begin / len(whole)):
                raise Cancelled
            yield replace(bare, rows=whole.rows[begin : begin + PIECE])


def _pieces(parts: Iterable[Recording], units: Units, journal: list[bytes]) -> Iterator[str]:
    """Give the columns' file in pieces; those of the journal's file are put into `journal` meanwhile."""
    for part in parts:
        table = table_of(part, units)
        if not journal:
            yield _text_of(table.names, table.units)
            journal.append(_text_of(JOURNAL_HEAD, JOURNAL_UNITS).encode())
        if table.journal:
            journal.append(_text_of(*map(_cells, table.journal)).encode())
        if len(part):
            yield "".join(_lines(table))


def _text_of(*rows: Sequence[str]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _cells(line: Line) -> tuple[str, ...]:
    return (repr(line.time), line.kind, line.what, repr(line.value), line.unit, harmless(line.who))


def _lines(table: Table) -> Iterator[str]:
    """Give a line for every row."""
    few = (YES_NO, STATE)
    measured = [column for column, unit in zip(table.columns, table.units, strict=True) if unit not in few]
    numbers = [map(repr, column.tolist()) for column in measured]
    yield from (",".join(row) + "\n" for row in zip(*numbers, *(_joined(table, unit) for unit in few), strict=True))


def _joined(table: Table, of: str) -> list[str]:
    """Give for each row its numbers of one digit, joined: few combinations ever occur, so each is put together once."""
    columns = [column for column, unit in zip(table.columns, table.units, strict=True) if unit == of]
    width = 1 if of == YES_NO else 4
    bits = np.zeros(len(table), dtype=np.int64)
    for at, column in enumerate(columns):
        bits |= column.astype(np.int64) << (width * at)
    different, which = np.unique(bits, return_inverse=True)
    most = (1 << width) - 1
    texts = [
        ",".join(str((value >> (width * at)) & most) for at in range(len(columns))) for value in different.tolist()
    ]
    return [texts[at] for at in which.tolist()]


def read_csv(path: Path | str) -> Table:
    """Read a recording's file, and its journal where it lies beside it: the very numbers that were written.

    Raises RecordError with the line and what is expected there.
    """
    path = Path(path)
    text = _text(path)
    names, units, body = _head(path, text)
    rows = _numbers(path, body, len(names))
    journal = journal_path(path)
    lines = tuple(_journal(journal)) if journal.exists() else ()
    return Table(names, units, tuple(np.ascontiguousarray(column) for column in rows.T), lines)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise RecordError(
            str(path), f"It can't be read: {error.strerror}.", "Check the name and the permissions."
        ) from error
    except UnicodeDecodeError as error:
        raise RecordError(str(path), "It is not a text file in UTF-8.", HINT) from error


def _head(path: Path, text: str) -> tuple[tuple[str, ...], tuple[str, ...], list[str]]:
    lines = text.splitlines()
    if len(lines) < 2:
        raise RecordError(str(path), "It has no row of names and row of units.", HINT)
    names, units = (tuple(row) for row in csv.reader(lines[:2]))
    if not names or names[0] != "time":
        raise RecordError(f"{path}, line 1", "The first column is not “time”.", HINT)
    if len(names) != len(units):
        raise RecordError(f"{path}, line 2", f"There are {len(units)} units for {len(names)} names.", HINT)
    if len(set(names)) != len(names):
        raise RecordError(f"{path}, line 1", "A name stands there twice.", HINT)
    return names, units, lines[2:]


def _numbers(path: Path, lines: list[str], width: int) -> NDArray[np.float64]:
    if not lines:
        return np.zeros((0, width))
    try:
        rows = np.loadtxt(lines, delimiter=",", ndmin=2, comments=None)
    except ValueError:
        rows = np.zeros((0, 0))
    if rows.shape == (len(lines), width):
        return rows
    raise _first_bad_row(path, lines, width)


def _first_bad_row(path: Path, lines: list[str], width: int) -> RecordError:
    """Find the line that can't be read, once it is known that there is one."""
    for number, line in enumerate(lines, start=3):
        values = line.split(",")
        place = f"{path}, line {number}"
        if len(values) != width:
            return RecordError(place, f"It has {len(values)} values where {width} belong.", HINT)
        for value in values:
            if not _is_number(value):
                return RecordError(place, f"“{value}” is not a number.", "Write numbers with a point: 4.30.")
    return RecordError(str(path), "It can't be read as rows of numbers.", HINT)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return "_" not in text


def _journal(path: Path) -> Iterator[Line]:
    rows = list(csv.reader(_text(path).splitlines()))
    head = tuple(rows[0]) if rows else ()
    if head not in (JOURNAL_HEAD, NAMELESS_HEAD):
        raise RecordError(f"{path}, line 1", f"The journal's columns are not {', '.join(JOURNAL_HEAD)}.", HINT)
    for number, row in enumerate(rows[2:], start=3):
        if len(row) != len(head) or not (_is_number(row[0]) and _is_number(row[3])):
            raise RecordError(f"{path}, line {number}", "It is not a line of the journal.", HINT)
        who = as_typed(row[5]) if head == JOURNAL_HEAD else ""
        yield Line(float(row[0]), row[1], row[2], float(row[3]), row[4], who)
