"""Figures as a sheet prints them: the value, how it was found, and after whom."""

import math

from levelbench.handover.blocks import Paragraph, Table
from levelbench.quantity import Dimension, Figure, Units

HEAD = ("what", "value", "how", "source")
WIDTHS = (0.26, 0.17, 0.48, 0.09)


def value_of(figure: Figure, units: Units) -> str:
    """Give the value of a figure in the person's units; what is endless says so in words."""
    if math.isnan(figure.si):
        return "no value"
    if math.isinf(figure.si):
        return "never" if figure.dimension is Dimension.TIME else "no limit"
    return units.tell(figure)


def figure_table(figures: tuple[Figure, ...], units: Units) -> tuple[Table, Paragraph]:
    """Give a table of figures, each with its formula, and the sources that its last column counts."""
    sources = list(dict.fromkeys(one.source for one in figures))
    rows = tuple((one.name, value_of(one, units), one.formula, f"[{sources.index(one.source) + 1}]") for one in figures)
    named = "; ".join(f"[{at}] {source}" for at, source in enumerate(sources, start=1))
    return Table(HEAD, rows, WIDTHS, right=(1,)), Paragraph(named, quiet=True)
