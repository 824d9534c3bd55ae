"""What the verbs print: one JSON document with stable keys, or lines for a person."""

from collections.abc import Iterable, Mapping
from typing import Any

from levelbench.handover.document import to_json
from levelbench.handover.told import value_of
from levelbench.quantity import Figure, Units


def print_json(document: Mapping[str, Any]) -> None:
    """Print one document."""
    print(to_json(document))


def figure_line(one: Figure, units: Units) -> str:
    """Give a Figure as a line for a person."""
    return f"{one.name}: {value_of(one, units)}"


def print_lines(lines: Iterable[str]) -> None:
    """Print lines for a person."""
    for line in lines:
        print(line)
