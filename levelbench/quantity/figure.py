"""A computed number that can say where it came from."""

from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Figure:
    """A computed number: what it is, how it was worked out, from which inputs, and after whom.

    `si` is in the SI unit of `dimension`; `formula` is in words and symbols; `inputs` pairs each name in the formula
    with its shown value; `source` is a published source or `COMMON_PRACTICE`; `resolution` is the smallest step that
    the number deserves to be shown to (SI, 0 when unknown).
    """

    key: str  # stable, for --json and tests: "switch.coast_down"
    name: str  # for a person: "rise after the switch trips"
    si: float
    dimension: Dimension
    formula: str
    inputs: tuple[tuple[str, str], ...]
    source: str
    resolution: float = 0.0
