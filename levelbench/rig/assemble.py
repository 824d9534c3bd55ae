"""The one step in which a Project becomes a Rig: SI floats in the kernel's tuples, and the state it starts from."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.project.records import (
    SUPPRESSIONS,
    Alarm,
    Drain,
    Project,
    Sensor,
)
from levelbench.quantity import Quantity, written
from levelbench.rig import kernel
from levelbench.rig.errors import RigError
from levelbench.rig.lamps import code_of
from levelbench.rig.panel import ALARM_NAMES, BITS, ENTRIES
from levelbench.rig.settings import settings_of
from levelbench.rig.strapping import Strapping, strap

_SUB_STEP = 0.05  # [s] longest step of the physics
_DRAINS = {"none": 0, "bottom outlet": 1, "siphon over the rim": 2, "forced draw": 3}
_TRIMS = {"linear": 0, "equal percentage": 1, "quick opening": 2}
_SENSORS = {"ultrasonic": 0, "radar": 0, "hydrostatic": 1, "plain 4-20 mA": 2}
_DEAD_ZONES = {"second echo": 0, "last good": 1, "failure": 2}


@dataclass(frozen=True)
class Rig:
    """A compiled project: what the kernel needs, ready to run; nothing in it changes."""

    project: Project
    strapping: Strapping
    params: kernel.Params
    panel: NDArray[np.float64]  # [kernel.PANEL] what everything is set to at the start, SI

    @property
    def scan(self) -> float:
        """Time from one scan to the next [s]."""
        return self.params.control.scan

    @property
    def span(self) -> tuple[float, float]:
        """Volume that the controller sees at 4 mA and at 20 mA [m3]."""
        return pv_span(self.params)

    def start(self) -> kernel.State:
        """Give a fresh state to run from."""
        state = kernel.blank_state()
        state.panel[:] = self.panel
        _fill(self, state)
        return state


def pv_span(params: kernel.Params) -> tuple[float, float]:
    """Give the volume that the controller sees at 4 mA and at 20 mA [m3]."""
    return float(kernel.scale(params, 0.004)), float(kernel.scale(params, 0.020))


def assemble(project: Project) -> Rig:
    """Compile a project into a rig; raises RigError for one that can't exist."""
    strapping = strap(project.tank, kernel.ROWS)
    params = kernel.Params(
        _tables(strapping),
        _tank(project, strapping),
        _reservoir(project),
        _pump(project, strapping),
        _drain(project, strapping),
        _sensor(project),
        _switch(project),
        _control(project),
    )
    low, high = pv_span(params)
    if not high > low:
        raise RigError(
            "The signal span gives no more volume at 20 mA than at 4 mA.",
            "sensor.signal_span",
            "Give the level (or the distance from the face) of an emptier tank first, of a fuller one second.",
        )
    return Rig(project, strapping, params, _panel(project, high - low))


def _si(quantity: Quantity | None, otherwise: float = 0.0) -> float:
    return otherwise if quantity is None else quantity.si


def _tank(project: Project, strapping: Strapping) -> kernel.Tank:
    spill = float(strapping.levels[-1]) - project.tank.rim_to_spill.si
    if spill <= 0.0:
        raise RigError(
            "The tank spills at or below its floor.", "tank.rim_to_spill", "Give less than the height of the tank."
        )
    leak = project.tank.leak.si / math.sqrt(_si(project.tank.leak_at, spill))
    return kernel.Tank(float(strapping.volume_at(spill)), leak)


def _reservoir(project: Project) -> kernel.Reservoir:
    one = project.reservoir
    left = one.charge.si - project.start.tank_volume.si
    if left < 0.0:
        raise RigError(
            f"The tank starts with {project.start.tank_volume.shown}, more than the whole charge, {one.charge.shown}.",
            "start.tank_volume",
            "Start with less, or charge the circuit with more.",
        )
    if left > one.capacity.si:
        raise RigError(
            f"At the start the reservoir would have to hold more than its capacity of {one.capacity.shown}.",
            "reservoir.charge",
            "Charge less, start with more in the tank, or take a larger reservoir.",
        )
    area = one.capacity.si / one.height.si
    return kernel.Reservoir(one.capacity.si, area, -one.floor_below_tank_floor.si, area * one.suction_above_floor.si)


