"""The help page of every entry of a project and of the units, made from the field tables themselves."""

import math
from collections.abc import Mapping
from functools import cache

from levelbench.gui.fields.entry_keys import HEAD, sections
from levelbench.gui.help.pages import Page, page_of
from levelbench.project.fields import Entry, entries
from levelbench.project.records import Band, Bands
from levelbench.quantity import Dimension, NumberFormat, in_marks, in_unit, number_format, units_of, written

_INTRO = """\
# Fields and units

Each entry of the project: what it means, what it accepts, what is assumed when it is left out, and its key in the file.
Any unit of the right kind will do; what you type is kept as you typed it.
"""
_TITLES = {"start": "Start of a run", "sheet": "Head of the sheet", "bands": "Limits", "display": "Units of display"}


def anchor_of(key: str) -> str:
    """Give the anchor of an entry; the five limits share their entries."""
    parts = key.split(".")
    return f"bands.*.{parts[2]}" if parts[0] == "bands" and len(parts) == 3 else key


def fields_page() -> Page:
    """Give the page of all entries, section by section, and of all units; its numbers as they are shown now."""
    return _fields_page(number_format())


@cache
def _fields_page(_shown_as: NumberFormat) -> Page:
    lines, anchors = [_INTRO], [""]

    def add(title: str, told: Mapping[str, Entry]) -> None:
        lines.extend(["", f"## {title}"])
        anchors.append(title.casefold())
        for key, one in told.items():
            lines.extend(["", f"### {one.label}", "", *_about(key, one)])
            anchors.append(key)

    add("Job", HEAD)
    for name, record in sections().items():
        title = _TITLES.get(name, name.replace("_", " ").capitalize())
        told = {f"{name}.{key}": one for key, one in entries(record).items()}
        if record is Bands:
            told |= {f"bands.*.{key}": one for key, one in entries(Band).items()}
        add(title, told)
    lines.extend(["", "## Units", "", *_units()])
    anchors.append("units")
    return page_of("fields", "\n".join(lines), anchors)


def _about(key: str, one: Entry) -> list[str]:
    """Tell one entry: its help, then what it takes."""
    takes = _takes(one)
    unsaid = "" if one.default in (None, "", ()) else f"Assumed: `{_shown(one)}`."
    needed = "Has to be given." if one.required else ""
    facts = " ".join(part for part in (takes, needed, unsaid, f"In the file: `{key}`.") if part)
    return [one.help, "", facts]


def _takes(one: Entry) -> str:
    if one.choices:
        return f"One of: {', '.join(one.choices)}."
    kinds = [kind.value.replace("_", " ") for kind in one.dimensions]
    if not kinds:
        return ""
    off = " or “off”" if one.may_be_off else ""
    pair = "two of: " if one.count == 2 else ""
    return f"Takes: {pair}{' or '.join(kinds)}{off}{_range(one)}."


def _range(one: Entry) -> str:
    """Say between which values an entry must lie, in its first unit."""
    if one.dimension is None:
        return ""
    unit = units_of(one.dimension)[0]
    said = [
        f"{words} {written(in_unit(si, one.dimension, unit), '.4g')} {unit}"
        for words, si in (("more than", one.above), ("from", one.low), ("up to", one.high))
        if si is not None and math.isfinite(si) and not (si == 0 and words == "from")
    ]
    return f", {' '.join(said)}" if said else ""


def _shown(one: Entry) -> str:
    if isinstance(one.default, bool):
        return "yes" if one.default else "no"
    words = " and ".join(map(str, one.default)) if isinstance(one.default, tuple) else str(one.default)
    return in_marks(words) if one.dimensions else words


def _units() -> list[str]:
    """Make the table of the units of each kind of quantity."""
    rows = [
        f"| {kind.value.replace('_', ' ')} | {', '.join(filter(None, units_of(kind))) or '–'} |" for kind in Dimension
    ]
    return ["“gal” alone is the US gallon and is shown as US gal. A decimal comma is a decimal point.", "",
            "| kind | units |", "|---|---|", *rows]  # fmt: skip
