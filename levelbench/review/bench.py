"""What every rule needs to know of a rig, worked out in one place: levels, volumes, flows, and how to show them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from levelbench.project import units
from levelbench.project.records import DISTANCE_SENSORS, GRAVITY, Band, Project
from levelbench.quantity import Dimension, Figure, Units, in_unit
from levelbench.rig import Rig

Shown = tuple[str, float, Dimension] | tuple[str, str]
"""One input of a figure: its name in the formula with SI value and dimension, or with a ready text."""

BAND_LETTERS = {"low_low": "ALL", "low": "AL", "high": "AH", "high_high": "AHH"}
"""Succeeding letters of the alarms (ANSI/ISA-5.1-2009 Table 4.1), after the first letter of the loop."""


@dataclass(frozen=True)
class Bench:
    """A rig with the levels, volumes and flows that the rules share. Everything is SI."""

    rig: Rig

    @property
    def project(self) -> Project:
        """What the person described."""
        return self.rig.project

    @cached_property
    def units(self) -> Units:
        """The units in which the person reads computed values."""
        return units(self.project)

    def show(self, si: float, dimension: Dimension, resolution: float = 0.0) -> str:
        """Give a value as the person reads it, with its unit."""
        return self.units.show(si, dimension, resolution)

    def volume(self, si: float) -> str:
        """Give a volume [m3] as the person reads it, to the resolution that this rig deserves."""
        return self.show(si, Dimension.VOLUME, self.volume_step)

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
        scale = in_unit(1.0, dimension, unit)
        value = si * scale
        places = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
        step = 10.0**-places
        nudge = -1e-9 if up else 1e-9
        rounded = (math.ceil if up else math.floor)(value / step + nudge) * step
        return f"{rounded:.{places}f} {unit}", rounded / scale

    def figure(  # one call a figure; the names say what each is
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
        shown = tuple(
            (one[0], one[1]) if len(one) == 2 else (one[0], self.show(one[1], one[2])) for one in inputs
        )
        return Figure(key, name, value[0], value[1], formula, shown, source, resolution)

    # levels above the tank's floor [m] and the volumes there [m3]

    def volume_at(self, level: float) -> float:
        """Give the volume [m3] at a level [m], held within the tank."""
        levels = self.rig.strapping.levels
        return float(self.rig.strapping.volume_at(min(max(level, float(levels[0])), float(levels[-1]))))

    def level_at(self, volume: float) -> float:
        """Give the level [m] at a volume [m3], held within the tank."""
        volumes = self.rig.strapping.volumes
        return float(self.rig.strapping.level_at(min(max(volume, float(volumes[0])), float(volumes[-1]))))

    def area_at(self, level: float) -> float:
        """Give dV/dh [m2] at a level [m], held a little inside the tank so that it is never zero at an end."""
        rim = self.rim
        return float(self.rig.strapping.area_at(min(max(level, 0.005 * rim), 0.995 * rim)))

    @cached_property
    def rim(self) -> float:
        """Level of the rim [m]."""
        return float(self.rig.strapping.levels[-1])

    @cached_property
    def spill(self) -> float:
        """Level of the lowest way out [m]."""
        return max(0.0, self.rim - self.project.tank.rim_to_spill.si)

    @cached_property
    def spill_volume(self) -> float:
        """Volume at which the tank spills [m3]."""
        return self.volume_at(self.spill)

    @cached_property
    def inlet(self) -> float | None:
        """Level at which the drain takes air [m]; None when nothing leaves by gravity."""
        drain = self.project.drain
        return drain.inlet_above_floor.si if drain.kind in GRAVITY else None

    @cached_property
    def readable(self) -> float | None:
        """Highest level that the sensor can tell [m]; None for a sensor that has no dead zone."""
        sensor = self.project.sensor
        if sensor.kind not in DISTANCE_SENSORS or sensor.face_above_floor is None:
            return None
        return sensor.face_above_floor.si - sensor.near_dead_zone.si

    @cached_property
    def trip(self) -> float | None:
        """Level at which the overflow switch opens [m]; None when there is no switch."""
        switch = self.project.overflow_switch
        return switch.trips_at.si if switch.fitted and switch.trips_at is not None else None

    @cached_property
    def signal_levels(self) -> tuple[float, float]:
        """Levels above the floor at 4 mA and at 20 mA [m]."""
        sensor = self.project.sensor
        low, high = sensor.signal_span[0].si, sensor.signal_span[1].si
        if sensor.kind in DISTANCE_SENSORS and sensor.face_above_floor is not None:
            face = sensor.face_above_floor.si
            return face - low, face - high
        return low, high

    def bands(self) -> dict[str, Band]:
        """Give the absolute limits that are in use, lowest first."""
        bands = self.project.bands
        every = {"low_low": bands.low_low, "low": bands.low, "high": bands.high, "high_high": bands.high_high}
        return {name: band for name, band in every.items() if band is not None}

    @property
    def fill_rate(self) -> float:
        """The worst net rate [m3/s]: the pump's largest flow with the drain shut."""
        return self.project.pump.largest_flow.si

    @cached_property
    def volume_step(self) -> float:
        """The step in which volumes are worth printing [m3]: a tenth of the entry step, at most 0.1 % of the tank."""
        return min(self.project.loop_settings.entry_step.si / 2, self.spill_volume / 1000)

    def tag(self, letters: str) -> str:
        """Give an instrument tag of this loop after ISA-5.1: first letter, succeeding letters, loop number."""
        return f"{self.project.first_letter}{letters}-{self.project.loop}"
