"""On which line of a TOML text each key stands, so that a problem can name it and an edit can be put beside it."""

import re
import types
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

_KEY = re.compile(
    r"""((?:"(?:[^"\\]|\\.)*"|'[^']*'|[\w-]+)(?:[ \t]*\.[ \t]*(?:"(?:[^"\\]|\\.)*"|'[^']*'|[\w-]+))*)[ \t]*="""
)
_HEADER = re.compile(r"(\[\[?)[ \t]*(.*?)[ \t]*\]\]?[ \t]*(?:#.*)?$")
_TOKEN = re.compile(r'"""|\'\'\'|"(?:[^"\\]|\\.)*"|\'[^\']*\'|#.*|[\[\]{}]')


@dataclass(frozen=True)
class Place:
    """The first and last line of a key with its value, or of a section's heading; counted from 1."""

    first: int
    last: int
    heading: bool = False


@lru_cache(maxsize=8)
def places(text: str) -> Mapping[str, Place]:
    """Give the place of every key and heading of a valid TOML text: "tank.height", "tank", "stack_light[0].state".

    They stand in the order of the text. The last few texts are remembered, since an edit asks for each more than once.
    """
    lines = text.split("\n")
    found: dict[str, Place] = {}
    rows: Counter[str] = Counter()
    section = ""
    at = 0
    while at < len(lines):
        line = lines[at].strip()
        last = at
        if header := _HEADER.match(line):
            section = _plain(header[2])
            if header[1] == "[[":
                rows[section] += 1
                section = f"{section}[{rows[section] - 1}]"
            found[section] = Place(at + 1, at + 1, heading=True)
        elif key := _KEY.match(line):
            last = _end_of_value(lines, at, line[key.end() :])
            found[f"{section}.{_plain(key[1])}".lstrip(".")] = Place(at + 1, last + 1)
        at = last + 1
    return types.MappingProxyType(found)


def line_of(found: Mapping[str, Place], key: str) -> int:
    """Give the line of a key, or of the nearest thing that encloses it; 0 when there is none."""
    while key and key not in found:
        key = key[: max(key.rfind("."), key.rfind("["), 0)]  # shorter each time, whatever stands in a key
    return found[key].first if key else 0


def _plain(dotted: str) -> str:
    parts = re.findall(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'|[\w-]+", dotted)
    return ".".join(part.strip("\"'") for part in parts)


def _end_of_value(lines: list[str], at: int, rest: str) -> int:
    """Give the index of the line on which a value ends that begins with `rest` on line `at`."""
    depth = 0
    closing = ""  # the quotes that end the text of several lines that we are in
    while True:
        while rest:
            if closing:
                before, found, rest = rest.partition(closing)
                closing = "" if found and not before.endswith("\\") else closing
                continue
            token = _TOKEN.search(rest)
            if not token:
                break
            rest = rest[token.end() :]
            depth += (token[0] in "[{") - (token[0] in "]}")
            closing = token[0] if token[0] in ('"""', "'''") else ""
        if (depth <= 0 and not closing) or at + 1 >= len(lines):
            return at
        at += 1
        rest = lines[at]
