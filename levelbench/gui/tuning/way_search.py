"""Search: what is asked and what is not known go in, the curve of the settings that nothing beats comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.look.parts import button, row, text
from levelbench.gui.tuning.evidence_line import EvidenceLine
from levelbench.gui.tuning.search_form import SearchForm
from levelbench.gui.tuning.search_view import SearchView
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import units
from levelbench.quantity import QuantityError
from levelbench.rig import Cancelled
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


class Search(Way):
    """The boxes on the card, the curve in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.form, self.view, self.job_line = SearchForm(), SearchView(), JobLine()
        self.state = text("", "quiet", wrap=True)
        self.go = button("Search", self.begin, "main", "search with what stands in the boxes; some seconds")
        self._rig: Rig | None = None
        self._searched: Rig | None = None
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addWidget(EvidenceLine(answers.evidence))
        self.body.addWidget(self.form)
        self.body.addStretch(1)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)
        self.foot.addLayout(row(self.go, None))
        self.wide = self.view
        self.view.wanted.connect(self._take)
        answers.rig_changed.connect(self._new_rig)
        answers.state_changed.connect(lambda: self.when_seen(self._say))
        answers.evidence.changed.connect(lambda: self.when_seen(self._propose))
        document.replaced.connect(self._forget)
        if answers.checked is not None:
            self._new_rig(answers.checked.rig)
        self._say()

    def begin(self) -> None:
        """Search with what stands in the boxes."""
        rig = self._rig
        if rig is None:
            self._say()
            return
        try:
            box, limits, digits = self.form.asked()
        except QuantityError:
            return  # it says so itself
        self.go.setEnabled(False)
        self.state.setText("")
        job = Job(
            self,
            lambda progress: search(rig, box, limits, progress, digits=digits),
            self._show,
            self._failed,
            key="search",
            title="searching",
        )
        job.ended.connect(self._ended)
        self.job_line.follow(job)

    def _show(self, found: Found) -> None:
        self._searched = found.rig
        self.view.show_found(found, units(found.rig.project))
        if found.rig is not self._rig:
            self.view.outdated()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self.state.setText(f"■ {words_of(error)}")

    def _ended(self) -> None:
        self.go.setEnabled(self._rig is not None)

    def _take(self, chosen: Candidate) -> None:
        self.document.edit_several(dict(chosen.edits), "take the settings that a search found")

    def _new_rig(self, rig: Rig) -> None:
        self._rig = rig
        self.when_seen(self._propose)

    def _propose(self) -> None:
        if self._rig is not None:
            self.form.propose(self._box(self._rig), default_limits(self._rig), units(self._rig.project), DIGITS)
            if self._searched is not None and self._searched is not self._rig:
                self.view.outdated()
        self._say()

    def _box(self, rig: Rig) -> Box:
        """Give the box to start from: what a record says of the pump's flow and the delay, else what goes for any."""
        found = self.answers.evidence.found
        return default_box(rig) if found is None else box_from_record(rig, found.slopes, found.dead_times)

    def _forget(self, _project: object) -> None:
        """Another project is open: what was typed for the one before is gone."""
        self._rig = None
        self.form.as_proposed()

    def _say(self) -> None:
        trouble = self.answers.trouble
        waiting = self._rig is None and not trouble
        self.state.setText(f"■ {trouble}" if trouble else "The rig is being worked out." if waiting else "")
        self.go.setEnabled(self._rig is not None and not self.job_line.isVisible())
