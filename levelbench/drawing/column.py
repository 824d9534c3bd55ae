"""The scale and the ladder: every height that matters in one column, beside the spread of the PV."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

from levelbench.alarms.ladder import Rung
from levelbench.drawing.frame import Frame
from levelbench.drawing.measure import text_box, text_width, wrap
from levelbench.drawing.scene import Anchor, Item, Line, Polygon, Polyline, Role, Stroke, Text
from levelbench.drawing.spread import spread
from levelbench.drawing.state import SectionState
from levelbench.drawing.strokes import FINE, THIN, arrow
from levelbench.drawing.ticks import nice_ticks
from levelbench.quantity import Dimension, in_unit
from levelbench.rig.bench import Bench

SET_POINT = "start.set_point"  # the tag of the working set point, which no entry but a person at the panel sets
NAME = 2.0  # where the names start, from the axis, in text sizes
ENDS = (
    15.0,
    18.6,
    22.4,
    26.6,
)  # where volume, height, and the seconds to next and to spill end; further where names are long
APART = 0.8  # of two columns, in text sizes, at least
ROW = 1.38  # least distance of two labels, in text sizes
LONGEST = 6.0  # a leader steeper than this, in text sizes, is a mark that points up or down instead

Box = tuple[float, float, float, float]

LOOKS = {
    "switch": (Role.STOP, Stroke.DASHED),
    "high-high": (Role.STOP, Stroke.DASH_DOT),
    "low-low": (Role.STOP, Stroke.DASH_DOT),
    "high": (Role.ATTENTION, Stroke.DASH_DOT),
    "low": (Role.ATTENTION, Stroke.DASH_DOT),
    "highest readable": (Role.ATTENTION, Stroke.DOTTED),
    "spill": (Role.INK, Stroke.DASHED),
    "rim": (Role.INK, Stroke.SOLID),
}


@dataclass(frozen=True)
class Row:
    """One label of the ladder: level [m], volume [m3], and how it is drawn."""

    name: str
    entry: str
    level: float
    volume: float
    role: Role
    stroke: Stroke
    bold: bool


def rows(bench: Bench, rungs: Sequence[Rung], state: SectionState) -> list[Row]:
    """Give the rows of the ladder, highest first, with the set point among them."""
    found = [
        Row(
            rung.name,
            rung.entry,
            rung.level,
            rung.volume,
            *LOOKS.get(rung.name, (Role.QUIET, Stroke.DOTTED)),
            rung.entry == state.selected,
        )
        for rung in rungs
    ]
    level = bench.level_at(state.set_point)
    own = Row("set point", SET_POINT, level, state.set_point, Role.INK, Stroke.SOLID, True)
    place = next((at for at, row in enumerate(found) if row.level > level), len(found))
    return [*found[:place], own, *found[place:]][::-1]


def cells(bench: Bench, every: Sequence[Row]) -> list[tuple[str, str, str, str]]:
    """Give for each row, highest first, its volume, height, seconds to the row above, and seconds to the spill.

    Above the rim there is no volume.
    """
    found = []
    above = 0.0
    for row in every:
        seconds = bench.seconds_to_spill(row.volume)
        later = (bare(bench, seconds - above, Dimension.TIME), bare(bench, seconds, Dimension.TIME))
        volume = bare(bench, row.volume, Dimension.VOLUME) if row.level <= bench.rim else ""
        shown = (volume, bare(bench, row.level, Dimension.LENGTH))
        found.append((*shown, *(later if seconds > 0 else ("", ""))))
        above = seconds
    return found


def bare(bench: Bench, si: float, dimension: Dimension) -> str:
    """Give a value as the rules show it, without its unit, which stands at the head of the column."""
    shown = {Dimension.VOLUME: bench.volume, Dimension.LENGTH: bench.length, Dimension.TIME: bench.time}[dimension](si)
    return shown.removesuffix(bench.units.of(dimension)).strip()


def ladder_items(
    frame: Frame, bench: Bench, every: Sequence[Row], state: SectionState, taken: Sequence[Item]
) -> list[Item]:
    """Give the scale, the spread of the PV, and the labels with their leaders.

    `taken` are the items around the tank; the texts of scale and PV keep clear of theirs.
    """
    text = frame.text
    wanted = [frame.y(row.level) for row in every]
    top, low = 4.5 * text, frame.size.height - (1.0 + frame.foot) * text
    places = spread([min(max(y, top), low) for y in wanted], ROW * text, top, low)
    boxes = [text_box(item) for item in taken if isinstance(item, Text)]
    bold = [y for row, y in zip(every, wanted, strict=True) if row.bold]
    pv = _pv(frame, bench, state, [*boxes, *((0.0, y - 0.1 * text, frame.axis, y + 0.1 * text) for y in bold)])
    boxes += [text_box(item) for item in pv if isinstance(item, Text)]
    items = [*_scale(frame, bench, wanted, boxes), *pv]
    told = cells(bench, every)
    ends = _ends(every, told)
    for row, y, label, words in zip(every, wanted, places, told, strict=True):
        items += _label(frame, row, (y, label), tuple(zip(ends, words, strict=True)))
    return items + _head(frame, bench, min(places) - 1.5 * text, ends)


def _ends(every: Sequence[Row], told: Sequence[tuple[str, ...]]) -> list[float]:
    """Give where each column of figures ends, in text sizes: as always, or so that nothing touches, chosen or not."""
    reached = NAME + max(text_width(row.name, 1.0, bold=True) for row in every)
    ends: list[float] = []
    for usual, figures in zip(ENDS, zip(*told, strict=True), strict=True):
        wide = max(text_width(one, 1.0, bold=not ends) for one in figures)  # the first, the volume, is bold when chosen
        reached = max(usual, reached + APART + wide)
        ends.append(reached)
    return ends


def _clear(box: Box, taken: Sequence[Box]) -> bool:
    """Tell whether a box touches none of the others."""
    left, top, right, low = box
    return all(right < other[0] or other[2] < left or low < other[1] or other[3] < top for other in taken)


def limit_lines(frame: Frame, every: Sequence[Row]) -> list[Item]:
    """Give a line across the tank to the scale for every row but the rim."""
    items: list[Item] = []
    for row in every:
        if row.name == "rim":
            continue
        y, strong = frame.y(row.level), row.bold
        start = frame.middle - frame.half(min(row.level, frame.profile.rim))
        if row.level > frame.profile.rim:
            start = frame.middle + 2 * frame.text
        width = (1.7 * FINE if strong else 1.1 * FINE) * frame.text
        items.append(Line((start, y), (frame.axis, y), row.role, width, row.stroke, tag=row.entry))
    return items


def _scale(frame: Frame, bench: Bench, lines: Sequence[float], taken: Sequence[Box]) -> list[Item]:
    """Draw the scale in the person's unit of length; a number that would run into a line or a text is left out."""
    text, unit = frame.text, bench.units.of(Dimension.LENGTH)
    metre = in_unit(1.0, Dimension.LENGTH, unit)
    top = frame.profile.rim
    items: list[Item] = [Line((frame.axis, frame.floor), (frame.axis, frame.y(top)), width=FINE * text)]
    for value, label in nice_ticks(0.0, top * metre, max(3, int(frame.scale * top / (3.2 * text)))):
        y = frame.y(value / metre)
        items.append(Line((frame.axis - 0.6 * text, y), (frame.axis, y), width=FINE * text))
        at = (frame.axis - 0.9 * text, y + 0.36 * text)
        number = Text(at, f"{label} {unit}", text, Role.QUIET, Anchor.END, backed=True)
        left, high, right, low = text_box(number)
        if _clear((left - 0.5 * text, high, right, low), taken) and all(abs(y - line) > 0.65 * text for line in lines):
            items.append(number)
    return items


