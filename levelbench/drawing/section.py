"""The tank as a section to scale, with everything around it and the ladder of heights beside it.

    still = Section(rig)                       # laid out once; a window keeps it
    scene = still.at(SectionState(...))        # at every moment
    still.frame.y(level), still.frame.level(y) # for dragging

Every item that stands for an entry of the project carries its key as `tag` ("bands.high.limit",
"overflow_switch.trips_at"); the working set point carries "start.set_point", the PV "pv", the surface "level".
"""

from levelbench.alarms.ladder import ladder
from levelbench.drawing.body import body
from levelbench.drawing.column import ladder_items, limit_lines, rows
from levelbench.drawing.deviation import deviation_bracket
from levelbench.drawing.flow_marks import flow_marks
from levelbench.drawing.frame import PAPER_SECTION, Frame, Size, fitting, frame
from levelbench.drawing.plumbing import liquid, plumbing
from levelbench.drawing.scene import Item, Scene
from levelbench.drawing.state import SectionState, start_state
from levelbench.rig import Rig
from levelbench.rig.bench import Bench


class Section:
    """The section of one rig in one size: the still parts drawn once, the moving parts at every moment.

    A window may give a `laid` frame of its own, zoomed and moved; what then reaches beyond the scale is cut off there
    (`reach`), and labels of what lies above or below the drawing stay at its edge.
    """

    def __init__(self, rig: Rig, size: Size = PAPER_SECTION, laid: Frame | None = None) -> None:
        self.bench = Bench(rig)
        self.frame: Frame = laid or frame(rig, size)
        self._rungs = ladder(rig)
        self.still = self._scene(body(self.frame, self.bench))

    @property
    def reach(self) -> float:
        """The x up to which tank, tubes and reservoir are seen."""
        return self.frame.axis

    def under(self, state: SectionState) -> Scene:
        """Give the liquid, which is painted before the still parts."""
        return self._scene(liquid(self.frame, self.bench, state))

    def moving(self, state: SectionState) -> Scene:
        """Give limits, tubes, valve and pump, which are painted after the still parts."""
        return self._scene(
            [
                *limit_lines(self.frame, rows(self.bench, self._rungs, state)),
                *plumbing(self.frame, self.bench, state),
                *flow_marks(self.frame, self.bench, state),
                *deviation_bracket(self.frame, self.bench, state),
            ]
        )

    def beside(self, state: SectionState, around: Scene) -> Scene:
        """Give scale, PV and ladder, clear of the texts of what is drawn around the tank."""
        every = rows(self.bench, self._rungs, state)
        return self._scene(ladder_items(self.frame, self.bench, every, state, (*self.still.items, *around.items)))

    def over(self, state: SectionState) -> Scene:
        """Give everything that is painted after the still parts."""
        moving = self.moving(state)
        return self.beside(state, moving).over(moving)

    def at(self, state: SectionState) -> Scene:
        """Give the whole drawing of one moment."""
        return self.over(state).over(self.still.over(self.under(state)))

    def _scene(self, items: list[Item]) -> Scene:
        size = self.frame.size
        return Scene(size.width, size.height, tuple(items), f"{self.bench.project.title}: section to scale")


def section(rig: Rig, state: SectionState | None = None, size: Size = PAPER_SECTION) -> Scene:
    """Draw a rig at one moment, or as it stands before it is started, no higher than it needs to be."""
    return Section(rig, fitting(rig, size, len(ladder(rig)) + 1)).at(state or start_state(rig))
