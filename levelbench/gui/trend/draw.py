"""Draws what a history holds into the panes of the trend, and gives every scale its range."""

from dataclasses import dataclass

import numpy as np

from levelbench.gui.trend.history import History
from levelbench.gui.trend.panes import Panes
from levelbench.gui.trend.pens import CURVES
from levelbench.gui.trend.scales import Scales
from levelbench.quantity import Dimension

Extents = dict[tuple[str, bool], list[float]]  # of a pane's left or right (True) scale: lowest and highest values


@dataclass(frozen=True)
class Drawn:
    """What is to be drawn: in which units, which pens, which limits [m3], and whether the whole tank is in view."""

    scales: Scales
    pens: set[str]
    limits: tuple[tuple[str, float], ...]
    whole_tank: bool

    def volume(self, si: float) -> float:
        """Convert a volume [m3] to the unit of its axis."""
        return self.scales.in_unit(si, Dimension.VOLUME)


def draw(panes: Panes, history: History, drawn: Drawn) -> None:
    """Draw the pens over the stretch of time that the panes show, and fit their scales."""
    start, end = panes.span()
    points = panes.width_of_plot()
    extents: Extents = {}
    for at, curve in enumerate(CURVES):
        pane = panes.panes[curve.pane]
        if curve.column not in drawn.pens:
            pane.draw(curve.column, np.empty(0), np.empty(0))
            continue
        times, values = history.drawn(at, start, end, points)
        shown = values.astype(np.float64) * drawn.scales.in_unit(1.0, curve.dimension)
        pane.draw(curve.column, times, shown)
        if shown.size:
            extents.setdefault((curve.pane, curve.right), []).extend((float(shown.min()), float(shown.max())))
    _fit_tank(panes, drawn, extents.get(("tank", False), []))
    _fit_others(panes, drawn, extents)


def _fit_tank(panes: Panes, drawn: Drawn, values: list[float]) -> None:
    tank = panes.panes["tank"]
    if drawn.whole_tank:
        tank.show_range(0.0, 1.03 * drawn.volume(drawn.scales.spill))
        return
    if not values:
        return
    if drawn.limits:
        values = values + [drawn.volume(si) for _, si in drawn.limits]
        room = 0.1 * (max(values) - min(values))  # for the names of the outermost
        values = [min(values) - room, max(values) + room]
    tank.fit(min(values), max(values), 10 * drawn.volume(drawn.scales.steps[Dimension.VOLUME]))


def _fit_others(panes: Panes, drawn: Drawn, extents: Extents) -> None:
    flow, rest, steps = panes.panes["flow"], panes.panes["rest"], drawn.scales.steps
    least = 50 * drawn.scales.in_unit(steps[Dimension.FLOW], Dimension.FLOW)
    flows = [*extents.get(("flow", False), []), 0.0]
    flow.fit(min(flows), max(*flows, least), least)  # nothing that flows stands at the foot, not in the middle
    flow.show_range(-6.0, 106.0, right=True)  # %
    least = 50 * drawn.volume(steps[Dimension.VOLUME])
    volumes = extents.get(("rest", False), [0.0])
    rest.fit(min(volumes), max(*volumes, least), least)
    rest.show_range(2.5, 22.5, right=True)  # mA
