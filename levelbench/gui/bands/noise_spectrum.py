"""The spectrum of the noise as a small plot, both scales logarithmic: where in time the PV's scatter lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import painter_on
from levelbench.quantity import written

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from levelbench.alarms.noise import Spread

POINTS = 160  # most of the line
HEIGHT = 116  # px
_DEEP = 4.0  # powers of ten that are shown


@dataclass(frozen=True)
class Spectrum:
    """Periods [s], and the density at each beside the largest one."""

    periods: NDArray[np.float64]
    density: NDArray[np.float64]


def spectrum_of(spread: Spread) -> Spectrum:
    """Give the spectrum of a noise at evenly spread logarithms of its periods; of a PV that stands still, none."""
    if spread.sigma <= 0.0:
        return Spectrum(np.zeros(0), np.zeros(0))
    frequency, density = spread.spectrum()
    ends = np.geomspace(frequency[0], frequency[-1] * 1.0001, min(POINTS, len(frequency)) + 1)
    within = np.digitize(frequency, ends)
    kept = [at for at in range(1, len(ends)) if (within == at).any()]
    means = np.array([density[within == at].mean() for at in kept])
    at = np.array([frequency[within == at].mean() for at in kept])
    return Spectrum(1.0 / at, means / means.max())


class NoiseSpectrum(QWidget):
    """Draws it: slow on the left, fast on the right."""

    def __init__(self) -> None:
        super().__init__()
        self._shown: Spectrum | None = None
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("spectrum of the noise")

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size that it likes best."""
        return QSize(260, HEIGHT)

    def show_spectrum(self, shown: Spectrum) -> None:
        """Show a spectrum, or with no points that there is none."""
        self._shown = shown
        if len(shown.periods):
            half = shown.periods[np.flatnonzero(shown.density >= 0.5)[-1]]
            self.setAccessibleDescription(f"half of its height at a period of {written(float(half), '.3g')} s")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint it."""
        shown = self._shown
        if shown is None or not len(shown.periods):
            return
        painter = painter_on(self, theme.DRAWING)
        metrics = QFontMetricsF(painter.font())
        line = metrics.height()
        box = QRectF(2.0, 1.3 * line, self.width() - 4.0, self.height() - 2.6 * line)
        across = np.log10(shown.periods)
        low, high = float(across.min()), float(across.max())
        x = box.right() - (across - low) / max(high - low, 1e-9) * box.width()
        y = box.top() - np.maximum(np.log10(np.maximum(shown.density, 1e-30)), -_DEEP) / _DEEP * box.height()
        for power in range(math.ceil(low), math.floor(high) + 1):
            place = box.right() - (power - low) / max(high - low, 1e-9) * box.width()
            words = f"{written(10.0**power, 'g')} s"
            painter.setPen(theme.pen(Role.HAIRLINE))
            painter.drawLine(QLineF(place, box.top(), place, box.bottom()))
            painter.setPen(theme.pen(Role.QUIET))
            left = min(
                max(place - metrics.horizontalAdvance(words) / 2, 0.0), self.width() - metrics.horizontalAdvance(words)
            )
            painter.drawText(QPointF(left, box.bottom() + line), words)
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        painter.setPen(theme.pen(Role.WATER_LINE, 1.6))
        painter.drawPolyline(QPolygonF([QPointF(*pair) for pair in zip(x.tolist(), y.tolist(), strict=True)]))
        painter.setPen(theme.pen(Role.INK))
        painter.drawText(QPointF(box.left(), box.top() - 0.4 * line), "spectrum of the noise, by period")
