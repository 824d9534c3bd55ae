"""The section painted: liquid, still parts from a picture of them, moving parts, and what is held."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPixmap

from levelbench.drawing.frame import Frame, Size
from levelbench.drawing.measure import text_box, text_width, wrap
from levelbench.drawing.palette import Palette
from levelbench.drawing.scene import Anchor, Item, Line, Polygon, Role, Text
from levelbench.drawing.section import Section
from levelbench.drawing.state import SectionState
from levelbench.gui.look import theme
from levelbench.gui.section.paint import paint, tag_at
from levelbench.gui.section.sight import Sight
from levelbench.rig import Rig

TEXT = 11.0  # px
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

    def paint_held(self, painter: QPainter, level: float, words: str, warning: str) -> None:
        """Paint a line where something is held, what it would be, and what the review would say of that."""
        frame, palette = self.frame, theme.current().palette
        y = min(max(frame.y(level), 2.2 * TEXT), frame.size.height - 1.2 * TEXT)
        left = max(frame.left, TEXT)
        items: list[Item] = []
        if words:
            items.append(Line((left, y), (frame.axis, y), Role.SELECTION, 2.0))
            items += _sheet([words], (left + TEXT, y - 1.0 * TEXT), Role.SELECTION, bold=True)
        if warning:
            room = min(SAID * TEXT, frame.axis - left - 2.5 * TEXT)
            lines = wrap(warning, TEXT, room)
            low = y + 1.8 * TEXT
            if low + 1.3 * len(lines) * TEXT > frame.size.height:
                low = y - (1.4 if not words else 2.6) * TEXT - 1.3 * (len(lines) - 1) * TEXT
            role = Role.STOP if warning.startswith("■") else Role.ATTENTION
            items += _sheet(lines, (left + TEXT, low), role)
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


def _sheet(lines: list[str], at: tuple[float, float], role: Role, *, bold: bool = False) -> list[Item]:
    """Give lines of text on a small sheet with an edge, so that they are read over everything."""
    x, y = at
    size = TEXT + 1 if bold else TEXT
    wide = max(text_width(line, size, bold) for line in lines)
    top, low = y - 1.1 * size, y + (1.3 * (len(lines) - 1) + 0.5) * size
    left, right = x - 0.5 * size, x + wide + 0.5 * size
    return [
        Polygon(((left, top), (right, top), (right, low), (left, low)), Role.CARD, role, 1.0),
        *(Text((x, y + 1.3 * size * at), line, size, role, Anchor.START, bold) for at, line in enumerate(lines)),
    ]
