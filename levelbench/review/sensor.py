"""Rules on what the sensor can see: its dead zone, its span on the tank, its failure currents, its scaling."""

import numpy as np

from levelbench.project.records import DISTANCE_SENSORS
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, in_marks, written
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import GEOMETRY, NE_43, SIGNAL, SOUND

L, V, P, I = Dimension.LENGTH, Dimension.VOLUME, Dimension.PERCENT, Dimension.CURRENT  # noqa: E741


def dead_zone(rig: Rig) -> Finding:
    """The sensor must read everything that the tank can hold: above its highest readable level it tells nonsense."""
    key, title, go_to = "sensor.dead_zone", "Sensor's near dead zone against rim and switch", "sensor.face_above_floor"
    bench, sensor = Bench(rig), rig.project.sensor
    if bench.readable is None or sensor.face_above_floor is None:
        return left_out(key, title, f"a {sensor.kind} sensor has no near dead zone.", "sensor.kind")
    face, blind = sensor.face_above_floor.si, sensor.near_dead_zone.si
    trip = [(bench.trip, "overflow switch")] if bench.trip is not None else []
    top, what = max(_levels_to_see(bench) + trip)
    figures = _readable(bench, bench.readable)
    if bench.readable >= bench.spill * (1 - 1e-9):
        text = f"It reads up to {bench.length(bench.readable)}, above the spill at {bench.length(bench.spill)}."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    lost = {"second echo": "reads low while the tank fills on", "last good": "holds its last value", "failure": "fails"}
    text = (
        f"Above {bench.length(bench.readable)} ({bench.volume(figures[1].si)}) the liquid is inside the "
        f"dead zone and the sensor {lost[sensor.in_dead_zone]}; the tank spills only at {bench.length(bench.spill)}."
    )
    blind_there = bench.readable < top
    if blind_there:
        text += f" It cannot see the {what} at {bench.length(top)}."
    raised, new_face = bench.typed(bench.rim + blind, L, up=True)
    shift = new_face - face
    change = f"Raise the face by {bench.length(shift)}, to {raised} above the floor."
    severity = Severity.STOP if blind_there else Severity.ATTEND
    return Finding(key, title, severity, text, figures, change, go_to, _with_face(bench, raised, shift))


def _readable(bench: Bench, readable: float) -> tuple[Figure, ...]:
    """Make the figures of what the sensor can read."""
    blind = bench.project.sensor.near_dead_zone.si
    volume = bench.volume_at(readable)
    return (
        bench.figure(
            "sensor.highest_readable_level", "highest readable level", (readable, L),
            "face above the floor − near dead zone", GEOMETRY,
            inputs=[("face above the floor", readable + blind, L), ("near dead zone", blind, L)], resolution=1e-3,
        ),
        bench.figure(
            "sensor.highest_readable_volume", "highest readable volume", (volume, V),
            "V(highest readable level), from the tank's table; the tank holds no more than to its rim",
            GEOMETRY, inputs=[("highest readable level", readable, L)], resolution=bench.volume_step,
        ),
        bench.figure(
            "sensor.riser_to_spill", "riser that would just reach the spill",
            (max(0.0, bench.spill - readable), L),
            "spill level − highest readable level", GEOMETRY,
            inputs=[("spill level", bench.spill, L), ("highest readable level", readable, L)], resolution=1e-3,
        ),
    )  # fmt: skip


def _levels_to_see(bench: Bench) -> list[tuple[float, str]]:
    """Give the levels that the program must see, each with its name."""
    upper = {name: band for name, band in bench.bands().items() if name.startswith("high")}
    levels = [(bench.level_at(band.limit.si), f"{name.replace('_', '-')} limit") for name, band in upper.items()]
    levels.append((bench.level_at(bench.project.loop_settings.set_point_high.si), "highest set point"))
    return levels


def _with_face(bench: Bench, face: str, shift: float) -> Edits:
    """Give the edits that move the face and leave the levels at 4 mA and 20 mA where they are."""
    low, high = (one.si + shift for one in bench.project.sensor.signal_span)
    return {"sensor.face_above_floor": face, "sensor.signal_span": span_text(bench, low, high)}


