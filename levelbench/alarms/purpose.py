"""What an alarm on the volume is for: where the PV rests, where a true excursion takes it, and how fast."""

import math
from dataclasses import dataclass, replace

from levelbench.alarms.errors import AlarmError
from levelbench.alarms.ladder import ORDER, in_order
from levelbench.alarms.timing import falling_rate
from levelbench.project.records import Band
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

D = Dimension
DESIGNED = ("high_high", "high", "low", "low_low", "deviation")
"""The alarms that noise of the PV can falsely set: the limits on the volume."""
SPREADS = 6.0  # dead band in standard deviations of the PV: one alarm a slow crossing (common practice)
SHIFT = 8 * 3600.0  # [s]
_SLOWEST = 1e-4  # of the room from normal to the limit, by shift: a drift that nobody would call one


@dataclass(frozen=True)
class Purpose:
    """An alarm's places [m3] and speeds [m3/s], all positive; the deviation's are distances from the set point.

    limit: as it stands, else half-way from `normal`, where the PV rests, to `beyond`, the next thing that happens;
    rate: at which a true excursion goes there at worst; back: at which it returns; slow: of a creeping PV.
    """

    alarm: str
    limit: float
    normal: float
    beyond: float
    beyond_name: str
    rate: float
    back: float
    slow: float

    @property
    def up(self) -> bool:
        """Whether the alarm is above where the PV rests."""
        return self.beyond > self.normal

    @property
    def sign(self) -> float:
        """1 for an alarm above, −1 for one below."""
        return 1.0 if self.up else -1.0

    @property
    def both(self) -> bool:
        """Whether the PV may leave on either side."""
        return self.alarm == "deviation"

    @property
    def name(self) -> str:
        """The alarm in words."""
        return self.alarm.replace("_", "-")

    def figures(self) -> tuple[Figure, ...]:
        """Give the places and speeds as figures."""
        every = (
            ("normal", "PV at rest", self.normal, D.VOLUME, "the set point nearest to the limit"),
            ("beyond", f"true excursion to: {self.beyond_name}", self.beyond, D.VOLUME, "next beyond the limit"),
            ("rate", "worst net rate", self.rate, D.FLOW, "all in and nothing out, or all out and nothing in"),
            ("back", "rate of return", self.back, D.FLOW, "the other way round"),
            ("slow", "speed of a creeping PV", self.slow, D.FLOW, "from rest to the limit in a shift of 8 h"),
        )
        return tuple(
            Figure(f"noise.{key}", name, si, dimension, formula, (), COMMON_PRACTICE, abs(si) / 1000)
            for key, name, si, dimension, formula in every
        )


def band_of(rig: Rig, alarm: str) -> Band | None:
    """Give the limit as the project has it; None when it is left out."""
    found: Band | None = getattr(rig.project.bands, alarm)
    return found


def purpose_of(rig: Rig, alarm: str, *, slow: float | None = None) -> Purpose:
    """Give what an alarm is for on a rig; slow [m3/s]: the speed of a creeping PV, else a shift from rest to the limit.

    Raises AlarmError for a limit that has no room between where the PV rests and what comes next.
    """
    if alarm not in DESIGNED:
        names = ", ".join(one.replace("_", "-") for one in DESIGNED)
        raise AlarmError(f"There is no limit “{alarm}” on the volume.", "bands", f"There are: {names}.")
    bench = Bench(rig)
    down = falling_rate(bench, rig.project.loop_settings.set_point_low.si)
    rates = (bench.fill_rate, down or bench.fill_rate)
    found = _deviation(rig, bench) if alarm == "deviation" else _level(rig, alarm)
    rate, back = rates if found.up else rates[::-1]
    room = abs(found.limit - found.normal)
    between = found.sign * (found.limit - found.normal) > 0 and found.sign * (found.beyond - found.limit) > 0
    if not between:
        raise AlarmError(
            f"The {found.name} limit does not lie between where the PV rests and {found.beyond_name}.",
            f"bands.{alarm}.limit",
            "Put the ladder in order first; then dead band and delays follow from the noise.",
        )
    wanted = room / SHIFT if slow is None else slow
    return replace(found, rate=rate, back=back, slow=max(wanted, room * _SLOWEST / SHIFT))


def _level(rig: Rig, alarm: str) -> Purpose:
    """Give the places of a limit of the ladder."""
    band, settings = band_of(rig, alarm), rig.project.loop_settings
    name = alarm.replace("_", "-")
    volumes = {one.name: one.volume for one in in_order(rig)}
    at = ORDER.index(name)
    if "high" in name:
        normal = settings.set_point_high.si
        next_one = next(one for one in ORDER[at + 1 :] if one in volumes)
    else:
        normal = settings.set_point_low.si
        next_one = next((one for one in reversed(ORDER[:at]) if one in volumes), "empty")
    beyond = volumes.get(next_one, 0.0)
    limit = band.limit.si if band is not None else 0.5 * (normal + beyond)
    return Purpose(alarm, limit, normal, beyond, next_one, math.nan, math.nan, math.nan)


def _deviation(rig: Rig, bench: Bench) -> Purpose:
    """Give the places of the deviation: the set point, and the farther of the limits on both sides of the first one."""
    band, start = rig.project.bands.deviation, rig.project.start.set_point.si
    limits = [one.limit.si for one in bench.bands().values()]
    above = min((one for one in limits if one > start), default=bench.spill_volume)
    below = max((one for one in limits if one < start), default=0.0)
    room = max(above - start, start - below)
    limit = band.limit.si if band is not None else 0.5 * room
    return Purpose("deviation", limit, 0.0, room, "the next limit", math.nan, math.nan, math.nan)


def rule_of(rig: Rig) -> float:
    """Give the dead band that the rule on the limits asks for [m3]: 6 σ of the PV while filling."""
    return SPREADS * Bench(rig).noise(1.0)
