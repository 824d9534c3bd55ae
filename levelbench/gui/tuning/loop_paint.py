"""Painting of the loop against the period: two panes with one axis across, and the curve of L round the point −1."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF

from levelbench.drawing.scene import Role
from levelbench.drawing.ticks import log_ticks
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import Pane, paint_across, paint_up
from levelbench.quantity import written

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from levelbench.tuning.loop import Margins
    from levelbench.tuning.loop_reading import Sweep

Look = tuple[Role, float, Qt.PenStyle]
Tick = tuple[float, str]
FULL: Look = (Role.WATER_LINE, 1.8, Qt.PenStyle.SolidLine)
WAS: Look = (Role.QUIET, 1.4, Qt.PenStyle.DotLine)
MARK: Look = (Role.INK, 1.6, Qt.PenStyle.SolidLine)
HAIR: Look = (Role.INK, 1.0, Qt.PenStyle.SolidLine)
GRID: Look = (Role.HAIRLINE, 1.0, Qt.PenStyle.SolidLine)
LIMIT: Look = (Role.INK, 1.0, Qt.PenStyle.DashLine)
_PERIODS = (
    0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 18000, 36000, 86400, 172800, 604800,
)  # fmt: skip
_APART = 14  # px between two labels


@dataclass(frozen=True)
class Lines:
    """One tuning as it is painted: its loop over the periods, and its margins."""

    sweep: Sweep
    margins: Margins


def period_words(seconds: float) -> str:
    """Write a period as short as it can be: "20 s", "2 min", "5 h"."""
    for unit, each in (("d", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= each:
            return f"{written(seconds / each, 'g')} {unit}"
    return f"{written(seconds, 'g')} s"


def period_ticks(pane: Pane, metrics: QFontMetricsF) -> list[Tick]:
    """Give the periods that have room for their labels, as values across (the logarithm of the frequency)."""
    found: list[Tick] = []
    free = pane.box.right() + _APART
    for period in _PERIODS:  # from the right, where the fast ones are
        value, words = math.log(2 * math.pi / period), period_words(period)
        half = metrics.horizontalAdvance(words) / 2
        x = pane.x(value)
        if x + half > min(free - _APART, pane.box.right() + 4) or x - half < pane.box.left():
            continue
        found.append((value, words))
        free = x - half
    return found


def factor_ticks(pane: Pane, line: float) -> list[Tick]:
    """Give the powers of ten, and 2 and 5 times them, that have room, as logarithms to ten."""
    low, high = pane.up
    tall = pane.box.height() / (high - low)
    steps = (1.0, 2.0, 5.0) if 0.3 * tall > 1.3 * line else (1.0,)
    return [(math.log10(one), written(one, ".3g")) for one in log_ticks(10**low, 10**high, steps)]


def even_ticks(low: float, high: float, steps: Sequence[float], most: float) -> list[Tick]:
    """Give multiples of the least of some steps that makes no more than `most` ticks."""
    step = next((one for one in steps if (high - low) / one <= most), steps[-1])
    values = np.arange(math.ceil(low / step), math.floor(high / step) + 1) * step
    return [(float(value), written(value, "g")) for value in values.tolist()]


def paint_paper(
    painter: QPainter, pane: Pane, across: Sequence[Tick], up: Sequence[Tick], title: tuple[str, str]
) -> None:
    """Paint frame, scales, the title at the left over the box and a value at the right."""
    box, metrics = pane.box, QFontMetricsF(painter.font())
    paint_up(painter, box, [(pane.y(value), words) for value, words in up])
    paint_across(painter, box, [(pane.x(value), words) for value, words in across])
    name, value_words = title
    above = box.top() - 5
    painter.setPen(theme.pen(Role.QUIET))
    painter.drawText(QPointF(box.left(), above), name)
    painter.setPen(theme.pen(*HAIR))
    painter.drawText(QPointF(box.right() - metrics.horizontalAdvance(value_words), above), value_words)
    painter.setPen(theme.pen(*GRID))
    painter.drawRect(box)


def paint_line(painter: QPainter, pane: Pane, across: NDArray[np.float64], up: NDArray[np.float64], look: Look) -> None:
    """Paint a line, cut at the edges of its pane."""
    painter.save()
    painter.setClipRect(pane.box)
    painter.setPen(theme.pen(*look))
    wide, tall = pane.across[1] - pane.across[0], pane.up[1] - pane.up[0]
    near = (np.abs(across - pane.across[0]) < 20 * wide) & (np.abs(up - pane.up[0]) < 20 * tall)
    points = [pane.at(x, y) for x, y in zip(across[near].tolist(), up[near].tolist(), strict=True)]
    painter.drawPolyline(QPolygonF(points))
    painter.restore()


def paint_bracket(painter: QPainter, pane: Pane, across: float, up: tuple[float, float]) -> None:
    """Paint a stroke with two ends between two values up, as far as it lies in its pane: a margin."""
    low, high = (min(max(one, pane.up[0]), pane.up[1]) for one in up)
    x = pane.x(across)
    painter.setPen(theme.pen(*MARK))
    painter.drawLine(QLineF(x, pane.y(low), x, pane.y(high)))
    for value in (low, high):
        painter.drawLine(QLineF(x - 4, pane.y(value), x + 4, pane.y(value)))


def paint_circle(painter: QPainter, pane: Pane, centre: tuple[float, float], radius: float, look: Look) -> None:
    """Paint a circle about a point, cut at the edges of its pane."""
    painter.save()
    painter.setClipRect(pane.box)
    painter.setPen(theme.pen(*look))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    across = radius * pane.box.width() / (pane.across[1] - pane.across[0])
    up = radius * pane.box.height() / (pane.up[1] - pane.up[0])
    painter.drawEllipse(pane.at(*centre), across, up)
    painter.restore()


def paint_dot(painter: QPainter, pane: Pane, across: float, up: float, *, filled: bool) -> None:
    """Paint a dot where the cursor meets a line, or the point −1; nothing outside the pane."""
    place = pane.at(across, up)
    if not pane.box.adjusted(-1, -1, 1, 1).contains(place):
        return
    painter.setPen(theme.pen(*MARK))
    ground = Role.INK if filled else Role.CARD
    painter.setBrush(theme.colour(ground))
    painter.drawEllipse(place, 3.5, 3.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)
