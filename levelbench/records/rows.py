"""The rows of a table of text as columns of numbers and of stamps, with the line of each and of all that is wrong.

A clean file goes through the reader's fast way; the first cell that is no number sends it through a careful one.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from levelbench.records.cells import MISSING_WORDS, NUMBER
from levelbench.records.dialect import HINT, Dialect, cells
from levelbench.records.errors import RecordError

if TYPE_CHECKING:
    import pyarrow as pa

Floats = NDArray[np.float64]
_BLOCK = 1 << 18  # bytes that are read at a time: they stay in the processor's cache
_NULLS = sorted({form for word in MISSING_WORDS for form in (word, word.upper(), word.capitalize())} | {"NaN"})


@dataclass(frozen=True, eq=False)
class Body:
    """The rows of values within a text: from `begin` on, so that a large text is not copied."""

    text: bytes
    begin: int

    @property
    def letters(self) -> NDArray[np.uint8]:
        """Every letter as a number."""
        return np.frombuffer(self.text, dtype=np.uint8)[self.begin :]

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands in it."""
        return len(self.text) == self.begin or (
            self.text[self.begin : self.begin + 1].isspace() and self.text[self.begin :].isspace()
        )

    def has(self, letter: bytes) -> bool:
        """Tell whether a letter stands in it."""
        return self.text.find(letter, self.begin) >= 0

    def part(self, begin: int, end: int) -> bytes:
        """Give a part of it, counted from its own beginning."""
        return self.text[self.begin + begin : self.begin + end]


