"""How finely the volume can be seen and moved, against how finely it may be asked for."""

import math

from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.review.edits import round_step, set_points, step_text
from levelbench.review.finding import Finding, Severity
from levelbench.review.sensor import air_errors
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE, GEOMETRY, SIGNAL

L, V, T = Dimension.LENGTH, Dimension.VOLUME, Dimension.TIME
_AVERAGE = "variance of white noise through a moving average and a first-order lag, by their autocorrelations"


def entry_step(rig: Rig) -> Finding:
    """A set point finer than the loop can see or move promises what nobody gets."""
    bench = Bench(rig)
    step = rig.project.loop_settings.entry_step.si
    parts = (sensor_step(bench), converter_step(bench), noise_spread(bench), smallest_shot(bench))
    largest = max(parts, key=lambda one: one.si)
    honest = bench.figure(
        "resolution.honest", "honest resolution of the volume", (largest.si, V),
        "the largest of: sensor's step, converter's step, twice the noise, smallest shot", COMMON_PRACTICE,
        inputs=[(one.name, one.si, V) for one in parts], resolution=_digits(largest.si),
    )  # fmt: skip
    figures = (honest, *parts, *_by_air(bench))
    key, title, go_to = "resolution.entry_step", "Entry step against the honest resolution", "loop_settings.entry_step"
    seen = bench.show(largest.si, V, _digits(largest.si))
    typed = step_text(bench, step)
    text = f"The loop sees and moves {seen} at best ({largest.name}); set points are entered in {typed}."
    if figures[5:] and figures[5].si > step:
        text += f" The swing of the air adds up to {bench.volume(figures[5].si)}, which no entry step cures."
    if step >= largest.si * (1 - 1e-9):
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    wider = round_step(bench, largest.si)
    change = f"Set the entry step to {step_text(bench, wider)}; finer is not supported by this rig."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, set_points(bench, step=wider))


def _by_air(bench: Bench) -> tuple[Figure, ...]:
    """Give the error by the swing of the air temperature, where the sensor has one: slow, so it is told beside."""
    sensor = bench.project.sensor
    if sensor.kind != "ultrasonic" or sensor.face_above_floor is None:
        return ()
    return air_errors(bench, sensor.face_above_floor.si)[:1]


def _digits(si: float) -> float:
    """Give the step in which a resolution is itself worth printing: two significant digits."""
    return 10.0 ** (math.floor(math.log10(si)) - 1) if si > 0 else 0.0


def sensor_step(bench: Bench) -> Figure:
    """Give the sensor's own step as a volume."""
    resolution, area = bench.project.sensor.resolution.si, bench.working_area
    return bench.figure(
        "resolution.sensor", "sensor's step", (resolution * area, V), "resolution × dV/dh", GEOMETRY,
        inputs=[("resolution", resolution, L), bench.slope_shown], resolution=_digits(resolution * area),
    )  # fmt: skip


def converter_step(bench: Bench) -> Figure:
    """Give one count of the converter as a volume: a straight line's own, or the level's at the working area."""
    sensor, signal = bench.project.sensor, bench.rig.params.sensor
    low, high = (one.si for one in sensor.converter_range)
    count = (high - low) / (2**sensor.converter_bits - 1)
    inputs: list[tuple[str, str] | tuple[str, float, Dimension]] = [
        ("converter range", high - low, Dimension.CURRENT), ("bits", str(sensor.converter_bits)),
    ]  # fmt: skip
    if signal.two_points:
        empty, full = bench.rig.span
        size = count / 0.016 * (full - empty)
        formula = "(converter range)/(2^bits − 1)/16 mA × (V at 20 mA − V at 4 mA)"
        inputs += [("V at 4 mA", empty, V), ("V at 20 mA", full, V)]
    else:
        reach = abs(signal.at_20 - signal.at_4)
        size = count / 0.016 * reach * bench.working_area
        formula = "(converter range)/(2^bits − 1)/16 mA × span × dV/dh"
        inputs += [("span of level", reach, L), bench.slope_shown]
    return bench.figure(
        "resolution.converter", "converter's step", (size, V), formula, SIGNAL, inputs=inputs,
        resolution=_digits(size) / 10,
    )  # fmt: skip


def noise_spread(bench: Bench) -> Figure:
    """Give twice the standard deviation of the filtered PV on still liquid."""
    spread = 2.0 * bench.noise(0.0)
    sensor, lag = bench.project.sensor, bench.project.loop_settings.pv_filter.si
    return bench.figure(
        "resolution.noise", "twice the noise of the PV", (spread, V),
        "2 σ dV/dh √(u/W (1 − τ/W (1 − e^(−W/τ)))), W = readings × u", _AVERAGE,
        inputs=[
            ("σ of one reading", sensor.noise.si, L), ("readings averaged", str(sensor.averaging)),
            ("u, update", sensor.update.si, T), ("τ, PV filter", lag, T), bench.slope_shown,
        ],
        resolution=_digits(spread),
    )  # fmt: skip


def smallest_shot(bench: Bench) -> Figure:
    """Give the least volume that the pump can add."""
    pump, scan = bench.project.pump, bench.rig.scan
    on_off = pump.drive == "on/off"
    flow, on_time = (pump.largest_flow.si, max(pump.least_on.si, scan)) if on_off else (pump.slowest_flow.si, scan)
    return bench.figure(
        "resolution.shot", "smallest shot of the pump", (flow * on_time, V),
        "slowest flow × shortest time on", BALANCE,
        inputs=[("slowest flow", flow, Dimension.FLOW), ("shortest time on", on_time, T)],
        resolution=_digits(flow * on_time),
    )  # fmt: skip