def _pump(project: Project, strapping: Strapping) -> kernel.Pump:
    one = project.pump
    fill_end = _si(one.fill_end_above_floor, float(strapping.levels[-1]))
    lift = _si(one.measured_at_lift, fill_end - _first_surface(project))
    spare = math.inf if one.shut_off_head is None else one.shut_off_head.si - lift
    if spare <= 0.0:
        raise RigError(
            "The pump gives no flow at the lift at which its flow was measured.",
            "pump.shut_off_head",
            f"Its shut-off head must be above the lift of {written(lift, '.2f')} m, or give the lift in "
            "pump.measured_at_lift.",
        )
    stalls = _si(one.stalls_at, one.starts_moving_at.si)
    return kernel.Pump(
        one.drive == "on/off",
        one.largest_flow.si,
        one.slowest_flow.si,
        one.starts_moving_at.si,
        stalls,
        one.spin_up.si,
        1.0 - one.wear.si,
        lift,
        spare,
        fill_end,
        one.check_valve,
        one.vented,
        one.stopped_coefficient.si,
        one.cycle.si,
        one.least_on.si,
        one.least_off.si,
    )


def _first_surface(project: Project) -> float:
    one = project.reservoir
    held = one.charge.si - project.start.tank_volume.si
    return held / one.capacity.si * one.height.si - one.floor_below_tank_floor.si


def _drain(project: Project, strapping: Strapping) -> kernel.Drain:
    one: Drain = project.drain
    kind = _DRAINS[one.kind]
    by_gravity = kind in (1, 2)
    inlet = one.inlet_above_floor.si if by_gravity else 0.0
    return kernel.Drain(
        kind,
        _si(one.valve_cv),
        _TRIMS[one.trim],
        one.rangeability.si,
        inlet,
        float(strapping.volume_at(inlet)),
        _si(one.outlet_above_floor),
        _si(one.tube_diameter, 1.0),
        _si(one.tube_length),
        one.fittings_loss.si,
        one.roughness.si,
        project.liquid.viscosity.si / project.liquid.density.si,
        one.goes_to == "reservoir",
    )


def sensor_ratio(project: Project) -> float:
    """Give indicated over true: by air temperature (time of flight ~ 1/√T) or by density, and by its span error.

    Source: speed of sound in an ideal gas, c = √(γRT/M); hydrostatic pressure p = ρgh.
    """
    one: Sensor = project.sensor
    own = 1.0 + one.span_error.si
    if one.kind == "ultrasonic":
        return own * math.sqrt(one.set_for_temperature.si / one.air_temperature.si)
    if one.kind == "hydrostatic":
        return own * project.liquid.density.si / _si(one.set_for_density, project.liquid.density.si)
    return own


def _sensor(project: Project) -> kernel.Sensor:
    one: Sensor = project.sensor
    below, above = (current.si for current in one.fails_beyond)
    volumes = one.volume_at_ends
    return kernel.Sensor(
        _SENSORS[one.kind],
        _si(one.face_above_floor),
        sensor_ratio(project),
        one.zero_error.si,
        one.near_dead_zone.si,
        _DEAD_ZONES[one.in_dead_zone],
        one.signal_span[0].si,
        one.signal_span[1].si,
        one.update.si,
        one.noise.si,
        one.ripple.si,
        one.resolution.si,
        one.averaging,
        one.hold_lost_echo.si,
        below if one.fails == "low" else above,
        one.measures_within[0].si,
        one.measures_within[1].si,
        below,
        above,
        one.failure_delay.si,
        float(2**one.converter_bits - 1),
        one.converter_range[0].si,
        one.converter_range[1].si,
        one.scaled_by == "two points",
        volumes[0].si if volumes else 0.0,
        volumes[1].si if volumes else 0.0,
    )


def _switch(project: Project) -> kernel.Switch:
    one = project.overflow_switch
    trips = _si(one.trips_at, math.inf)
    return kernel.Switch(one.fitted, trips, trips - one.hysteresis.si, one.delay.si)


def _control(project: Project) -> kernel.Control:
    one = project.loop_settings
    direction = 1.0 if one.action == "reverse" else -1.0
    sub_steps = max(1, math.ceil(one.scan.si / _SUB_STEP - 1e-9))
    return kernel.Control(one.scan.si, sub_steps, direction, project.alarm_handling.shelve_at_most.si)


