"""The still parts of the section: walls, spout, stand, sensor with its dead zone, switch, reservoir, dimensions."""

from levelbench.alarms.ladder import ladder
from levelbench.drawing.frame import Frame
from levelbench.drawing.measure import text_width, wrap
from levelbench.drawing.scene import Hatch, Item, Line, Point, Polygon, Polyline, Role, Stroke, Text
from levelbench.drawing.spread import spread
from levelbench.drawing.strokes import FINE, THIN, bubble, dimension_line
from levelbench.drawing.vessel import hatching, offset, side_view
from levelbench.project.records import DISTANCE_SENSORS
from levelbench.rig.bench import Bench


def body(frame: Frame, bench: Bench) -> list[Item]:
    """Give everything that does not move while the rig runs."""
    return [
        *_stand(frame),
        *_basin_walls(frame),
        *_walls(frame),
        *_spout(frame, bench),
        *_dimensions(frame, bench),
        *_side_inset(frame, bench),
        *_instruments(frame, bench),
    ]


def _walls(frame: Frame) -> list[Item]:
    text, inner = frame.text, frame.outline()
    outer = offset(inner, frame.wall)
    ring = (*outer, *reversed(inner))
    items: list[Item] = [
        Polygon(ring, fill=Role.WALL),
        Hatch(hatching(ring, 0.5 * text), width=THIN * text),
        Polyline((*inner,), width=FINE * text, tag="tank"),
        Polyline((*outer,), width=FINE * text, tag="tank"),
    ]
    if not frame.profile.closed:
        items += [Line(inner[0], outer[0], width=FINE * text), Line(inner[-1], outer[-1], width=FINE * text)]
    return items + (_break_marks(frame) if frame.cut else [])


def _break_marks(frame: Frame) -> list[Item]:
    """Show with two wavy lines that a piece of the middle was taken out."""
    top, low, text = frame.y(frame.profile.rim), frame.floor + frame.wall, frame.text
    steps = 24
    items: list[Item] = []
    for side in (-1, 1):
        x = frame.middle + side * 0.4 * text
        wave = tuple(
            (x + 0.18 * text * (1 if at % 2 else -1), top + (low - top) * at / steps) for at in range(steps + 1)
        )
        items.append(Polyline(wave, Role.QUIET, THIN * text))
    return items


def _spout(frame: Frame, bench: Bench) -> list[Item]:
    """Draw the way out below the rim as a stub through the left wall."""
    if bench.spill >= bench.rim * (1 - 1e-9) or frame.profile.closed:
        return []
    text, y = frame.text, frame.y(bench.spill)
    x = frame.middle - frame.half(bench.spill)
    out = x - frame.wall - 0.95 * text
    drop, high = 0.4 * text, min(0.8 * text, y - frame.y(bench.rim))
    opening = ((x, y - high), (x, y), (out, y + drop), (out, y + drop - high))
    return [
        Polygon(opening, fill=Role.PAPER),
        Line(opening[1], opening[2], width=FINE * text, tag="tank.rim_to_spill"),
        Line(opening[0], opening[3], width=FINE * text, tag="tank.rim_to_spill"),
    ]


def _stand(frame: Frame) -> list[Item]:
    """Draw what the tank stands on: its floor where that is flat, else two legs."""
    text, flat = frame.text, frame.profile.halves[0] >= 0.5 * frame.profile.widest
    reach = frame.scale * (frame.profile.widest - frame.cut)
    ground = frame.bottom + (0.0 if flat else 0.9 * text)
    left, right = frame.middle - reach - frame.wall, frame.middle + reach + frame.wall
    items: list[Item] = [Line((left - 0.8 * text, ground), (right + 0.8 * text, ground), width=FINE * text)]
    step = 0.9 * text
    marks = int((right - left + 1.2 * text) / step)
    strokes = [(left - 0.4 * text + at * step, ground) for at in range(marks)]
    items.append(Hatch(tuple(((x, y), (x - 0.6 * text, y + 0.6 * text)) for x, y in strokes), width=THIN * text))
    if not flat:
        for x in (frame.middle - 0.72 * reach, frame.middle + 0.72 * reach):
            level = next(
                h
                for h, w in zip(frame.profile.heights, frame.profile.halves, strict=True)
                if w >= 0.7 * frame.profile.widest
            )
            leg = ((x - 0.25 * text, frame.y(level) + frame.wall), (x + 0.25 * text, frame.y(level) + frame.wall))
            items.append(Polygon((*leg, (leg[1][0], ground), (leg[0][0], ground)), Role.WALL, Role.INK, FINE * text))
    return items


