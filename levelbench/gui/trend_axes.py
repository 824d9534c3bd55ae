"""What the trend draws: its curves, in which unit and line each is drawn, and an axis of hours, minutes and seconds."""

from dataclasses import dataclass

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from levelbench.drawing.scene import Role, Stroke
from levelbench.gui.theme import Theme
from levelbench.quantity import Dimension


@dataclass(frozen=True)
class Curve:
    """One curve: the column of the recording, what it is called, and a line that is known without its colour too."""

    column: str
    name: str
    dimension: Dimension
    pane: str  # "volume", "flow" or "output" (the right axis of the flows)
    role: Role
    stroke: Stroke


# In the order in which they are laid over one another, the first lowest.
CURVES = (
    Curve("pv", "PV", Dimension.VOLUME, "volume", Role.WATER_LINE, Stroke.SOLID),
    Curve("set_point", "SP", Dimension.VOLUME, "volume", Role.INK, Stroke.DASHED),
    Curve("volume", "true", Dimension.VOLUME, "volume", Role.QUIET, Stroke.DOTTED),
    Curve("output", "OP", Dimension.PERCENT, "output", Role.INK, Stroke.SOLID),
    Curve("pump_flow", "pump", Dimension.FLOW, "flow", Role.WATER_LINE, Stroke.DASHED),
    Curve("drain_flow", "drain", Dimension.FLOW, "flow", Role.QUIET, Stroke.DASH_DOT),
)
SPANS = {"2 min": 120.0, "10 min": 600.0, "1 h": 3600.0, "8 h": 28800.0, "24 h": 86400.0}

_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800)


def pen_of(curve: Curve, theme: Theme, width: float = 1.0) -> QPen:
    """Give the pen of a curve in a theme, `width` [px] wide at every zoom. One pixel is drawn fastest by far."""
    pen = QPen(QColor(theme.colour(curve.role)), width)
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if curve.stroke.value:
        pen.setDashPattern(list(curve.stroke.value))
    return pen


def clock(time: float, parts: bool = False) -> str:
    """Write a time of the run [s] as h:mm:ss, or with tenths of a second; the minus sign is a true one."""
    tenths = round(abs(time) * 10)
    whole, tenth = divmod(tenths, 10)
    sign = "−" if time < 0 and tenths else ""
    hours, minutes, seconds = whole // 3600, whole // 60 % 60, whole % 60
    return f"{sign}{hours}:{minutes:02d}:{seconds:02d}" + (f".{tenth}" if parts else "")


class ClockAxis(pg.AxisItem):  # type: ignore[misc]  # the library has no types
    """A time axis whose ticks fall on round minutes and hours."""

    def tickSpacing(self, minimum: float, maximum: float, size: float) -> list[tuple[float, float]]:  # noqa: N802
        """Give the distance of the ticks [s] so that their labels stand well apart."""
        least = (maximum - minimum) * 90 / max(size, 1)
        return [(next((step for step in _STEPS if step >= least), max(least, _STEPS[-1])), 0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: N802
        """Give the labels of the ticks."""
        return [clock(value * scale, spacing < 1) for value in values]
