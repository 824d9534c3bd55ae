"""What the verbs print: one JSON document with stable keys, or lines for a person."""

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from levelbench.quantity import Dimension, Figure, Units, in_unit


def print_json(document: Mapping[str, Any]) -> None:
    """Print one document; a number that JSON can't hold (no limit, no value) becomes null."""
    print(json.dumps(_plain(document), indent=2, ensure_ascii=False, allow_nan=False))


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def number(si: float, dimension: Dimension, units: Units, source: str) -> dict[str, Any]:
    """Give an SI value as value, unit and source."""
    unit = units.of(dimension)
    return {"value": in_unit(si, dimension, unit) if math.isfinite(si) else si, "unit": unit, "source": source}


def figure(one: Figure, units: Units) -> dict[str, Any]:
    """Give a Figure with everything that it can say about itself."""
    about = {"key": one.key, "name": one.name, "formula": one.formula, "inputs": dict(one.inputs)}
    return about | number(one.si, one.dimension, units, one.source)


def figure_line(one: Figure, units: Units) -> str:
    """Give a Figure as a line for a person."""
    return f"{one.name}: {units.show(one.si, one.dimension, one.resolution)}"


def print_lines(lines: Iterable[str]) -> None:
    """Print lines for a person."""
    for line in lines:
        print(line)
