"""The wide place of the noise: the trade-off, and under it the chosen dead band and delays beside the present ones."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox

from levelbench.alarms.why import why
from levelbench.gui.bands.noise_curve import NoiseCurve
from levelbench.gui.bands.noise_spectrum import NoiseSpectrum
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import clear, column, holder, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.curve_view import SIDE, CurveView
from levelbench.gui.work.slices import Slices
from levelbench.quantity import in_marks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.answer import Design
    from levelbench.alarms.candidate import Candidate
    from levelbench.alarms.grid import Choice
    from levelbench.gui.bands.noise_spectrum import Spectrum
    from levelbench.quantity import Figure, Units

_FIRST = (
    "Press Work it out on the card. What comes is a curve: how often a limit would come while the PV creeps through "
    "it, against how long the alarm is wrong about a true excursion. Each line is a dead band, each point on it an "
    "on-delay."
)


class NoiseView(CurveView["Design"]):
    """Shows an answer; says when a choice is to be taken."""

    def __init__(self) -> None:
        curve, take = NoiseCurve(), ("Take it", "put the chosen dead band and delays into the project, one step")
        super().__init__(curve, _FIRST, take)
        self.curve, self.spectrum = curve, NoiseSpectrum()
        self.state = text("", "attention", wrap=True)
        self.limit, self.off = QComboBox(), QComboBox()
        self.noise = column(gap=GRID // 2)
        self._slices = Slices(self)
        self.check = text("", "small", wrap=True, selectable=True)
        self._build()
        self.curve.chosen.connect(self._show_chosen)

    def _build(self) -> None:
        for box, name in ((self.limit, "limit that is tried"), (self.off, "off-delay that is tried")):
            box.setAccessibleName(name)
            box.activated.connect(lambda _at: self._elsewhere())
        side = holder(column(self.spectrum, holder(self.noise), self.check, None, gap=GRID // 2))
        side.setFixedWidth(SIDE)
        beside = scrolling(side)
        beside.setFixedWidth(SIDE + beside.verticalScrollBar().sizeHint().width() + 2)  # so that its bar covers nothing
        tried = row(text("limit", "quiet"), self.limit, text("off-delay", "quiet"), self.off, None)
        self.place(beside, tried, self.state)

    @property
    def chosen(self) -> Candidate | None:
        """The choice whose figures are shown."""
        if self.found is None or self.curve.at is None:
            return None
        return self.found.candidate(self.curve.at)

    def show_found(self, found: Design, spectrum: Spectrum, shown_in: Units) -> None:
        """Show an answer, what it proposes chosen."""
        self.take_up(found, in_marks(why(found)))
        axes = found.grid.axes
        at = found.picked or found.present or (0, 0, 0, 0)
        _fill(self.limit, axes.limits, at[0])
        _fill(self.off, axes.offs, at[3])
        present = found.present if found.present is not None else at
        self.table.show_figures(found.candidate(present).figures, shown_in)
        self.spectrum.show_spectrum(spectrum)
        self._show_noise(found, shown_in)
        self.show_parts(curve=True, chosen=True)
        self.curve.show_found(found, at)

    def _show_noise(self, found: Design, shown_in: Units) -> None:
        """Show what is known of the noise and of the limit, a line in a turn of the event loop."""
        self._slices.do(())
        clear(self.noise)
        for note in found.spread.notes:
            self.noise.addWidget(text(f"▲ {in_marks(note)}", "attention", wrap=True))
        check = found.check
        if check is not None:
            agree = "● Closed form and count agree" if check.agrees else "▲ Closed form and count differ"
            self.check.setText(f"{agree} (99 %); the noise {found.spread.kind}.")
        self.check.setVisible(check is not None)
        figures = (*found.spread.figures(shown_in), *found.purpose.figures(), *(check.figures if check else ()))
        self._slices.do(partial(self._add, one, shown_in) for one in figures)

    def _add(self, figure: Figure, shown_in: Units) -> None:
        self.noise.addWidget(FigureRow(figure, shown_in))

    def _elsewhere(self) -> None:
        """Show the lines of another limit or off-delay."""
        if self.found is not None and self.curve.at is not None:
            _, band, on, _ = self.curve.at
            self.curve.show_found(self.found, (self.limit.currentIndex(), band, on, self.off.currentIndex()))

    def _show_chosen(self) -> None:
        one, found = self.chosen, self.found
        assert one is not None
        assert found is not None
        name = "Proposed" if one.at == found.picked else "As it is" if one.at == found.present else "Chosen"
        self.settings.setText(in_marks(f"{name}:  " + " · ".join(f"{name} {words}" for name, words in one.words)))
        self.state.setText(f"▲ It is not proposed: {one.refused}." if one.refused else "")
        self.state.setVisible(bool(one.refused))
        self.table.compare(None if one.at == found.present else one.figures)
        self.take.setEnabled(bool(one.edits))


def _fill(box: QComboBox, every: Sequence[Choice], at: int) -> None:
    """Put choices into a box, one of them chosen."""
    box.clear()
    box.addItems([in_marks(one.shown) for one in every])
    box.setCurrentIndex(at)