def span_text(bench: Bench, low: float, high: float) -> list[str]:
    """Write the two ends of the signal span [m] as they are typed, rounded to the wider span."""
    wide = bench.project.sensor.kind in DISTANCE_SENSORS  # the distance is the longer one at 4 mA
    return [
        bench.typed(max(low, 0.0), L, up=wide, digits=5)[0],
        bench.typed(max(high, 0.0), L, up=not wide, digits=5)[0],
    ]


def span(rig: Rig) -> Finding:
    """20 mA must lie at or above the spill, or the display says less than full while the tank runs over."""
    key, title, go_to = "sensor.span", "Signal span against the tank", "sensor.signal_span"
    bench = Bench(rig)
    empty, full = bench.signal_levels
    lowest = bench.level_at(_lowest_volume(bench))
    ends = (min(empty, lowest), max(full, bench.rim))
    what_if = _with_span(bench, *ends)
    change = f"Set 4 mA at {bench.length(ends[0])} and 20 mA at {bench.length(ends[1])} above the floor."
    share = (bench.spill - empty) / (full - empty)
    top = rig.project.sensor.measures_within[1].si
    stuck = empty + (full - empty) * (top - 0.004) / 0.016
    inputs = (("spill level", bench.spill, L), ("level at 4 mA", empty, L), ("level at 20 mA", full, L))
    figures = (
        bench.figure(
            "sensor.percent_at_spill", "signal at the spill", (share, P),
            "(spill level − level at 4 mA)/(level at 20 mA − level at 4 mA)", SIGNAL, inputs=inputs, resolution=0.001,
        ),
        bench.figure(
            "sensor.current_at_spill", "current at the spill", (0.004 + 0.016 * share, I),
            "4 mA + 16 mA × signal at the spill", SIGNAL, inputs=inputs, resolution=1e-5,
        ),
    )  # fmt: skip
    text = f"The tank spills at {bench.show(share, P, 0.001)} of the display."
    highest, what = max(_levels_to_see(bench))
    if stuck < highest:
        text += f" The signal stays at {bench.show(top, I)} from {bench.length(stuck)} up: it cannot show the {what}."
        return Finding(key, title, Severity.STOP, text, figures, change, go_to, what_if)
    if share > 1.0 + 1e-9:
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)
    if empty > lowest + 1e-5:
        text += f" Below {bench.length(empty)} it cannot tell the level; it matters from {bench.length(lowest)} up."
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)
    return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)


def _lowest_volume(bench: Bench) -> float:
    """Give the lowest volume that a limit or a set point needs to be told [m3]."""
    return min([band.limit.si for band in bench.bands().values()] + [bench.project.loop_settings.set_point_low.si])


def _with_span(bench: Bench, empty: float, full: float) -> Edits:
    """Give the edits that put 4 mA and 20 mA at these levels [m]."""
    sensor = bench.project.sensor
    if sensor.kind in DISTANCE_SENSORS and sensor.face_above_floor is not None:
        face = sensor.face_above_floor.si
        what_if: Edits = {"sensor.signal_span": span_text(bench, face - empty, face - full)}
    else:
        what_if = {"sensor.signal_span": span_text(bench, empty, full)}
    if sensor.scaled_by == "two points":
        ends = (bench.volume_at(empty), bench.volume_at(full))
        what_if["sensor.volume_at_ends"] = [bench.typed(one, V, up=False, digits=5)[0] for one in ends]
    return what_if


