"""How a table of text is written: its letters, what parts its cells, its decimal mark, and where its rows begin.

All is found from the first lines, two thousand at most; a person never has to say it.
"""

import codecs
import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from levelbench.records.cells import Header, header_of, is_missing, is_number, is_stamp, is_value
from levelbench.records.errors import RecordError
from levelbench.records.unit_words import known_unit

HINT = "Give a table of text: one row a sample, with columns for time, PV and output."
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "space"}
_MARKS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
_NAMES = {
    "utf-8": "UTF-8",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp1252": "Windows-1252",
    "latin-1": "Latin-1",
}
_START = 1 << 20  # bytes of a large file that are looked at, up to the end of a line
_LOOKED_AT, _LINES = 400_000, 2000  # bytes and lines of the start of a file
_LONGEST = 50_000  # letters of a line
_FEW = 100  # lines that tell how it is written, unless the table begins further down
_LINE = re.compile(r"\r\n|\n|\r")


@dataclass(frozen=True)
class Dialect:
    """How one file is written. Line numbers count from 1; `first` is the line of the first row of values.

    `names` has a heading for each of the `width` columns. `aligned` says that several spaces may part two cells.
    """

    encoding: str
    separator: str
    mark: str
    first: int
    names: tuple[Header, ...]
    names_line: int  # 0: the file has none
    units_line: int  # 0: none
    aligned: bool

    @property
    def width(self) -> int:
        """How many cells a row has."""
        return len(self.names)

    @property
    def words(self) -> str:
        """Say it for a person."""
        decimal = "decimal comma" if self.mark == "," else "decimal point"
        head = f"names in line {self.names_line}" if self.names_line else "no names"
        units = f", units in line {self.units_line}" if self.units_line else ""
        parted = "spaces or tabs" if self.aligned else SEPARATORS[self.separator]
        return (
            f"{_NAMES[self.encoding]}, {parted} between cells, {decimal}, {head}{units}, values from line {self.first}"
        )


def bytes_of(path: Path, *, start_only: bool = False) -> bytes:
    """Read a file, or only its first lines; raises RecordError when that can't be done, or nothing is in it."""
    try:
        with path.open("rb") as file:
            data = file.read(_START if start_only else -1)
            if len(data) == _START and start_only:
                end = data.rfind(b"\n") + 1
                data = data[:end] if end and b"\0" not in data else data + file.read()
    except OSError as error:
        reason = f"It can't be read: {error.strerror or error}."
        raise RecordError(str(path), reason, "Check the name and the permissions.") from error
    except ValueError as error:  # a name with a letter that no file's name has
        raise RecordError(repr(str(path)), "That is no name of a file.", "Check the name.") from error
    if not data or data.isspace():
        raise RecordError(str(path), "It is empty.", HINT)
    return data


def in_utf8(data: bytes, name: str) -> tuple[bytes, str]:
    """Give a file's text in UTF-8, and how it was encoded; raises RecordError for what is no text."""
    encoding = next((one for mark, one in _MARKS.items() if data.startswith(mark)), "") or _unmarked(data)
    try:
        if encoding == "utf-8":
            text = data.removeprefix(codecs.BOM_UTF8)
            if not text.isascii():
                text.decode("utf-8")
        else:
            text = data.decode(encoding).removeprefix("\ufeff").encode("utf-8")
    except UnicodeDecodeError as error:
        raise RecordError(name, f"It is not whole: {_NAMES[encoding]} ends within a letter.", HINT) from error
    if b"\0" in text:
        raise RecordError(name, "It is not a text file.", "Save the record as CSV or as text, then give that file.")
    return text, encoding


def _unmarked(data: bytes) -> str:
    """Tell the encoding of a file that does not say it."""
    start = data[:4000]
    if b"\0" not in start and data.isascii():
        return "utf-8"
    if len(start) >= 4 and start[1::2].count(0) > 0.4 * len(start[1::2]) and not start[0::2].count(0):
        return "utf-16-le"
    if len(start) >= 4 and start[0::2].count(0) > 0.4 * len(start[0::2]) and not start[1::2].count(0):
        return "utf-16-be"
    for encoding in ("utf-8", "cp1252"):
        try:
            data.decode(encoding)
        except UnicodeDecodeError:
            continue
        return encoding
    return "latin-1"


