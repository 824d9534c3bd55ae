"""Noise: how the PV scatters near a limit, of the rig or of a record, and the dead band and delays that it asks for."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox

from levelbench.alarms.design import design, spread_near
from levelbench.alarms.purpose import DESIGNED, Purpose, purpose_of
from levelbench.gui.bands.noise_form import NoiseForm
from levelbench.gui.bands.noise_spectrum import Spectrum, spectrum_of
from levelbench.gui.bands.noise_view import NoiseView
from levelbench.gui.document.file_drop import ask_for_record
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.ways.on_rig import Asked, Work
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import units
from levelbench.quantity import LevelBenchError
from levelbench.records import look, read_measured

if TYPE_CHECKING:
    from pathlib import Path

    from levelbench.alarms.answer import Design
    from levelbench.alarms.candidate import Candidate
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.records import Measured
    from levelbench.rig import Rig

_SAYS = (
    "How the PV scatters near a limit decides how wide its dead band and how long its delays must be. Every choice is "
    "tried on the noise: how many alarms a slow crossing makes, and how late it tells of a true excursion."
)
_OF_RIG = "The noise is the rig's own, simulated with the liquid at the limit."
_SIMULATED = 0.25  # share of the work that the simulation is


class Noise(Asked[tuple["Design", Spectrum]]):
    """The limit, where its noise comes from and what it is for on the card, the trade-off in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        go = "Work it out", "try every dead band and delay on the noise; some seconds"
        super().__init__(document, answers, go)
        self.view, self.form = NoiseView(), NoiseForm()
        self.limits = QComboBox()
        self.measured: Measured | None = None
        self.of = text(_OF_RIG, "small", wrap=True)
        self.choose = button("Take it from a record …", self._ask, "", "choose a file of time, PV and output")
        self.simulate = button("Back to the rig's own", self._back, "link", "simulate the noise again")
        self._shown: Design | None = None
        self._build()
        self.limits.activated.connect(lambda _at: self._another_limit())
        self.view.wanted.connect(self._take)
        self.wide = self.view
        self.follow()

    def _build(self) -> None:
        self.limits.setAccessibleName("limit to design")
        for alarm in DESIGNED:
            self.limits.addItem(alarm.replace("_", "-"), alarm)
        self.limits.setCurrentIndex(DESIGNED.index("high"))
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addLayout(row(text("limit", "quiet"), self.limits, None))
        self.body.addWidget(self.of)
        self.body.addLayout(row(self.choose, self.simulate, None))
        self.body.addWidget(self.form)
        self.body.addStretch(1)
        self.simulate.hide()

    @property
    def alarm(self) -> str:
        """The key of the limit in hand."""
        return str(self.limits.currentData())

    # the work ----------------------------------------------------------------------------------------------------

    def work(self, rig: Rig) -> Work[tuple[Design, Spectrum]]:
        """Try every choice on the noise. Raises QuantityError of a box, or LevelBenchError for limits in disorder."""
        purpose = self.form.asked(purpose_of(rig, self.alarm))
        return Work(partial(_work, rig, purpose, self.measured), "trying it on the noise")

    def show_answer(self, found: tuple[Design, Spectrum]) -> None:
        """Show the trade-off and the spectrum, unless another limit was taken in hand meanwhile."""
        if found[0].alarm != self.alarm:
            return
        self._shown, spectrum = found
        self.view.show_found(self._shown, spectrum, units(self._shown.rig.project))
        if self._shown.rig is not self.rig:
            self.view.outdated()

    def _take(self, chosen: Candidate) -> None:
        name = self.alarm.replace("_", "-")
        self.edit(chosen.edits, f"take dead band and delays of {name} from its noise")

    # where the noise comes from ----------------------------------------------------------------------------------

    def _ask(self) -> None:
        path = ask_for_record(self)
        if path is not None:
            self.take_file(path)

    def take_file(self, path: Path) -> None:
        """Take the noise from a record; its columns are taken as they are guessed."""
        rig = self.rig
        if rig is None:
            self.say()
            return

        def read(progress: Progress) -> tuple[Measured, tuple[str, ...]]:
            guess = look(path)
            return read_measured(path, guess.columns, rig, progress), tuple(guess.questions)

        job = Job(self, read, self._have, self.failed, key="record", title="reading")
        self.follow_work(job)

    def _have(self, read: tuple[Measured, tuple[str, ...]]) -> None:
        self.measured, asked = read
        doubts = "".join(f"\n▲ {one}" for one in asked)
        self.of.setText(f"The noise is that of the record {self.measured.name}.{doubts}")
        self.simulate.show()
        self.state.setText("")

    def _back(self) -> None:
        self.measured = None
        self.of.setText(_OF_RIG)
        self.simulate.hide()

    # what the project says ---------------------------------------------------------------------------------------

    def _another_limit(self) -> None:
        """Another limit is in hand: what was typed for the one before is gone."""
        self.form.forget()
        self.view.forget()
        self._shown = None
        self._take_up()
        self.looked_at.emit(f"bands.{self.alarm}.limit")

    def take_up(self, rig: Rig) -> None:
        """Propose what the rig gives for the boxes, or say why its limits serve for nothing."""
        try:
            found = purpose_of(rig, self.alarm)
        except LevelBenchError as error:
            self.state.setText(f"■ {error}")
            return
        self.form.propose(found, units(rig.project))
        if self._shown is not None and self._shown.rig is not rig:
            self.view.outdated()

    def forget(self) -> None:
        """Show nothing of the project before."""
        self._shown = None
        self._back()
        self.form.forget()
        self.view.forget()


def _work(rig: Rig, purpose: Purpose, measured: Measured | None, progress: Progress) -> tuple[Design, Spectrum]:
    """Simulate or part the noise, and try every choice on it; on a working thread."""
    spread = spread_near(rig, purpose, measured, progress=lambda share: progress(_SIMULATED * share))
    found = design(rig, spread, purpose, progress=lambda share: progress(_SIMULATED + (1 - _SIMULATED) * share))
    return found, spectrum_of(spread)
