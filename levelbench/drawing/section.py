"""The tank as a section to scale, with everything around it and the ladder of heights beside it.

    still = Section(rig)                       # laid out once; a window keeps it
    scene = still.at(SectionState(...))        # ten times a second
    still.frame.y(level), still.frame.level(y) # for dragging

Every item that stands for an entry of the project carries its key as `tag` ("bands.high.limit",
"overflow_switch.trips_at"); the working set point carries "start.set_point", the PV "pv", the surface "level".
"""

from levelbench.drawing.body import body
from levelbench.drawing.column import ladder_items, limit_lines, rows
from levelbench.drawing.frame import PAPER_SECTION, Frame, Size, fitting, frame
from levelbench.drawing.plumbing import liquid, plumbing
from levelbench.drawing.scene import Item, Scene
from levelbench.drawing.state import SectionState, start_state
from levelbench.review.bench import Bench
from levelbench.review.ladder import ladder
from levelbench.rig import Rig


class Section:
    """The section of one rig in one size: the still parts drawn once, the moving parts at every moment."""

    def __init__(self, rig: Rig, size: Size = PAPER_SECTION) -> None:
        self.bench = Bench(rig)
        self.frame: Frame = frame(rig, size)
        self._rungs = ladder(rig)
        self.still = self._scene(body(self.frame, self.bench))

    def under(self, state: SectionState) -> Scene:
        """Give the liquid, which is painted before the still parts."""
        return self._scene(liquid(self.frame, self.bench, state))

    def over(self, state: SectionState) -> Scene:
        """Give tubes, valve, pump, ladder and PV, which are painted after the still parts."""
        every = rows(self.bench, self._rungs, state)
        items = plumbing(self.frame, self.bench, state)
        column = ladder_items(self.frame, self.bench, every, state, (*self.still.items, *items))
        return self._scene([*limit_lines(self.frame, every), *items, *column])

    def at(self, state: SectionState) -> Scene:
        """Give the whole drawing of one moment."""
        return self.over(state).over(self.still.over(self.under(state)))

    def _scene(self, items: list[Item]) -> Scene:
        size = self.frame.size
        return Scene(size.width, size.height, tuple(items), f"{self.bench.project.title}: section to scale")


def section(rig: Rig, state: SectionState | None = None, size: Size = PAPER_SECTION) -> Scene:
    """Draw a rig at one moment, or as it stands before it is started, no higher than it needs to be."""
    return Section(rig, fitting(rig, size, len(ladder(rig)) + 1)).at(state or start_state(rig))
