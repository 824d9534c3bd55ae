"""Noise: how the PV scatters near a limit, of the rig or of a record, and the dead band and delays that it asks for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox, QFileDialog

from levelbench.alarms.design import design, spread_near
from levelbench.alarms.purpose import DESIGNED, Purpose, purpose_of
from levelbench.gui.bands.noise_form import NoiseForm
from levelbench.gui.bands.noise_spectrum import Spectrum, spectrum_of
from levelbench.gui.bands.noise_view import NoiseView
from levelbench.gui.document.file_drop import RECORDS
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import units
from levelbench.quantity import LevelBenchError, QuantityError
from levelbench.records import look, read_measured
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from levelbench.alarms.answer import Design
    from levelbench.alarms.candidate import Candidate
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.records import Measured
    from levelbench.rig import Rig

KINDS = f"Tables of text ({' '.join(f'*{suffix}' for suffix in RECORDS)});;All files (*)"
_SAYS = (
    "How the PV scatters near a limit decides how wide its dead band and how long its delays must be. Every choice is "
    "tried on the noise: how many alarms a slow crossing makes, and how late it tells of a true excursion."
)
_OF_RIG = "The noise is the rig's own, simulated with the liquid at the limit."
_SIMULATED = 0.25  # share of the work that the simulation is


class Noise(Way):
    """The limit, where its noise comes from and what it is for on the card, the trade-off in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.view, self.job_line = NoiseView(), JobLine()
        self.limits = QComboBox()
        self.measured: Measured | None = None
        self.of = text(_OF_RIG, "small", wrap=True)
        self.choose = button("Take it from a record …", self._ask, "", "choose a file of time, PV and output")
        self.simulate = button("Back to the rig's own", self._back, "link", "simulate the noise again")
        self.form = NoiseForm()
        self.state = text("", "quiet", wrap=True)
        self.go = button("Work it out", self.begin, "main", "try every dead band and delay on the noise; some seconds")
        self._rig: Rig | None = None
        self._shown: Design | None = None
        self._told = ""  # what was said of the rig, which is gone when the rig is there
        self._build()
        self._connect()
        self.wide = self.view
        if answers.checked is not None:
            self._new_rig(answers.checked.rig)
        self._say()

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
        for part in (self.state, self.job_line):
            self.foot.addWidget(part)
        self.foot.addLayout(row(self.go, None))
        self.simulate.hide()

    def _connect(self) -> None:
        self.limits.activated.connect(lambda _at: self._another())
        self.view.wanted.connect(self._take)
        self.answers.rig_changed.connect(self._new_rig)
        self.answers.state_changed.connect(lambda: self.when_seen(self._say))
        self.document.replaced.connect(self._forget)

    @property
    def alarm(self) -> str:
        """The key of the limit in hand."""
        return str(self.limits.currentData())

    # the work ----------------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Work it out with what stands in the boxes."""
        rig, measured = self._rig, self.measured
        if rig is None:
            self._say()
            return
        try:
            purpose = self.form.asked(purpose_of(rig, self.alarm))
        except QuantityError:
            return  # it says so itself
        except LevelBenchError as error:
            self.state.setText(f"■ {error}")
            return
        self.go.setEnabled(False)
        self.state.setText("")
        job = Job(
            self,
            lambda progress: _work(rig, purpose, measured, progress),
            self._show,
            self._failed,
            key="noise",
            title="trying it on the noise",
        )
        job.ended.connect(self._ended)
        self.job_line.follow(job)

    def _show(self, answer: tuple[Design, Spectrum]) -> None:
        found, spectrum = answer
        self._shown = found
        self.view.show_found(found, spectrum, units(found.rig.project))
        if found.rig is not self._rig:
            self.view.outdated()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self.state.setText(f"■ {words_of(error)}")

    def _ended(self) -> None:
        self.go.setEnabled(self._rig is not None)

    def _take(self, chosen: Candidate) -> None:
        name = self.alarm.replace("_", "-")
        self.document.edit_several(dict(chosen.edits), f"take dead band and delays of {name} from its noise")

    # where the noise comes from ----------------------------------------------------------------------------------

    def _ask(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a record", "", KINDS)
        if chosen:
            self.take_file(Path(chosen))

    def take_file(self, path: Path) -> None:
        """Take the noise from a record; its columns are taken as they are guessed."""
        rig = self._rig
        if rig is None:
            self._say()
            return

        def read(progress: Progress) -> tuple[Measured, tuple[str, ...]]:
            guess = look(path)
            return read_measured(path, guess.columns, rig, progress), tuple(guess.questions)

        job = Job(self, read, self._have, self._failed, key="record", title="reading")
        self.job_line.follow(job)

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

    def _another(self) -> None:
        """Another limit is in hand: what was typed for the one before is gone."""
        self.form.forget()
        self.view.forget()
        self._shown = None
        self._propose()
        self.looked_at.emit(f"bands.{self.alarm}.limit")

    def _new_rig(self, rig: Rig) -> None:
        self._rig = rig
        self.when_seen(self._propose)

    def _propose(self) -> None:
        rig = self._rig
        if rig is not None:
            try:
                found = purpose_of(rig, self.alarm)
            except LevelBenchError as error:
                self.state.setText(f"■ {error}")
                return
            self.form.propose(found, units(rig.project))
            if self._shown is not None and self._shown.rig is not rig:
                self.view.outdated()
        self._say()

    def _forget(self, _project: object) -> None:
        """Another project is open: nothing of the one before stays."""
        self._rig = self._shown = None
        self._back()
        self.form.forget()
        self.view.forget()

    def _say(self) -> None:
        trouble = self.answers.trouble
        waiting = self._rig is None and not trouble
        words = f"■ {trouble}" if trouble else "The rig is being worked out." if waiting else ""
        if words or self.state.text() == self._told:
            self.state.setText(words)
        self._told = words
        self.go.setEnabled(self._rig is not None and not self.job_line.isVisible())


def _work(rig: Rig, purpose: Purpose, measured: Measured | None, progress: Progress) -> tuple[Design, Spectrum]:
    """Simulate or part the noise, and try every choice on it; on a working thread."""
    spread = spread_near(rig, purpose, measured, progress=lambda share: progress(_SIMULATED * share))
    found = design(rig, spread, purpose, progress=lambda share: progress(_SIMULATED + (1 - _SIMULATED) * share))
    return found, spectrum_of(spread)