def two_points(rig: Rig) -> Finding:
    """Two-point scaling is a straight line: it must pass through the tank's own table."""
    key, title, go_to = "sensor.two_points", "Two-point scaling against the tank's table", "sensor.scaled_by"
    bench, sensor = Bench(rig), rig.project.sensor
    if sensor.scaled_by != "two points" or sensor.volume_at_ends is None:
        return left_out(key, title, "the volume comes from the tank's table.", go_to)
    empty, full = bench.signal_levels
    at_4, at_20 = (one.si for one in sensor.volume_at_ends)
    levels = np.linspace(max(0.0, min(empty, full)), min(bench.spill, max(empty, full)), 201)
    typed = at_4 + (levels - empty) / (full - empty) * (at_20 - at_4)
    errors = typed - rig.strapping.volume_at(levels)
    worst = int(np.argmax(np.abs(errors)))
    error, level = float(errors[worst]), float(levels[worst])
    figures = (
        bench.figure(
            "sensor.scaling_error", "largest error of the two-point scaling", (error, V),
            "V₄ + (level − level₄)/(level₂₀ − level₄) × (V₂₀ − V₄) − V(level)", GEOMETRY,
            inputs=[("V₄", at_4, V), ("V₂₀", at_20, V), ("level", level, L)], resolution=bench.volume_step,
        ),
    )  # fmt: skip
    text = f"The display is off by up to {bench.volume(error)}, worst at {bench.length(level)}."
    step = max(rig.project.loop_settings.entry_step.si, 0.005 * bench.spill_volume)
    if abs(error) <= step:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    # A twentieth of the tank: a 4-20 mA signal read as 0-20 mA is off by a fifth at empty (SIGNAL).
    severity = Severity.STOP if abs(error) > 0.05 * bench.spill_volume else Severity.ATTEND
    change = f"Scale by the tank's table; that takes {bench.volume(abs(error))} of error away."
    return Finding(key, title, severity, text, figures, change, go_to, {"sensor.scaled_by": "tank table"})


def failure_levels(rig: Rig) -> Finding:
    """The converter must tell a failed sensor and a broken wire from an empty or a full tank."""
    key, title, go_to = "sensor.failure_levels", "Failure currents against the converter", "sensor.converter_range"
    bench, sensor = Bench(rig), rig.project.sensor
    low, high = (one.si for one in sensor.converter_range)
    fails_low, fails_high = (one.si for one in sensor.fails_beyond)
    good_low, good_high = (one.si for one in sensor.measures_within)
    figures = tuple(
        bench.figure(f"sensor.room_{end}", f"room beyond the {end} failure current", (room, I), formula, NE_43,
                     inputs=inputs, resolution=1e-5)
        for end, room, formula, inputs in (
            ("low", fails_low - low, "failure current − converter's lowest current",
             (("failure current", fails_low, I), ("converter's lowest current", low, I))),
            ("high", high - fails_high, "converter's highest current − failure current",
             (("failure current", fails_high, I), ("converter's highest current", high, I))),
        )
    )  # fmt: skip
    blind_low, blind_high = low >= fails_low, high < fails_high
    if not blind_low and not blind_high and fails_low < good_low < good_high < fails_high:
        text = f"The converter sees {bench.show(low, I)} to {bench.show(high, I)}, so both failure currents show."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if blind_low:
        text = f"From {bench.show(low, I)} up it cannot tell a broken wire from an empty tank: the pump would run."
    elif blind_high:
        text = (
            f"The converter ends at {bench.show(high, I)}: {bench.show(fails_high, I)} cannot be told from a full tank."
        )
    else:
        text = "The measuring range overlaps the failure currents, so a good reading can count as a failure."
        what_if: Edits = {"sensor.measures_within": ["3.8 mA", "20.5 mA"], "sensor.fails_beyond": ["3.6 mA", "21.0 mA"]}
        change = in_marks("Set the limits apart: measuring within 3.8 and 20.5 mA, failing beyond 3.6 and 21.0 mA.")
        return Finding(key, title, Severity.ATTEND, text, figures, change, "sensor.fails_beyond", what_if)
    hidden = blind_low or sensor.fails == "high"
    new_low, new_high = min(low, 0.0), max(high, 0.024)
    change = f"Use an input that reads {bench.show(new_low, I)} to {bench.show(new_high, I)}."
    what_if = {"sensor.converter_range": [f"{written(1000 * one, '.4g')} mA" for one in (new_low, new_high)]}
    return Finding(key, title, Severity.STOP if hidden else Severity.ATTEND, text, figures, change, go_to, what_if)


