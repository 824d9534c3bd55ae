"""What the person typed, as it is printed: the entry's own label, the number as typed, and our name of its unit."""

import hashlib
from dataclasses import fields, is_dataclass
from typing import Any

from levelbench.project import Project
from levelbench.project.fields import Entry, entries
from levelbench.quantity import Dimension, Quantity, Units

_CHOSEN = (Dimension.VOLUME, Dimension.LENGTH, Dimension.FLOW)  # a project says in which unit it shows these
SECTIONS = {
    "liquid": "Liquid",
    "tank": "Tank",
    "reservoir": "Reservoir",
    "pump": "Pump",
    "drain": "Drain",
    "sensor": "Sensor",
    "overflow_switch": "Overflow switch",
    "loop_settings": "Controller",
    "start": "Start of the runs",
    "duty": "Duty",
}


def pairs(section: Any, shown_in: Units, leave: tuple[str, ...] = ()) -> tuple[tuple[str, str], ...]:
    """Give label and typed text of every entry of a section that has a meaning there, but those in `leave`.

    A nought is given in the unit of the project: nobody types one for its unit, and most stand for what was left out.
    """
    found = []
    for key, entry in entries(type(section)).items():
        value = getattr(section, key)
        if key not in leave and _asked(section, entry) and value != () and not is_dataclass_tuple(value):
            found.append((entry.label, as_typed(value, entry, shown_in)))
    return tuple(found)


def is_dataclass_tuple(value: Any) -> bool:
    """Tell whether a value is a list of records, which are printed one by one elsewhere."""
    return isinstance(value, tuple) and any(is_dataclass(one) and not isinstance(one, Quantity) for one in value)


def as_typed(value: Any, entry: Entry | None = None, shown_in: Units | None = None) -> str:
    """Give the text of one value; what was left out says so."""
    if value is None:
        return "off" if entry and entry.may_be_off else "not given"
    if isinstance(value, Quantity):
        return _nought(value, shown_in) or value.shown
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        joiner = ": " if entry is None else " and "
        inner = (as_typed(one) for one in value)
        return "; ".join(inner) if entry and any(isinstance(one, tuple) for one in value) else joiner.join(inner)
    return str(value)


def _nought(value: Quantity, shown_in: Units | None) -> str:
    """Give a nought of another unit in the one that the project shows; "" for everything else."""
    if shown_in is None or value.si != 0 or value.dimension not in _CHOSEN:
        return ""
    return shown_in.show(0.0, value.dimension) if value.unit != shown_in.of(value.dimension) else ""


def _asked(section: Any, entry: Entry) -> bool:
    if entry.only_for is None:
        return True
    key, values = entry.only_for
    value = getattr(section, key)
    return (str(value).lower() if isinstance(value, bool) else value) in values


def fingerprint(project: Project) -> str:
    """Give twelve hexadecimal digits that change with anything typed about the rig, its controller and its limits.

    Title, head of the sheet and units of display do not count. (SHA-256, shortened.)
    """
    told = [
        f"{name}: {_flat(getattr(project, name))}" for name in (*SECTIONS, "bands", "alarm_handling", "stack_light")
    ]
    return hashlib.sha256("\n".join([project.loop, project.first_letter, *told]).encode()).hexdigest()[:12]


def _flat(value: Any) -> str:
    if isinstance(value, Quantity):
        return value.text
    if is_dataclass(value):
        return "{" + ", ".join(f"{one.name} = {_flat(getattr(value, one.name))}" for one in fields(value)) + "}"
    if isinstance(value, tuple):
        return "[" + ", ".join(_flat(one) for one in value) + "]"
    return str(value)
