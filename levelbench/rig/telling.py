"""How a rule speaks: values in the person's units, values as they would be typed, and figures made of them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from levelbench.project import units
from levelbench.project.records import Project
from levelbench.quantity import Dimension, Figure, Units, in_unit, written
from levelbench.rig.assemble import Rig

Shown = tuple[str, float, Dimension] | tuple[str, str]
"""One input of a figure: its name in the formula with SI value and dimension, or with a ready text."""


@dataclass(frozen=True)
class Teller:
    """A rig whose numbers are told in its person's units."""

    rig: Rig

    @property
    def project(self) -> Project:
        """What the person described."""
        return self.rig.project

    @cached_property
    def units(self) -> Units:
        """The units in which the person reads computed values."""
        return units(self.project)

    def in_one(self, dimension: Dimension) -> float:
        """Give how much one of the person's units of a dimension is in SI. Not for temperatures, whose zero differs."""
        return 1.0 / in_unit(1.0, dimension, self.units.of(dimension))

    def show(self, si: float, dimension: Dimension, resolution: float = 0.0) -> str:
        """Give a value as the person reads it, with its unit."""
        return self.units.show(si, dimension, resolution)

    @cached_property
    def volume_step(self) -> float:
        """The step in which volumes are worth printing [m3]: half the entry step, at most 0.1 % of the tank."""
        return min(self.project.loop_settings.entry_step.si / 2, float(self.rig.strapping.volumes[-1]) / 1000)

    def volume(self, si: float) -> str:
        """Give a volume [m3] as the person reads it, to the resolution that this rig deserves."""
        return self.show(si, Dimension.VOLUME, self.volume_step)

    def flow(self, si: float) -> str:
        """Give a flow [m3/s] as the person reads it, to three digits."""
        return self.show(si, Dimension.FLOW, 10.0 ** (math.floor(math.log10(abs(si))) - 2) if si else 0.0)

    def length(self, si: float) -> str:
        """Give a length [m] as the person reads it, to about a tenth of an inch."""
        return self.show(si, Dimension.LENGTH, 1e-3)

    def time(self, si: float) -> str:
        """Give a time [s] in seconds, to the second from ten seconds on."""
        return self.show(si, Dimension.TIME, 1.0 if si >= 10 else 0.1)

    def typed(self, si: float, dimension: Dimension, *, up: bool, digits: int = 3) -> tuple[str, float]:
        """Round a value up or down to a few digits in the person's unit.

        Gives the text as it would be typed into an entry, and the SI value that the text means.
        """
        unit = self.units.of(dimension)
        scale = 1.0 / self.in_one(dimension)
        value = si * scale
        places = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
        step = 10.0**-places
        nudge = -1e-9 if up else 1e-9
        rounded = (math.ceil if up else math.floor)(value / step + nudge) * step
        return f"{written(rounded, f'.{places}f')} {unit}", rounded / scale

    def figure(
        self,
        key: str,
        name: str,
        value: tuple[float, Dimension],
        formula: str,
        source: str,
        *,
        inputs: Sequence[Shown] = (),
        resolution: float = 0.0,
    ) -> Figure:
        """Make a figure, its inputs shown in the person's units."""
        shown = tuple((one[0], one[1]) if len(one) == 2 else (one[0], self.show(one[1], one[2])) for one in inputs)
        return Figure(key, name, value[0], value[1], formula, shown, source, resolution)

    def tag(self, letters: str) -> str:
        """Give an instrument tag of this loop after ISA-5.1: first letter, succeeding letters, loop number."""
        return f"{self.project.first_letter}{letters}-{self.project.loop}"
