"""Several curves over one clock, in panels one below the other: runs laid over each other so that they can be compared.

Each curve has its own break and weight beside its colour, and a name, so that a grey copy still tells them apart. Where
a curve stands for several runs, the room between the lowest and the highest of them is tinted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Item, Line, Point, Polygon, Polyline, Role, Scene, Stroke, Text
from levelbench.drawing.strokes import FINE, THIN
from levelbench.drawing.ticks import nice_ticks

Floats = NDArray[np.float64]
RULED = 0.14  # of what a panel with ruled values covers: kept free above them


@dataclass(frozen=True)
class Look:
    """How a curve is drawn: its line, and the tint between lowest and highest (None: no tint)."""

    role: Role
    stroke: Stroke
    weight: float
    tint: Role | None = None


BEFORE = Look(Role.ATTENTION, Stroke.DASHED, 1.1, Role.ATTENTION_TINT)
OWN = Look(Role.QUIET, Stroke.DASH_DOT, 1.0)
AFTER = Look(Role.WATER_LINE, Stroke.SOLID, 1.5, Role.LIQUID)


@dataclass(frozen=True)
class Curve:
    """values[runs, points] over one clock, in the panel's unit; the mean is drawn."""

    name: str
    values: Floats
    look: Look


@dataclass(frozen=True)
class Panel:
    """Curves over time [points] in the clock's unit; mark: a value that is ruled and named, such as a set point.

    rules: values that are ruled and named at the line itself, such as limits.
    """

    title: str
    time: Floats
    unit: str
    curves: tuple[Curve, ...]
    mark: tuple[float, str] | None = None
    share: float = 1.0  # of the height
    limits: tuple[float, float] | None = None  # of the values shown; None: all of them
    rules: tuple[tuple[float, str], ...] = ()


def overlay(panels: Sequence[Panel], clock: str, size: Size, title: str) -> Scene:
    """Draw panels one below the other, each with a clock of its own; `clock` is the clock's unit."""
    text, items = size.text, list[Item]()
    names = [one.name for panel in panels for one in panel.curves] + [
        panel.mark[1] for panel in panels if panel.mark is not None
    ]
    right = size.width - max(text_width(name, text) for name in names) - 3.6 * text
    left = max(_ticks_width(panel, text) for panel in panels) + 0.8 * text
    head, foot, gap = 1.9 * text, 2.2 * text, 0.6 * text
    room = size.height - len(panels) * (head + foot + gap)
    top = 0.0
    for panel in panels:
        tall = room * panel.share / sum(one.share for one in panels)
        place = _Place(left, right, top + head, top + head + tall, panel)
        items += [*_frame(place, clock, text), *_rules(place, text), *_curves(place, text)]
        top += head + tall + foot + gap
    return Scene(size.width, size.height, tuple(items), title)


@dataclass(frozen=True)
class _Place:
    """Where a panel stands, and what it covers."""

    left: float
    right: float
    top: float
    low: float
    panel: Panel

    @cached_property
    def values(self) -> tuple[float, float]:
        return _range(self.panel)

    def at(self, time: float, value: float) -> Point:
        begin, end = float(self.panel.time[0]), float(self.panel.time[-1])
        least, most = self.values
        held = min(max(value, least), most)
        x = self.left + (time - begin) / (end - begin) * (self.right - self.left)
        return x, self.low - (held - least) / (most - least) * (self.low - self.top)


def _range(panel: Panel) -> tuple[float, float]:
    if panel.limits is not None:
        return panel.limits
    every = [one.values for one in panel.curves]
    least, most = min(float(one.min()) for one in every), max(float(one.max()) for one in every)
    for value, _ in (*panel.rules, *(() if panel.mark is None else (panel.mark,))):
        least, most = min(least, value), max(most, value)
    room = max(0.06 * (most - least), 0.001 * max(abs(least), abs(most)), 1e-9)
    over = RULED * (most - least) if panel.rules else room  # for the name over the highest rule
    return least - room, most + over


def _ticks(panel: Panel, tall: float, text: float) -> list[tuple[float, str]]:
    return nice_ticks(*_range(panel), max(2, int(tall / (2.2 * text))))


