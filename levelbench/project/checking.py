"""From a plain dictionary to records: every entry is checked against its declaration, and every problem is kept."""

import difflib
import types
import typing
from collections.abc import Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass, is_dataclass
from functools import cache
from typing import Any

from levelbench.project.fields import Entry, entries
from levelbench.project.lines import Place, line_of
from levelbench.project.problems import Problem
from levelbench.quantity import Dimension, Quantity, QuantityError, read, show, units_of

_MISSING = object()
_MOST = 300  # sections remembered


@dataclass(frozen=True)
class _Sound:
    """What came of a section that has nothing wrong in it; it depends on nothing outside of the section."""

    record: Any
    values: Mapping[str, Any]
    asked: frozenset[str]


# by record, key and what is written. An edit changes one section; the others need not be read again.
_sound: dict[tuple[type, str, str], _Sound] = {}


@cache
def fields_of(record: type) -> Mapping[str, Any]:
    """Give the type of every field of a record."""
    return types.MappingProxyType(typing.get_type_hints(record))


def record_in(hint: Any) -> type | None:
    """Give the record in "Record", "Record | None" or "tuple[Record, ...]"; None when there is none in it."""
    for one in (hint, *typing.get_args(hint)):
        if isinstance(one, type) and is_dataclass(one) and one is not Quantity:
            return one
    return None


def nearest(word: str, known: Collection[str]) -> str | None:
    """Give the known word that is most like this one."""
    found = difflib.get_close_matches(word.casefold(), [one.casefold() for one in known], n=1, cutoff=0.5)
    return next((one for one in known if found and one.casefold() == found[0]), None)


def shown(value: Any) -> str:
    """Show a value as it stands in a file."""
    if isinstance(value, str):
        return f'"{value}"' if len(value) < 60 else f'"{value[:57]}…"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a section"
    return (
        f"[{', '.join(shown(one) for one in value[:3])}{', …' if len(value) > 3 else ''}]"
        if isinstance(value, list)
        else str(value)
    )


def _quoted(raw: Any, wanted: tuple[Dimension, ...]) -> str:
    """Say how a number that stands bare in the file has to be written."""
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        return "a text in quotes with its unit"
    offers = " or ".join('"' + f"{raw} {unit}".strip() + '"' for unit in units_of(wanted[0])[:2])
    return f"in quotes and with its unit, so that nobody has to guess: {offers}"


def _unit_meant(word: str, choices: tuple[str, ...]) -> str | None:
    """Give the unit among the choices that another spelling of it means: "litres" is l."""
    for dimension in (Dimension.VOLUME, Dimension.LENGTH, Dimension.FLOW):
        with suppress(QuantityError):
            unit = read(f"1 {word}", dimension).unit
            if unit in choices:
                return unit
    return None