def dialect_of(text: bytes, encoding: str, name: str) -> Dialect:
    """Find out how a text in UTF-8 is written; raises RecordError when no table can be seen in it."""
    start = start_of(text)
    longest = max(map(len, start))
    if longest > _LONGEST:
        raise RecordError(name, f"It has a line of {longest} letters or more, which is no row of a record.", HINT)
    for count in (_FEW, _LINES):
        lines = start[:count]
        worth, best = max((_worth(lines, separator), separator) for separator in SEPARATORS)
        if worth > 0:
            break
    else:
        raise RecordError(name, "No table of numbers can be seen in its first lines.", HINT)
    rows = [cells(line, best) for line in lines]
    width = _width(rows)
    whole = [at for at, row in enumerate(rows) if len(row) == width and _is_row(row)]
    first = next((at for at in whole if _begins(rows, at, width)), whole[0])
    head = [at for at in range(first) if lines[at].strip()]
    names_at, units_at = _heading(rows, head, width)
    blank = [""] * width
    names = (rows[names_at] if names_at >= 0 else blank) + blank
    units = (rows[units_at] if units_at >= 0 else blank) + blank
    headers = [header_of(one, unit) for one, unit in zip(names[:width], units[:width], strict=True)]
    headers = [one if one.name else Header(f"column {at}", one.unit) for at, one in enumerate(headers, start=1)]
    aligned = best == " " or (best == "\t" and any("\t\t" in line for line in lines[first:]))
    mark = _mark([row for row in rows[first:] if len(row) == width])
    return Dialect(encoding, best, mark, first + 1, tuple(headers), names_at + 1, units_at + 1, aligned and best == " ")


def start_of(text: bytes) -> list[str]:
    """Give the first lines; a last one that may be cut off only where it is the only one."""
    start = text[:_LOOKED_AT].decode("utf-8", errors="ignore")
    lines = _LINE.split(start, maxsplit=_LINES)
    if (len(text) > _LOOKED_AT or len(lines) > _LINES) and len(lines) > 1:
        lines.pop()
    return lines[:_LINES]


def cells(line: str, separator: str) -> list[str]:
    """Take one line apart; a comment's sign in front is no part of its first cell."""
    line = line.strip("\ufeff")
    stripped = line.lstrip()
    if stripped.startswith("#"):
        line = stripped.lstrip("#").lstrip()
    if separator == " ":
        return [one.strip('"') for one in re.findall(r'"[^"]*"|[^\s"]+', line)]
    try:
        return next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:
        return [line]


def _is_row(row: Sequence[str]) -> bool:
    return len(row) >= 2 and all(is_value(one) for one in row) and any(not is_missing(one) for one in row)


def _width(rows: list[list[str]]) -> int:
    counted = Counter(len(row) for row in rows if _is_row(row))
    return max(counted, key=lambda width: (counted[width], width)) if counted else 0


def _worth(lines: list[str], separator: str) -> float:
    """Judge a separator: how many lines it makes into rows of values of one width, and how plain their cells are."""
    rows = [cells(line, separator) for line in lines]
    width = _width(rows)
    whole = [row for row in rows if len(row) == width and _is_row(row)]
    if not whole:
        return 0.0
    plain = sum(is_number(one, ".") or is_number(one, ",") or is_stamp(one) for row in whole for one in row)
    names = any(len(row) == width and not _is_row(row) and any(row) for row in rows)
    likely = 0.7 if separator == " " else 1.0  # a space may stand within a cell
    return likely * len(whole) * (1.0 + 0.5 * plain / (len(whole) * width) + (0.3 if names else 0.0)) + 1e-3 * min(
        width, 50
    )


def _begins(rows: list[list[str]], at: int, width: int) -> bool:
    """Tell whether the table's values begin with this whole row: it and most of the next ones have numbers."""
    after = [row for row in rows[at : at + 9] if row and any(row)]
    good = [
        row for row in after if len(row) == width and any(is_number(one, ".") or is_number(one, ",") for one in row)
    ]
    return 2 * len(good) > len(after) or at + 1 == len(rows)


def _heading(rows: list[list[str]], head: list[int], width: int) -> tuple[int, int]:
    """Find the row of names and the row of units over the values; −1 for one that is not there."""
    fitting = [at for at in head if len(rows[at]) in (width, width - 1) and any(rows[at]) and len(rows[at]) > 1]
    fitting = [at for at in fitting if at in head[-3:]]
    if not fitting:
        return -1, -1
    if len(fitting) > 1 and _are_units(rows[fitting[-1]]):
        return fitting[-2], fitting[-1]
    if len(fitting) > 1 and _are_units(rows[fitting[-2]]) and not _are_units(rows[fitting[-1]]):
        return fitting[-1], fitting[-2]
    return fitting[-1], -1


def _are_units(row: list[str]) -> bool:
    """Tell whether a row has nothing but short units: "s", "[in]", "(US gal)", "%", "-", or nothing."""
    given = [one.strip().strip("[](){}").strip() for one in row]
    given = [one for one in given if one not in ("", "-", "--", "0/1", "state")]
    return bool(given) and sum(known_unit(one) is not None for one in given) >= 0.6 * len(given)


def _mark(rows: list[list[str]]) -> str:
    """Tell the decimal mark: the comma only where numbers have one and none has a point."""
    texts = [one.strip() for row in rows for one in row]
    commas = sum("," in one and is_number(one, ",") for one in texts)
    points = sum("." in one and is_number(one, ".") for one in texts)
    return "," if commas > points else "."