def _ticks_width(panel: Panel, text: float) -> float:
    """Give the room of the words at the ticks; as many as there can be."""
    return max(text_width(words, text) for _, words in nice_ticks(*_range(panel), 8))


def _frame(place: _Place, clock: str, text: float) -> list[Item]:
    """Draw title, box, ticks of values and of time, and the mark of a panel."""
    panel = place.panel
    box = ((place.left, place.top), (place.left, place.low), (place.right, place.low), (place.right, place.top))
    items: list[Item] = [
        Text((0.2 * text, place.top - 0.8 * text), ", ".join(filter(None, (panel.title, panel.unit))), text),
        Polyline((*box, box[0]), Role.HAIRLINE, FINE * text),
    ]
    for value, words in _ticks(panel, place.low - place.top, text):
        _, y = place.at(float(panel.time[0]), value)
        items.append(Line((place.left, y), (place.right, y), Role.HAIRLINE, THIN * text))
        items.append(Text((place.left - 0.5 * text, y + 0.36 * text), words, text, Role.QUIET, Anchor.END))
    begin, end = float(panel.time[0]), float(panel.time[-1])
    most = min(10, max(2, int((place.right - place.left) / (text_width(f"00000 {clock}", text) + text))))
    ticks = [one for one in nice_ticks(begin, end, most) if begin <= one[0] <= end]
    for number, (value, words) in enumerate(ticks):
        x, _ = place.at(value, 0.0)
        items.append(Line((x, place.low), (x, place.low + 0.4 * text), Role.QUIET, THIN * text))
        named = f"{words} {clock}" if number == len(ticks) - 1 else words
        items.append(Text((x, place.low + 1.5 * text), named, text, Role.QUIET, Anchor.MIDDLE))
    return items


def _rules(place: _Place, text: float) -> list[Item]:
    """Rule the panel's rules, each with its name over the right end of its line; names that would touch stand apart."""
    items, (begin, end) = list[Item](), (float(place.panel.time[0]), float(place.panel.time[-1]))
    above, x = -text, place.right
    for value, name in sorted(place.panel.rules, reverse=True):
        start, stop = place.at(begin, value), place.at(end, value)
        x = x - 0.8 * text if stop[1] - above < 1.2 * text else place.right - 0.4 * text
        items.append(Line(start, stop, OWN.role, OWN.weight * FINE * text, OWN.stroke))
        items.append(Text((x, stop[1] - 0.25 * text), name, text, Role.QUIET, Anchor.END))
        above, x = stop[1], x - text_width(name, text)
    return items


def _curves(place: _Place, text: float) -> list[Item]:
    """Draw tints, then lines, then the key beside the panel."""
    panel, items = place.panel, list[Item]()
    clock = [float(one) for one in panel.time]
    for one in panel.curves:
        if one.look.tint is not None and len(one.values) > 1:
            low, high = one.values.min(axis=0), one.values.max(axis=0)
            edge = [place.at(time, float(value)) for time, value in zip(clock, high, strict=True)]
            back = [place.at(time, float(value)) for time, value in zip(clock, low, strict=True)]
            items.append(Polygon((*edge, *reversed(back)), fill=one.look.tint))
    if panel.mark is not None:
        begin, end = place.at(clock[0], panel.mark[0]), place.at(clock[-1], panel.mark[0])
        items.append(Line(begin, end, Role.INK, FINE * text, Stroke.DOTTED))
    for one in panel.curves:
        mean = one.values.mean(axis=0)
        points = tuple(place.at(time, float(value)) for time, value in zip(clock, mean, strict=True))
        items.append(Polyline(points, one.look.role, one.look.weight * FINE * text, one.look.stroke, one.name))
    looks = [(one.name, one.look) for one in panel.curves]
    if panel.mark is not None:
        looks.append((panel.mark[1], Look(Role.INK, Stroke.DOTTED, 1.0)))
    for number, (name, look) in enumerate(looks):
        x, y = place.right + 0.7 * text, place.top + (0.9 + 1.4 * number) * text
        items.append(Line((x, y), (x + 2.0 * text, y), look.role, look.weight * FINE * text, look.stroke))
        items.append(Text((x + 2.5 * text, y + 0.36 * text), name, text))
    return items