def _basin_walls(frame: Frame) -> list[Item]:
    basin, text, wall = frame.basin, frame.text, 0.7 * frame.wall
    inner = [(basin.left, basin.brim), (basin.left, basin.floor), (basin.right, basin.floor), (basin.right, basin.brim)]
    outer = offset(inner, wall)
    ring = (*outer, *reversed(inner))
    return [
        Polygon(ring, Role.WALL, Role.INK, FINE * text, tag="reservoir"),
        Hatch(hatching(ring, 0.5 * text), width=THIN * text),
    ]


def _dimensions(frame: Frame, bench: Bench) -> list[Item]:
    tank, text, profile = bench.project.tank, frame.text, frame.profile
    rim = frame.y(profile.rim)
    tall = tank.height.shown if tank.height else (tank.diameter.shown if tank.diameter else bench.length(profile.rim))
    x = frame.left - frame.wall - max(1.5 * text, text_width(tall, text) / 2 + 0.4 * text)
    items: list[Item] = [
        Line((x - 0.5 * text, y), (frame.left - frame.wall - 0.2 * text, y), Role.QUIET, THIN * text)
        for y in (rim, frame.floor)
    ]
    items += dimension_line((x, rim), (x, frame.floor), tall, text, tag="tank.height")
    items += _depth(frame, bench)
    if not profile.across or profile.closed:
        return items
    half = frame.scale * (profile.widest - frame.cut)
    y = _width_place(frame, bench)
    key = "tank.length" if tank.shape == "box" else "tank.diameter"
    return items + dimension_line((frame.middle - half, y), (frame.middle + half, y), profile.across, text, tag=key)


def depth_shown(frame: Frame) -> bool:
    """Tell whether the depth of the reservoir stands beside it: where it is to scale, and high enough to be read."""
    basin, text = frame.basin, frame.text
    seen = basin.floor <= frame.size.height
    return basin.to_scale and not basin.beside and seen and basin.floor - basin.brim > 3.4 * text


def _depth(frame: Frame, bench: Bench) -> list[Item]:
    """Draw the dimension line of the reservoir's depth, at its right."""
    if not depth_shown(frame):
        return []
    basin, text, deep = frame.basin, frame.text, bench.project.reservoir.height.shown
    edge = basin.right + 0.7 * frame.wall
    x = edge + 0.9 * text + text_width(deep, text) / 2
    items: list[Item] = [
        Line((edge + 0.2 * text, y), (x + 0.5 * text, y), Role.QUIET, THIN * text) for y in (basin.brim, basin.floor)
    ]
    return items + dimension_line((x, basin.brim), (x, basin.floor), deep, text, tag="reservoir.height")


def _width_place(frame: Frame, bench: Bench) -> float:
    """Give the y of the width's dimension line: where nothing crosses it inside the tank, else under its stand."""
    text, inside = frame.text, _free_height(frame, bench)
    lines = _crossing(frame, bench)
    ground = frame.bottom + 1.9 * text
    room = frame.size.height if frame.basin.beside else frame.basin.brim
    clear = min(abs(inside - line) for line in lines) > 0.9 * text
    under = frame.profile.halves[0] >= 0.5 * frame.profile.widest and room - ground > 0.9 * text
    return inside if clear or not under else ground


