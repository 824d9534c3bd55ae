"""The wide place of a search: the curve, and under it the chosen settings beside the present ones."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from levelbench.gui.look.parts import column, holder, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.response_plot import ResponsePlot
from levelbench.gui.tuning.search_curve import SearchCurve
from levelbench.gui.ways.curve_view import CurveView
from levelbench.gui.work.jobs import Job, Progress
from levelbench.tuning.search.answer import answers_of

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.tuning.prediction import Response
    from levelbench.tuning.search import Candidate, Found

    Pairs = tuple[tuple[Response, Response], tuple[Response | None, Response | None]]

_PLOTS = 272  # px: the narrowest in which the key of a plot stands beside its title
_FIRST = (
    "Press Search on the card. What comes is a curve: how fast the loop can be, against how busy the pump is for it. "
    "Each point is a set of settings that no other beats in both, and that keeps what you asked all over the box."
)


class SearchView(CurveView["Found"]):
    """Shows an answer; says when settings are to be taken."""

    def __init__(self) -> None:
        curve, take = SearchCurve(), ("Take these settings", "put the chosen settings into the project, one step")
        super().__init__(curve, _FIRST, take)
        self.curve = curve
        self._units: Units | None = None
        self.corners = text("", "small", wrap=True)
        self.step, self.load = ResponsePlot("step"), ResponsePlot("load")
        plots = holder(column(self.step, self.load, self.corners, None, gap=GRID // 2))
        plots.setFixedWidth(_PLOTS)
        self.place(plots)
        self.curve.chosen.connect(self._show_chosen)

    @property
    def chosen(self) -> Candidate | None:
        """The settings that are chosen; where nothing keeps the limits, the nearest."""
        if self.found is None:
            return None
        at = self.curve.at
        return self.found.nearest if at is None else self.found.front[at]

    def show_found(self, found: Found, shown_in: Units) -> None:
        """Show an answer, its proposed settings chosen."""
        self._units = shown_in
        self.take_up(found, found.why)
        self.table.show_figures(found.present.figures, shown_in)
        self.curve.show_found(found, shown_in)
        if not found.front:
            self._show_chosen()
        self.show_parts(curve=bool(found.front), chosen=self.chosen is not None)
        self.take.setVisible(bool(found.front))

    def _show_chosen(self) -> None:
        one, found = self.chosen, self.found
        assert one is not None
        assert found is not None
        name = "Nearest" if not found.front else "Proposed" if self.curve.at == found.picked else "Chosen"
        self.settings.setText(f"{name}:  " + " · ".join(f"{name} {words}" for name, words in one.words))
        self.table.compare(one.figures)
        step, load = (found.scenarios[one.worst[key]].name for key in ("settling", "deviation"))
        self.corners.setText(f"Step in its worst corner for settling: {step}. Load in its worst for deviation: {load}.")
        Job(self, partial(_run, found, one), self._show_answers, lambda _error: None, key="answers")

    def _show_answers(self, pairs: Pairs) -> None:
        assert self._units is not None
        (now, then), (now_load, then_load) = pairs
        self.step.show_lines(now, then, self._units.volume)
        self.load.setVisible(now_load is not None)
        if now_load is not None:
            self.load.show_lines(now_load, then_load, self._units.volume)


def _run(found: Found, one: Candidate, _progress: Progress) -> Pairs:
    """Run the present and the chosen settings in the chosen one's worst corners."""
    loops = (found.present.loop, one.loop)
    step, load = (found.scenarios[one.worst[key]] for key in ("settling", "deviation"))
    now, then = (answers_of(step, loop)[0] for loop in loops)
    now_load, then_load = (answers_of(load, loop)[1] for loop in loops)
    return (now, then), (now_load, then_load)
