"""Noise: how the PV scatters near a limit, of the rig or of a record, and the dead band and delays that it asks for."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox, QFileDialog

from levelbench.alarms.design import design, spread_near
from levelbench.alarms.purpose import DESIGNED, SHIFT, Purpose, purpose_of
from levelbench.gui.bands.noise_spectrum import Spectrum, spectrum_of
from levelbench.gui.bands.noise_view import NoiseView
from levelbench.gui.document.file_drop import RECORDS
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.tuning.search_form import Typed
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import units
from levelbench.quantity import Dimension, LevelBenchError, QuantityError
from levelbench.records import look, read_measured
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from levelbench.alarms.answer import Design
    from levelbench.alarms.candidate import Candidate
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.records import Measured
    from levelbench.rig import Rig

D = Dimension
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
        self.normal = Typed("PV at rest", D.VOLUME, 1)
        self.slow = Typed("creeps there in", D.TIME, 1)
        self.rate = Typed("worst net rate", D.FLOW, 1)
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
        for one in self._typed:
            self.body.addWidget(one)
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
    def _typed(self) -> tuple[Typed, ...]:
        return (self.normal, self.slow, self.rate)

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
            purpose = self._purpose(rig)
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

    def _purpose(self, rig: Rig) -> Purpose:
        """Give what the limit is for, with what was typed in the places of what the rig says."""
        found = purpose_of(rig, self.alarm)
        for box in self._typed:
            if box.touched:
                value = box.values()[0] or 0.0
                if box is self.normal and not _between(found, value):
                    raise _refused(box, "That leaves no room to the limit.")
                if box is not self.normal and value <= 0:
                    raise _refused(box, "Give more than nothing.")
        normal, slow, rate = (box.values()[0] if box.touched else None for box in self._typed)
        found = replace(found, normal=found.normal if normal is None else normal)
        return replace(
            found,
            slow=found.slow if slow is None else abs(found.limit - found.normal) / slow,
            rate=found.rate if rate is None else rate,
        )

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
        for one in self._typed:
            one.touched = False
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
            self._put(rig, found)
            if self._shown is not None and self._shown.rig is not rig:
                self.view.outdated()
        self._say()

    def _put(self, rig: Rig, found: Purpose) -> None:
        shown_in = units(rig.project)
        proposed = (
            (found.normal, shown_in.volume, "the set point nearest to the limit"),
            (SHIFT, "h", "from rest to the limit, by itself; the slower, the more alarms"),
            (found.rate, shown_in.flow, "all in and nothing out, or all out and nothing in"),
        )
        for box, (value, unit, why) in zip(self._typed, proposed, strict=True):
            if not box.touched:
                box.put((value,), unit, why)

    def _forget(self, _project: object) -> None:
        """Another project is open: nothing of the one before stays."""
        self._rig = self._shown = None
        self._back()
        for one in self._typed:
            one.touched = False
        self.view.forget()

    def _say(self) -> None:
        trouble = self.answers.trouble
        waiting = self._rig is None and not trouble
        words = f"■ {trouble}" if trouble else "The rig is being worked out." if waiting else ""
        if words or self.state.text() == self._told:
            self.state.setText(words)
        self._told = words
        self.go.setEnabled(self._rig is not None and not self.job_line.isVisible())


def _refused(box: Typed, reason: str) -> QuantityError:
    box.refuse(reason)
    box.bring(box.boxes[0])
    return QuantityError(box.boxes[0].text(), reason, "Type another value.")


def _between(found: Purpose, normal: float) -> bool:
    """Tell whether a place of rest leaves the limit between it and what comes next [m3]."""
    return normal >= 0 and found.sign * (found.limit - normal) > 0


def _work(rig: Rig, purpose: Purpose, measured: Measured | None, progress: Progress) -> tuple[Design, Spectrum]:
    """Simulate or part the noise, and try every choice on it; on a working thread."""
    spread = spread_near(rig, purpose, measured, progress=lambda share: progress(_SIMULATED * share))
    found = design(rig, spread, purpose, progress=lambda share: progress(_SIMULATED + (1 - _SIMULATED) * share))
    return found, spectrum_of(spread)
