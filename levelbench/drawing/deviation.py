"""The deviation limit: a bracket about the set point, as far up and down as the PV may be away from it."""

from levelbench.drawing.frame import Frame
from levelbench.drawing.plumbing import drain_run
from levelbench.drawing.scene import Anchor, Item, Line, Point, Polygon, Role, Text
from levelbench.drawing.state import SectionState
from levelbench.drawing.strokes import FINE, THIN
from levelbench.rig.bench import Bench

DEVIATION = "bands.deviation.limit"


def deviation_bracket(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Give the bracket with a square at each end to hold it by; nothing where there is no such limit."""
    band = bench.project.bands.deviation
    if band is None:
        return []
    text, chosen = frame.text, state.selected == DEVIATION
    low, high = (frame.y(bench.level_at(state.set_point + side * band.limit.si)) for side in (-1, 1))
    x = frame.middle + 0.34 * frame.half(bench.level_at(state.set_point))
    width = (2.0 if chosen else 1.2) * FINE * text
    items: list[Item] = [
        Line((x, low), (x, high), Role.ATTENTION, width, tag=DEVIATION),
        Line((x, low), (x - 0.7 * text, low), Role.ATTENTION, width, tag=DEVIATION),
        Line((x, high), (x - 0.7 * text, high), Role.ATTENTION, width, tag=DEVIATION),
    ]
    half = 0.3 * text
    for y in (low, high):
        square = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
        items.append(Polygon(square, Role.CARD, Role.ATTENTION, (1.0 if chosen else 0.6) * FINE * text, tag=DEVIATION))
    if chosen:
        items += _words(frame, bench, band.limit.shown, (x, high))
    return items


def _words(frame: Frame, bench: Bench, limit: str, at: Point) -> list[Item]:
    """Say the limit over the bracket, left of a tube that dips into the liquid."""
    text, (x, y) = frame.text, at
    tubes = [place[0] for place in drain_run(frame, bench) if place[0] < frame.right and place[1] < frame.floor]
    edge = min(tubes, default=frame.right) - 0.8 * text
    lines = ("deviation", f"± {limit}")
    first = y - 2.0 * text
    return [
        *(
            Text((edge, first + 1.2 * text * number), line, text, Role.ATTENTION, Anchor.END, True, True, DEVIATION)
            for number, line in enumerate(lines)
        ),
        Line((x, y), (min(x, edge), first + 1.5 * text), Role.ATTENTION, THIN * text),
    ]