def _pv(frame: Frame, bench: Bench, state: SectionState, taken: Sequence[Box]) -> list[Item]:
    """Draw the PV on the scale, with its spread as a bell: one standard deviation is ±σ."""
    text, level = frame.text, bench.level_at(state.pv)
    y, x = frame.y(level), frame.axis
    items: list[Item] = []
    words = [(f"PV {bare(bench, state.pv, Dimension.VOLUME)}", True)]
    if state.spread:
        sigma = max(frame.scale * state.spread / bench.area_at(level), 0.04 * text)
        steps = [step / 8 for step in range(-24, 25)]
        bell = tuple((x - 2.4 * text * exp(-0.5 * step**2), y + sigma * step) for step in steps)
        bell = ((x, bell[0][1]), *bell, (x, bell[-1][1]))
        items.append(Polygon(bell, Role.LIQUID, Role.WATER_LINE, THIN * text, tag="pv"))
        unit = bench.units.of(Dimension.VOLUME)
        words.append(
            (f"±{bench.show(state.spread, Dimension.VOLUME, state.spread / 5).removesuffix(unit).strip()} (1σ)", False)
        )
    items.append(arrow((x, y), (1, 0), 0.9 * text, Role.WATER_LINE, "pv"))
    for shift in (0.0, -1.6, 1.6, -3.2, 3.2, -4.8, 4.8):
        lines: list[Text] = []
        for (line, bold), down in zip(words, (-0.45, 1.2), strict=False):
            at = (x - 2.9 * text, y + (down + shift) * text)
            lines.append(Text(at, line, text, Role.WATER_LINE, Anchor.END, bold, True, "pv"))
        if all(_clear(text_box(line), taken) for line in lines):
            break
    return [*items, *lines]


