"""Painting a scene's shapes with Qt, and finding the shape under a pointer."""

import math
from collections.abc import Callable, Iterable
from functools import lru_cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from levelbench.drawing.measure import text_box
from levelbench.drawing.palette import Palette
from levelbench.drawing.scene import (
    Anchor,
    Circle,
    Hatch,
    Item,
    Line,
    Point,
    Polygon,
    Polyline,
    Role,
    Stroke,
    Text,
)
from levelbench.gui.look.theme import FAMILY

BACKING = 0.15  # of the text's size, that the paper reaches beyond a backed text


def paint(painter: QPainter, items: Iterable[Item], palette: Palette) -> None:
    """Paint items in their order, one scene unit a logical pixel."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for item in items:
        _PAINTERS[type(item)](painter, item, palette)


def _pen(role: Role | None, width: float, stroke: Stroke, palette: Palette) -> QPen:
    return QPen(Qt.PenStyle.NoPen) if role is None else _made_pen(palette[role], width, stroke)


@lru_cache(maxsize=256)
def _made_pen(colour: str, width: float, stroke: Stroke) -> QPen:
    pen = QPen(QColor(colour), width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if stroke.value:
        pen.setDashPattern(list(stroke.value))
    return pen


@lru_cache(maxsize=16)
def _font(size: float, bold: bool) -> QFont:
    font = QFont(FAMILY)
    font.setPixelSize(max(round(size), 1))
    font.setBold(bold)
    return font


@lru_cache(maxsize=2048)
def _width(text: str, size: float, bold: bool) -> float:
    return QFontMetricsF(_font(size, bold)).horizontalAdvance(text)


def _brush(role: Role | None, palette: Palette) -> QBrush:
    return QBrush(Qt.BrushStyle.NoBrush) if role is None else QBrush(QColor(palette[role]))


def _polygon(points: Iterable[Point]) -> QPolygonF:
    return QPolygonF([QPointF(*point) for point in points])


def _paint_line(painter: QPainter, item: Line, palette: Palette) -> None:
    painter.setPen(_pen(item.role, item.width, item.stroke, palette))
    painter.drawLine(QPointF(*item.start), QPointF(*item.end))


def _paint_polyline(painter: QPainter, item: Polyline, palette: Palette) -> None:
    painter.setPen(_pen(item.role, item.width, item.stroke, palette))
    painter.drawPolyline(_polygon(item.points))


def _paint_polygon(painter: QPainter, item: Polygon, palette: Palette) -> None:
    painter.setPen(_pen(item.role, item.width, item.stroke, palette))
    painter.setBrush(_brush(item.fill, palette))
    painter.drawPolygon(_polygon(item.points))


def _paint_circle(painter: QPainter, item: Circle, palette: Palette) -> None:
    painter.setPen(_pen(item.role, item.width, item.stroke, palette))
    painter.setBrush(_brush(item.fill, palette))
    painter.drawEllipse(QPointF(*item.centre), item.radius, item.radius)


def _paint_hatch(painter: QPainter, item: Hatch, palette: Palette) -> None:
    painter.setPen(_pen(item.role, item.width, Stroke.SOLID, palette))
    painter.drawLines([QLineF(QPointF(*start), QPointF(*end)) for start, end in item.segments])


def _paint_text(painter: QPainter, item: Text, palette: Palette) -> None:
    painter.setFont(_font(item.size, item.bold))
    width = _width(item.text, item.size, item.bold)
    share = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[item.anchor]
    left = item.at[0] - share * width
    if item.backed:
        more = BACKING * item.size
        _, top, _, bottom = text_box(item)
        ground = QRectF(left - more, top - more, width + 2 * more, bottom - top + 2 * more)
        painter.fillRect(ground, QColor(palette[Role.PAPER]))
    painter.setPen(QColor(palette[item.role]))
    painter.drawText(QPointF(left, item.at[1]), item.text)


_PAINTERS: dict[type, Callable[..., None]] = {
    Line: _paint_line,
    Polyline: _paint_polyline,
    Polygon: _paint_polygon,
    Circle: _paint_circle,
    Hatch: _paint_hatch,
    Text: _paint_text,
}


def tag_at(items: Iterable[Item], place: Point, reach: float) -> str:
    """Give the tag of the tagged item nearest to a place and within reach; the one painted last wins, "" for none."""
    best, found = reach, ""
    for item in items:
        if item.tag and (away := distance(item, place)) <= best:
            best, found = away, item.tag
    return found


def distance(item: Item, place: Point) -> float:
    """Give how far a place is from an item, 0 inside."""
    if isinstance(item, Line):
        return _from_stretch(item.start, item.end, place)
    if isinstance(item, Polyline):
        pairs = zip(item.points, item.points[1:], strict=False)
        return min((_from_stretch(one, other, place) for one, other in pairs), default=math.inf)
    if isinstance(item, Hatch):
        return min((_from_stretch(one, other, place) for one, other in item.segments), default=math.inf)
    if isinstance(item, Circle):
        return max(math.dist(item.centre, place) - item.radius, 0.0)
    if isinstance(item, Text):
        return _from_box(text_box(item), place)
    across, down = zip(*item.points, strict=True)
    return _from_box((min(across), min(down), max(across), max(down)), place)


def _from_box(box: tuple[float, float, float, float], place: Point) -> float:
    left, top, right, bottom = box
    return math.hypot(max(left - place[0], 0, place[0] - right), max(top - place[1], 0, place[1] - bottom))


def _from_stretch(start: Point, end: Point, place: Point) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = dx * dx + dy * dy
    share = ((place[0] - start[0]) * dx + (place[1] - start[1]) * dy) / length if length else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(start[0] + share * dx - place[0], start[1] + share * dy - place[1])
