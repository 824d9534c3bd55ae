"""Figures as a sheet prints them: the value, how it was found, and after whom."""

import math

from levelbench.handover.blocks import Table
from levelbench.quantity import Dimension, Figure, Units, show

HEAD = ("what", "value", "how", "source")
WIDTHS = (0.24, 0.15, 0.36, 0.25)


def value_of(figure: Figure, units: Units) -> str:
    """Give the value of a figure in the person's units; what is endless says so in words."""
    if math.isnan(figure.si):
        return "no value"
    if math.isinf(figure.si):
        return "never" if figure.dimension is Dimension.TIME else "no limit"
    if figure.dimension is Dimension.REPEAT_RATE:
        return show(figure.si, figure.dimension, "starts/h" if "start" in figure.key else "1/min", figure.resolution)
    if figure.dimension is Dimension.NUMBER and figure.resolution == 0:
        return units.show(figure.si, figure.dimension, abs(figure.si) / 200)
    return units.show(figure.si, figure.dimension, figure.resolution)


def figure_table(figures: tuple[Figure, ...], units: Units) -> Table:
    """Give a table of figures, each with its formula and its source."""
    rows = tuple((one.name, value_of(one, units), one.formula, one.source) for one in figures)
    return Table(HEAD, rows, WIDTHS, right=(1,))
