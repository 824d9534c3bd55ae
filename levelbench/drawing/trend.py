"""Columns of a recording over time, as a small plot for a sheet or a notebook; lines differ by their breaks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Item, Line, Point, Polyline, Role, Scene, Stroke, Text
from levelbench.drawing.strokes import FINE, THIN
from levelbench.drawing.ticks import nice_ticks
from levelbench.project import units
from levelbench.quantity import Dimension, in_unit
from levelbench.rig import Recording, RigError

PAPER_TREND = Size(186.0, 62.0, 2.9)  # mm
MOST = 700  # points of a line; of more, the lowest and the highest of each piece are kept

NAMES = {
    "set_point": "SP",
    "pv": "PV",
    "volume": "true volume",
    "output": "OP",
    "pump_flow": "pump",
    "drain_flow": "drain",
}
LOOKS = (
    (Role.WATER_LINE, Stroke.SOLID, 1.3),
    (Role.INK, Stroke.DASHED, 1.0),
    (Role.ATTENTION, Stroke.DASH_DOT, 1.0),
    (Role.QUIET, Stroke.DOTTED, 1.2),
)
FIXED = {"pv": LOOKS[0], "set_point": LOOKS[1], "output": LOOKS[0]}


@dataclass(frozen=True)
class _Pane:
    """One plot of a dimension: its place, what it covers, and its lines as (name, x, y)."""

    left: float
    right: float
    top: float
    low: float
    times: tuple[float, float]
    values: tuple[float, float]

    def ticks(self, unit: str, text: float) -> list[tuple[float, str]]:
        """Give the values at which it is ruled, and the words there; the lowest says the unit."""
        found = nice_ticks(*self.values, max(3, int((self.low - self.top) / (1.9 * text))))
        return [(value, words if number else f"{words} {unit}") for number, (value, words) in enumerate(found)]

    def at(self, time: float, value: float) -> Point:
        """Give the place of a value at a time."""
        x = self.left + (time - self.times[0]) / (self.times[1] - self.times[0]) * (self.right - self.left)
        return x, self.low - (value - self.values[0]) / (self.values[1] - self.values[0]) * (self.low - self.top)


def trend(
    recording: Recording,
    columns: Sequence[str] = ("pv", "set_point", "output"),
    size: Size = PAPER_TREND,
    times: tuple[float, float] | None = None,
    title: str = "",
) -> Scene:
    """Plot columns of a recording between two times [s] (all of it when none are given), one pane a dimension.

    Raises RigError for a column that can't be plotted, or when fewer than two rows lie between the times.
    """
    begin, end = times or (float(recording["time"][0]), float(recording["time"][-1]))
    inside = (recording["time"] >= begin) & (recording["time"] <= end)
    if np.count_nonzero(inside) < 2:
        raise RigError(
            "There is nothing to plot: fewer than two rows of the recording lie in the time asked for.",
            "recording",
            "Ask for a longer time, or record more often.",
        )
    groups = _groups(recording, columns)
    clock, unit = (recording["time"][inside] - begin) / 60, "min"
    if end - begin < 180:
        clock, unit = clock * 60, "s"
    text, items = size.text, list[Item]()
    head = 1.9 * text if title else 0.3 * text
    if title:
        items.append(Text((0.2 * text, 1.0 * text), title, text, bold=True))
    foot = 2.6 * text
    tall = (size.height - head - foot - 0.8 * text * (len(groups) - 1)) / len(groups)
    shown = units(recording.rig.project)
    panes: list[tuple[_Pane, dict[str, list[float]], str]] = []
    for number, (dimension, names) in enumerate(groups.items()):
        top, name_of = head + number * (tall + 0.8 * text), shown.of(dimension)
        lines = {name: _converted(recording[name][inside], name_of, dimension) for name in names}
        panes.append((_pane(size, (top, top + tall), (float(clock[0]), float(clock[-1])), lines), lines, name_of))
    left = max(text_width(words, text) for pane, _, one in panes for _, words in pane.ticks(one, text)) + 0.8 * text
    for pane, lines, one in panes:
        placed = replace(pane, left=left)
        items += [*_paper(placed, one, text), *_drawn(placed, clock, lines, text)]
    return Scene(size.width, size.height, (*items, *_clock(placed, unit, text)), title or "trend")


def _groups(recording: Recording, columns: Sequence[str]) -> dict[Dimension, list[str]]:
    known = {column.name: column.dimension for column in recording.columns}
    groups: dict[Dimension, list[str]] = {}
    for name in columns:
        dimension = known.get(name)
        if dimension is None or name == "time":
            raise RigError(
                f"The column “{name}” can't be plotted.",
                "recording",
                "Choose among " + ", ".join(one for one, what in known.items() if what and one != "time") + ".",
            )
        groups.setdefault(dimension, []).append(name)
    return groups


def _converted(values: "np.ndarray[tuple[int], np.dtype[np.float64]]", unit: str, dimension: Dimension) -> list[float]:
    """Give SI values in a unit of their dimension."""
    zero, one = in_unit(0.0, dimension, unit), in_unit(1.0, dimension, unit)
    return [float(value) for value in zero + (one - zero) * values]


def _pane(size: Size, heights: tuple[float, float], times: tuple[float, float], lines: dict[str, list[float]]) -> _Pane:
    every = [value for line in lines.values() for value in line]
    low, high = min(every), max(every)
    room = max(0.08 * (high - low), 0.002 * max(abs(low), abs(high)), 1e-9)
    key = max(text_width(NAMES.get(name, name.replace("_", " ")), size.text) for name in lines) + 3.4 * size.text
    right = size.width - max(key, 6.0 * size.text)
    return _Pane(0.0, right, *heights, times, (low - room, high + room))


def _paper(pane: _Pane, unit: str, text: float) -> list[Item]:
    """Draw the frame of a pane with its ticks and its unit."""
    box = ((pane.left, pane.top), (pane.left, pane.low), (pane.right, pane.low), (pane.right, pane.top))
    items: list[Item] = [Polyline((*box, box[0]), Role.HAIRLINE, FINE * text)]
    for value, words in pane.ticks(unit, text):
        x, y = pane.at(pane.times[0], value)
        items.append(Line((x, y), (pane.right, y), Role.HAIRLINE, THIN * text))
        items.append(Text((x - 0.5 * text, y + 0.36 * text), words, text, Role.QUIET, Anchor.END))
    return items


def _drawn(
    pane: _Pane, clock: "np.ndarray[tuple[int], np.dtype[np.float64]]", lines: dict[str, list[float]], text: float
) -> list[Item]:
    """Draw the lines of a pane, each with its name and a piece of it beside the pane."""
    items: list[Item] = []
    free = [look for look in LOOKS if look not in [FIXED[name] for name in lines if name in FIXED]]
    for number, (name, values) in enumerate(lines.items()):
        role, stroke, weight = FIXED.get(name) or free[number % len(free)]
        points = tuple(pane.at(float(clock[at]), values[at]) for at in _kept(values))
        items.append(Polyline(points, role, weight * FINE * text, stroke, name))
        x, y = pane.right + 0.7 * text, pane.top + (0.9 + 1.4 * number) * text
        items.append(Line((x, y), (x + 2.0 * text, y), role, weight * FINE * text, stroke))
        items.append(Text((x + 2.5 * text, y + 0.36 * text), NAMES.get(name, name.replace("_", " ")), text))
    return items


def _kept(values: Sequence[float]) -> list[int]:
    """Give which points are drawn: all, or the first, lowest, highest and last of each of equal pieces."""
    if len(values) <= MOST:
        return list(range(len(values)))
    pieces = np.array_split(np.arange(len(values)), MOST // 4)
    found = np.asarray(values)
    kept = {0, len(values) - 1}
    for piece in pieces:
        part = found[piece]
        kept |= {int(piece[0]), int(piece[-1]), int(piece[part.argmin()]), int(piece[part.argmax()])}
    return sorted(kept)


def _clock(pane: _Pane, unit: str, text: float) -> list[Item]:
    """Draw the ticks of time under the lowest pane."""
    items: list[Item] = []
    apart = text_width(f"00.0 {unit}", text) + text  # of the middles of two labels
    ticks = nice_ticks(*pane.times, min(10, max(2, int((pane.right - pane.left) / apart))))
    for number, (value, label) in enumerate(ticks):
        x, y = pane.at(value, pane.values[0])
        items.append(Line((x, y), (x, y + 0.4 * text), Role.QUIET, THIN * text))
        words = f"{label} {unit}" if number == len(ticks) - 1 else label
        items.append(Text((x, y + 1.5 * text), words, text, Role.QUIET, Anchor.MIDDLE))
    return items
