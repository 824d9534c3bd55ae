"""Stamps of time as people and loggers write them, turned into seconds: whole columns at a time.

A date and a time of day may stand in one column or in two. Nothing here is of a language or a place but the order of
day and month, which is a form of its own.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pyarrow as pa

Floats = NDArray[np.float64]
NUMBER, ISO, DAY_FIRST, MONTH_FIRST = "number", "year first", "day first", "month first"
CLOCK, HOURS = "h:min:s", "h:min"
FORMS = (NUMBER, ISO, DAY_FIRST, MONTH_FIRST, CLOCK, HOURS)
DATED = (ISO, DAY_FIRST, MONTH_FIRST)
DAY = 86400.0
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_TIME = (
    r"(?:(?P<h>[0-9]{1,2}):(?P<min>[0-9]{2})(?::(?P<s>[0-9]{2})(?:[.,:](?P<part>[0-9]{1,9}))?)?"
    r"(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?)"
)
_ZONE = r"(?: ?(?P<zone>Z|z|UTC|[+-][0-9]{2}:?[0-9]{2}))?"
_SPLIT = r"[-/.]"
_MONTH_WORD = r"(?P<month>[0-9]{1,2}|[A-Za-z]{3,9})"
_DAY = r"(?P<day>[0-9]{1,2})"
_YEAR = r"(?P<year>[0-9]{4}|[0-9]{2})"
_GAP = r"(?:[T ,;_]+|$)"
_PATTERNS = {
    ISO: rf"^\s*(?P<year>[0-9]{{4}}){_SPLIT}{_MONTH_WORD}{_SPLIT}{_DAY}{_GAP}{_TIME}?{_ZONE}\s*$",
    DAY_FIRST: rf"^\s*{_DAY}[-/. ]{_MONTH_WORD}[-/. ]{_YEAR}{_GAP}{_TIME}?{_ZONE}\s*$",
    MONTH_FIRST: rf"^\s*{_MONTH_WORD}[-/. ]{_DAY}[-/. ]{_YEAR}{_GAP}{_TIME}?{_ZONE}\s*$",
}
_CLOCK = (
    r"^\s*(?:(?P<h>[0-9]{1,4}):)?(?P<min>[0-9]{1,2}):(?P<s>[0-9]{2})(?:[.,](?P<part>[0-9]{1,9}))?"
    r"(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?\s*$"
)
_HOUR_AND_MINUTE = r"^\s*(?P<h>[0-9]{1,2}):(?P<min>[0-9]{2})(?: ?(?P<half>[AaPp])\.?[Mm]\.?)?\s*$"


@dataclass(frozen=True)
class Stamped:
    """Days since 1970 [n] (0 without a date) and seconds of the day [n] [s]; not a number where no stamp stood."""

    days: Floats
    seconds: Floats

    def since(self, day: float) -> Floats:
        """Give seconds since the beginning of a day [s]."""
        return (self.days - day) * DAY + self.seconds


def form_of(texts: Sequence[str]) -> tuple[str, str] | None:
    """Give the form of some stamps and why it is taken; None when they are no stamps of one form."""
    if not texts:
        return None
    if _all(_HOUR_AND_MINUTE, texts) and all(int(one.split(":")[0]) < 24 for one in texts):
        return HOURS, "they are hours and minutes; they could be minutes and seconds"
    if _all(_CLOCK, texts):
        return CLOCK, "they are times of a clock"
    if _all(_PATTERNS[ISO], texts):
        return ISO, "the year stands first"
    fitting = [form for form in (DAY_FIRST, MONTH_FIRST) if _all(_PATTERNS[form], texts)]
    if len(fitting) == 2:
        return _order(texts)
    return (fitting[0], f"the {fitting[0]}") if fitting else None


def _order(texts: Sequence[str]) -> tuple[str, str]:
    """Choose between day first and month first where the form fits both."""
    found = [re.match(r"\s*([0-9]{1,2})([-/. ])([0-9]{1,2})", one) for one in texts]
    pairs = {(int(one[1]), int(one[3])) for one in found if one}
    if any(first > 12 for first, _ in pairs):
        return DAY_FIRST, "a first number is above 12"
    if any(second > 12 for _, second in pairs):
        return MONTH_FIRST, "a second number is above 12"
    if found[0] and found[0][2] == ".":
        return DAY_FIRST, "with points the day usually stands first; it could be the month"
    if len({second for _, second in pairs}) > len({first for first, _ in pairs}):
        return MONTH_FIRST, "the second number goes on and the first stays; it could be the day that stands first"
    return DAY_FIRST, "nothing in the file decides between day and month; it could be the month that stands first"


def _all(pattern: str, texts: Sequence[str]) -> bool:
    return all(re.match(pattern, one) for one in texts)


def has_time(text: str) -> bool:
    """Tell whether a stamp has a time of day in it."""
    return ":" in text


def stamped(texts: "pa.ChunkedArray", form: str) -> Stamped:
    """Read a column of stamps of one form."""
    if form in (CLOCK, HOURS):
        seconds = _seconds(_groups(texts, _CLOCK if form == CLOCK else _HOUR_AND_MINUTE))
        return Stamped(np.where(np.isnan(seconds), np.nan, 0.0), seconds)
    found = _groups(texts, _PATTERNS[form])
    year = np.where(found["year"] < 100, found["year"] + np.where(found["year"] < 70, 2000, 1900), found["year"])
    days = _days(year, found["month"], found["day"])
    no_time = np.isnan(found["h"])
    seconds = np.where(no_time, 0.0, _seconds(found)) - np.nan_to_num(found["zone"])
    return Stamped(days, np.where(np.isnan(days), np.nan, seconds))


def _groups(texts: "pa.ChunkedArray", pattern: str) -> dict[str, Floats]:
    """Give each part of the stamps as numbers, not a number where there is none. Few different texts are read once."""
    import pyarrow.compute as pc  # noqa: PLC0415  only who reads a record waits for it

    parts = pc.extract_regex(texts, pattern).combine_chunks()
    found = {}
    for at in range(parts.type.num_fields):
        name = parts.type.field(at).name
        coded = pc.struct_field(parts, [at]).dictionary_encode()
        values = np.array([_number(name, one) for one in coded.dictionary.to_pylist()] + [np.nan])
        which = coded.indices.fill_null(len(values) - 1).to_numpy(zero_copy_only=False)
        found[name] = values[which]
    return found


def _number(name: str, text: str | None) -> float:
    if not text:
        return np.nan
    if name == "half":
        return 12.0 if text in "Pp" else 0.0
    if name == "month" and not text.isdigit():
        low = text[:3].lower()
        return float(_MONTHS.index(low) + 1) if low in _MONTHS else np.nan
    if name == "zone":
        size = 3600.0 * int(text[1:3]) + 60.0 * int(text[-2:]) if text[0] in "+-" else 0.0
        return -size if text[0] == "-" else size
    return float(f"0.{text}" if name == "part" else text)


def _seconds(found: dict[str, Floats]) -> Floats:
    """Give seconds of the day [s]; not a number for what no clock shows."""
    hours, minutes = np.nan_to_num(found["h"]), found["min"]
    second = np.nan_to_num(found["s"]) if "s" in found else np.zeros(len(hours))
    part = np.nan_to_num(found["part"]) if "part" in found else np.zeros(len(hours))
    half = found["half"]
    shown = np.where(np.isnan(half), hours, np.where((hours < 1) | (hours > 12), np.nan, hours % 12 + half))
    good = (minutes < 60) & (second < 61)
    return np.where(good, shown * 3600.0 + minutes * 60.0 + second + part, np.nan)


def _days(year: Floats, month: Floats, day: Floats) -> Floats:
    """Give days since 1970, not a number for a day that no calendar has; each different date is looked up once."""
    codes = np.nan_to_num(year) * 10000 + np.nan_to_num(month) * 100 + np.nan_to_num(day)
    different, which = np.unique(codes, return_inverse=True)
    return np.array([_day(int(code)) for code in different])[which]


def _day(code: int) -> float:
    try:
        return float(date(code // 10000, code // 100 % 100, code % 100).toordinal() - date(1970, 1, 1).toordinal())
    except ValueError:
        return np.nan


def over_midnight(seconds: Floats) -> tuple[Floats, int]:
    """Add a day each time a clock without a date starts again; give the times and how often that was."""
    good = np.isfinite(seconds)
    fell = np.zeros(len(seconds), dtype=np.int64)
    fell[np.flatnonzero(good)[1:]] = np.diff(seconds[good]) < -DAY / 2
    return seconds + DAY * np.cumsum(fell), int(fell.sum())
