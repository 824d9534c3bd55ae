"""Mathematical type set by hand: fraction bars, subscripts, an integral sign, out of lines and letters only.

An equation is a row of boxes; each box knows its width, how far it reaches above and below the line of writing, and how
it is painted. A row that is too wide for its place is set smaller until it fits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme

Paint = Callable[[QPainter, float, float], None]  # painter, x, y of the line of writing
LEAST, GAP = 8.0, 0.12  # px of the smallest letters; of the letters' size, between fraction and bar


@dataclass(frozen=True)
class Box:
    """A piece that is set: its size in px about the line of writing, and how it is painted."""

    width: float
    above: float
    below: float
    paint: Paint


@dataclass(frozen=True)
class Word:
    """Letters on the line; a quantity's name stands slanted, a number and a sign upright."""

    text: str
    slanted: bool = False

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        font = _font(size, self.slanted)
        metrics = QFontMetricsF(font)

        def paint(painter: QPainter, x: float, y: float) -> None:
            painter.setFont(font)
            painter.drawText(QPointF(x, y), self.text)

        return Box(metrics.horizontalAdvance(self.text), metrics.capHeight() + 1, metrics.descent() * 0.7, paint)


@dataclass(frozen=True)
class Symbol:
    """A quantity's name with a subscript: T with i below."""

    name: str
    below: str = ""
    prime: bool = False

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        head, foot = Word(self.name, slanted=True).set(size), Word(self.below, slanted=True).set(0.72 * size)
        tick = Word("′" if self.prime else "").set(size)
        drop = 0.22 * size

        def paint(painter: QPainter, x: float, y: float) -> None:
            head.paint(painter, x, y)
            foot.paint(painter, x + head.width, y + drop)
            tick.paint(painter, x + head.width + (0 if foot.width == 0 else 0.5), y)

        wide = head.width + max(foot.width, tick.width)
        return Box(wide, head.above, max(head.below, foot.below + drop), paint)


@dataclass(frozen=True)
class Fraction:
    """One row over another with a bar between them."""

    top: Sequence[Part]
    bottom: Sequence[Part]

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        small = 0.86 * size
        over, under = Row(self.top).set(small), Row(self.bottom).set(small)
        wide, axis, gap = max(over.width, under.width) + 0.3 * size, 0.32 * size, GAP * size + 1

        def paint(painter: QPainter, x: float, y: float) -> None:
            over.paint(painter, x + (wide - over.width) / 2, y - axis - gap - over.below)
            under.paint(painter, x + (wide - under.width) / 2, y - axis + gap + under.above)
            painter.drawLine(QPointF(x, y - axis), QPointF(x + wide, y - axis))

        return Box(wide, axis + gap + over.below + over.above, gap - axis + under.above + under.below, paint)


@dataclass(frozen=True)
class Integral:
    """The integral sign: one drawn stroke that reaches above and below the line."""

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        wide, above, below = 0.62 * size, 1.25 * size, 0.55 * size

        def paint(painter: QPainter, x: float, y: float) -> None:
            top, foot = y - above + 0.1 * size, y + below - 0.1 * size
            path = QPainterPath(QPointF(x + wide, top + 0.14 * size))
            path.cubicTo(QPointF(x + 0.72 * wide, top - 0.22 * size), QPointF(x + 0.56 * wide, top + 0.2 * size),
                         QPointF(x + 0.5 * wide, (top + foot) / 2))  # fmt: skip
            path.cubicTo(QPointF(x + 0.44 * wide, foot - 0.2 * size), QPointF(x + 0.28 * wide, foot + 0.22 * size),
                         QPointF(x, foot - 0.14 * size))  # fmt: skip
            painter.drawPath(path)

        return Box(wide, above, below, paint)


@dataclass(frozen=True)
class Round:
    """Round brackets as high as what they hold."""

    inside: Sequence[Part]

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        held = Row(self.inside).set(size)
        wide = 0.34 * size

        def bracket(painter: QPainter, x: float, y: float, turn: float) -> None:
            path = QPainterPath(QPointF(x + 0.4 * turn * wide, y - held.above - 1))
            path.quadTo(QPointF(x - 0.7 * turn * wide, y + (held.below - held.above) / 2),
                        QPointF(x + 0.4 * turn * wide, y + held.below + 1))  # fmt: skip
            painter.drawPath(path)

        def paint(painter: QPainter, x: float, y: float) -> None:
            bracket(painter, x + wide / 2, y, 1)
            held.paint(painter, x + wide, y)
            bracket(painter, x + 1.5 * wide + held.width, y, -1)

        return Box(held.width + 2 * wide, held.above + 1, held.below + 1, paint)


@dataclass(frozen=True)
class Row:
    """Pieces side by side."""

    parts: Sequence[Part]

    def set(self, size: float) -> Box:
        """Set it in letters of a size [px]."""
        boxes = [one.set(size) for one in self.parts]
        gap = 0.1 * size

        def paint(painter: QPainter, x: float, y: float) -> None:
            for box in boxes:
                box.paint(painter, x, y)
                x += box.width + gap

        wide = sum(box.width for box in boxes) + gap * max(len(boxes) - 1, 0)
        above = max((box.above for box in boxes), default=0.0)
        return Box(wide, above, max((box.below for box in boxes), default=0.0), paint)


Part = Word | Symbol | Fraction | Integral | Round | Row


class EquationView(QWidget):
    """Rows of an equation one under another; `words` says the same to those who can't see it."""

    def __init__(self, size: float = 12.0) -> None:
        super().__init__()
        self._rows: tuple[tuple[Row, Role], ...] = ()
        self._size = size
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_rows(self, rows: Sequence[tuple[Row, Role]], words: str) -> None:
        """Show these rows, each in its role."""
        self._rows = tuple(rows)
        self.setAccessibleName(words)
        self.setToolTip(words)
        boxes = [row.set(self._size) for row, _ in rows]
        self.setFixedHeight(round(sum(one.above + one.below + 6 for one in boxes)) + 2)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Set every row as large as its place allows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        y = 2.0
        for row, role in self._rows:
            painter.setPen(theme.pen(role, 1.1))
            full = box = row.set(self._size)
            size = self._size
            while box.width > self.width() - 4 and size > LEAST:
                size -= 0.5
                box = row.set(size)
            box.paint(painter, 2.0, y + full.above)
            y += full.above + full.below + 6


def _font(size: float, slanted: bool) -> QFont:
    font = theme.font(max(round(size), 1))
    font.setItalic(slanted)
    return font