def _label(frame: Frame, row: Row, heights: tuple[float, float], figures: Sequence[tuple[float, str]]) -> list[Item]:
    """Give the label of a row, which stands at the second height, with a leader to the first, its true one."""
    text, x, (y, label) = frame.text, frame.axis, heights
    base = label + 0.36 * text
    items: list[Item] = []
    if 0.0 <= y <= frame.size.height and abs(label - y) < LONGEST * text:
        bend = ((x + 0.75 * text, y), (x + 0.95 * text, y), (x + 1.6 * text, label), (x + 1.85 * text, label))
        items = [arrow((x, y), (-1, 0), 0.75 * text, row.role, row.entry), Polyline(bend, row.role, THIN * text)]
    else:  # the window shows another part of the drawing
        way = -1 if y < label else 1
        items = [arrow((x + 1.2 * text, label + 0.35 * way * text), (0, way), 0.7 * text, row.role, row.entry)]
    items += [Text((x + NAME * text, base), row.name, text, row.role, bold=row.bold, tag=row.entry)]
    for number, (end, cell) in enumerate(figures):
        role, bold = (row.role, row.bold) if number == 0 else (Role.QUIET, False)
        if cell:
            at = (x + end * text, base)
            items.append(Text(at, cell, text, role, Anchor.END, bold, tag=row.entry))
    return items


def _head(frame: Frame, bench: Bench, y: float, ends: Sequence[float]) -> list[Item]:
    text, x = frame.text, frame.axis
    units = bench.units
    heads = (
        (units.of(Dimension.VOLUME), ""),
        (units.of(Dimension.LENGTH), ""),
        ("s", "to next"),
        ("s", "to spill"),
    )
    items: list[Item] = [
        Line((x + NAME * text, y + 0.5 * text), (x + ends[-1] * text, y + 0.5 * text), Role.HAIRLINE, FINE * text)
    ]
    told = NAME  # where the words before end
    for end, (low, high) in zip(ends, heads, strict=True):
        items.append(Text((x + end * text, y), low, text, Role.QUIET, Anchor.END))
        for number, line in enumerate(reversed(wrap(high, 1.0, end - told - APART))):
            above = 1.15 * (number + 1)
            items.append(Text((x + end * text, y - above * text), line, text, Role.QUIET, Anchor.END))
        told = end if high else told
    return items