@dataclass(frozen=True)
class Rows:
    """Columns by their place: `numbers` [n], not a number where a cell had none; `stamps` as texts.

    `odd` are the lines that have another number of cells than the table, with that number.
    """

    body: "Body"
    dialect: Dialect
    numbers: dict[int, Floats]
    stamps: dict[int, "pa.ChunkedArray"]
    odd: tuple[tuple[int, int], ...] = field(default=())

    def __len__(self) -> int:
        every = (*self.numbers.values(), *self.stamps.values())
        return len(every[0]) if every else 0

    @cached_property
    def _lines(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """Give for each line that is not blank where it begins and ends in the body, and its number."""
        inside = self.body.letters
        end = b"\n" if self.body.has(b"\n") else b"\r"
        breaks = np.flatnonzero(inside == end[0])
        begins = np.concatenate(([0], breaks + 1))
        ends = np.append(breaks, len(inside))
        last = inside[np.maximum(ends - 1, 0)] if len(inside) else np.zeros(len(ends))
        ends = ends - ((last == ord("\r")) & (ends > begins) & (end == b"\n"))
        full = ends > begins
        return begins[full], ends[full], self.dialect.first + np.flatnonzero(full)

    def lines(self) -> NDArray[np.int64]:
        """Give the line in the file of each row [n]."""
        numbers = self._lines[2]
        odd = {line for line, _ in self.odd}
        if odd:
            numbers = numbers[~np.isin(numbers, list(odd))]
        if len(numbers) != len(self):  # a cell within quotes goes over several lines: then the rows are counted
            return self.dialect.first + np.arange(len(self))
        return numbers

    def cell(self, line: int, at: int) -> str:
        """Give the text of a cell as it stands in the file; "" where it can't be found."""
        begins, ends, numbers = self._lines
        where = int(np.searchsorted(numbers, line))
        if where >= len(numbers) or numbers[where] != line:
            return ""
        text = self.body.part(int(begins[where]), int(ends[where])).decode("utf-8", errors="replace")
        found = cells(text, self.dialect.separator)
        return found[at].strip() if at < len(found) else ""


def rows_of(
    text: bytes, dialect: Dialect, numbers: Iterable[int], stamps: Iterable[int], *, units: dict[int, str], name: str
) -> Rows:
    """Read some columns of a text in UTF-8. `units` are those that stand in the cells of a column, behind the number.

    Raises RecordError when the text is no table of this dialect.
    """
    import pyarrow as pa  # noqa: PLC0415  only who reads a record waits for it

    body, numbers, stamps = _body(text, dialect), sorted(set(numbers)), sorted(set(stamps))
    if body.is_blank:
        raise RecordError(name, "It has no rows of values.", HINT)
    types = {str(at): pa.float64() for at in numbers} | {str(at): pa.string() for at in stamps}
    try:
        try:
            table, odd = _table(body, dialect, types)
            found = {at: _plain(table.column(str(at))) for at in numbers}
        except pa.ArrowInvalid:
            table, odd = _table(body, dialect, dict.fromkeys(types, pa.string()))
            found = {at: _careful(table.column(str(at)), dialect.mark, units.get(at, "")) for at in numbers}
    except (pa.ArrowException, UnicodeDecodeError) as error:
        raise RecordError(name, "It can't be read as a table.", HINT) from error
    made = Rows(body, dialect, found, {at: table.column(str(at)) for at in stamps})
    if not odd:
        return made
    at_line = made._lines[2]
    lines = tuple((int(at_line[number - 1]), width) for number, width in odd if 0 < number <= len(at_line))
    return Rows(body, dialect, found, made.stamps, lines)


def _body(text: bytes, dialect: Dialect) -> Body:
    """Give the text from the first row of values on."""
    begin = 0
    for count, found in enumerate(re.finditer(rb"\r\n|\n|\r", text), start=2):
        if dialect.first < 2:
            break
        begin = found.end()
        if count >= dialect.first:
            break
    if not dialect.aligned:
        return Body(text, begin)
    body = re.sub(rb"[ \t]+", b" ", text[begin:])
    return Body(re.sub(rb"(?m)^ | (?=\r?$)", b"", body), 0)


def _table(body: Body, dialect: Dialect, types: dict[str, "pa.DataType"]) -> tuple["pa.Table", list[tuple[int, int]]]:
    """Read the columns of these types; and the rows of another width, each by its number from 1 and its width."""
    table, odd = _read(body, dialect, types, threads=True)
    if odd:  # only on one thread the reader knows their numbers
        table, odd = _read(body, dialect, types, threads=False)
    return table, odd


def _read(
    body: Body, dialect: Dialect, types: dict[str, "pa.DataType"], *, threads: bool
) -> tuple["pa.Table", list[tuple[int, int]]]:
    import pyarrow as pa  # noqa: PLC0415
    from pyarrow import csv  # noqa: PLC0415

    odd: list[tuple[int, int]] = []

    def refuse(row: "csv.InvalidRow") -> str:
        odd.append((row.number or 0, row.actual_columns))
        return "skip"

    quoted = body.has(b'"') and body.text.count(b'"', body.begin) % 2 == 0
    names = [str(at) for at in range(dialect.width)]
    table = csv.read_csv(
        pa.BufferReader(pa.py_buffer(body.text).slice(body.begin)),
        read_options=csv.ReadOptions(column_names=names, use_threads=threads, block_size=_BLOCK),
        parse_options=csv.ParseOptions(
            delimiter=dialect.separator, quote_char='"' if quoted else False, invalid_row_handler=refuse
        ),
        convert_options=csv.ConvertOptions(
            column_types=types, include_columns=list(types), null_values=_NULLS, decimal_point=dialect.mark
        ),
    )
    return table, odd


def _plain(column: "pa.ChunkedArray") -> Floats:
    return np.asarray(column.to_numpy(), dtype=np.float64)


def _careful(column: "pa.ChunkedArray", mark: str, unit: str) -> Floats:
    """Turn texts into numbers, and what is none into not a number."""
    import pyarrow as pa  # noqa: PLC0415
    import pyarrow.compute as pc  # noqa: PLC0415

    texts = pc.utf8_trim_whitespace(column)
    if unit:
        texts = pc.replace_substring_regex(texts, rf"\s*{re.escape(unit)}$", "")
    texts = pc.replace_substring_regex(texts, "([0-9])[\u00a0\u202f\u2009 ']([0-9]{3})", r"\1\2")
    good = pc.match_substring_regex(texts, f"^(?:{NUMBER[mark]})$")
    for old, new in (("−", "-"), (",", "."), ("+", "")) if mark == "," else (("−", "-"), ("+", "")):
        texts = pc.replace_substring(texts, old, new)
    texts = pc.if_else(good, texts, pa.scalar(None, pa.string()))
    try:
        return _plain(pc.cast(texts, pa.float64()))
    except pa.ArrowInvalid:
        return np.array([np.nan if one is None else float(one) for one in texts.to_pylist()])
