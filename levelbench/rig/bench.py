"""What rules and alarms need to know of a rig, worked out in one place: levels, volumes, flows and noise."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from levelbench.project.records import DISTANCE_SENSORS, GRAVITY, Band
from levelbench.quantity import Dimension, written
from levelbench.rig.kernel import gravity_flow
from levelbench.rig.telling import Shown, Teller

STANDARD_GRAVITY = 9.80665  # [m/s2]


@dataclass(frozen=True)
class Bench(Teller):
    """A rig with the levels, volumes and flows that the rules share. Everything is SI."""

    # levels above the tank's floor [m] and the volumes there [m3]

    def volume_at(self, level: float) -> float:
        """Give the volume [m3] at a level [m], held within the tank."""
        levels = self.rig.strapping.levels
        return float(self.rig.strapping.volume_at(min(max(level, float(levels[0])), float(levels[-1]))))

    def volume_beyond(self, level: float) -> float:
        """Give the volume [m3] at a level [m] that may lie above the rim, the walls taken as going on upright."""
        return self.volume_at(level) + max(0.0, level - self.rim) * self.area_at(self.rim)

    def level_at(self, volume: float) -> float:
        """Give the level [m] at a volume [m3], held within the tank."""
        volumes = self.rig.strapping.volumes
        return float(self.rig.strapping.level_at(min(max(volume, float(volumes[0])), float(volumes[-1]))))

    @cached_property
    def working_area(self) -> float:
        """The largest dV/dh [m2] between the lowest and the highest set point, where a length costs most volume."""
        settings = self.project.loop_settings
        low, high = self.level_at(settings.set_point_low.si), self.level_at(settings.set_point_high.si)
        return max(self.area_at(low + share * (high - low)) for share in np.linspace(0.0, 1.0, 21).tolist())

    @property
    def slope_shown(self) -> Shown:
        """The working dV/dh as the input of a figure: volume in one unit of length."""
        slope = self.working_area * self.in_one(Dimension.LENGTH) / self.in_one(Dimension.VOLUME)
        return "dV/dh", f"{written(slope, '.4g')} {self.units.volume}/{self.units.length}"

    def noise(self, filling: float) -> float:
        """Give the standard deviation of the filtered PV [m3] while the pump runs at a share of its largest flow.

        White noise of one reading through the moving average (a box as wide as its readings) and the PV filter (a
        first-order lag): the variance is the integral of the product of the two autocorrelations.
        """
        sensor, lag = self.project.sensor, self.project.loop_settings.pv_filter.si
        one = math.hypot(sensor.noise.si, sensor.ripple.si * filling)
        ratio = lag / (sensor.averaging * sensor.update.si)
        left = 1.0 - ratio * (1.0 - math.exp(-1.0 / ratio)) if ratio > 1e-6 else 1.0
        return one * self.working_area * math.sqrt(max(left, 0.0) / sensor.averaging)

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

    @cached_property
    def fill_rate(self) -> float:
        """The worst net rate [m3/s]: the pump unworn at 100 %, the drain shut, at the least lift.

        The least lift is from the reservoir with the tank at its lowest set point to the fill end. The pump's largest
        flow as given is the least that is reckoned with.
        """
        pump = self.rig.params.pump
        surface = self.surface_with(self.project.loop_settings.set_point_low.si)
        return max(pump.largest_flow, self.pump_flow(1.0, pump.fill_end - surface) / pump.left_by_wear)

    def seconds_to_spill(self, volume: float) -> float:
        """Give the time [s] from a volume [m3] to the spill at the worst net rate; 0 at and above the spill."""
        return max(0.0, (self.spill_volume - volume) / self.fill_rate)

    @property
    def rate_shown(self) -> Shown:
        """The worst net rate as the input of a figure."""
        return "Q, largest flow with the drain shut", self.fill_rate, Dimension.FLOW

    def pump_flow(self, command: float, lift: float) -> float:
        """Give the flow [m3/s] of the running pump at a command and a lift [m].

        Straight from the slowest flow at the stall to the largest at 100 %; other lifts by the affinity laws, as the
        rig does.
        """
        pump = self.rig.params.pump
        share = (command - pump.stalls_at) / (1.0 - pump.stalls_at)
        measured = pump.slowest_flow + share * (pump.largest_flow - pump.slowest_flow)
        squared = measured**2 + pump.largest_flow**2 * (pump.measured_lift - lift) / pump.head_to_spare
        return pump.left_by_wear * math.sqrt(max(squared, 0.0))

    def surface_with(self, in_tank: float) -> float:
        """Give the reservoir's surface above the tank's floor [m] while the tank holds a volume [m3] of the charge."""
        reservoir = self.rig.params.reservoir
        held = min(max(self.project.reservoir.charge.si - in_tank, 0.0), reservoir.capacity)
        return reservoir.floor + held / reservoir.area


def signal_at(bench: Bench, level: float) -> float:
    """Give the signal [A] that stands for a level [m], on a straight line from 4 to 20 mA and beyond."""
    empty, full = bench.signal_levels
    return 0.004 + 0.016 * (level - empty) / (full - empty)


def wide_open(bench: Bench, volume: float, opening: float = 1.0) -> float:
    """Give the flow [m3/s] of the gravity drain at a volume in the tank [m3], siphon primed; 0 for another drain."""
    drain = bench.rig.params.drain
    if bench.project.drain.kind not in GRAVITY:
        return 0.0
    below = max(drain.outlet, bench.surface_with(volume)) if drain.to_reservoir else drain.outlet
    flow = 0.0
    for _ in range(12):  # the friction factor is found by substitution, as the rig does from scan to scan
        flow = float(gravity_flow(drain, opening, bench.level_at(volume) - below, flow))
    return flow


def submergence(flow: float, bore: float) -> float:
    """Give the least cover [m] of an inlet that keeps a vortex from drawing air: S = d (1 + 2.3 Fr), Fr = v/√(g d).

    flow [m3/s], bore [m]. Source: after ANSI/HI 9.8, quoted from memory; check before relying on it.
    """
    speed = flow / (math.pi / 4 * bore**2)
    return bore * (1.0 + 2.3 * speed / math.sqrt(STANDARD_GRAVITY * bore))


def air_level(bench: Bench) -> float:
    """Give the level [m] below which the drain's inlet may draw air at the largest draw; 0 without a gravity drain."""
    if bench.inlet is None:
        return 0.0
    return bench.inlet + submergence(bench.project.duty.largest_draw.si, bench.rig.params.drain.bore)


def coast_volume(bench: Bench) -> float:
    """Give what still runs in after the switch opens [m3]: its delay, the pump's spin-down, the fill tube's content."""
    pump, switch = bench.project.pump, bench.project.overflow_switch
    return bench.fill_rate * (switch.delay.si + pump.spin_up.si) + pump.tube_volume.si
