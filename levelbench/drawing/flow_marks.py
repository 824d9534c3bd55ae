"""Marks that travel in the tubes while liquid moves in them: a still picture of a flow looks like a stopped one."""

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from levelbench.drawing.frame import Frame
from levelbench.drawing.plumbing import FLOWS, drain_run, fill_runs
from levelbench.drawing.scene import Item, Point, Role
from levelbench.drawing.state import SectionState
from levelbench.drawing.strokes import arrow
from levelbench.rig.bench import Bench

APART = 4.0  # distance of two marks, in text sizes
SIZE = 0.62  # of a mark, in text sizes


def flow_marks(frame: Frame, bench: Bench, state: SectionState) -> list[Item]:
    """Give the marks of everything that flows at this moment."""
    items: list[Item] = []
    if state.pump_flow > FLOWS:
        for run in fill_runs(frame, bench):
            items += _along(run, state.fill_way, frame.text, "pump")
    run = drain_run(frame, bench)
    if state.drain_flow > FLOWS and run:
        items += _along(run, state.drain_way, frame.text, "drain.inlet_above_floor")
    return items


def _along(run: Sequence[Point], way: float, text: float, tag: str) -> list[Item]:
    """Give arrow heads along a path, `APART` from each other, `way` further on; none where one would leave it."""
    items: list[Item] = []
    wanted, gone = (way % APART) * text + 0.6 * text, 0.0
    end = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(run)) - 0.3 * text
    for start, stop in pairwise(run):
        dx, dy = stop[0] - start[0], stop[1] - start[1]
        length = hypot(dx, dy)
        while length and wanted <= min(gone + length, end):
            share = (wanted - gone) / length
            tip = (start[0] + share * dx, start[1] + share * dy)
            items.append(arrow(tip, (dx, dy), SIZE * text, Role.WATER_LINE, tag))
            wanted += APART * text
        gone += length
    return items
