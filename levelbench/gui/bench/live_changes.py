"""What an edited project means for a run: what can be set while it runs, and what needs a new beginning."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

import numpy as np

from levelbench.rig import ENTRIES, Rig


def changed_entries(before: Rig, after: Rig) -> dict[str, float]:
    """Give every panel entry that two rigs start with differently, with its new value (SI)."""
    return {
        name: float(after.panel[entry.index])
        for name, entry in ENTRIES.items()
        if not entry.momentary and after.panel[entry.index] != before.panel[entry.index]
    }


def reset_reason(before: Rig, after: Rig) -> str:
    """Name what changed that a running rig can't take over (tank, pump, sensor …), or nothing.

    Entries that only say how a run begins wait for the next beginning.
    """
    if same(before.params, after.params):
        return ""
    parts = [
        section
        for section in (
            "liquid",
            "tank",
            "reservoir",
            "pump",
            "drain",
            "sensor",
            "overflow_switch",
            "stack_light",
            "loop_settings",
        )
        if getattr(before.project, section) != getattr(after.project, section)
    ]
    return " and ".join(part.replace("_", " ") for part in parts) or "what it begins with"


def same(one: object, other: object) -> bool:
    """Tell whether two nests of tuples, arrays and numbers are equal."""
    if isinstance(one, np.ndarray):
        return isinstance(other, np.ndarray) and one.dtype == other.dtype and one.tobytes() == other.tobytes()
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if is_dataclass(one) and is_dataclass(other):
        return all(map(same, _parts(one), _parts(other)))
    return bool(one == other or (one != one and other != other))  # noqa: PLR0124  nan equals nan here


def _parts(one: object) -> Iterator[object]:
    return (getattr(one, field.name) for field in fields(one)) if is_dataclass(one) else iter(())
