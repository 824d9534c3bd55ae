"""How an alarm comes and goes, by its kind: what is watched over time, the limit, the delays, and when it stands."""

from dataclasses import dataclass
from itertools import pairwise

from levelbench.drawing.frame import Size
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Item, Line, Point, Polygon, Polyline, Role, Scene, Stroke, Text
from levelbench.drawing.strokes import FINE, THIN

Path = tuple[Point, ...]  # x from 0 to 1 is time, y from 0 to 1 upward


@dataclass(frozen=True)
class Sketch:
    """What is drawn of a kind of alarm; times are shares of the picture's width."""

    title: str
    watched: str  # the name of the curve
    curve: Path
    lines: tuple[tuple[float, str], ...]  # heights with their names, dashed
    beyond: float  # it is beyond the limit from here
    comes: float
    safe: float  # it is on the safe side again from here
    goes: float
    other: Path = ()  # a second curve, dotted
    other_name: str = ""


_RISES: Path = ((0.0, 0.2), (0.14, 0.26), (0.34, 0.86), (0.5, 0.9), (0.72, 0.3), (0.86, 0.2), (1.0, 0.24))
_NOISE: Path = tuple((0.03 * at, 0.5 + 0.1 * (-1) ** at) for at in range(11))


def _mirrored(path: Path) -> Path:
    return tuple((x, 1.0 - y) for x, y in path)


SKETCHES: dict[str, Sketch] = {
    "high": Sketch(
        "an alarm on a high limit", "PV", _RISES, ((0.7, "limit"), (0.52, "less dead band")), 0.29, 0.4, 0.64, 0.8
    ),
    "low": Sketch(
        "an alarm on a low limit", "PV", _mirrored(_RISES), ((0.3, "limit"), (0.48, "plus dead band")), 0.29, 0.4, 0.64,
        0.8,
    ),
    "deviation": Sketch(
        "an alarm on the deviation", "PV",
        ((0.0, 0.55), (0.2, 0.52), (0.36, 0.12), (0.5, 0.1), (0.68, 0.42), (0.82, 0.6), (1.0, 0.62)),
        ((0.75, "SP + limit"), (0.5, "SP"), (0.25, "SP − limit")), 0.3, 0.4, 0.62, 0.76,
    ),
    "rate_of_change": Sketch(
        "an alarm on the rate of change", "PV",
        ((0.0, 0.2), (0.26, 0.22), (0.56, 0.9), (1.0, 0.92)), (), 0.3, 0.42, 0.6, 0.74,
        ((0.26, 0.22), (1.0, 0.62)), "the limit's slope",
    ),
    "frozen_signal": Sketch(
        "an alarm on a frozen signal", "reading",
        (*_NOISE, (0.3, 0.6), (0.8, 0.6), (0.83, 0.42), (0.86, 0.55), (0.89, 0.4), (0.95, 0.52), (1.0, 0.45)),
        (), 0.3, 0.62, 0.8, 0.86,
    ),
    "bad_signal": Sketch(
        "an alarm on a bad signal", "signal",
        ((0.0, 0.6), (0.26, 0.66), (0.3, 0.08), (0.72, 0.08), (0.75, 0.6), (1.0, 0.62)),
        ((0.9, "failed above"), (0.22, "failed below")), 0.29, 0.4, 0.74, 0.84,
    ),
    "no_rise": Sketch(
        "an alarm on a pump that brings nothing", "PV",
        ((0.0, 0.22), (0.3, 0.24), (0.76, 0.26), (1.0, 0.7)), (), 0.28, 0.62, 0.82, 0.88,
        ((0.0, 0.5), (0.28, 0.5), (0.28, 0.94), (1.0, 0.94)), "output",
    ),
    "switch": Sketch(
        "an alarm on the overflow switch", "level",
        ((0.0, 0.2), (0.34, 0.72), (0.44, 0.8), (0.6, 0.7), (0.9, 0.3), (1.0, 0.25)), ((0.62, "switch trips"),),
        0.28, 0.28, 0.66, 0.66,
    ),
    "spill": Sketch(
        "an alarm on a spill", "level",
        ((0.0, 0.3), (0.32, 0.8), (0.6, 0.8), (0.9, 0.4), (1.0, 0.35)), ((0.8, "rim or way out"),),
        0.32, 0.32, 0.6, 0.6,
    ),
}  # fmt: skip
_SAME = {"high_high": "high", "low_low": "low"}
_LANE = 2.9  # height of the lane of the alarm under the curve, in text sizes


