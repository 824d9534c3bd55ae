"""A computed number that can say where it came from."""

import math
from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension
from levelbench.quantity.notation import in_prose

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Figure:
    """A computed number: what it is, how it was worked out, from which inputs, and after whom.

    `si` is in the SI unit of `dimension`; `formula` is in words and symbols; `inputs` pairs each name in the formula
    with its shown value; `source` is a published source or `COMMON_PRACTICE`; `resolution` is the smallest step that
    the number deserves to be shown to (SI, 0 when unknown); `nought` is said in the place of a value of 0.
    """

    key: str  # stable, for --json and tests: "switch.coast_down"
    name: str  # for a person: "rise after the switch trips"
    si: float
    dimension: Dimension
    formula: str
    inputs: tuple[tuple[str, str], ...]
    source: str
    resolution: float = 0.0
    nought: str = ""

    def __post_init__(self) -> None:
        """Write the numbers of formula and source as those of the inputs are written."""
        object.__setattr__(self, "formula", in_prose(self.formula))
        object.__setattr__(self, "source", in_prose(self.source))

    @property
    def step(self) -> float:
        """The smallest step in which the value is shown (SI): its resolution, else three significant digits."""
        if self.resolution or not math.isfinite(self.si) or self.si == 0:
            return self.resolution
        return 10.0 ** (math.floor(math.log10(abs(self.si)) + 1e-9) - 2)
