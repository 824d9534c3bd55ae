"""What stands in one cell of a table of text: a number in either mark, a word for no value, a unit, a stamp."""

import re
from dataclasses import dataclass

MISSING_WORDS = (
    "", "-", "--", "---", "----", "-----", "?", "*", "bad", "n/a", "na", "#n/a", "nan", "null", "none", "nil",
    "no data", "error", "err", "fault", "fail", "failed", "invalid", "offline", "timeout", "#value!", "#num!",
    "#div/0!", "#ref!", "inf", "-inf", "+inf", "∞",
)  # fmt: skip
"""What loggers and spreadsheets write where there is no value; in lower case."""

NUMBER = {
    ".": r"[+\-−]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?",
    ",": r"[+\-−]?(?:[0-9]+,?[0-9]*|,[0-9]+)(?:[eE][+-]?[0-9]+)?",
}
"""A number, by its decimal mark."""

_NUMBERS = {mark: re.compile(pattern) for mark, pattern in NUMBER.items()}
_WITH_UNIT = re.compile(rf"(?:{NUMBER['.']}|{NUMBER[',']})\s*([%°µμA-Za-z][^0-9]{{0,11}})")
_STAMP = re.compile(
    r"[0-9]{1,4}[-/.](?:[0-9]{1,2}|[A-Za-z]{3,9})[-/.][0-9]{1,4}(?:[T ,;_].*)?"
    r"|[0-9]+:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]+)?|[.,][0-9]+)?(?: ?[AaPp]\.?[Mm]\.?)?"
)
_IN_BRACKETS = re.compile(r"^(.*?)\s*[\[({<]\s*([^\[\](){}<>]*?)\s*[\])}>]\s*$")


@dataclass(frozen=True)
class Header:
    """A column's name, and the unit that stood with it ("" where none did)."""

    name: str
    unit: str

    @property
    def shown(self) -> str:
        """Both, as a person would write them."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def is_missing(cell: str) -> bool:
    """Tell whether a cell says that there is no value."""
    return cell.strip().lower() in MISSING_WORDS


def is_number(cell: str, mark: str) -> bool:
    """Tell whether a cell is a number with this decimal mark."""
    return _NUMBERS[mark].fullmatch(cell.strip()) is not None


def is_stamp(cell: str) -> bool:
    """Tell whether a cell looks like a date, a time of day, or both."""
    return _STAMP.fullmatch(cell.strip()) is not None


def is_value(cell: str) -> bool:
    """Tell whether a cell belongs to a row of data and not to a heading."""
    cell = cell.strip()
    return is_number(cell, ".") or is_number(cell, ",") or is_missing(cell) or is_stamp(cell) or bool(unit_behind(cell))


def value_of(cell: str, mark: str) -> float | None:
    """Give the number in a cell, with its unit behind it or without; None where there is none."""
    cell = cell.strip()
    unit = unit_behind(cell)
    bare = cell.removesuffix(unit).rstrip() if unit else cell
    if not is_number(bare, mark):
        return None
    return float(bare.replace(",", ".").replace("−", "-"))


def unit_behind(cell: str) -> str:
    """Give the unit that follows a number within one cell ("45 %"); "" where there is none."""
    found = _WITH_UNIT.fullmatch(cell.strip())
    return found[1].strip() if found and not is_missing(cell) else ""


def header_of(text: str, units_row: str = "") -> Header:
    """Take a heading apart: "level [in]", "PV (US gal)", "OP %", "time, s"; a units row goes first."""
    text, units_row = text.strip().lstrip("#").strip(), units_row.strip().strip("[](){}<>").strip()
    if found := _IN_BRACKETS.match(text):
        return Header(found[1].strip(), units_row or found[2])
    if units_row:
        return Header(text, units_row)
    for pattern in (
        r"^(.*\S)\s+(%|pct|percent)$",
        r"^(.*\S)\s*[,/]\s*([A-Za-z%°µμ][A-Za-z0-9%° ./]*)$",
        r"^(.*\S) in (\S+)$",
    ):
        if found := re.match(pattern, text):
            return Header(found[1].strip(), found[2].strip())
    if found := re.match(
        r"^(.*[A-Za-z])[ _](s|sec|ms|min|h|hr|in|mm|cm|m|ft|gal|l|ml|gpm|lpm|V|mV|mA|pct|counts)$", text
    ):
        return Header(found[1].strip(), found[2])
    return Header(text, "")
