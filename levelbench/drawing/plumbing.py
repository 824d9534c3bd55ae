"""The moving parts of the section: pump and fill tube, drain with its valve, the liquid."""

from math import radians, tan

from levelbench.drawing.basin_words import basin_words
from levelbench.drawing.body import sensor_x, switch_x
from levelbench.drawing.frame import Frame
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Circle, Item, Line, Point, Polygon, Role, Stroke, Text
from levelbench.drawing.state import SectionState
from levelbench.drawing.strokes import BOLD, FINE, THIN, arrow, pump, rounded, tube, valve
from levelbench.project.records import DISTANCE_SENSORS, GRAVITY
from levelbench.quantity import Dimension
from levelbench.rig.bench import Bench

HALF_BEAM = radians(6.0)  # common practice, no source: small level sensors see a cone of about 12°
FLOWS = 1e-9  # [m3/s] below this a tube is drawn at rest


def liquid(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Give the liquid in tank and reservoir, which lies under everything else."""
    items: list[Item] = []
    if state.level > 0:
        inside = frame.outline(state.level)
        items.append(Polygon((*inside,), fill=Role.LIQUID))
        items.append(Line(inside[0], inside[-1], Role.WATER_LINE, 1.6 * FINE * frame.text, tag="level"))
    basin, capacity = frame.basin, bench.project.reservoir.capacity.si
    top = basin.floor - (basin.floor - basin.brim) * min(max(state.reservoir / capacity, 0.0), 1.0)
    pool = ((basin.left, top), (basin.left, basin.floor), (basin.right, basin.floor), (basin.right, top))
    items.append(Polygon(pool, fill=Role.LIQUID))
    items.append(Line(pool[0], pool[3], Role.WATER_LINE, 1.6 * FINE * frame.text))
    return items


def plumbing(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Give pump, tubes, valve and beam with what they do at this moment."""
    items = [*_beam(frame, bench, state), *_fill(frame, bench, state), *_drain(frame, bench, state)]
    return [*items, *basin_words(frame, bench, state, items), *_alerts(frame, bench, state)]


def _alerts(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Say in words what must not be overlooked."""
    text = frame.text
    items: list[Item] = []
    if state.switch_tripped and bench.trip is not None:
        at = (switch_x(frame) + 1.1 * text, frame.y(bench.trip) + 0.35 * text)
        items.append(Text(at, "■ open", text, Role.STOP, Anchor.START, True, True, "overflow_switch.trips_at"))
    if state.spilling:
        x, y = frame.middle - frame.half(bench.spill) - frame.wall - 0.9 * text, frame.y(bench.spill)
        items.append(Line((x, y), (x, y + 2.6 * text), Role.WATER_LINE, 2 * BOLD * text))
        items.append(Text((x - 0.4 * text, y + 0.9 * text), "■ spilling", text, Role.STOP, Anchor.END, True, True))
    return items


def _beam(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    sensor, text, x = bench.project.sensor, frame.text, sensor_x(frame)
    if (
        sensor.kind not in DISTANCE_SENSORS
        or sensor.face_above_floor is None
        or sensor.face_above_floor.si <= state.level
    ):
        return []
    face, surface = frame.y(min(sensor.face_above_floor.si, 2 * frame.profile.rim)), frame.y(state.level)
    reach = (surface - face) * tan(HALF_BEAM)
    return [Line((x, face), (x + side * reach, surface), Role.QUIET, THIN * text, Stroke.DASHED) for side in (-1, 1)]


def _inside(frame: Frame, share: float, level: float) -> tuple[float, float]:
    """Give an x at a share of the way from the middle to a wall, and the y where a tube there may end inside."""
    profile = frame.profile
    reach = frame.scale * (profile.widest - frame.cut) if profile.closed else frame.half(profile.rim)
    x = frame.middle + share * reach
    while profile.closed and frame.half(level) < abs(x - frame.middle) + 0.3 * frame.text and level > 0.5 * profile.rim:
        level -= 0.01 * profile.rim
    return x, frame.y(level)


def _fill_end(frame: Frame, bench: Bench) -> tuple[float, float, float]:
    """Give x and y of the fill tube's end, and the y in which the tube comes over the rim."""
    part = bench.project.pump
    end = min(part.fill_end_above_floor.si if part.fill_end_above_floor else bench.rim, 1.6 * bench.rim)
    x, y = _inside(frame, -0.78, end)
    return x, y, min(y, frame.y(bench.rim)) - 1.3 * frame.text


def fill_runs(frame: Frame, bench: Bench) -> tuple[list[Point], list[Point]]:
    """Give the middle lines of the suction tube and of the fill tube, in the direction of the flow."""
    text, basin, at = frame.text, frame.basin, pump_place(frame)
    x_end, y_end, over = _fill_end(frame, bench)
    share = bench.project.reservoir.suction_above_floor.si / bench.project.reservoir.height.si
    suction = min(basin.floor - share * (basin.floor - basin.brim), basin.floor - 0.35 * text)
    if basin.beside:
        foot = basin.right - 0.9 * text
        low = rounded(((foot, suction), (foot, at[1]), (at[0] - 1.5 * text, at[1])), 0.8 * text)
    else:
        foot = basin.left + 0.9 * text
        low = rounded(((foot, suction), (at[0], suction), (at[0], at[1] + 1.5 * text)), 0.8 * text)
    return low, rounded(((at[0], at[1] - 1.5 * text), (at[0], over), (x_end, over), (x_end, y_end)), 0.8 * text)


def _fill(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Draw pump, rising tube and fill end, with the output and the flow beside the pump."""
    part, text, at = bench.project.pump, frame.text, pump_place(frame)
    (x_end, y_end, over), (low, high) = _fill_end(frame, bench), fill_runs(frame, bench)
    bore, wet = 0.34 * text, state.pump_flow > FLOWS
    items = [*tube(low, bore, text, True, "pump"), *tube(high, bore, text, wet, "pump"), *pump(at, text, "pump")]
    if part.check_valve:
        items += _check_valve((at[0], (at[1] + over) / 2), text)
    if part.vented:
        items.append(Circle((x_end, over), 0.3 * text, Role.CARD, Role.INK, FINE * text, tag="pump.vented"))
    if wet:
        items.append(arrow((x_end, y_end + 0.95 * text), (0, 1), 0.75 * text, Role.WATER_LINE))
    down = 0.7 if frame.basin.beside else -0.9  # under the width of the tank, which the pump then stands beside
    return items + _pump_text(bench, state, (at[0] + 1.9 * text, at[1] + down * text), text)


def pump_place(frame: Frame) -> Point:
    """Give where the pump stands: beside a reservoir that is under the tank, else lower than both."""
    basin, text = frame.basin, frame.text
    if basin.beside:
        return frame.pump_x, max(basin.floor, frame.bottom) + 2.6 * text
    high, low = frame.bottom + 1.9 * text, basin.floor - 2.6 * text
    return frame.pump_x, max(min(high, low), min(low, (high + low) / 2, frame.bottom + 4.6 * text))


def _pump_text(bench: Bench, state: SectionState, at: Point, size: float) -> list[Item]:
    flow, unit = _flow(bench, state.pump_flow)
    x, y = at
    lines = [
        (f"P-{bench.project.loop}", Role.INK, False),
        (bench.show(state.output, Dimension.PERCENT, 0.01), Role.INK, True),
        (flow, Role.WATER_LINE, True),
        (unit, Role.QUIET, False),
    ]
    return [
        Text((x, y + 1.2 * size * number), line, size, role, bold=bold, backed=True, tag="pump")
        for number, (line, role, bold) in enumerate(lines)
    ]


def _flow(bench: Bench, flow: float) -> tuple[str, str]:
    """Give a flow as number and unit apart, to a hundredth of the pump's largest flow; what rests is a plain 0."""
    unit = bench.units.of(Dimension.FLOW)
    return bench.show(flow, Dimension.FLOW, bench.fill_rate / 100 if flow else 0.0).removesuffix(unit).strip(), unit


def _check_valve(at: Point, text: float) -> list[Item]:
    """Draw a check valve after ISO 10628: a triangle against a bar, open upwards."""
    (x, y), a = at, 0.7 * text
    return [
        Polygon(((x - a, y + a), (x + a, y + a), (x, y - a)), Role.CARD, Role.INK, FINE * text, tag="pump.check_valve"),
        Line((x - a, y - a), (x + a, y - a), width=BOLD * text, tag="pump.check_valve"),
    ]


def _drain(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    kind = bench.project.drain.kind
    if kind == "forced draw":
        return _draw_off(frame, bench, state)
    if kind == "none":
        return []
    path, bore = _drain_path(frame, bench), 0.34 * frame.text
    run = drain_run(frame, bench)
    if bench.project.drain.tube_diameter is not None:  # true to scale, as far as it is seen and leaves room
        bore = min(max(bench.project.drain.tube_diameter.si * frame.scale, bore), 0.9 * frame.text)
    siphon = kind == "siphon over the rim"
    wet = state.siphon_primed if siphon else state.level > bench.project.drain.inlet_above_floor.si
    tag = "drain.inlet_above_floor"
    items = tube(run, bore, frame.text, wet, tag)
    if siphon and bench.project.drain.crest_above_floor is not None:
        x, y = (path[1][0] + path[2][0]) / 2, path[1][1] - bore - 0.5 * frame.text
        crest = f"crest {bench.project.drain.crest_above_floor.shown}"
        words, role = (crest, Role.QUIET) if state.siphon_primed else ("▲ not primed", Role.ATTENTION)
        bold, key = not state.siphon_primed, "drain.crest_above_floor"
        items.append(Text((x, y), words, frame.text, role, Anchor.MIDDLE, bold, True, key))
    return items + _drain_valve(frame, bench, state, path)


def drain_run(frame: Frame, bench: Bench) -> list[Point]:
    """Give the middle line of the drain tube in the direction of the flow; nothing where no tube is described."""
    tubed = bench.project.drain.kind in GRAVITY
    return rounded(_drain_path(frame, bench), 1.5 * frame.text) if tubed else []


def _drain_path(frame: Frame, bench: Bench) -> list[Point]:
    """Give the corners of the drain tube, inlet first."""
    drain, text, x = bench.project.drain, frame.text, frame.drain_x
    inlet = frame.y(drain.inlet_above_floor.si)
    outlet = drain.outlet_above_floor.si if drain.outlet_above_floor else 0.0
    end = frame.y(outlet) if frame.basin.to_scale or outlet > 0 else frame.basin.brim + 0.4 * text
    if not frame.basin.to_scale:
        end = min(end, frame.size.height - 1.2 * text)
    if drain.kind == "siphon over the rim" and drain.crest_above_floor is not None:
        riser, _ = _inside(frame, 0.5 if frame.profile.closed else 0.8, bench.rim)
        crest = frame.y(min(drain.crest_above_floor.si, 2 * bench.rim))
        return [(riser, inlet), (riser, crest), (x, crest), (x, end)]
    half = frame.half(drain.inlet_above_floor.si)
    if half < 0.25 * (frame.right - frame.middle):  # out of the lowest point of a round or pointed floor
        under = frame.bottom + 0.45 * text
        return [(frame.middle, frame.floor), (frame.middle, under), (x, under), (x, max(end, under + 2.6 * text))]
    wall = frame.middle + half
    if end < inlet + 1.0 * text:
        return [(wall, inlet), (x + 1.2 * text, inlet)]
    return [(wall, inlet), (x, inlet), (x, end)]


def _drain_valve(frame: Frame, bench: Bench, state: SectionState, path: list[Point]) -> list[Item]:
    """Draw the hand valve on the last leg, with its opening and the flow."""
    text, (x1, y1), (x2, y2) = frame.text, path[-2], path[-1]
    upright = abs(y2 - y1) > abs(x2 - x1)
    high = max(y1, frame.bottom + 0.6 * text)
    y = (
        min((high + min(y2, frame.basin.brim if not frame.basin.beside else y2)) / 2, high + 2.8 * text)
        if upright and y2 - high > 2.6 * text
        else max((y1 + y2) / 2, y2 - 1.9 * text if y2 > frame.bottom else 0.0)  # a short end: low, clear of the limits
    )
    at = ((x1 + x2) / 2, y)
    moving = state.drain_flow > FLOWS
    where = (at[0] + 1.3 * text, at[1] - 0.15 * text) if upright else (at[0] - text, at[1] + 1.9 * text)
    if upright and y > frame.floor - 2.4 * text:  # under the foot of the scale, over the brim of a reservoir below
        highest = frame.floor + 1.45 * text
        lowest = where[1] if frame.basin.beside else frame.basin.brim - 1.7 * text
        where = (where[0], max(highest, min(where[1], lowest)))
    words = _drain_words(frame, bench, state, where)
    items: list[Item] = [*valve(at, text, upright, "drain.opening"), *words]
    if not upright or frame.basin.beside or bench.project.drain.goes_to == "away":
        goes = "to reservoir" if bench.project.drain.goes_to == "reservoir" else "away"
        below = max(y2 + 0.9 * text, words[-1].at[1] + 1.2 * text) if upright else y2 + 0.9 * text
        items.append(Text((x2 + 0.8 * text, below), goes, text, Role.QUIET, backed=True))
    if moving:
        items.append(
            arrow(
                (x2, y2 + 0.9 * text) if upright else (x2 + 0.9 * text, y2),
                (0, 1) if upright else (1, 0),
                0.75 * text,
                Role.WATER_LINE,
            )
        )
    return items


def _drain_words(frame: Frame, bench: Bench, state: SectionState, at: Point) -> list[Text]:
    """Say how far the valve is open and what flows, the unit on a line of its own where the scale is near."""
    text, (x, y) = frame.text, at
    flow, unit = _flow(bench, state.drain_flow)
    room = frame.axis - x + (1.8 if y > frame.floor + text else -0.9) * text
    both = f"{flow} {unit}"
    fits = text_width(both, text, bold=True) <= room
    lines = [(bench.show(state.opening, Dimension.PERCENT, 0.01) + " open", Role.INK, False)]
    lines += [(both, Role.WATER_LINE, True)] if fits else [(flow, Role.WATER_LINE, True), (unit, Role.QUIET, False)]
    return [
        Text((x, y + 1.2 * text * number), line, text, role, bold=bold, backed=True, tag="drain.opening")
        for number, (line, role, bold) in enumerate(lines)
    ]


def _draw_off(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Draw a draw whose way out is not described: an arrow out of the foot of the tank."""
    text, y = frame.text, frame.y(0.06 * bench.rim)
    wall, x = frame.middle + frame.half(0.06 * bench.rim) + frame.wall, frame.right + frame.wall
    flow, unit = _flow(bench, state.drain_flow)
    return [
        Line((wall, y), (x + 2.2 * text, y), Role.WATER_LINE, BOLD * text, tag="drain"),
        arrow((x + 3.0 * text, y), (1, 0), 0.9 * text, Role.WATER_LINE, "drain"),
        Text((x + 0.8 * text, y - 0.8 * text), "draw", text, backed=True),
        Text((x + 0.8 * text, y + 1.6 * text), f"{flow} {unit}", text, Role.WATER_LINE, bold=True, backed=True),
    ]
