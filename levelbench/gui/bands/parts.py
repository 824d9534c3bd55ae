"""The entries of an alarm that stand beside its limit in the whole table: dead band, delays, handling."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.gui.fields.entry_keys import declaration, kind_of, record_and_name
from levelbench.gui.tuning.setting_texts import number, with_unit
from levelbench.project.fields import entries
from levelbench.quantity import Dimension, Units, in_unit, read

if TYPE_CHECKING:
    from levelbench.gui.bands.rows import Row


@dataclass(frozen=True)
class Part:
    """An entry of every alarm that has it, and the words at the head of its column."""

    key: str
    head: str
    width: int  # px, at least

    @property
    def name(self) -> str:
        """The words at the head, in one line."""
        return self.head.replace("-\n", "-").replace("\n", " ")


PARTS = (
    Part("dead_band", "dead\nband", 44),
    Part("on_delay", "on-\ndelay", 42),
    Part("off_delay", "off-\ndelay", 42),
    Part("priority", "priority", 75),
    Part("latching", "latching", 44),
    Part("suppressed_while", "suppressed\nwhile", 94),
)


def has(row: Row, part: Part) -> bool:
    """Tell whether an alarm has an entry: a spill has no dead band."""
    return row.is_alarm and part.key in entries(record_and_name(f"{front(row)}.{part.key}")[0])


def front(row: Row) -> str:
    """Give the front of the keys of an alarm."""
    return f"bands.{row.key}"


def entry_of(row: Row, part: Part) -> str:
    """Give the key of an entry of an alarm."""
    return f"{front(row)}.{part.key}"


def is_number(key: str) -> bool:
    """Tell whether an entry is a quantity."""
    return declaration(key).dimension is not None


def is_yes_no(key: str) -> bool:
    """Tell whether an entry is yes or no."""
    return kind_of(key) is bool


def dimension_of(key: str) -> Dimension:
    """Give the dimension of an entry that is a quantity."""
    found = declaration(key).dimension
    assert found is not None
    return found


def value_in(units: Units, key: str, si: float) -> float:
    """Give the value of an entry in the unit of its column."""
    return in_unit(si, dimension_of(key), units.of(dimension_of(key)))


def written_in(units: Units, key: str, si: float) -> str:
    """Write the value of an entry in the unit of its column, without it."""
    return number(value_in(units, key, si))


def typed_part(units: Units, key: str, words: str) -> str:
    """Give the text with which an entry is typed; a bare number is in the column's unit.

    Raises QuantityError for what can't be read.
    """
    unit = units.of(dimension_of(key))
    whole = with_unit(words, unit)
    read(whole, dimension_of(key))
    return whole
