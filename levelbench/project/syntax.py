"""A text that is not TOML yet: which lines can't be read, each with a reason in the words of whoever typed it.

A line that can't be read by itself is laid aside and the rest is read on, so that one missing quotation mark or bracket
does not hide what else is wrong.
"""

import contextlib
import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from levelbench.project.lines import places
from levelbench.project.mending import ENTRY, HEADING, Mend, mended
from levelbench.project.problems import Problem

_MOST = 100  # lines laid aside before it is no use to go on
_WHERE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_FORM = 'key = "value"'


@dataclass(frozen=True)
class Parsed:
    """What could be read of a text: its plain data, None when the reading ended early, and the lines laid aside.

    `text` is what was read, line for line; `aside` holds the keys of the lines that were left out of it.
    """

    data: dict[str, Any] | None
    text: str
    problems: tuple[Problem, ...]
    aside: frozenset[str]


@lru_cache(maxsize=8)
def plain_data(text: str) -> dict[str, Any]:
    """Give the plain data of a TOML text, to be looked at and not changed; the last few texts are remembered.

    Raises tomllib.TOMLDecodeError.
    """
    return tomllib.loads(text)


def parse(text: str) -> Parsed:
    """Read a TOML text as far as it can be read."""
    lines, problems, aside = text.split("\n"), list[Problem](), set[str]()
    while True:
        try:
            data = plain_data("\n".join(lines))
        except tomllib.TOMLDecodeError as error:
            reason, at = _reason_and_line(str(error), lines)
            mend = mended(lines, at, reason) or _alone(lines, at, reason)
            at = mend.at if mend else at
            line = lines[at - 1] if at <= len(lines) else ""
            key = mend.key if mend else ""
            words = mend.message if mend else ""
            problems.append(Problem(at, key, line.strip(), _FORM, None, words or _words(reason, lines, at)))
            if mend is None or len(problems) == _MOST:
                return Parsed(None, "\n".join(lines), tuple(problems), frozenset(aside))
            aside.add(mend.key)
            lines[mend.first - 1 : mend.last] = [mend.instead] + [""] * (mend.last - mend.first)
        else:
            return Parsed(data, "\n".join(lines), tuple(problems), frozenset(aside))


def _reason_and_line(error: str, lines: list[str]) -> tuple[str, int]:
    where = _WHERE.search(error)
    reason = error[: where.start()] if where else error
    return reason, int(where[1]) if where and where[1] else len(lines)


def _alone(lines: list[str], at: int, reason: str) -> Mend | None:
    """Lay aside a line that is wrong whatever stands around it; None when it is not of that kind."""
    line = lines[at - 1] if at <= len(lines) else ""
    if not re.match(r"\s*[A-Za-z0-9_]", line):
        return None
    if "Cannot overwrite a value" not in reason:
        with contextlib.suppress(tomllib.TOMLDecodeError):
            tomllib.loads(line)
            return None
    return Mend(at, at, "", at, _key(lines, at), "")


def _key(lines: list[str], at: int) -> str:
    """Give the whole key of the entry on a line; "" when there is none."""
    entry = ENTRY.match(lines[at - 1]) if at <= len(lines) else None
    if not entry:
        return ""
    above = {place.first: key for key, place in places("\n".join(lines[: at - 1])).items() if place.heading}
    section = above[max(above)] if above else ""
    return f"{section}.{entry[1]}".lstrip(".")


def _words(reason: str, lines: list[str], at: int) -> str:
    line = lines[at - 1] if at <= len(lines) else ""
    heading, entry = HEADING.match(line), ENTRY.match(line)
    if heading and "twice" in reason:
        first = places("\n".join(lines[: at - 1])).get(heading[1])
        where = f", first on line {first.first}" if first else ""
        return f"The section [{heading[1]}] is there twice{where}. Put all its entries below one heading."
    if entry and "Cannot overwrite a value" in reason:
        first = places("\n".join(lines[: at - 1])).get(_key(lines, at))
        where = f", first on line {first.first}" if first else ""
        return f"“{entry[1]}” is given twice{where}. Take one of them out."
    if entry and (words := _wrong_value(entry[1], entry[2].strip())):
        return words
    if re.match(r"\s*[A-Za-z_][^=]*$", line):
        return f"There is no “=” in this line. Each entry is written: {_FORM}. A remark begins with #."
    return f"This line can't be read as TOML: {reason.splitlines()[0]}. Each entry is written: {_FORM}."


def _wrong_value(name: str, value: str) -> str:
    """Say what is wrong with the value of an entry; "" when none of the usual slips is in it."""
    bare = value.partition("#")[0].strip()
    for pattern, words in _SLIPS:
        if pattern.fullmatch(value):
            return words.format(name=name, bare=bare)
    if bare.casefold() in _SWITCHES:
        meant = f' or "{bare.casefold()}" in quotes' if bare.casefold() in ("off", "on") else ""
        return f"“{bare}” is written {_SWITCHES[bare.casefold()]}, in small letters{meant}."
    if re.fullmatch(r"[^\"'\[\]{}]+", bare):
        return f'Texts and quantities stand in quotes: {name} = "{bare}".'
    return ""


_SWITCHES = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}
_SLIPS = (
    (re.compile("(?:#.*)?"), "“{name}” has no value yet. Type it behind the “=”, or take the line out."),
    (
        re.compile("[“”„«].*"),
        'These are the quotation marks of a word processor. Type the plain ones: {name} = "…".',
    ),
    (re.compile('"[^"]*'), 'The closing quotation mark is missing: {name} = {bare}".'),
    (re.compile(r"""[^"'\[{#]*"\s*(?:#.*)?"""), 'The opening quotation mark is missing: {name} = "{bare}.'),
    (
        re.compile('"[^"]*"[^#"]+(?:#.*)?'),
        "There is more behind the closing quotation mark. Only a remark, after a #, may stand there.",
    ),
)