def _crossing(frame: Frame, bench: Bench) -> list[float]:
    """Give the heights of the lines that run across the tank before a run."""
    start = bench.project.start
    levels = [bench.level_at(one.si) for one in (start.set_point, start.tank_volume)]
    return [frame.y(level) for level in (*levels, *(rung.level for rung in ladder(bench.rig)))]


def _free_height(frame: Frame, bench: Bench) -> float:
    """Give the y where the tank is widest and a dimension line is least disturbed by the lines of the ladder."""
    profile = frame.profile
    wide = next(h for h, w in zip(profile.heights, profile.halves, strict=True) if w >= profile.widest * (1 - 1e-9))
    lowest = frame.y(wide) - 1.3 * frame.text
    room = max(lowest - frame.y(profile.rim) - frame.text, 0.0)
    tried = [lowest - room * share / 20 for share in range(18)]
    lines = _crossing(frame, bench)
    gaps = [min(abs(y - line) for line in lines) for y in tried]
    return next((y for y, gap in zip(tried, gaps, strict=True) if gap > 0.8 * frame.text), tried[gaps.index(max(gaps))])


def _side_inset(frame: Frame, bench: Bench) -> list[Item]:
    """Draw a lying cylinder once more, small, from its side, so that its ends are seen."""
    side, text = side_view(bench.project.tank), frame.text
    if side is None:
        return []
    scale = min(9.0 * text / 2 / side.widest, 4.4 * text / side.rim)
    left, floor = frame.axis + 2.0 * text, frame.size.height - 0.8 * text
    middle = left + scale * side.widest
    corners = zip(side.heights, side.halves, strict=True)
    right = [(middle + scale * half, floor - scale * height) for height, half in corners]
    outline = [(2 * middle - x, y) for x, y in reversed(right)] + right
    words = ("seen from the side:", f"{bench.project.tank.ends} ends,", f"straight part {side.across}")
    x, y = middle + scale * side.widest + 1.2 * text, floor - scale * side.rim / 2 - 0.85 * text
    return [
        Polygon((*outline,), Role.WALL, Role.INK, FINE * text, tag="tank.length"),
        *(Text((x, y + 1.2 * text * at), line, text, Role.QUIET, tag="tank.length") for at, line in enumerate(words)),
    ]


def _instruments(frame: Frame, bench: Bench) -> list[Item]:
    """Draw the sensor, its dead zone, the switch, and their bubbles in one row above."""
    text, row = frame.text, frame.y(_highest(frame, bench)) - 3.4 * frame.text
    places: list[tuple[float, str, str]] = [(sensor_x(frame), bench.tag("T"), "sensor")]
    if bench.trip is not None:
        places.insert(0, (switch_x(frame), bench.tag("SHH"), "overflow_switch.trips_at"))
    reach = frame.pump_x + 2.2 * text, frame.axis - 2 * text
    spots = spread([place[0] for place in places], 4.4 * text, *reach)
    items: list[Item] = []
    for (x, tag, entry), spot in zip(places, spots, strict=True):
        foot = frame.y(bench.trip) if entry.startswith("overflow") and bench.trip is not None else row + 3.4 * text
        knee = row + 2.3 * text
        items.append(Polyline(((spot, row), (x, knee), (x, foot)), width=FINE * text, tag=entry))
        items += bubble((spot, row), tag, text, entry)
    if bench.trip is not None:
        items += _float(frame, (switch_x(frame), frame.y(bench.trip)))
    return items + _sensor(frame, bench) + _sensor_words(frame, bench, (max(spots) + 2.2 * text, row))


