"""The value that a typed text stands for."""

from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension


@dataclass(frozen=True)
class Quantity:
    """A typed quantity: the text as it was typed, and what it means.

    `si` is in the SI unit of `dimension` (see `Dimension`); `unit` is our name for the unit that was typed.
    A GAIN is output fraction per span fraction when `unit` is "%/%", and output fraction per m3 otherwise.
    """

    text: str
    si: float
    unit: str
    dimension: Dimension

    @property
    def per_volume(self) -> bool:
        """Whether a gain is given per volume ("750 %/US gal") and not per span."""
        return self.dimension is Dimension.GAIN and self.unit != "%/%"
