"""The section painted: liquid, still parts from a picture of them, moving parts, and what is held."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPixmap

from levelbench.drawing.frame import Frame, Size
from levelbench.drawing.measure import text_box, text_width, wrap
from levelbench.drawing.palette import Palette
from levelbench.drawing.scene import Anchor, Item, Line, Polygon, Polyline, Role, Text
from levelbench.drawing.section import Section
from levelbench.drawing.state import SectionState
from levelbench.gui.look import theme
from levelbench.gui.section.paint import paint, tag_at
from levelbench.gui.section.sight import Sight
from levelbench.rig import Rig

TEXT = float(theme.DRAWING)  # px
REACH = 6.0  # px within which a shape is caught
MARGIN = 8  # px of paper at the left and the right
SAID = 34.0  # text sizes; the width of a warning at the handle


class Canvas:
    """Paints one rig; keeps what does not move as a picture until it is `stale`."""

    def __init__(self) -> None:
        self.section: Section | None = None
        self.items: tuple[Item, ...] = ()  # all of what was painted last, for finding what was pressed on
        self._still: QPixmap | None = None
        self._cut = False

    @property
    def frame(self) -> Frame:
        """The layout of what is shown."""
        assert self.section is not None, "nothing is shown yet"
        return self.section.frame

    def lay(self, rig: Rig, sight: Sight, room: QSize) -> None:
        """Lay the section out for the room of the widget."""
        size = Size(float(room.width() - 2 * MARGIN), float(room.height()), TEXT)
        self.section = Section(rig, size, sight.lay(rig, size))
        self._cut = sight.over_the_scale
        self.stale()

    def stale(self) -> None:
        """Paint the still parts anew next time: the theme changed."""
        self._still = None

    def paint(self, painter: QPainter, state: SectionState, room: QSize) -> None:
        """Paint one moment."""
        assert self.section is not None
        palette, ratio = theme.current().palette, painter.device().devicePixelRatioF()
        painter.fillRect(QRectF(0, 0, room.width(), room.height()), QColor(palette[Role.PAPER]))
        painter.translate(MARGIN, 0)
        under, moving = self.section.under(state), self.section.moving(state)
        beside = self.section.beside(state, moving)
        if self._cut:  # what is zoomed ends at the scale
            painter.setClipRect(QRectF(-MARGIN, 0, self.frame.axis + MARGIN, room.height()))
        paint(painter, under.items, palette)
        if self._still is None or self._still.devicePixelRatioF() != ratio:
            self._still = self._paint_still(room, ratio, palette)
        painter.drawPixmap(0, 0, self._still)
        paint(painter, moving.items, palette)
        painter.setClipping(False)
        paint(painter, beside.items, palette)
        self.items = under.items + self.section.still.items + moving.items + beside.items

    def _paint_still(self, room: QSize, ratio: float, palette: Palette) -> QPixmap:
        assert self.section is not None
        pixmap = QPixmap(room * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        paint(painter, self.section.still.items, palette)
        painter.end()
        return pixmap

    def paint_focus(self, painter: QPainter, key: str) -> None:
        """Frame the label of what the keys act on, or everything where nothing is chosen."""
        boxes = (text_box(item) for item in self.items if isinstance(item, Text) and key and item.tag == key)
        x1, y1, x2, y2 = next(
            boxes, (2.0 - MARGIN, 3.0, self.frame.size.width + MARGIN - 4, self.frame.size.height - 3)
        )
        corners = ((x1 - 2, y1 - 2), (x2 + 2, y1 - 2), (x2 + 2, y2 + 1), (x1 - 2, y2 + 1))
        paint(painter, [Polyline((*corners, corners[0]), Role.SELECTION, 1.4)], theme.current().palette)

    def paint_held(self, painter: QPainter, level: float, words: str, warning: str) -> None:
        """Paint a line where something is held, what it would be, and what the review would say of that."""
        frame, palette = self.frame, theme.current().palette
        y = min(max(frame.y(level), 2.2 * TEXT), frame.size.height - 1.2 * TEXT)
        left = max(frame.left, TEXT)
        items: list[Item] = []
        taken = [text_box(item) for item in self.items if isinstance(item, Text) and item.tag == "pv"]
        if words:
            items.append(Line((left, y), (frame.axis, y), Role.SELECTION, 2.0))
            size = float(theme.BODY)
            tops = [y + shift * size for shift in (-2.1, -3.7, 0.9, 2.5, -5.3, 4.1)]
            items += _placed(Held((words,), size, Role.SELECTION, True), (left + TEXT, tops), taken, frame)
        if warning:
            room = min(SAID * TEXT, frame.axis - left - 2.5 * TEXT)
            role = Role.STOP if warning.startswith("■") else Role.ATTENTION
            held = Held((*wrap(warning, TEXT, room),), TEXT, role, False)
            tops = [y + 0.7 * TEXT + step * TEXT for step in range(12)]
            tops += [y - 0.9 * TEXT - held.high - step * TEXT for step in range(12)]
            items += _placed(held, (left + TEXT, tops), taken, frame)
        paint(painter, items, palette)

    def tag_at(self, place: QPointF, only: set[str] | None = None, reach: float = REACH) -> str:
        """Give the tag of what is at a place of the widget; `only`: among these."""
        found = self.items if only is None else [item for item in self.items if item.tag in only]
        return tag_at(found, (place.x() - MARGIN, place.y()), reach)

    def place_of(self, key: str) -> QPointF:
        """Give the place of the widget where the first text of a tag begins, else the middle of the tank."""
        for item in self.items:
            if item.tag == key and isinstance(item, Text):
                left, top, _, low = text_box(item)
                return QPointF(left + MARGIN, (top + low) / 2)
        return QPointF(self.frame.middle, self.frame.size.height / 2)


Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Held:
    """Lines of text on a small sheet with an edge, so that they are read over everything."""

    lines: tuple[str, ...]
    size: float
    role: Role
    bold: bool

    @property
    def high(self) -> float:
        """The height of the sheet."""
        return (1.3 * (len(self.lines) - 1) + 1.6) * self.size

    def box(self, left: float, top: float) -> Box:
        """Give the sheet's left, top, right and bottom."""
        wide = max(text_width(line, self.size, self.bold) for line in self.lines)
        return left - 0.5 * self.size, top, left + wide + 0.5 * self.size, top + self.high

    def items(self, left: float, top: float) -> list[Item]:
        """Give the sheet with its lines."""
        x1, y1, x2, y2 = self.box(left, top)
        first = top + 1.1 * self.size
        return [
            Polygon(((x1, y1), (x2, y1), (x2, y2), (x1, y2)), Role.CARD, self.role, 1.0),
            *(
                Text((left, first + 1.3 * self.size * at), line, self.size, self.role, Anchor.START, self.bold)
                for at, line in enumerate(self.lines)
            ),
        ]


def _placed(held: Held, at: tuple[float, list[float]], taken: list[Box], frame: Frame) -> list[Item]:
    """Put a sheet at the first of some heights where it covers nothing that is taken, and take its place."""
    left, tops = at
    inside = [top for top in tops if top >= 0.0 and top + held.high <= frame.size.height] or tops[:1]
    free = (top for top in inside if not any(_cover(held.box(left, top), other) for other in taken))
    top = next(free, inside[0])
    taken.append(held.box(left, top))
    return held.items(left, top)


def _cover(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