def _sensor_words(frame: Frame, bench: Bench, at: Point) -> list[Item]:
    """Say beside the sensor's bubble how high its face is, and what it can't see; clear of the ladder."""
    face, (x, y), text = bench.project.sensor.face_above_floor, at, frame.text
    if face is None:
        return []
    room = max(frame.axis + 1.8 * text - x, 9 * text)
    face_key, zone_key = "sensor.face_above_floor", "sensor.near_dead_zone"
    lines = [(line, Role.QUIET, face_key) for line in wrap(f"face {face.shown} above floor", text, room)]
    if bench.readable is not None and bench.project.sensor.near_dead_zone.si > 0:
        words = wrap(f"cannot see above {bench.length(bench.readable)}", text, room)
        lines += [(line, Role.ATTENTION, zone_key) for line in words]
    top = y + (1.0 - 1.2 * (len(lines) - 1)) * text
    top = max(top, 1.0 * text)
    return [
        Text((x, top + 1.2 * text * number), line, text, role, tag=tag)
        for number, (line, role, tag) in enumerate(lines)
    ]


def _highest(frame: Frame, bench: Bench) -> float:
    sensor, drain, pump = bench.project.sensor, bench.project.drain, bench.project.pump
    parts = (sensor.face_above_floor, drain.crest_above_floor, pump.fill_end_above_floor)
    reach = max([frame.profile.rim, *(part.si for part in parts if part)])
    return min(reach, 2 * frame.profile.rim)


def sensor_x(frame: Frame) -> float:
    """Give the x at which the sensor looks down."""
    return frame.middle + 0.1 * frame.half(0.6 * frame.profile.rim)


def switch_x(frame: Frame) -> float:
    """Give the x at which the overflow switch hangs."""
    return frame.middle - 0.42 * frame.half(0.9 * frame.profile.rim)


def _float(frame: Frame, at: Point) -> list[Item]:
    x, y, size = *at, frame.text
    shape = (
        (x - 0.7 * size, y),
        (x - 0.35 * size, y - 0.35 * size),
        (x + 0.35 * size, y - 0.35 * size),
        (x + 0.7 * size, y),
        (x + 0.35 * size, y + 0.35 * size),
        (x - 0.35 * size, y + 0.35 * size),
    )
    return [Polygon(shape, Role.CARD, Role.INK, FINE * size, tag="overflow_switch.trips_at")]


def _sensor(frame: Frame, bench: Bench) -> list[Item]:
    sensor, text, x = bench.project.sensor, frame.text, sensor_x(frame)
    if sensor.face_above_floor is None:
        return []
    face = sensor.face_above_floor
    y = frame.y(min(face.si, 2 * frame.profile.rim))
    if sensor.kind not in DISTANCE_SENSORS:
        box = (
            (x - 0.6 * text, y - 0.9 * text),
            (x + 0.6 * text, y - 0.9 * text),
            (x + 0.6 * text, y),
            (x - 0.6 * text, y),
        )
        return [
            Line((x, frame.y(_highest(frame, bench)) - 0.1 * text), (x, y - 0.9 * text), width=FINE * text),
            Polygon(box, Role.CARD, Role.INK, FINE * text, tag="sensor.face_above_floor"),
        ]
    head = (
        (x - 0.8 * text, y - 1.1 * text),
        (x + 0.8 * text, y - 1.1 * text),
        (x + 0.8 * text, y),
        (x - 0.8 * text, y),
    )
    items: list[Item] = [Polygon(head, Role.CARD, Role.INK, FINE * text, tag="sensor.face_above_floor")]
    return items + _dead_zone(frame, bench, (x, y))


def _dead_zone(frame: Frame, bench: Bench, face: Point) -> list[Item]:
    (x, y), text, readable = face, frame.text, bench.readable
    if readable is None or bench.project.sensor.near_dead_zone.si <= 0:
        return []
    low = frame.y(readable)
    zone = ((x - 1.3 * text, y), (x + 1.3 * text, y), (x + 1.3 * text, low), (x - 1.3 * text, low))
    return [
        Polygon(zone, Role.ATTENTION_TINT, Role.ATTENTION, THIN * text, Stroke.DASHED, tag="sensor.near_dead_zone"),
        Hatch(hatching(zone, 0.7 * text), Role.ATTENTION, THIN * text),
    ]
