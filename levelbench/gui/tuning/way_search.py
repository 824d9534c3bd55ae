"""Search: what is asked and what is not known go in, the curve of the settings that nothing beats comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.look.parts import text
from levelbench.gui.tuning.evidence_line import EvidenceLine
from levelbench.gui.tuning.search_form import SearchForm
from levelbench.gui.tuning.search_view import SearchView
from levelbench.gui.ways.on_rig import Asked, Work
from levelbench.project import units
from levelbench.tuning.search import box_from_record, default_box, default_limits, search
from levelbench.tuning.search.target import DIGITS

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.rig import Rig
    from levelbench.tuning.search import Box, Candidate, Found

_SAYS = (
    "Tries some hundreds of PI settings on this very rig, in every corner of what is not known of it, and gives those "
    "that are fast, calm and keep what is asked."
)


class Search(Asked["Found"]):
    """The boxes on the card, the curve in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers, ("Search", "search with what stands in the boxes; some seconds"))
        self.form, self.view = SearchForm(), SearchView()
        self._searched: Rig | None = None
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addWidget(EvidenceLine(answers.evidence))
        self.body.addWidget(self.form)
        self.body.addStretch(1)
        self.wide = self.view
        self.view.wanted.connect(self._take)
        answers.evidence.changed.connect(lambda: self.when_seen(self._take_up))
        self.follow()

    def work(self, rig: Rig) -> Work[Found]:
        """Search with what stands in the boxes."""
        box, limits, digits = self.form.asked()
        return Work(lambda progress: search(rig, box, limits, progress, digits=digits), "searching")

    def show_answer(self, found: Found) -> None:
        """Show the curve."""
        self._searched = found.rig
        self.view.show_found(found, units(found.rig.project))
        if found.rig is not self.rig:
            self.view.outdated()

    def _take(self, chosen: Candidate) -> None:
        self.edit(chosen.edits, "take the settings that a search found")

    def take_up(self, rig: Rig) -> None:
        """Propose what the rig gives for the boxes."""
        self.form.propose(self._box(rig), default_limits(rig), units(rig.project), DIGITS)
        if self._searched is not None and self._searched is not rig:
            self.view.outdated()

    def _box(self, rig: Rig) -> Box:
        """Give the box to start from: what a record says of the pump's flow and the delay, else what goes for any."""
        found = self.answers.evidence.found
        return default_box(rig) if found is None else box_from_record(rig, found.slopes, found.dead_times)

    def forget(self) -> None:
        """Show nothing of what was typed and found for the project before."""
        self._searched = None
        self.form.as_proposed()
        self.view.forget()
