"""How a computed value is shown: in the person's unit, to the digits that it deserves, the unit always beside it."""

import math
from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension
from levelbench.quantity.figure import Figure
from levelbench.quantity.notation import written
from levelbench.quantity.reading import in_unit, span_in_unit

_DIGITS = 4  # significant digits of a value whose resolution is not known
_METRIC_VOLUMES = ("l", "m3")
_SHOWN_IN = {
    Dimension.TIME: "s",
    Dimension.PERCENT: "%",
    Dimension.PERCENT_RATE: "%/s",
    Dimension.NUMBER: "",
    Dimension.TEMPERATURE_DIFFERENCE: "K",
    Dimension.DENSITY: "kg/m3",
    Dimension.VISCOSITY: "mPa s",
    Dimension.CURRENT: "mA",
    Dimension.REPEAT_RATE: "1/min",
    Dimension.START_RATE: "starts/h",
}


def show(si: float, dimension: Dimension, unit: str, resolution: float = 0.0) -> str:
    """Show an SI value of `dimension` in `unit`, for example "4.30 US gal".

    `resolution` [SI unit of the dimension] is the smallest step that the value deserves: the last digit shown is the
    largest power of ten that is no coarser. Without one, four significant digits are shown. Mark and grouping are those
    of `notation`.
    Raises QuantityError for a unit of another dimension.
    """
    value = in_unit(si, dimension, unit)
    step = span_in_unit(resolution, dimension, unit)
    written = _written(value, abs(step))
    return f"{written} {unit}" if unit else written


def _written(value: float, step: float) -> str:
    if math.isnan(value):
        return "no value"
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    size = step if step > 0 else abs(value) * 10.0 ** (1 - _DIGITS)
    if size == 0:
        return "0"
    places = -math.floor(math.log10(size) + 1e-9)
    if places > 9 or (step == 0 and abs(value) >= 1e7):
        return written(value, f".{_DIGITS - 1}e")
    rounded = round(value, places) or 0.0
    return written(rounded, f".{max(places, 0)}f")


@dataclass(frozen=True)
class Units:
    """The units in which a project's computed values are shown."""

    volume: str
    length: str
    flow: str

    def of(self, dimension: Dimension) -> str:
        """Give the unit for a dimension."""
        metric = self.volume in _METRIC_VOLUMES
        chosen = {
            Dimension.VOLUME: self.volume,
            Dimension.LENGTH: self.length,
            Dimension.FLOW: self.flow,
            Dimension.GAIN: f"%/{self.volume}",
            Dimension.TEMPERATURE: "°C" if metric else "°F",
            Dimension.FLOW_COEFFICIENT: "Kv" if metric else "Cv",
        }
        return chosen.get(dimension) or _SHOWN_IN[dimension]

    def show(self, si: float, dimension: Dimension, resolution: float = 0.0) -> str:
        """Show an SI value in the unit for its dimension; see `levelbench.quantity.show`."""
        return show(si, dimension, self.of(dimension), resolution)

    def tell(self, figure: Figure) -> str:
        """Show a figure in the unit for its dimension, to the digits that it deserves, or say what its nought means."""
        if figure.si == 0 and figure.nought:
            return figure.nought
        return self.show(figure.si, figure.dimension, figure.step)
