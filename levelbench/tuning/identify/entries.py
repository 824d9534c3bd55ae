"""What a fit changes in the project: the entries to which its numbers go, as texts that a person could type."""

from collections.abc import Mapping, Sequence

from levelbench.project import Value, units
from levelbench.quantity import Dimension, in_unit, precise
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.tuning.identify.on_rig import OnRig
from levelbench.tuning.identify.result import Estimate

D = Dimension

_ENTRIES = {
    "fit.pump.largest": "pump.largest_flow",
    "fit.pump.slowest": "pump.slowest_flow",
    "fit.pump.spin_up": "pump.spin_up",
    "fit.pump.starts_at": "pump.starts_moving_at",
    "fit.pump.stalls_at": "pump.stalls_at",
    "fit.drain.coefficient": "drain.valve_cv",
    "fit.drain.draw": "drain.draw",
    "fit.tank.leak": "tank.leak",
    "fit.sensor.noise": "sensor.noise",
    "fit.sensor.zero_error": "sensor.zero_error",
    "fit.sensor.span_error": "sensor.span_error",
}
_SIGNED = ("fit.sensor.zero_error", "fit.sensor.span_error")


def edits_of(seen: OnRig, estimates: Sequence[Estimate]) -> Mapping[str, Value]:
    """Give the entries that a fit would change, as typed texts: what it tells otherwise than the project says."""
    edits: dict[str, Value] = {}
    rig = seen.rig
    left = rig.params.pump.left_by_wear
    for one in estimates:
        entry = _ENTRIES.get(one.figure.key)
        if not one.told_apart:
            continue
        if one.figure.key == "fit.sensor.averaging":
            edits |= _averaging(rig, one)
        if entry is None or _agrees(rig, entry, one, left):
            continue
        wear = left if entry.startswith("pump.") and one.figure.dimension is D.FLOW else 1.0
        edits[entry] = _typed(rig, one, wear)
    return edits


def _typed(rig: Rig, one: Estimate, wear: float) -> str:
    """Give a value as a person types it, to the digits that it deserves."""
    unit = "mm" if one.figure.dimension is D.LENGTH else units(rig.project).of(one.figure.dimension)
    value = in_unit(one.figure.si / wear, one.figure.dimension, unit)
    step = abs(in_unit(one.figure.step / wear, one.figure.dimension, unit))
    rounded = round(value / step) * step if step > 0 else value
    signed = one.figure.key in _SIGNED
    return f"{precise(rounded if signed else max(rounded, 0.0))} {unit}".strip()


def _agrees(rig: Rig, entry: str, one: Estimate, left: float) -> bool:
    """Tell whether what the project says lies in the interval: then it stays."""
    section, name = entry.split(".")
    said = getattr(getattr(rig.project, section), name)
    value = 0.0 if said is None else said.si
    wear = left if section == "pump" and one.figure.dimension is D.FLOW else 1.0
    return one.low <= value * wear <= one.high


def _averaging(rig: Rig, one: Estimate) -> dict[str, int]:
    """Give the readings averaged in the time that was found, when it isn't the project's."""
    sensor = rig.params.sensor
    if one.low <= (sensor.averaging - 1) * sensor.update <= one.high:
        return {}
    readings = 1 + round(one.figure.si / sensor.update)
    return {"sensor.averaging": readings} if readings <= kernel.RING and readings != sensor.averaging else {}
