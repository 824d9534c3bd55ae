"""Rules on what is known to be wrong with a rig: a tank that leaks, a sensor that is off."""

import math

import numpy as np

from levelbench.project.records import DISTANCE_SENSORS
from levelbench.quantity import Dimension, Figure
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import GEOMETRY, HYDROSTATICS, SIGNAL

L, V, Q, T, P = Dimension.LENGTH, Dimension.VOLUME, Dimension.FLOW, Dimension.TIME, Dimension.PERCENT
DAY = 24 * 3600.0  # [s]
NIGHT = 12 * 3600.0  # [s] in which nobody looks (common practice, no source)
_TORRICELLI = "E. Torricelli, De motu gravium (1644): the flow through a hole goes as the square root of the level"


def leak(rig: Rig) -> Finding:
    """A leak runs day and night: what it loses, and how far the tank is down when the pump has stood for a night."""
    key, title, go_to = "tank.leak", "What the leak takes", "tank.leak"
    bench, tank = Bench(rig), rig.params.tank
    if tank.leak <= 0.0:
        return left_out(key, title, "no leak is known.", go_to)
    held, pump = rig.project.start.set_point.si, rig.params.pump.largest_flow
    flow = tank.leak * math.sqrt(max(bench.level_at(held), 0.0))
    low = rig.project.bands.low
    aim, name = (0.0, "the tank is empty") if low is None else (low.limit.si, "the low limit")
    takes = seconds_down(rig, held, min(aim, held))
    inputs = [("leak", rig.project.tank.leak.si, Q), ("level at the set point", bench.level_at(held), L)]
    figures = (
        bench.figure("tank.leak_flow", "leak at the set point", (flow, Q), "q(stated)·√(level/level stated)",
                     _TORRICELLI, inputs=inputs),
        bench.figure("tank.leak_day", "lost in a day at the set point", (flow * DAY, V), "leak × 24 h", HYDROSTATICS,
                     inputs=[("leak at the set point", flow, Q)]),
        bench.figure("tank.leak_time", f"until {name}, with pump and drain shut", (takes, T), "∫ dV/(c·√level)",
                     _TORRICELLI, inputs=[("set point", held, V), ("until", aim, V)], resolution=1.0),
    )  # fmt: skip
    text = (
        f"At the set point {bench.flow(flow)} leak out, {bench.show(flow * DAY, V)} a day. With pump and drain shut "
        f"it takes {bench.show(takes, T, 1.0)} until {name}."
    )
    if takes < NIGHT:
        text += " A night without the pump is enough."
    change = "Find the leak and close it, then take it out of the project."
    if flow >= pump:
        text += f" The pump gives {bench.flow(pump)}: it can't hold the set point."
        return Finding(key, title, Severity.STOP, text, figures, change, go_to)
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to)


def seconds_down(rig: Rig, begin: float, end: float) -> float:
    """Give how long a leak takes from a volume down to another [m3], pump and drain shut [s]."""
    low, high = (float(rig.strapping.level_at(one)) for one in (end, begin))
    levels = np.linspace(low, high, 2001)
    volumes = np.asarray(rig.strapping.volume_at(levels))
    roots = np.sqrt(levels)
    # dV/(c·√h) with V straight between two levels: ΔV·2/(c·(√h₁ + √h₂)), exact
    return float(np.sum(np.diff(volumes) * 2.0 / (rig.params.tank.leak * np.maximum(roots[1:] + roots[:-1], 1e-12))))


def sensor_off(rig: Rig) -> Finding:
    """A sensor with a zero or a span error shows another volume than there is, and the loop holds what it shows."""
    key, title, go_to = "sensor.own_error", "Zero and span error of the sensor", "sensor.zero_error"
    bench, said = Bench(rig), rig.project.sensor
    zero, span = said.zero_error.si, said.span_error.si
    if zero == 0.0 and span == 0.0:
        return left_out(key, title, "neither error is known.", go_to)
    settings = rig.project.loop_settings
    ends = [bench.level_at(one.si) for one in (settings.set_point_low, settings.set_point_high)]
    levels = np.linspace(min(ends), max(ends), 201)
    face = 0.0 if said.face_above_floor is None else said.face_above_floor.si
    measured = levels - face if said.kind in DISTANCE_SENSORS or said.kind == "hydrostatic" else levels
    errors = rig.strapping.volume_at(levels + span * measured + zero) - rig.strapping.volume_at(levels)
    worst = int(np.argmax(np.abs(errors)))
    error, level = float(errors[worst]), float(levels[worst])
    figures: tuple[Figure, ...] = (
        bench.figure("sensor.own_error", "largest error between the set points by zero and span error", (error, V),
                     "V(level + span error × what it measures + zero error) − V(level)", f"{GEOMETRY}; {SIGNAL}",
                     inputs=[("zero error", zero, L), ("span error", span, P), ("level", level, L)],
                     resolution=bench.volume_step),
    )  # fmt: skip
    text = f"It shows {bench.volume(abs(error))} too {'much' if error > 0 else 'little'} at {bench.length(level)}."
    step = max(settings.entry_step.si, 0.005 * bench.spill_volume)
    if abs(error) <= step:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text += " What the loop holds is off by that."
    change = "Set the sensor right at two levels with a dip stick, then take both errors out of the project."
    severity = Severity.STOP if abs(error) > 0.05 * bench.spill_volume else Severity.ATTEND
    return Finding(key, title, severity, text, figures, change, go_to)
