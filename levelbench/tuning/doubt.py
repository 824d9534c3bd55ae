"""A rig as it may really be: by how much flow and delay can differ from what was entered."""

from dataclasses import dataclass, replace

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig

FLOW, DELAY = 0.10, 0.25  # either way: bucket and watch, a delay read from a trend (common practice, no source)


@dataclass(frozen=True)
class Doubt:
    """Flow as a share of the entered, delay (averaging and spin-up) as a share of the entered."""

    flow: float = 1.0
    delay: float = 1.0

    def of(self, rig: Rig) -> Rig:
        """Give the rig that is so; the controller's settings are as they were."""
        pump, sensor = rig.params.pump, rig.params.sensor
        readings = min(max(round(1 + (sensor.averaging - 1) * self.delay), 1), kernel.RING)
        params = rig.params._replace(
            pump=pump._replace(left_by_wear=pump.left_by_wear * self.flow, spin_up=pump.spin_up * self.delay),
            sensor=sensor._replace(averaging=readings),
        )
        return replace(rig, params=params)


CORNERS = tuple(Doubt(1 + flow * FLOW, 1 + delay * DELAY) for flow in (-1, 1) for delay in (-1, 1))
