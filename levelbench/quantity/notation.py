"""How digits are written for a person: the decimal mark, and whether whole thousands stand apart.

This is the one door through which a number becomes a shown text. How it writes is a `NumberFormat`, kept in a context
variable as the standard library's `decimal` keeps its own: a caller sets it for a stretch of work (`numbers_shown_as`),
or the window for its thread (`show_numbers_as`), and nothing else in the process changes. Reading, project files, CSV
and JSON values never look at it.

Sources:
[1] ISO 80000-1:2009, 7.3.1: groups of three digits are set apart by a small space, never by a point or a comma.
[2] ISO 80000-1:2009, 7.3.2: the decimal sign is a comma or a point on the line.
[3] The International System of Units (SI brochure), 9th edition, 5.4.4: four digits are customarily not grouped.
"""

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

THIN_SPACE = "\u2009"
_GROUPED_FROM = 5  # digits before the mark [3]
_NUMBER = re.compile(r"(?<![0-9.,])([0-9]+)(\.[0-9]+)?(?![0-9]|[.,][0-9])")
_KEPT = re.compile(
    r"(`[^`]*`|^(?: {4}|\t).*$|\]\([^)]*\)"  # what is typed or pasted, lines set as code, places of links
    r"|\b(?:API|DIN|EEMUA|EN|HI|IEC|ISA|ISO|NE|NIST|SP)[ -][0-9.:-]*[0-9]"  # numbers of standards
    r"|\b10\.[0-9]{4,}/\S+"  # DOIs
    r"|\b(?:sections?|tables?|editions?|versions?|Table|Section) [0-9.]*[0-9])",
    re.MULTILINE,
)


@dataclass(frozen=True)
class NumberFormat:
    """The decimal mark ("." or ",") and what stands between groups of three digits ("" or a thin space)."""

    mark: str = "."
    group: str = ""


POINT = NumberFormat()
COMMA = NumberFormat(",")
BY_NAME = {"point": POINT, "comma": COMMA}
_CLOSE = 1e-5  # relative: as near as a text that is typed for somebody has to come to its value
_TYPED_DIGITS = range(4, 9)  # significant digits, the fewest that come so near
_FORMAT: ContextVar[NumberFormat] = ContextVar("levelbench number format", default=POINT)


def number_format() -> NumberFormat:
    """Give how numbers are written here and now."""
    return _FORMAT.get()


def show_numbers_as(wanted: NumberFormat) -> None:
    """Write numbers so from here on in this thread; for a program that owns it."""
    _FORMAT.set(wanted)


@contextmanager
def numbers_shown_as(wanted: NumberFormat) -> Iterator[None]:
    """Write numbers so within the block, in this thread."""
    before = _FORMAT.set(wanted)
    try:
        yield
    finally:
        _FORMAT.reset(before)


def written(value: float, how: str) -> str:
    """Write a number after a format specification of Python's, with a true minus sign and the marks in force.

    >>> written(-1234.5, ".2f")
    '−1234.50'
    """
    return in_marks(format(value, how))


def precise(value: float) -> str:
    """Write a value for the file, which keeps the point, with the fewest digits (from four) that come near enough.

    >>> precise(0.25), precise(1.0 / 3.0)
    ('0.25', '0.33333')
    """
    if value == 0:
        return "0"
    for digits in _TYPED_DIGITS:
        places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
        words = f"{value:.{places}f}"
        if abs(float(words) / value - 1) <= _CLOSE:
            break
    return words.rstrip("0").rstrip(".") if "." in words else words


def rounded(value: float, count: int) -> str:
    """Write a number to so many significant digits, never with an exponent.

    >>> rounded(111.38, 3), rounded(3.893, 3), rounded(1001.0, 2)
    ('111', '3.89', '1000')
    """
    if value == 0 or not math.isfinite(value):
        return written(value, ".0f")
    value = float(f"{value:.{count - 1}e}")
    return written(value, f".{max(0, count - 1 - math.floor(math.log10(abs(value)) + 1e-9))}f")


def in_marks(text: str) -> str:
    """Write the numbers of a text that has points in the marks in force; for texts that the program makes.

    >>> with numbers_shown_as(COMMA): in_marks("2.40 US gal")
    '2,40 US gal'
    """
    return _NUMBER.sub(_remarked, text.replace("-", "−") if _is_bare(text) else text)


def in_prose(text: str) -> str:
    """Write the numbers of a longer text of the program's own in the marks in force, but for what is no number.

    Standards, sections and places of links keep their points, and so does what stands as code, in Markdown's ways.

    >>> with numbers_shown_as(COMMA): in_prose("Ms of 1.4 is calm (ISA-5.1); type `0.5 l`.")
    'Ms of 1,4 is calm (ISA-5.1); type `0.5 l`.'
    """
    if number_format() == POINT:
        return text
    parts = _KEPT.split(text)
    return "".join(part if at % 2 else in_marks(part) for at, part in enumerate(parts))


def _is_bare(text: str) -> bool:
    """Tell whether a text is nothing but a number."""
    try:
        float(text)
    except ValueError:
        return False
    return True


def _remarked(found: re.Match[str]) -> str:
    form = number_format()
    whole, fraction = found[1], found[2] or ""
    if form.group and len(whole) >= _GROUPED_FROM:
        head = len(whole) % 3
        groups = [whole[:head]] if head else []
        whole = form.group.join([*groups, *(whole[at : at + 3] for at in range(head, len(whole), 3))])
    return whole + fraction.replace(".", form.mark)
