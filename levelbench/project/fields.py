"""How one entry of the project file is declared: the file reader, the forms and the help all work from these."""

from collections.abc import Mapping
from dataclasses import Field, dataclass, field, fields
from functools import cache
from types import MappingProxyType
from typing import Any

from levelbench.quantity import Dimension, in_prose

Default = str | int | bool | tuple[()] | tuple[str, str] | None


@dataclass(frozen=True)
class Entry:
    """What may be typed for one key of the project file."""

    label: str
    told: str  # what it is, in a sentence or two; `help` writes its numbers as they are shown now
    dimension: Dimension | None = None  # None: a word, a whole number or yes/no, by the type of the field
    also: Dimension | None = None  # a second kind of quantity that is accepted in the place of the first
    choices: tuple[str, ...] = ()
    default: Default = None  # as it would be typed; None: nothing is assumed
    required: bool = False
    low: float | None = None  # SI, allowed as well
    high: float | None = None
    above: float | None = None  # SI, not allowed itself
    only_for: tuple[str, tuple[str, ...]] | None = None  # (key in the same section, its values): asked for just then
    optional_for: tuple[str, ...] = ()  # the values of that key for which a required entry may be left out
    may_be_off: bool = False  # the word "off" is accepted, and is kept as None
    count: int = 1  # 2: a pair in brackets
    sentences: bool = False  # a text of a sentence or more, not of a word or two

    @property
    def help(self) -> str:
        """What it is, in a sentence or two."""
        return in_prose(self.told)

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """The kinds of quantity that may be typed; empty for a word, a text, a whole number or yes/no."""
        return tuple(one for one in (self.dimension, self.also) if one is not None)


def entry(label: str, help_text: str, dimension: Dimension | None = None, **more: Any) -> Any:
    """Declare a field of a section record; see `Entry` for what can be said about it."""
    return field(metadata={"entry": Entry(label, help_text, dimension, **more)})


def entry_of(one: "Field[Any]") -> Entry:
    """Give the declaration that a section record's field carries."""
    found = one.metadata["entry"]
    assert isinstance(found, Entry)
    return found


def entries(section: type) -> Mapping[str, Entry]:
    """Give every key of a section record with its declaration, in the order of the file."""
    return _entries(section)


@cache
def _entries(section: type) -> Mapping[str, Entry]:
    return MappingProxyType({one.name: entry_of(one) for one in fields(section)})
