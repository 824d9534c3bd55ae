"""What to read on with where a text is not TOML: the heading that was meant, or the text without an entry left open.

A bracket that is never closed takes in all that stands below it. It is laid aside only to the next line that begins an
entry or a section, so that the rest of the file is still read.
"""

import re
from dataclasses import dataclass

from levelbench.project.lines import Place, places

ENTRY = re.compile(r"\s*([A-Za-z0-9_][\w.-]*)\s*=\s*(.*)$")
HEADING = re.compile(r"\s*\[\[?\s*([\w.-]+)\s*\]\]?\s*(?:#.*)?$")
_BRACKETED = re.compile(r"\s*(\[{0,3})\s*([\w.-]+)\s*(\]{0,3})\s*(?:#.*)?$")
_CLOSING = {"[": "bracket ]", "{": "brace }", '"': 'quotation marks """', "'": "quotation marks '''"}


@dataclass(frozen=True)
class Mend:
    """Lines, counted from 1, that something else is to be read for; what is wrong with them, and where that stands."""

    first: int
    last: int
    instead: str
    at: int
    key: str
    message: str  # empty: there is nothing more to say of it than of any line that can't be read


def mended(lines: list[str], at: int, reason: str) -> Mend | None:
    """Give how to read on after a fault on a line that does not stand alone; None when there is no way."""
    if (held := _held_open(lines, at)) is not None:
        return held
    line = lines[at - 1] if at <= len(lines) else ""
    if meant := _heading_meant(line):
        side = "opening" if line.count("[") < line.count("]") else "closing"
        return Mend(at, at, meant, at, "", f"A bracket is missing on the {side} side of this heading: {meant}.")
    if HEADING.match(line) and "twice" in reason:
        return Mend(at, _next_heading(lines, at) - 1, "", at, "", "")
    return None


def _held_open(lines: list[str], at: int) -> Mend | None:
    """Lay aside the entry whose value begins on a line above and has not ended on this one, or never ends."""
    found = {key: place for key, place in places("\n".join(lines)).items() if not place.heading}
    around = [(place.first, key, place) for key, place in found.items() if place.first <= at <= place.last]
    if not around:
        return None
    first, key, place = max(around)
    value = _value_on(lines[first - 1])
    if place.last == first and (at < len(lines) or value[:1] not in ("[", "{")):
        return None
    last = _end(lines, place, value)
    if last is None:
        words = "A section of values in braces stands on one line, from { to }." if value[:1] == "{" else ""
        return Mend(first, place.last, "", at, key, words)
    name, closing = key.rpartition(".")[2], _CLOSING.get(value[:1], "end")
    return Mend(first, last, "", first, key, f"The closing {closing} of “{name}” is missing.")


def _end(lines: list[str], place: Place, value: str) -> int | None:
    """Give the last line of a value that is never closed; None when it is closed, and wrong in itself."""
    closed = place.last < len(lines)
    for number in range(place.first + 1, place.last + 1):
        line = lines[number - 1]
        if HEADING.match(line) or _heading_meant(line):
            return number - 1
        if ENTRY.match(line) and (not closed or value[:1] == "["):
            return number - 1
    return None if closed else place.last


def _value_on(line: str) -> str:
    entry = ENTRY.match(line)
    return entry[2].strip() if entry else ""


def _heading_meant(line: str) -> str:
    """Give the heading that a line was meant to be whose brackets do not match; "" when it is none, or they do."""
    found = _BRACKETED.match(line)
    if not found or len(found[1]) == len(found[3]):
        return ""
    return f"[[{found[2]}]]" if "[[" in found[1] or "]]" in found[3] else f"[{found[2]}]"


def _next_heading(lines: list[str], at: int) -> int:
    return next(
        (number for number in range(at + 1, len(lines) + 1) if HEADING.match(lines[number - 1])), len(lines) + 1
    )
