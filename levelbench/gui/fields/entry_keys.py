"""What the window needs to know of an entry from its key: its declaration, its name in a sentence, what was typed."""

import tomllib
import types
import typing
from collections.abc import Mapping
from dataclasses import is_dataclass
from functools import cache, lru_cache
from typing import Any

from levelbench.project.fields import Entry, entries
from levelbench.project.records import Head, Project

HEAD = entries(Head)
_PLAIN_SECTIONS = ("loop_settings", "bands")  # their labels say enough without the name of the section


def _record_in(hint: Any) -> type | None:
    """Give the record in "Record" or "Record | None"."""
    inner = [one for one in typing.get_args(hint) if one is not type(None)] or [hint]
    return inner[0] if is_dataclass(inner[0]) and isinstance(inner[0], type) else None


@cache
def sections() -> Mapping[str, type]:
    """Give every section of a project with its record, in the order of the file."""
    hints = typing.get_type_hints(Project)
    found = {name: _record_in(hint) for name, hint in hints.items() if typing.get_origin(hint) is not tuple}
    return types.MappingProxyType({name: record for name, record in found.items() if record is not None})


@cache
def _hints(record: type) -> dict[str, Any]:
    return typing.get_type_hints(record)


@cache
def record_and_name(key: str) -> tuple[type, str]:
    """Give the record that holds an entry and the entry's name in it: "bands.high.limit" is `limit` of `Band`."""
    parts = key.split(".")
    record: type = Project
    for name in parts[:-1]:
        inner = _record_in(_hints(record)[name])
        assert inner is not None, key
        record = inner
    return record, parts[-1]


def declaration(key: str) -> Entry:
    """Give the declaration of an entry."""
    if key in HEAD:
        return HEAD[key]
    record, name = record_and_name(key)
    return entries(record)[name]


def kind_of(key: str) -> Any:
    """Give the type of the record's field, to tell a word from a whole number and yes/no."""
    if key in HEAD:
        return str
    record, name = record_and_name(key)
    return _hints(record)[name]


def name_of(key: str) -> str:
    """Give the name of an entry as it stands in a sentence: "gain", "high limit", "tank inside diameter"."""
    section, *between, _ = key.split(".") if "." in key else ("", key)
    words = [] if section in ("", *_PLAIN_SECTIONS) else [section.replace("_", " ")]
    words += [declaration(f"{section}.{name}").label for name in between]
    whole_alarm = section == "bands" and not between  # the alarm itself, none of its entries
    return " ".join([*words, declaration(key).label, *(["alarm"] if whole_alarm else [])])


@lru_cache(maxsize=8)
def _tree(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def typed(project: Project, key: str) -> Any:
    """Give what stands in the file for an entry, None where it is left out."""
    found: Any = _tree(project.text)
    for name in key.split("."):
        if not isinstance(found, dict) or name not in found:
            return None
        found = found[name]
    return found


def in_words(value: Any) -> str:
    """Give a value as it stands in a sentence or a field."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)) and value and isinstance(value[0], (list, tuple, Mapping)):
        return "1 row" if len(value) == 1 else f"{len(value)} rows"
    if isinstance(value, (list, tuple)):
        return " and ".join(in_words(one) for one in value)
    return "" if value is None else str(value)


def applies(key: str, value_of: typing.Callable[[str], Any]) -> bool:
    """Tell whether an entry is asked for, when `value_of` gives the value (or the default) of any key."""
    only_for = declaration(key).only_for
    if only_for is None:
        return True
    asked, values = only_for
    value = value_of(f"{key.rsplit('.', 1)[0]}.{asked}")
    return str(value).lower() in values


def needed(key: str, value_of: typing.Callable[[str], Any]) -> bool:
    """Tell whether an entry has to be given, when `value_of` gives the value (or the default) of any key."""
    entry = declaration(key)
    if not entry.required or not applies(key, value_of):
        return False
    asked = entry.only_for[0] if entry.only_for else ""
    return not asked or str(value_of(f"{key.rsplit('.', 1)[0]}.{asked}")).lower() not in entry.optional_for
