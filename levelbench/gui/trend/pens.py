"""The pens of the trend: which column each draws, in which pane and unit, with which line."""

from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from levelbench.drawing.scene import Role, Stroke
from levelbench.gui.look.theme import Theme
from levelbench.quantity import Dimension


@dataclass(frozen=True)
class Curve:
    """One pen: the column of the recording, what it is called, and a line that is known without its colour too."""

    column: str
    name: str
    means: str
    dimension: Dimension
    pane: str
    role: Role
    stroke: Stroke
    right: bool = False  # drawn on the pane's right axis


@dataclass(frozen=True)
class PaneKind:
    """What a pane shows: its heading, the dimension of its left axis, and its share of the height."""

    name: str
    heading: str
    dimension: Dimension
    share: int


PANES = (
    PaneKind("tank", "tank", Dimension.VOLUME, 5),
    PaneKind("flow", "flow", Dimension.FLOW, 4),
    PaneKind("rest", "reservoir", Dimension.VOLUME, 4),
)

_V, _F, _P, _I = Dimension.VOLUME, Dimension.FLOW, Dimension.PERCENT, Dimension.CURRENT
_WATER, _INK, _QUIET = Role.WATER_LINE, Role.INK, Role.QUIET
# In the order in which they are laid over one another, the first lowest.
CURVES = (
    Curve("pv", "PV", "process value: the volume as it is measured", _V, "tank", _WATER, Stroke.SOLID),
    Curve("set_point", "SP", "set point: the volume that is wanted", _V, "tank", _INK, Stroke.DASHED),
    Curve("volume", "true", "true volume, which only the model knows", _V, "tank", _QUIET, Stroke.DOTTED),
    Curve("output", "OP", "output of the controller to the pump", _P, "flow", _INK, Stroke.SOLID, right=True),
    Curve("pump_flow", "pump", "flow of the pump into the tank", _F, "flow", _WATER, Stroke.DASHED),
    Curve("drain_flow", "drain", "flow out through the drain", _F, "flow", _QUIET, Stroke.DASH_DOT),
    Curve("reservoir", "reservoir", "volume in the reservoir", _V, "rest", _WATER, Stroke.SOLID),
    Curve("spilled", "spilled", "volume spilled since the start", _V, "rest", Role.ATTENTION, Stroke.DASH_DOT),
    Curve("signal", "signal", "signal of the level sensor", _I, "rest", _INK, Stroke.DOTTED, right=True),
)
USUAL = ("pv", "set_point", "volume", "output", "pump_flow", "drain_flow")


def pen_of(curve: Curve, theme: Theme, width: float = 1.0) -> QPen:
    """Give the pen of a curve in a theme, `width` [px] wide at every zoom. One pixel is drawn fastest by far."""
    pen = QPen(QColor(theme.colour(curve.role)), width)
    pen.setCosmetic(True)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if curve.stroke.value:
        pen.setDashPattern(list(curve.stroke.value))
    return pen
