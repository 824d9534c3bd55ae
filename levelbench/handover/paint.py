"""Scenes drawn with reportlab: vector all through, in the program's own fonts, as a block that flows with the text."""

from functools import singledispatch

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from levelbench.drawing.measure import ASCENT, DESCENT, text_left, text_width
from levelbench.drawing.palette import PRINT
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
    Scene,
    Stroke,
    Text,
)
from levelbench.places import resources

PLAIN, BOLD = "DejaVuSans", "DejaVuSans-Bold"


def register_fonts() -> None:
    """Make the fonts that travel with the program known to reportlab; a second call does no harm."""
    known = pdfmetrics.getRegisteredFontNames()
    for name in (PLAIN, BOLD):
        if name not in known:
            pdfmetrics.registerFont(TTFont(name, str(resources() / "fonts" / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


class SceneBlock(Flowable):
    """A scene whose unit is the millimetre, made narrower only where the room is too small for it."""

    def __init__(self, scene: Scene) -> None:
        super().__init__()
        self.scene = scene
        self.scale = mm

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803  names of reportlab
        """Give the size that the drawing takes in the room that there is [pt]."""
        self.scale = min(mm, aW / self.scene.width)
        del aH
        return self.scene.width * self.scale, self.scene.height * self.scale

    def draw(self) -> None:
        """Draw the scene; y runs up on a page."""
        canvas = self.canv
        canvas.saveState()
        canvas.translate(0, self.scene.height * self.scale)
        canvas.scale(self.scale, -self.scale)
        for item in self.scene.items:
            _paint(item, canvas)
        canvas.restoreState()


def _pen(canvas: Canvas, role: Role, width: float, stroke: Stroke) -> None:
    canvas.setStrokeColor(HexColor(PRINT[role]))
    canvas.setLineWidth(width)
    canvas.setLineJoin(1)
    canvas.setDash([length * width for length in stroke.value] if stroke.value else [])


def _trace(canvas: Canvas, points: tuple[Point, ...], closed: bool, fill: Role | None, stroked: bool) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    if fill:
        canvas.setFillColor(HexColor(PRINT[fill]))
    canvas.drawPath(path, stroke=int(stroked), fill=int(fill is not None))


@singledispatch
def _paint(item: Item, canvas: Canvas) -> None:
    raise TypeError(f"no way to draw {type(item).__name__} on a page {canvas}")


@_paint.register
def _(item: Line, canvas: Canvas) -> None:
    _pen(canvas, item.role, item.width, item.stroke)
    canvas.line(*item.start, *item.end)


@_paint.register
def _(item: Polyline, canvas: Canvas) -> None:
    _pen(canvas, item.role, item.width, item.stroke)
    _trace(canvas, item.points, False, None, True)


@_paint.register
def _(item: Polygon, canvas: Canvas) -> None:
    if item.role:
        _pen(canvas, item.role, item.width, item.stroke)
    _trace(canvas, item.points, True, item.fill, item.role is not None)


@_paint.register
def _(item: Circle, canvas: Canvas) -> None:
    if item.role:
        _pen(canvas, item.role, item.width, item.stroke)
    if item.fill:
        canvas.setFillColor(HexColor(PRINT[item.fill]))
    canvas.circle(*item.centre, item.radius, stroke=int(item.role is not None), fill=int(item.fill is not None))


@_paint.register
def _(item: Hatch, canvas: Canvas) -> None:
    _pen(canvas, item.role, item.width, Stroke.SOLID)
    canvas.lines([(*start, *end) for start, end in item.segments])


@_paint.register
def _(item: Text, canvas: Canvas) -> None:
    x, y = item.at
    if item.backed:
        canvas.setFillColor(HexColor(PRINT[Role.PAPER]))
        width = text_width(item.text, item.size, item.bold) + 0.4 * item.size
        left, low = text_left(item) - 0.2 * item.size, y - ASCENT * item.size
        canvas.rect(left, low, width, (ASCENT + DESCENT) * item.size, stroke=0, fill=1)
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(1, -1)
    canvas.setFillColor(HexColor(PRINT[item.role]))
    canvas.setFont(BOLD if item.bold else PLAIN, item.size)
    draw = {
        Anchor.START: canvas.drawString,
        Anchor.MIDDLE: canvas.drawCentredString,
        Anchor.END: canvas.drawRightString,
    }
    draw[item.anchor](0, 0, item.text)
    canvas.restoreState()
