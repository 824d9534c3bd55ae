"""The row above the trend that says which line is which, what each stands at, and lets a person put a line away."""

import math

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui import theme
from levelbench.gui.theme import GRID, Theme
from levelbench.gui.trend_axes import Curve, pen_of
from levelbench.quantity import Units

SAMPLE = 16  # px


class CurveKey(QAbstractButton):
    """A sample of a line, its name, and its value at the cursor or now. Pressing it shows or hides the line."""

    def __init__(self, curve: Curve, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.curve = curve
        self._value = ""
        self._unit = ""
        self.setCheckable(True)
        self.setChecked(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
        self.setToolTip(f"show or hide {curve.name}")
        self.setAccessibleName(curve.name)

    @property
    def shown(self) -> str:
        """The value with its unit, as it stands there."""
        return f"{self._value} {self._unit}".strip()

    def tell(self, si: float, units: Units, resolution: float) -> None:
        """Show a value (SI; nan: none)."""
        unit = units.of(self.curve.dimension)
        shown = "–" if math.isnan(si) else units.show(si, self.curve.dimension, resolution).removesuffix(unit).strip()
        if (shown, unit) == (self._value, self._unit):
            return
        wider = len(shown) != len(self._value) or unit != self._unit
        self._value, self._unit = shown, unit
        self.setAccessibleDescription(self.shown)
        if wider:
            self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give the room for the sample and the three words."""
        least = self.minimumSizeHint()
        return QSize(least.width() + QFontMetrics(self.font()).horizontalAdvance(self._unit) + GRID, least.height())

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Never cut off name or value; the unit stands on the axis as well."""
        plain, bold = QFontMetrics(self.font()), self.font()
        bold.setBold(True)
        value = QFontMetrics(bold).horizontalAdvance("0" * max(len(self._value), 4))
        width = SAMPLE + plain.horizontalAdvance(self.curve.name) + value + GRID + 4
        return QSize(width, plain.height() + GRID)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802
        """Paint the sample and the words."""
        colours, painter = theme.current(), QPainter(self)
        middle = self.height() / 2
        painter.setPen(pen_of(self.curve, colours, 1.6) if self.isChecked() else _put_away(colours))
        painter.drawLine(QPointF(0, middle), QPointF(SAMPLE, middle))
        quiet, ink = QColor(colours.colour(Role.QUIET)), QColor(colours.colour(Role.INK))
        at = SAMPLE + GRID // 2
        at = self._word(painter, at, self.curve.name, quiet, bold=False)
        if self.isChecked():
            at = self._word(painter, at, self._value, ink, bold=True)
            if self.width() >= self.sizeHint().width():
                self._word(painter, at, self._unit, quiet, bold=False)
        else:
            self._word(painter, at, "hidden", quiet, bold=False)
        if self.hasFocus():
            painter.setPen(QPen(QColor(colours.colour(Role.SELECTION)), 1))
            painter.drawRoundedRect(self.rect().adjusted(0, 0, -1, -1), 3, 3)

    def _word(self, painter: QPainter, at: int, word: str, colour: QColor, *, bold: bool) -> int:
        """Paint a word and give where the next one begins."""
        font = self.font()
        font.setBold(bold)
        painter.setFont(font)
        painter.setPen(colour)
        painter.drawText(self.rect().adjusted(at, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, word)
        return at + painter.fontMetrics().horizontalAdvance(word) + GRID // 2


def _put_away(colours: Theme) -> QPen:
    return QPen(QColor(colours.colour(Role.HAIRLINE)), 1)
