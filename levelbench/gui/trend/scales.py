"""In which units and to which digits a rig's values are shown while it runs."""

from dataclasses import dataclass, replace

from levelbench.project import units as units_of_project
from levelbench.quantity import Dimension, Units, in_unit
from levelbench.rig.assemble import Rig


@dataclass(frozen=True)
class Scales:
    """The person's units, the smallest step worth showing of each dimension (SI), and the volume at the spill [m3]."""

    units: Units
    steps: dict[Dimension, float]
    spill: float

    def show(self, si: float, dimension: Dimension) -> str:
        """Show a value with its unit."""
        return self.units.show(si, dimension, self.steps.get(dimension, 0.0))

    def bare(self, si: float, dimension: Dimension) -> str:
        """Show a value without its unit, which stands beside it."""
        return self.show(si, dimension).removesuffix(self.units.of(dimension)).strip()

    def coarse(self) -> "Scales":
        """Give the same with OP to a whole per cent, for figures that are read from afar."""
        return replace(self, steps=self.steps | {Dimension.PERCENT: 0.01})

    def in_unit(self, si: float, dimension: Dimension) -> float:
        """Convert an SI value to the person's unit."""
        return in_unit(si, dimension, self.units.of(dimension))


def scales(rig: Rig) -> Scales:
    """Give the scales of a rig: volumes to the entry step, flows to a thousandth of the pump's largest, OP to 0.1 %."""
    steps = {
        Dimension.VOLUME: rig.project.loop_settings.entry_step.si,
        Dimension.FLOW: rig.project.pump.largest_flow.si / 1000,
        Dimension.PERCENT: 0.001,
        Dimension.TIME: 0.1,
        Dimension.CURRENT: 1e-5,
    }
    return Scales(units_of_project(rig.project), steps, rig.params.tank.spill_volume)