def _tables(strapping: Strapping) -> kernel.Tables:
    tables = kernel.blank_tables()
    tables.volumes[:] = strapping.volumes
    tables.step = strapping.levels[1]
    return tables


def _panel(project: Project, span: float) -> NDArray[np.float64]:
    loop, start = project.loop_settings, project.start
    settings = settings_of(loop, span)
    values = {
        "set point": start.set_point.si,
        "auto": float(start.mode == "auto"),
        "manual output": start.output.si,
        "valve opening": _si(project.drain.opening),
        "draw": _si(project.drain.draw),
        "mains": 1.0,
        "gain": settings.gain,
        "integral time": settings.integral_time,
        "derivative time": settings.derivative_time,
        "derivative filter": loop.derivative_filter.si,
        "set point weight": loop.set_point_weight.si,
        "pv filter": loop.pv_filter.si,
        "integral dead band": loop.integral_dead_band.si,
        "output low": loop.output_low.si,
        "output high": loop.output_high.si,
        "output rate": _si(loop.output_rate, math.inf),
        "set point low": loop.set_point_low.si,
        "set point high": loop.set_point_high.si,
        "entry step": loop.entry_step.si,
        "ramp": _si(loop.ramp, math.inf),
        "silence time": project.alarm_handling.silence_at_most.si,
        "acknowledge by hand": float(project.alarm_handling.acknowledge == "by hand"),
        "rate of change averaging": 5.0,
        "no rise output": 0.9,
    }
    values |= {f"lamps {row.state}": float(code_of(row)) for row in project.stack_light}
    for name in ALARM_NAMES:
        values |= _alarm(name, getattr(project.bands, key_of(name)))
    panel = np.zeros(kernel.PANEL)
    for name, value in values.items():
        panel[ENTRIES[name].index] = value
    return panel


def key_of(alarm: str) -> str:
    """Give the key of an alarm in the project file: "high-high" is `high_high` of `bands`."""
    return alarm.replace("-", "_").replace(" ", "_")


_PARTS = {
    "limit": "limit",
    "dead band": "dead_band",
    "on-delay": "on_delay",
    "off-delay": "off_delay",
    "averaging": "averaged_over",
    "output": "output_above",
}


def _alarm(name: str, alarm: Alarm | None) -> dict[str, float]:
    if alarm is None:
        return {}
    typed = {f"{name} {part}": getattr(alarm, key).si for part, key in _PARTS.items() if hasattr(alarm, key)}
    return {
        f"{name} in use": 1.0,
        f"{name} latching": float(alarm.latching),
        f"{name} suppression": float(SUPPRESSIONS.index(alarm.suppressed_while)),
        **typed,
    }


def _fill(rig: Rig, state: kernel.State) -> None:
    """Put liquid, a settled sensor and a controller at rest into a fresh state."""
    project, params = rig.project, rig.params
    volume = project.start.tank_volume.si
    state.tank = volume
    state.reservoir = project.reservoir.charge.si - volume
    level = kernel.level_at(params.tables, state, volume)
    state.level_before = level
    seen = kernel.sense(params, state, level, 0.0)
    state.ring[:] = params.sensor.at_4 if math.isnan(seen) else seen
    kernel.take_reading(params, state, level, 0.0)
    state.pv = state.pv_lag = state.converted = kernel.scale(params, kernel.convert(params.sensor, state.signal))
    state.set_point = rig.panel[kernel.P_SET_POINT]
    state.integral = project.start.output.si - kernel.swift_part(params.control.direction, state)
    state.cycle_for = params.pump.cycle  # the first scan begins a cycle
    first = {
        "mains on": True,
        "started": project.start.running,
        "automatic": project.start.mode == "auto",
        "siphon primed": params.drain.kind == 2 and project.start.siphon_primed and volume > params.drain.inlet_volume,
    }
    state.conditions = state.journalled = sum(1 << BITS[name] for name, holds in first.items() if holds)
    state.settled = -1
    for at, name in enumerate(ALARM_NAMES):
        if rig.panel[ENTRIES[f"{name} in use"].index] > 0.0:
            kernel.put_to_use(state, at)