def air(rig: Rig) -> Finding:
    """Sound is faster in warm air: an uncompensated distance reads short there, so the volume reads high."""
    key, title, go_to = "sensor.air", "Air temperature under the lid", "sensor.set_for_temperature"
    bench, sensor, project = Bench(rig), rig.project.sensor, rig.project
    if sensor.kind != "ultrasonic" or sensor.face_above_floor is None:
        return left_out(key, title, f"a {sensor.kind} sensor does not depend on it.", "sensor.kind")
    swing = project.duty.air_swing.si
    figures = air_errors(bench, sensor.face_above_floor.si)
    error, offset = (one.si for one in figures)
    step = project.loop_settings.entry_step.si
    told = bench.show(swing, Dimension.TEMPERATURE_DIFFERENCE, 0.1)
    text = f"A swing of {told} moves the reading by {bench.volume(error)} while the liquid stands still."
    if abs(offset) > step:
        text += f" It is off by {bench.volume(offset)} already, by the temperature that it is set for."
        air_now = f"{written(sensor.air_temperature.si - 273.15, '.1f')} degC"
        change = f"Set the sensor for air at {air_now}; that moves its reading by {bench.volume(-offset)}."
        return Finding(
            key, title, Severity.ATTEND, text, figures, change, go_to, {"sensor.set_for_temperature": air_now}
        )
    if error > step:
        most, _ = bench.typed(swing * step / error, Dimension.TEMPERATURE_DIFFERENCE, up=False)
        change = (
            f"Take a sensor that measures its air, or keep the air within {most}, or print ± {bench.volume(error)}."
        )
        return Finding(key, title, Severity.ATTEND, text, figures, change, "duty.air_swing")
    return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)


def air_errors(bench: Bench, face: float) -> tuple[Figure, Figure]:
    """Make the figures of the error by a swing of the air, and by what the sensor is set for now. Face [m]."""
    sensor, project = bench.project.sensor, bench.project
    level = bench.level_at(project.loop_settings.set_point_low.si)
    path = max(0.0, face - level)
    set_for, swing = sensor.set_for_temperature.si, project.duty.air_swing.si
    error = swing / (2.0 * set_for) * path * bench.area_at(level)
    offset = (sensor.air_temperature.si - set_for) / (2.0 * set_for) * path * bench.area_at(level)
    inputs = (
        ("ΔT", swing, Dimension.TEMPERATURE_DIFFERENCE), ("T", set_for, Dimension.TEMPERATURE),
        ("path, at the lowest set point", path, L), ("coefficient", f"{written(50 / set_for, '.3f')} %/K"),
    )  # fmt: skip
    return (
        bench.figure(
            "sensor.air_error", "error by the swing of the air temperature", (error, V),
            "ΔT/(2 T) × path × dV/dh", SOUND, inputs=inputs, resolution=bench.volume_step,
        ),
        bench.figure(
            "sensor.air_offset", "error by what the sensor is set for", (offset, V),
            "(air − set for)/(2 × set for) × path × dV/dh", SOUND,
            inputs=[("air", sensor.air_temperature.si, Dimension.TEMPERATURE), *inputs[1:]],
            resolution=bench.volume_step,
        ),
    )  # fmt: skip


def drowning(rig: Rig) -> Finding:
    """A face that can be covered by liquid no longer measures a distance."""
    key, title, go_to = "sensor.drowning", "Sensor's face above the liquid", "sensor.face_above_floor"
    bench, sensor = Bench(rig), rig.project.sensor
    if sensor.kind not in DISTANCE_SENSORS or sensor.face_above_floor is None:
        return left_out(key, title, f"a {sensor.kind} sensor has no face above the liquid.", "sensor.kind")
    room = sensor.face_above_floor.si - bench.spill
    figures = (
        bench.figure(
            "sensor.face_room", "face above the spill", (room, L), "face above the floor − spill level",
            COMMON_PRACTICE,
            inputs=[("face above the floor", sensor.face_above_floor.si, L), ("spill level", bench.spill, L)],
            resolution=1e-3,
        ),
    )  # fmt: skip
    if room > 0:
        text = f"The face hangs {bench.length(room)} above the spill."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    raised, new_face = bench.typed(bench.rim + sensor.near_dead_zone.si + 0.01, L, up=True)
    shift = new_face - sensor.face_above_floor.si
    text = "The liquid can reach the face before the tank spills; a wetted face reads nothing."
    change = f"Raise the face by {bench.length(shift)}, to {raised} above the floor."
    return Finding(key, title, Severity.STOP, text, figures, change, go_to, _with_face(bench, raised, shift))
