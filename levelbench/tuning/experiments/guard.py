"""When an experiment stops by itself: the ladder of the rig, the reservoir, what trips, and the time.

The program only watches as a person would. The overflow switch and the emergency stop are hard-wired in the panel and
stand above all of it; an experiment that needs them has been planned badly.
"""

import math
from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.rig import Rig, has, kernel
from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.loop import loop_model

D = Dimension
_TRIPS = (
    ("switch open", "the overflow switch opened"),
    ("stop pressed", "the emergency stop was pressed"),
    ("sensor failed", "the sensor signal failed"),
    ("pump dry", "the pump took air"),
)
REACTION = 0.5  # [s] between two looks of a person
_ALARMS = ("high-high", "high", "low", "low-low")


@dataclass(frozen=True)
class Rung:
    """A level that the experiment must not reach: its name and volume [m3]."""

    name: str
    volume: float


@dataclass(frozen=True)
class Guard:
    """The limits of one experiment.

    It stops when the PV is at `low` or `high` [m3], which are short of the rungs named by what still comes in the
    delay; when the reservoir holds less than `reservoir_low` or more than `reservoir_high` [m3]; after `longest` [s];
    and when something trips or an alarm comes.
    """

    low: float
    high: float
    below: Rung
    above: Rung
    reservoir_low: float
    reservoir_high: float
    longest: float

    def room(self, volume: float) -> float:
        """Give how far the PV may leave a volume on either side [m3]."""
        return min(self.high - volume, volume - self.low)


def guard_of(rig: Rig, *, within_range: bool, volume: float, longest: float) -> Guard:
    """Give the limits of a rig about a volume [m3]; `within_range`: the range of the set point is a limit of the PV.

    Raises ExperimentError when the volume itself is beyond one of them.
    """
    above, below = min(_above(rig, within_range), key=_volume), max(_below(rig, within_range), key=_volume)
    delay = loop_model(rig).total_delay.si + max(rig.scan, REACTION)
    noise = 4 * pv_noise(rig)
    high = above.volume - rig.params.pump.largest_flow * delay - noise
    low = below.volume + rig.project.duty.largest_draw.si * delay + noise
    if not low < volume < high:
        show = units(rig.project).show
        rung = above if volume >= high else below
        free = f"Start from between {show(low, D.VOLUME)} and {show(high, D.VOLUME)}."
        none = f"Between “{below.name}” and “{above.name}” there is no room for an experiment: move them apart."
        raise ExperimentError(
            f"At {show(volume, D.VOLUME)} the tank is too near to “{rung.name}” at {show(rung.volume, D.VOLUME)}: what "
            "still comes in the delay would reach it.",
            "start.set_point",
            free if low < high else none,
        )
    reservoir = rig.params.reservoir
    spare = rig.params.pump.largest_flow * 10.0  # ten seconds of pumping, to press a button in
    return Guard(low, high, below, above, reservoir.suction_volume + spare, reservoir.capacity, longest)


def _volume(rung: Rung) -> float:
    return rung.volume


def _above(rig: Rig, within_range: bool) -> list[Rung]:
    """Give every level above that must not be reached."""
    bands, params, at = rig.project.bands, rig.params, rig.strapping.volume_at
    found = [Rung("spill", params.tank.spill_volume)]
    if params.switch.fitted:
        found.append(Rung("overflow switch", float(at(params.switch.trips_at))))
    if params.sensor.kind == 0:
        found.append(Rung("highest readable", float(at(params.sensor.face - params.sensor.dead_zone))))
    if within_range:
        found.append(Rung("set point, highest", float(rig.panel[kernel.P_SP_HIGH])))
    return found + [
        Rung(name, band.limit.si) for name, band in (("high", bands.high), ("high-high", bands.high_high)) if band
    ]


def _below(rig: Rig, within_range: bool) -> list[Rung]:
    """Give every level below that must not be reached."""
    bands = rig.project.bands
    found = [Rung("drain takes air", max(rig.params.drain.inlet_volume, 0.0))]
    if within_range:
        found.append(Rung("set point, lowest", float(rig.panel[kernel.P_SP_LOW])))
    return found + [
        Rung(name, band.limit.si) for name, band in (("low", bands.low), ("low-low", bands.low_low)) if band
    ]


def pv_noise(rig: Rig) -> float:
    """Give the standard deviation of the PV [m3] at the starting set point while the pump runs half open.

    That of one reading by the area and the root of the readings averaged; a PV filter makes it less.
    """
    level = rig.strapping.level_at(float(rig.panel[kernel.P_SET_POINT]))
    sensor = rig.params.sensor
    reading = math.sqrt(sensor.noise**2 + (0.5 * sensor.ripple) ** 2 + sensor.resolution**2 / 12)
    return float(rig.strapping.area_at(level) * reading / math.sqrt(sensor.averaging))


@dataclass(frozen=True)
class Seen:
    """What a person sees in one moment: PV and reservoir [m3], and the conditions that hold [bits]."""

    pv: float
    reservoir: float
    conditions: int


def reason_to_stop(guard: Guard, rig: Rig, seen: Seen, before: int) -> str:
    """Say why the experiment must stop now, or nothing; alarms that were there `before` it are no reason."""
    show = units(rig.project).show
    bits = seen.conditions
    reasons = [words for name, words in _TRIPS if has(bits, name)]
    if not has(bits, "pump allowed"):
        reasons.append("the pump is blocked")
    if seen.pv >= guard.high:
        reasons.append(f"the PV reached {show(guard.high, D.VOLUME)}, short of “{guard.above.name}”")
    if seen.pv <= guard.low:
        reasons.append(f"the PV fell to {show(guard.low, D.VOLUME)}, short of “{guard.below.name}”")
    reasons += [f"the {name} alarm came" for name in _ALARMS if has(bits, name) and not has(before, name)]
    if seen.reservoir <= guard.reservoir_low:
        reasons.append("the reservoir is nearly down to its suction")
    if seen.reservoir >= guard.reservoir_high:
        reasons.append("the reservoir is full")
    return reasons[0] if reasons else ""
