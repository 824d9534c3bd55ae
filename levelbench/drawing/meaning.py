"""Small pictures of what each dimension of a part means: not to scale, one line of them lit while it is typed.

The pictures are data (in the `meaning_…` modules beside this one): shapes on a grid 100 wide and 50 high, and for each
entry the span or the shape that it speaks of. Here they become a Scene of plain shapes.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from levelbench.drawing.meaning_instruments import SENSOR, SWITCH
from levelbench.drawing.meaning_machines import DRAIN, PUMP, RESERVOIR
from levelbench.drawing.meaning_parts import Mark, Picture, Shape
from levelbench.drawing.meaning_tanks import TANKS
from levelbench.drawing.scene import (
    Anchor,
    Circle,
    Item,
    Line,
    Point,
    Polygon,
    Polyline,
    Role,
    Scene,
    Stroke,
    Text,
)
from levelbench.drawing.strokes import arrow, pump, tube, valve

PICTURES: tuple[Picture, ...] = (*TANKS, *RESERVOIR, *PUMP, *DRAIN, *SENSOR, *SWITCH)
WIDE, HIGH = 100.0, 50.0  # the grid of the data
_HAIR, _FINE, _BOLD = 0.8, 1.2, 2.0  # widths of lines


@dataclass(frozen=True)
class _Pen:
    """Brings the grid to the size of the drawing."""

    unit: float
    text: float

    def at(self, point: Point) -> Point:
        return point[0] * self.unit, point[1] * self.unit

    def path(self, points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple(self.at(point) for point in points)


def picture_of(key: str, choices: Mapping[str, str]) -> Picture | None:
    """Give the picture that shows an entry under the choices made so far; None where there is nothing to draw."""
    return next((one for one in PICTURES if key in one.marks and one.holds(choices)), None)


def first_picture(section: str, choices: Mapping[str, str]) -> Picture | None:
    """Give the picture that stands for a whole section while no entry of it is looked at."""
    own = (one for one in PICTURES if any(key.startswith(f"{section}.") for key in one.marks))
    return next((one for one in own if one.holds(choices)), None)


def draw(picture: Picture, lit: str, label: str, width: float, text: float) -> Scene:
    """Draw a picture `width` wide, the mark of the entry `lit` in the colour of what is chosen, with its label."""
    pen = _Pen(width / WIDE, text)
    items: list[Item] = []
    for shape in picture.shapes:
        items += _SHAPES[shape.kind](pen, shape)
    for key, mark in picture.marks.items():
        if key != lit and mark.span and mark.always:
            items += _span(pen, mark, Role.QUIET, _HAIR, key)
    if lit in picture.marks:
        items += _lit(pen, picture.marks[lit], lit)
    caption = (width / 2, HIGH * pen.unit + text)
    if lit in picture.marks:
        items.append(Text(caption, label, text, Role.SELECTION, Anchor.MIDDLE, bold=True, tag=lit))
    else:
        items.append(Text(caption, picture.title, text, Role.QUIET, Anchor.MIDDLE))
    return Scene(width, HIGH * pen.unit + 1.4 * text, tuple(items), picture.title)


def _lit(pen: _Pen, mark: Mark, key: str) -> list[Item]:
    items: list[Item] = []
    if mark.span:
        items += _span(pen, mark, Role.SELECTION, _BOLD, key)
    for shape in mark.shapes:
        items += [_in_colour(item) for item in _SHAPES[shape.kind](pen, shape)]
    return items


def _in_colour(item: Item) -> Item:
    """Give a shape in the colour of what is chosen, its lines bold."""
    if isinstance(item, Text):
        return replace(item, role=Role.SELECTION)
    if isinstance(item, Line | Polyline):
        return replace(item, role=Role.SELECTION if item.role is not Role.LIQUID else item.role, width=item.width + 0.8)
    assert isinstance(item, Polygon | Circle)
    return replace(item, role=Role.SELECTION)


def _span(pen: _Pen, mark: Mark, role: Role, width: float, key: str) -> list[Item]:
    """Give a dimension line with its two heads, and thin lines from what it measures."""
    assert mark.span
    (x1, y1), (x2, y2) = one, other = pen.at(mark.span[0]), pen.at(mark.span[1])
    head = 0.55 * pen.text
    long = abs(x2 - x1) + abs(y2 - y1)
    items: list[Item] = [Line(one, other, role, width, tag=key)]
    if long > 2.2 * head:
        items += [arrow(one, (x1 - x2, y1 - y2), head, role), arrow(other, (x2 - x1, y2 - y1), head, role)]
    else:  # no room between: the heads stand outside and look in
        dx, dy = (x2 - x1) / (long or 1), (y2 - y1) / (long or 1)
        out = ((x1 - 2 * head * dx, y1 - 2 * head * dy), (x2 + 2 * head * dx, y2 + 2 * head * dy))
        items += [arrow(one, (dx, dy), head, role), arrow(other, (-dx, -dy), head, role)]
        items += [Line(out[0], one, role, width), Line(other, out[1], role, width)]
    thin = [Line(pen.at(a), pen.at(b), role, _HAIR, Stroke.DOTTED) for a, b in mark.helpers]
    return [*thin, *items]


def _wall(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polyline(pen.path(shape.points), Role.INK, _BOLD)]


def _line(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polyline(pen.path(shape.points), Role.INK, _FINE)]


def _hair(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polyline(pen.path(shape.points), Role.QUIET, _HAIR)]


def _dash(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polyline(pen.path(shape.points), Role.QUIET, _HAIR, Stroke.DASHED)]


def _liquid(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polygon(pen.path(shape.points), fill=Role.LIQUID)]


def _surface(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polyline(pen.path(shape.points), Role.WATER_LINE, _FINE)]


def _solid(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polygon(pen.path(shape.points), fill=Role.CARD, role=Role.INK, width=_FINE)]


def _tinted(pen: _Pen, shape: Shape) -> list[Item]:
    return [Polygon(pen.path(shape.points), fill=Role.ATTENTION_TINT, role=Role.QUIET, width=_HAIR)]


def _tube(pen: _Pen, shape: Shape) -> list[Item]:
    return tube(pen.path(shape.points), 3.0, 6.0, filled=True)


def _pump(pen: _Pen, shape: Shape) -> list[Item]:
    return pump(pen.at(shape.points[0]), 2.6 * pen.unit)


def _valve(pen: _Pen, shape: Shape) -> list[Item]:
    return valve(pen.at(shape.points[0]), 2.6 * pen.unit, upright=True)


def _circle(pen: _Pen, shape: Shape) -> list[Item]:
    (x, y), (edge, _) = shape.points
    return [Circle(pen.at((x, y)), (edge - x) * pen.unit, fill=Role.CARD, width=_FINE)]


def _round(pen: _Pen, shape: Shape) -> list[Item]:
    (x, y), (edge, _) = shape.points
    return [Circle(pen.at((x, y)), (edge - x) * pen.unit, fill=None, width=_BOLD)]


def _arrow(pen: _Pen, shape: Shape) -> list[Item]:
    start, end = pen.path(shape.points)
    towards = (end[0] - start[0], end[1] - start[1])
    return [Line(start, end, Role.WATER_LINE, _BOLD), arrow(end, towards, 0.7 * pen.text, Role.WATER_LINE)]


def _text(pen: _Pen, shape: Shape) -> list[Item]:
    x, y = pen.at(shape.points[0])
    return [Text((x, y + 0.35 * pen.text), shape.text, 0.9 * pen.text, Role.QUIET, Anchor.MIDDLE)]


_SHAPES: dict[str, Callable[[_Pen, Shape], list[Item]]] = {
    "wall": _wall,
    "line": _line,
    "hair": _hair,
    "dash": _dash,
    "liquid": _liquid,
    "surface": _surface,
    "solid": _solid,
    "tinted": _tinted,
    "tube": _tube,
    "pump": _pump,
    "valve": _valve,
    "circle": _circle,
    "round": _round,
    "arrow": _arrow,
    "text": _text,
}
