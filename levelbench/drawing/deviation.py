"""The deviation limit: a bracket about the set point, as far up and down as the PV may be away from it."""

from levelbench.drawing.frame import Frame
from levelbench.drawing.measure import text_width
from levelbench.drawing.scene import Anchor, Item, Line, Polygon, Role, Text
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
        words = f"deviation ± {band.limit.shown}"
        at = max(x, frame.left + text_width(words, text, bold=True)), high - 0.7 * text
        items.append(Text(at, words, text, Role.ATTENTION, Anchor.END, True, True, DEVIATION))
        items.append(Line((x, high), (at[0], at[1] + 0.3 * text), Role.ATTENTION, THIN * text))
    return items
