"""Findings and figures for other programs: documents with stable keys, each number with its value, unit and source."""

import json
import math
from collections.abc import Mapping
from typing import Any

from levelbench.quantity import Dimension, Figure, Units, in_unit
from levelbench.review import Finding


def to_json(document: Mapping[str, Any]) -> str:
    """Write a document as JSON; a number that JSON can't hold (no limit, no value) becomes null."""
    return json.dumps(_plain(document), indent=2, ensure_ascii=False, allow_nan=False)


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


def finding(one: Finding, units: Units) -> dict[str, Any]:
    """Give a finding with its figures."""
    return {
        "key": one.key,
        "title": one.title,
        "severity": one.severity.word,
        "applies": one.applies,
        "text": one.text,
        "change": one.change,
        "go_to": one.go_to,
        "figures": [figure(each, units) for each in one.figures],
    }
