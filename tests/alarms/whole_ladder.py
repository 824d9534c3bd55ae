"""The bench rig with every alarm that there is, as a technician would set them on it."""

from bench_rig import rig_with

from levelbench.project import Value
from levelbench.rig import Rig

WHOLE: dict[str, Value] = {
    "bands.high_high.limit": "8 gal", "bands.low_low.limit": "1.3 gal", "bands.deviation.limit": "0.25 gal",
    "bands.deviation.on_delay": "180 s", "bands.deviation.priority": "low",
    "bands.rate_of_change.limit": "1.3 gal/min", "bands.rate_of_change.priority": "low",
    "bands.frozen_signal.on_delay": "20 s", "bands.frozen_signal.priority": "high",
    "bands.bad_signal.priority": "high", "bands.no_rise.limit": "0.2 gal", "bands.switch.priority": "high",
    "bands.spill.priority": "high",
}  # fmt: skip


def whole_rig(**more: Value) -> Rig:
    """Give the rig, with further entries changed; "__" stands for the dot of a key."""
    return rig_with(WHOLE | {key.replace("__", "."): value for key, value in more.items()})
