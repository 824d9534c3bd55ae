"""Filling: what to do where the drain is shut and too much stays; PI and a learning cut-off, run on this rig."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QButtonGroup, QWidget

from levelbench.drawing.evidence import filling_picture
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, choice, clear, column, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.on_rig import OnRig
from levelbench.gui.ways.picture_view import EvidenceView
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.jobs import Job
from levelbench.gui.work.slices import Slices
from levelbench.project import units
from levelbench.quantity import Dimension, written
from levelbench.rig import Cancelled
from levelbench.tuning.filling import Filling as Found
from levelbench.tuning.filling import Size, fill

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.rig import Rig

D = Dimension
_SAYS = (
    "With the drain shut an overshoot stays: the pump can only add. The PI with several set point weights and a "
    "cut-off that learns from fill to fill do the same fills, on rigs whose flow and delay differ from the entered."
)
_WAITING = "The fills of this rig, way by way, come here."
_STOPPED = "You stopped this. Choose this way again, or change the project, to begin it anew."
_HEAD = ("way of filling", "ends off by", "95 % within", "spread", "time", "starts")


class Filling(OnRig):
    """The verdict and the cut-off's equation on the card; the runs over each other and the table in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._filled: Rig | None = None
        self._found: Found | None = None
        self._size = -1
        self.view = EvidenceView(_WAITING, "fills over time", "fills")
        self.verdict, self.words = text("", "strong", wrap=True), text("", wrap=True)
        self.equation = [text("", wrap=True, selectable=True) for _ in range(2)]
        self.learned = text("", "small", wrap=True)
        self.sizes, self._group = row(gap=4), QButtonGroup(self)
        self._figures, self._slices = column(gap=GRID - 2), Slices(self)
        self.take = button("", self._take, "main", "put the set point weight into the project, one step")
        self._build()
        self.wide = self.view
        self.job_line.stopped.connect(self._stopped)
        self.follow()

    def _build(self) -> None:
        parts: list[QWidget] = [
            self.verdict, holder(self.sizes), self.words, line(),
            text("The cut-off, as it is programmed", "subheading"), *self.equation, self.learned, holder(self._figures),
        ]  # fmt: skip
        self._shown = parts
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        for part in parts:
            self.body.addWidget(part)
            part.hide()
        self.body.addStretch(1)
        self.foot.addLayout(row(self.take, None))
        self.take.hide()

    def forget(self) -> None:
        """Show nothing of the fills of the project before."""
        self._filled = self._found = None
        for part in self._shown:
            part.hide()
        self.take.hide()
        self.view.forget()

    def take_up(self, rig: Rig) -> None:
        """Fill this rig in every way, when it is another since the last time."""
        if rig is not self._filled:
            self._filled = rig
            work = Job(self, partial(fill, rig), self._show, self.failed, key="filling", title="filling")
            self.follow_work(work)

    def chosen(self) -> None:
        """Begin again what was stopped."""
        self.when_seen(self._take_up)

    def _stopped(self) -> None:
        self._filled = None
        self.view.forget(_STOPPED)

    def failed(self, error: Exception) -> None:
        """Say in the wide place what became of the fills."""
        self.forget()
        if not isinstance(error, Cancelled):
            self.view.forget(f"■ {words_of(error)}")

    def _show(self, found: Found) -> None:
        self._found = found
        shown_in = units(self.document.project)
        self.verdict.setText(found.verdict)
        for label, words in zip(self.equation, found.equation, strict=True):
            label.setText(words)
        first = ", ".join(shown_in.show(one, D.VOLUME, found.tolerance / 100) for one in found.learned[:6])
        self.learned.setText(f"Begun at the set point itself, the mean error of fill 1, 2, … is {first}.")
        clear(self._figures)
        self._slices.do(
            partial(lambda one: self._figures.addWidget(FigureRow(one, shown_in)), one) for one in found.figures
        )
        self._offer_sizes(found)
        for part in self._shown:
            part.show()
        self._show_size(len(found.sizes) - 1)

    def _offer_sizes(self, found: Found) -> None:
        clear(self.sizes)
        shown_in = units(self.document.project)
        self.sizes.addWidget(text("a fill of", "small"))
        for at, one in enumerate(found.sizes):
            span = shown_in.show(one.high - one.low, D.VOLUME, found.tolerance)
            made = choice(span, partial(self._show_size, at), f"show a fill of {span}", f"show the fills of {span}")
            made.setChecked(at == len(found.sizes) - 1)
            self._group.addButton(made)
            self.sizes.addWidget(made)
        self.sizes.addStretch(1)

    def _show_size(self, at: int) -> None:
        found = self._found
        assert found is not None
        self._size, one, shown_in = at, found.sizes[at], units(self.document.project)
        self.words.setText(one.words)
        rows = [(each.way.name, *(shown_in.tell(figure) for figure in each.figures)) for each in one.rows]
        ends = [shown_in.show(each, D.VOLUME, found.tolerance / 10) for each in (one.low, one.high)]
        self.view.show_found(
            f"From {ends[0]} to {ends[1]}, the drain shut. One fill of the rig as entered; the table has all of them.",
            partial(filling_picture, found, one, shown_in),
            _HEAD,
            rows,
            one.rows.index(one.wins),
        )
        self._offer(one)

    def _offer(self, one: Size) -> None:
        """Offer the weight of the best PI, where the project has another."""
        weight = one.best_pi.way.weight
        other = one.best_pi is not one.rows[0] and weight is not None
        self.take.setVisible(other)
        if other and weight is not None:
            self.take.setText(f"Take b = {written(weight, 'g')}, the best of the PI")

    def _take(self) -> None:
        """Put the weight of the best PI into the project."""
        if self._found is not None:
            weight = self._found.sizes[self._size].best_pi.way.weight
            self.edit({"loop_settings.set_point_weight": str(weight)}, "take the set point weight of the best fill")