def sketch_of(alarm: str) -> Sketch:
    """Give what is drawn of an alarm, by its key in the section bands."""
    return SKETCHES[_SAME.get(alarm, alarm)]


def alarm_picture(alarm: str, size: Size) -> Scene:
    """Draw how an alarm comes and goes; schematic, without numbers."""
    sketch, text = sketch_of(alarm), size.text
    names = [name for _, name in sketch.lines] + [sketch.watched, sketch.other_name]
    right = size.width - max(text_width(name, text) for name in names) - text
    top, bottom = 0.9 * text, size.height - _LANE * text

    def at(point: Point) -> Point:
        return point[0] * right, bottom - point[1] * (bottom - top)

    items: list[Item] = []
    for height, _name in sketch.lines:
        y = at((0.0, height))[1]
        items.append(Line((0.0, y), (right, y), Role.ATTENTION, THIN * text, Stroke.DASHED))
    if sketch.other:
        items.append(
            Polyline(tuple(map(at, sketch.other)), Role.QUIET, FINE * text, Stroke.DOTTED),
        )
    items.append(Polyline(tuple(map(at, sketch.curve)), Role.WATER_LINE, 1.6 * FINE * text))
    items += _names(sketch, right, (top, bottom), text)
    items += _lane(sketch, right, bottom, text)
    return Scene(size.width, size.height, tuple(items), f"How {sketch.title} comes and goes")


def _names(sketch: Sketch, right: float, room: tuple[float, float], text: float) -> list[Item]:
    """Write the names of curves and lines at their right ends, none over another."""
    top, bottom = room
    wanted = [(height, name, Role.ATTENTION) for height, name in sketch.lines]
    wanted.append((sketch.curve[-1][1], sketch.watched, Role.WATER_LINE))
    if sketch.other:
        wanted.append((sketch.other[-1][1], sketch.other_name, Role.QUIET))
    ys = sorted((bottom - height * (bottom - top), name, role) for height, name, role in wanted)
    placed: list[tuple[float, str, Role]] = []
    for y, name, role in ys:
        low = placed[-1][0] + 1.15 * text if placed else y
        placed.append((max(y, low), name, role))
    over = max(0.0, placed[-1][0] - bottom)  # pushed below the curve: everything goes up again
    for at in range(len(placed) - 1, -1, -1):
        y, name, role = placed[at]
        limit = placed[at + 1][0] - 1.15 * text if at + 1 < len(placed) else bottom
        placed[at] = (min(y, limit) if over else y, name, role)
    return [Text((right + 0.5 * text, y + 0.35 * text), name, text, role) for y, name, role in placed]


def _lane(sketch: Sketch, right: float, bottom: float, text: float) -> list[Item]:
    """Draw when it is beyond, how long the delays are, and when the alarm stands."""
    y, high = bottom + 0.9 * text, 0.7 * text
    begins, comes, safe, goes = (share * right for share in (sketch.beyond, sketch.comes, sketch.safe, sketch.goes))
    stands = ((comes, y), (goes, y), (goes, y + high), (comes, y + high))
    items: list[Item] = [
        Line((0.0, y + high), (right, y + high), Role.HAIRLINE, THIN * text),
        Polygon(stands, Role.STOP),
        Text((right + 0.5 * text, y + high), "alarm", text, Role.STOP),
    ]
    for start, end, name in ((begins, comes, "on-delay"), (safe, goes, "off-delay")):
        if end > start:
            corners: Path = ((start, y), (end, y), (end, y + high), (start, y + high))
            items.append(Polygon(corners, None, Role.ATTENTION, THIN * text))
            items.append(Line((start, bottom - 0.4 * text), (start, y), Role.QUIET, THIN * text, Stroke.DOTTED))
            items.append(Text(((start + end) / 2, y + high + 1.05 * text), name, text, Role.QUIET, Anchor.MIDDLE))
    return _apart(items, text)


def _apart(items: list[Item], text: float) -> list[Item]:
    """Leave a little room between the names of the two delays."""
    words = sorted((one for one in items if isinstance(one, Text) and one.anchor is Anchor.MIDDLE), key=lambda t: t.at)
    for left, right in pairwise(words):
        need = (text_width(left.text, text) + text_width(right.text, text)) / 2 + 0.5 * text
        if right.at[0] - left.at[0] < need:
            items[items.index(right)] = Text(
                (left.at[0] + need, right.at[1]), right.text, text, right.role, Anchor.MIDDLE
            )
    return items
