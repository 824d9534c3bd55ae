"""The numbers of a new project, worked out once and then written into its text."""

import math
from dataclasses import dataclass

from levelbench.quantity import Dimension, Units, in_unit


@dataclass(frozen=True)
class Wanted:
    """The numbers of a new project, all SI: heights [m], volumes [m3], flows [m3/s]."""

    units: Units
    rim: float
    spill_volume: float
    inlet: float  # height of the drain's inlet
    low: float
    high: float
    step: float
    start: float
    flow: float
    draw: float
    floor_volume: float  # volume at the inlet
    trip: float  # height of the switch
    bore: float
    valve: float  # flow coefficient

    def typed(self, si: float, dimension: Dimension, *, up: bool | None = None, digits: int = 3) -> str:
        """Round a value to a few digits in the person's unit, as it would be typed."""
        unit = self.units.of(dimension)
        value = in_unit(si, dimension, unit)
        places = digits - 1 - math.floor(math.log10(abs(value))) if value else 0
        scaled = value * 10.0**places
        whole = round(scaled) if up is None else math.ceil(scaled - 1e-9) if up else math.floor(scaled + 1e-9)
        words = f"{whole / 10.0**places:.{max(places, 0)}f}"
        return f"{words.rstrip('0').rstrip('.') if '.' in words else words} {unit}"
