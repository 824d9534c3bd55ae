"""Small pieces that several drawings share: line weights, arrow heads, dimension lines, tubes, bubbles, corners."""

from collections.abc import Sequence
from math import atan2, cos, hypot, pi, sin, tan

from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Circle, Item, Line, Point, Polygon, Polyline, Role, Text

THIN, FINE, BOLD = 0.045, 0.085, 0.15  # widths of lines in text sizes


def arrow(tip: Point, towards: Point, size: float, role: Role = Role.INK, tag: str | None = None) -> Polygon:
    """Give an arrow head at `tip` that looks in the direction `towards`, as long as `size`."""
    length = hypot(*towards) or 1.0
    dx, dy = towards[0] / length * size, towards[1] / length * size
    x, y = tip
    corners = (tip, (x - dx - 0.32 * dy, y - dy + 0.32 * dx), (x - dx + 0.32 * dy, y - dy - 0.32 * dx))
    return Polygon(corners, fill=role, tag=tag)


def dimension_line(start: Point, end: Point, text: str, size: float, tag: str | None = None) -> list[Item]:
    """Give a dimension line between two points of one x or one y, with its text standing in a gap of the line.

    Where there is no room for the text between the arrow heads it stands beside the line, and the line is whole.
    """
    (x1, y1), (x2, y2) = start, end
    upright = abs(x2 - x1) < abs(y2 - y1)
    width, length = text_width(text, size), hypot(x2 - x1, y2 - y1)
    need = 1.5 * size if upright else width + 0.8 * size
    mid, ux, uy = ((x1 + x2) / 2, (y1 + y2) / 2), (x2 - x1) / (length or 1), (y2 - y1) / (length or 1)
    role, thin = Role.QUIET, THIN * size
    heads: list[Item] = [
        arrow(start, (-ux, -uy), 0.7 * size, Role.QUIET),
        arrow(end, (ux, uy), 0.7 * size, Role.QUIET),
    ]
    if length < need + 1.6 * size:
        at = (x1 - (0.5 if upright else 1.2) * size, mid[1] + 0.35 * size)
        return [
            *heads,
            Line(start, end, role, thin),
            Text(at, text, size, Role.QUIET, Anchor.END, backed=True, tag=tag),
        ]
    gap = need / 2
    return [
        *heads,
        Line(start, (mid[0] - ux * gap, mid[1] - uy * gap), role, thin),
        Line((mid[0] + ux * gap, mid[1] + uy * gap), end, role, thin),
        Text((mid[0], mid[1] + 0.35 * size), text, size, Role.QUIET, Anchor.MIDDLE, tag=tag),
    ]


def tube(path: Sequence[Point], bore: float, size: float, filled: bool, tag: str | None = None) -> list[Item]:
    """Give a tube along a path as two ink lines, `bore` apart, with liquid or air between them."""
    points = tuple(path)
    return [
        Polyline(points, Role.INK, bore + 2 * FINE * size, tag=tag),
        Polyline(points, Role.LIQUID if filled else Role.PAPER, bore, tag=tag),
    ]


def rounded(corners: Sequence[Point], radius: float) -> list[Point]:
    """Give a path of straight pieces with its corners rounded, as far as the pieces are long enough."""
    path = [corners[0]]
    for before, here, after in zip(corners, corners[1:], corners[2:], strict=False):
        one, two = hypot(before[0] - here[0], before[1] - here[1]), hypot(after[0] - here[0], after[1] - here[1])
        if min(one, two) < 1e-9:
            continue
        a = ((before[0] - here[0]) / one, (before[1] - here[1]) / one)
        b = ((after[0] - here[0]) / two, (after[1] - here[1]) / two)
        turn = pi - abs(atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))
        back = min(radius * tan(turn / 2), 0.5 * one, 0.5 * two)
        for step in range(9):
            share = step / 8  # a quadratic curve through the corner's tangents: close to an arc, and smooth
            u, v = back * (1 - share) ** 2, back * share**2
            path.append((here[0] + a[0] * u + b[0] * v, here[1] + a[1] * u + b[1] * v))
    return [*path, corners[-1]]


def bubble(centre: Point, tag: str, size: float, entry: str | None = None) -> list[Item]:
    """Give an instrument bubble after ANSI/ISA-5.1: letters over the loop number in a circle (mounted in the field)."""
    letters, _, number = tag.partition("-")
    wide = max(text_width(part, size) for part in (letters, number))
    radius = max(1.55 * size, hypot(wide / 2, 0.9 * size) + 0.25 * size)
    x, y = centre
    return [
        Circle(centre, radius, fill=Role.CARD, width=FINE * size, tag=entry),
        Text((x, y - 0.12 * size), letters, size, anchor=Anchor.MIDDLE, tag=entry),
        Text((x, y + 1.0 * size), number, size, anchor=Anchor.MIDDLE, tag=entry),
    ]


def valve(centre: Point, size: float, upright: bool, tag: str | None = None) -> list[Item]:
    """Give a hand valve after ISO 10628: two triangles tip to tip, and a hand wheel."""
    x, y = centre
    a, b = 0.95 * size, 0.62 * size
    if upright:
        shapes = [((x - b, y + s * a), (x + b, y + s * a), (x, y)) for s in (-1, 1)]
        wheel = [
            Line((x, y), (x - 1.1 * size, y), width=FINE * size),
            Line((x - 1.1 * size, y - b), (x - 1.1 * size, y + b), width=FINE * size),
        ]
    else:
        shapes = [((x + s * a, y - b), (x + s * a, y + b), (x, y)) for s in (-1, 1)]
        wheel = [
            Line((x, y), (x, y - 1.1 * size), width=FINE * size),
            Line((x - b, y - 1.1 * size), (x + b, y - 1.1 * size), width=FINE * size),
        ]
    return [*wheel, *(Polygon(one, Role.CARD, Role.INK, FINE * size, tag=tag) for one in shapes)]


def pump(centre: Point, size: float, tag: str | None = None) -> list[Item]:
    """Give a pump after ISO 10628: a circle with a triangle that shows which way it delivers (here upwards)."""
    x, y = centre
    radius = 1.5 * size
    sides = [(x + radius * cos(angle), y - radius * sin(angle)) for angle in (pi / 2, -5 * pi / 6, -pi / 6)]
    return [
        Circle(centre, radius, fill=Role.CARD, width=FINE * size, tag=tag),
        Polyline((sides[1], sides[0], sides[2]), width=FINE * size, tag=tag),
    ]
