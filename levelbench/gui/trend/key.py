"""The heading of a pane: what it shows, and for each pen its line, its name and its value with the unit."""

import math

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.parts import text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Wrapping
from levelbench.gui.trend.pens import Curve, pen_of
from levelbench.quantity import Units

SAMPLE = 22  # px; shows at least one whole repeat of every broken line
GAP = GRID // 2


class CurveKey(QAbstractButton):
    """A sample of a line, its name, and its value at the cursor or now. Pressing it puts the pen away."""

    def __init__(self, curve: Curve, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.curve = curve
        self._value = "–"
        self._unit = ""
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setToolTip(f"{curve.name}: {curve.means}. Press to put it away; “Pens” brings it back.")
        self.setAccessibleName(f"put {curve.name} away")

    @property
    def shown(self) -> str:
        """The value with its unit, as it stands there."""
        return f"{self._value} {self._unit}".strip()

    @property
    def _beside(self) -> str:
        """The unit where the heading of the pane does not say it."""
        return self._unit if self.curve.right else ""

    def tell(self, si: float, units: Units, resolution: float) -> None:
        """Show a value (SI; nan: none)."""
        unit = units.of(self.curve.dimension)
        shown = "–" if math.isnan(si) else units.show(si, self.curve.dimension, resolution).removesuffix(unit).strip()
        if (shown, unit) == (self._value, self._unit):
            return
        before = self.sizeHint()
        self._value, self._unit = shown, unit
        self.setAccessibleDescription(f"{self.curve.name} {self.shown}")
        if self.sizeHint() != before:
            self.updateGeometry()
        self.update()

    def _bold(self) -> QFont:
        font = self.font()
        font.setBold(True)
        return font

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give the room for the sample and the three words; digits may change without moving the neighbours."""
        plain = QFontMetrics(self.font())
        value = QFontMetrics(self._bold()).horizontalAdvance("0" * max(len(self._value), 4))
        words = plain.horizontalAdvance(self.curve.name) + value + plain.horizontalAdvance(self._beside)
        return QSize(SAMPLE + words + 3 * GAP + GRID, plain.height() + 4)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Never cut anything off."""
        return self.sizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the sample and the words."""
        painter = QPainter(self)
        self.paint(painter)
        if self.hasFocus():
            painter.setPen(theme.pen(Role.SELECTION))
            painter.drawRoundedRect(self.rect().adjusted(0, 0, -1, -1), 3, 3)

    def paint(self, painter: QPainter, colours: theme.Theme | None = None) -> None:
        """Paint the key as it stands, in another theme when one is given."""
        colours, middle = colours or theme.current(), self.height() / 2
        painter.setPen(pen_of(self.curve, colours, 1.6))
        painter.drawLine(QPointF(2, middle), QPointF(2 + SAMPLE, middle))
        quiet, ink = QColor(colours.colour(Role.QUIET)), QColor(colours.colour(Role.INK))
        at = 2 + SAMPLE + GAP
        for word, colour, font in (
            (self.curve.name, quiet, self.font()),
            (self._value, ink, self._bold()),
            (self._beside, quiet, self.font()),
        ):
            painter.setFont(font)
            painter.setPen(colour)
            painter.drawText(self.rect().adjusted(at, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, word)
            at += QFontMetrics(font).horizontalAdvance(word) + GAP


class PaneHead(QWidget):
    """The heading of a pane with the keys of its pens, in as many lines as they need."""

    def __init__(self, keys: list[CurveKey]) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.name = text("", "quiet")
        self.name.setContentsMargins(GAP, 2, GRID, 2)
        layout = Wrapping(GAP).add(self.name, *keys)
        self.setLayout(layout)
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        policy.setVerticalPolicy(QSizePolicy.Policy.Fixed)
        self.setSizePolicy(policy)
