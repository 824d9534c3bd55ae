"""The value that a typed text stands for."""

from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension
from levelbench.quantity.numerals import numeral, plain

_SUMS = (Dimension.LENGTH, Dimension.TIME)  # units of these have no digit in their name


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

    @property
    def shown(self) -> str:
        """The typed number beside our name of its unit, for paper and messages: "2,40 gal" is shown "2,40 US gal".

        A sum ("1 ft 6 in") stays as it was typed. The text itself belongs in the file and in fields only.
        """
        signs = plain(self.text)
        rest = numeral(signs, "").rest
        if self.dimension in _SUMS and any(one.isdigit() for one in rest):
            return signs.replace("-", "−", 1) if signs.startswith("-") else signs
        number = signs.removesuffix(rest).strip()
        number = "−" + number[1:].lstrip() if number.startswith("-") else number
        return f"{number} {self.unit}".strip()