class Check:
    """One pass over a file's data: the values that are sound, and the problems of the rest."""

    def __init__(self, places: Mapping[str, Place], aside: frozenset[str] = frozenset()) -> None:
        """`aside` are the keys of entries that could not be read: of them, nothing is known and no more is said."""
        self.problems: list[Problem] = []
        self.values: dict[str, Any] = {}  # sound values by key; None where an optional entry is left out
        self.asked: set[str] = set()  # keys that apply to what is described
        self._places = places
        self._aside = aside

    def problem(self, key: str, found: Any, allowed: str, message: str, near: str | None = None) -> None:
        """Keep one problem. `found` is the value as it stands in the file, or a text about it."""
        line = line_of(self._places, key)
        if near and f"Nearest unit: {near}." not in message:
            message = f"{message} Did you mean “{near}”?"
        as_found = found if isinstance(found, str) and found.strip() else shown(found)  # a blank text in its quotes
        self.problems.append(Problem(line, key, as_found, allowed, near, message))

    def section(self, record: type, data: Any, at: str) -> Any:
        """Build a record from one section; None when anything in it is wrong."""
        written = (record, at, repr(data))
        sound = None if self._aside else _sound.get(written)
        if sound is None:
            sound = self._read_section(record, data, at)
            if sound is None:
                return None
            if len(_sound) >= _MOST:
                _sound.clear()
            _sound[written] = sound
        self.values.update(sound.values)
        self.asked.update(sound.asked)
        return sound.record

    def _read_section(self, record: type, data: Any, at: str) -> _Sound | None:
        count, values, asked = len(self.problems), len(self.values), set(self.asked)
        if not isinstance(data, Mapping):
            self.problem(at, data, "a section", f"“{at}” must be a section: [{at}] with one entry a line.")
            return None
        known = entries(record)
        for name in data:
            if name not in known:
                self._unknown(f"{at}.{name}".lstrip("."), name, data[name], known)
        misspelt = {nearest(name, known) for name in data if name not in known}
        for name, entry in known.items():
            if name in misspelt and name not in data:
                continue  # one slip, one problem: it was named where it stands
            self._entry(f"{at}.{name}".lstrip("."), entry, fields_of(record)[name], data.get(name, _MISSING))
        keys = {name: f"{at}.{name}".lstrip(".") for name in known}
        if len(self.problems) > count or any(key not in self.values for key in keys.values()):
            return None
        made = record(**{name: self.values[key] for name, key in keys.items()})
        return _Sound(made, dict(list(self.values.items())[values:]), frozenset(self.asked - asked))

    def rows(self, record: type, data: Any, key: str) -> tuple[Any, ...]:
        """Build a record from each row of a list."""
        if not isinstance(data, list):
            self.problem(key, data, "a list of rows", f"“{key}” must be a list of rows: [[{key}]] above each.")
            return ()
        return tuple(self.section(record, row, f"{key}[{number}]") for number, row in enumerate(data))

    def _unknown(self, key: str, name: str, value: Any, known: Mapping[str, Entry]) -> None:
        near = nearest(name, known)
        allowed = "one of: " + ", ".join(known)
        self.problem(key, value, allowed, f"“{name}” is not known here.", near)

    def _entry(self, key: str, entry: Entry, hint: Any, raw: Any) -> None:
        applies = self._applies(key, entry)
        if applies:
            self.asked.add(key)
        if raw is _MISSING and key in self._aside:
            return
        if raw is _MISSING:
            if entry.required and applies and self._asked_value(key, entry) not in entry.optional_for:
                message = f"{entry.label[0].upper()}{entry.label[1:]} is missing. {entry.help}".strip()
                self.problem(key, "nothing", self._allowed(entry), message)
                return
            raw = entry.default
        if raw is None or (raw == "off" and entry.may_be_off):
            self.values[key] = None
            return
        count = len(self.problems)
        value = self._value(key, entry, hint, raw)
        if len(self.problems) == count and value is not None:
            self.values[key] = value

    def _applies(self, key: str, entry: Entry) -> bool:
        if entry.only_for is None:
            return True
        return self._asked_value(key, entry) in entry.only_for[1]

    def _asked_value(self, key: str, entry: Entry) -> str:
        """Give, in words, the value of the entry on which this one depends."""
        if entry.only_for is None:
            return ""
        return shown(self.values.get(f"{key.rpartition('.')[0]}.{entry.only_for[0]}")).strip('"')

    def _value(self, key: str, entry: Entry, hint: Any, raw: Any) -> Any:
        inner = record_in(hint)
        if inner is not None:
            in_a_row = typing.get_origin(hint) is tuple
            return self.rows(inner, list(raw) if raw == () else raw, key) if in_a_row else self.section(inner, raw, key)
        if typing.get_origin(hint) is tuple and entry.dimension is None:
            return self._table(key, entry, raw)
        if entry.count == 2:
            return self._pair(key, entry, raw)
        if entry.dimension is not None:
            return self._quantity(key, entry, entry.dimensions, raw)
        return self._plain(key, entry, hint, raw)

    def _allowed(self, entry: Entry) -> str:
        if entry.choices:
            return "one of: " + ", ".join(f'"{one}"' for one in entry.choices)
        return f"{entry.label}, in quotes and with its unit" if entry.dimension is not None else entry.label

    def _plain(self, key: str, entry: Entry, hint: Any, raw: Any) -> Any:
        wanted = {bool: "true or false, without quotes", int: "a whole number, without quotes"}.get(
            hint, "a text in quotes"
        )
        if hint not in (bool, int):
            hint = str
        if not isinstance(raw, hint) or (hint is int and isinstance(raw, bool)):
            self.problem(key, raw, wanted, f"{shown(raw)} must be {wanted}.")
        elif entry.choices and raw not in entry.choices:
            allowed = self._allowed(entry)
            self.problem(
                key,
                raw,
                allowed,
                f"{shown(raw)} is not among: {', '.join(entry.choices)}.",
                _unit_meant(str(raw), entry.choices) or nearest(str(raw), entry.choices),
            )
        elif hint is int:
            self._in_range(key, entry, raw, str)
        elif entry.required and not str(raw).strip():
            self.problem(key, raw, wanted, f"{entry.label[0].upper()}{entry.label[1:]} is empty.")
        return raw

    def _quantity(self, key: str, entry: Entry, wanted: tuple[Dimension, ...], raw: Any) -> Quantity | None:
        if not isinstance(raw, str):
            self.problem(key, raw, self._allowed(entry), f"{shown(raw)} must be {_quoted(raw, wanted)}.")
            return None
        try:
            value = read(raw, *wanted)
        except QuantityError as error:
            or_off = " Or type off." if entry.may_be_off else ""
            self.problem(key, raw, self._allowed(entry), f"{error}{or_off}", error.nearest)
            return None
        self._in_range(key, entry, value.si, lambda si: show(si, value.dimension, value.unit), raw)
        return value

    def _in_range(self, key: str, entry: Entry, value: float, words: Any, raw: Any = None) -> None:
        too_low = (entry.low is not None and value < entry.low) or (entry.above is not None and value <= entry.above)
        if too_low or (entry.high is not None and value > entry.high):
            bounds = (("at least", entry.low), ("above", entry.above), ("at most", entry.high))
            allowed = " and ".join(f"{name} {words(bound)}" for name, bound in bounds if bound is not None)
            found = value if raw is None else raw
            self.problem(key, found, allowed, f"{shown(found)} is out of range: {allowed}.")

    def _pair(self, key: str, entry: Entry, raw: Any) -> tuple[Any, ...]:
        if not isinstance(raw, list | tuple) or len(raw) != 2:
            self.problem(key, raw, "two texts in brackets", f'{shown(raw)} must be a pair: ["…", "…"], {entry.label}.')
            return ()
        return tuple(self._quantity(key, entry, entry.dimensions, one) for one in raw)

    def _table(self, key: str, entry: Entry, raw: Any) -> tuple[tuple[Any, Any], ...]:
        if not isinstance(raw, list) or not all(isinstance(row, list) and len(row) == 2 for row in raw):
            self.problem(key, raw, "rows of level and volume", f"{shown(raw)} must be rows of two: {entry.help}")
            return ()
        return tuple(
            (
                self._quantity(key, entry, (Dimension.LENGTH,), level),
                self._quantity(key, entry, (Dimension.VOLUME,), volume),
            )
            for level, volume in raw
        )
