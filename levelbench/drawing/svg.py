"""Scenes as SVG text: no scripts, no outside fonts, every text escaped."""

from functools import singledispatch
from xml.sax.saxutils import escape, quoteattr

from levelbench.drawing.measure import ASCENT, DESCENT, text_left, text_width
from levelbench.drawing.palette import Palette
from levelbench.drawing.scene import Circle, Hatch, Item, Line, Point, Polygon, Polyline, Role, Scene, Stroke, Text

FAMILY = "'DejaVu Sans', Verdana, 'Bitstream Vera Sans', sans-serif"


def to_svg(scene: Scene, palette: Palette, unit: str = "mm") -> str:
    """Write a scene as one SVG element, as wide as the scene in `unit` ("mm", "px") or narrower where the page is."""
    size = f"{_n(scene.width)} {_n(scene.height)}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {size}" '
        f'width="{_n(scene.width)}{unit}" height="{_n(scene.height)}{unit}" font-family="{FAMILY}">'
    )
    title = [f"<title>{escape(scene.title)}</title>"] if scene.title else []
    return "\n".join([head, *title, *(_draw(item, palette) for item in scene.items), "</svg>"])


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _path(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _pen(role: Role | None, width: float, stroke: Stroke, palette: Palette) -> str:
    if role is None:
        return 'stroke="none"'
    dashes = ",".join(_n(length * width) for length in stroke.value)
    return f'stroke="{palette[role]}" stroke-width="{_n(width)}"' + (f' stroke-dasharray="{dashes}"' if dashes else "")


def _fill(role: Role | None, palette: Palette) -> str:
    return f'fill="{palette[role]}"' if role else 'fill="none"'


def _tag(tag: str | None) -> str:
    return f" data-tag={quoteattr(tag)}" if tag else ""


@singledispatch
def _draw(item: Item, palette: Palette) -> str:
    raise TypeError(f"no way to draw {type(item).__name__} as SVG in the palette {palette.name}")


@_draw.register
def _(item: Line, palette: Palette) -> str:
    (x1, y1), (x2, y2) = item.start, item.end
    pen = _pen(item.role, item.width, item.stroke, palette)
    return f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" {pen}{_tag(item.tag)}/>'


@_draw.register
def _(item: Polyline, palette: Palette) -> str:
    pen = _pen(item.role, item.width, item.stroke, palette)
    return f'<polyline points="{_path(item.points)}" fill="none" stroke-linejoin="round" {pen}{_tag(item.tag)}/>'


@_draw.register
def _(item: Polygon, palette: Palette) -> str:
    paint = f"{_fill(item.fill, palette)} {_pen(item.role, item.width, item.stroke, palette)}"
    return f'<polygon points="{_path(item.points)}" stroke-linejoin="round" {paint}{_tag(item.tag)}/>'


@_draw.register
def _(item: Circle, palette: Palette) -> str:
    paint = f"{_fill(item.fill, palette)} {_pen(item.role, item.width, item.stroke, palette)}"
    (x, y), radius = item.centre, _n(item.radius)
    return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{radius}" {paint}{_tag(item.tag)}/>'


@_draw.register
def _(item: Hatch, palette: Palette) -> str:
    path = "".join(f"M{_n(x1)},{_n(y1)}L{_n(x2)},{_n(y2)}" for (x1, y1), (x2, y2) in item.segments)
    return f'<path d="{path}" fill="none" {_pen(item.role, item.width, Stroke.SOLID, palette)}{_tag(item.tag)}/>'


@_draw.register
def _(item: Text, palette: Palette) -> str:
    x, y = item.at
    backing = ""
    if item.backed:
        left, width = text_left(item), text_width(item.text, item.size, item.bold)
        backing = (
            f'<rect x="{_n(left - 0.2 * item.size)}" y="{_n(y - ASCENT * item.size)}" '
            f'width="{_n(width + 0.4 * item.size)}" height="{_n((ASCENT + DESCENT) * item.size)}" '
            f'fill="{palette[Role.PAPER]}"/>'
        )
    weight = ' font-weight="bold"' if item.bold else ""
    return (
        f'{backing}<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(item.size)}" text-anchor="{item.anchor.value}" '
        f'fill="{palette[item.role]}"{weight}{_tag(item.tag)}>{escape(item.text)}</text>'
    )
