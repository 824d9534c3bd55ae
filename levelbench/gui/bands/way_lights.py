"""Lights: the truth table of stack light and horn, proved while it is edited, tried out, and its silence proved."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from levelbench.alarms.lamps import Proved, Silence, prove_lamps, prove_silence
from levelbench.gui.bands.lights_view import Drawn, LightsView
from levelbench.gui.bands.on_bench import OnBench
from levelbench.gui.bench.bench_bar import lamp_modes
from levelbench.gui.fields.forms import Form, help_for
from levelbench.gui.fields.lamp_grid import KEY
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, clear, column, holder, line, restyle, row, text
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import ProjectProblems, units
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Watch
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.project import Project
    from levelbench.quantity import Units
    from levelbench.rig import Rig

SILENCE = "alarm_handling.silence_at_most"
_SAYS = (
    "Nobody may have to tell two displays apart by their colours alone: some eight men in a hundred can't. Every "
    "combination of states that can hold at once is looked at, with each change of the table."
)
_GOOD = (
    "✓ Proved: every combination lights a lamp, the colours mean what IEC 60073 says, and no two displays differ only "
    "by colour."
)
_PAIRS = 3  # groups of displays that are drawn; the others are counted
_UNPROVED = "Not proved yet for this project."


class Lights(OnBench):
    """The proof on the card; the table with the drawn light in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._rig: Rig | None = None if answers.checked is None else answers.checked.rig
        self._watch: Watch | None = None
        self._shown: tuple[Proved, Rig | None] | None = None
        self._proved_for: Project | None = None
        self.view = LightsView(document)
        self.verdict, self.state = text("", "strong", wrap=True), text("", "refusal", wrap=True)
        self.take_them = button("Take the assumed lamps", self._take, "", _TAKE)
        self.pairs_say = text("", wrap=True)
        self.silence, self.silences = Form(document, [SILENCE]), text(_UNPROVED, wrap=True)
        self.prove = button("Prove the silence", self.begin, "main", _PROVE)
        self.help, self.job_line = text("", "small", wrap=True), JobLine()
        self._figures, self._pairs, self._times = column(), column(), column()
        self._build()
        self.wide = self.view
        self._connect()
        self._again()

    def _build(self) -> None:
        parts = (
            text(_SAYS, "small", wrap=True), self.verdict, self.take_them, holder(self._figures), self.pairs_say,
            holder(self._pairs), line(), text("Silence of the horn", "subheading"), self.silence, self.silences,
            holder(self._times),
        )  # fmt: skip
        for part in parts:
            self.body.addWidget(part)
        self.body.addStretch(1)
        self.foot.addWidget(self.help)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)
        self.foot.addLayout(row(self.prove, None))
        self.help.hide()
        self.state.hide()

    def _connect(self) -> None:
        self.view.table.help_wanted.connect(self._explain)
        self.silence.help_wanted.connect(lambda key: self._explain(help_for(key)))
        self.view.test_wanted.connect(self._test)
        self.document.project_changed.connect(lambda _project: self.when_seen(self._again))
        self.answers.rig_changed.connect(self._new_rig)
        self.job_line.stopped.connect(lambda: self.silences.setText("You stopped this. Nothing is proved."))

    def take(self, watch: Watch) -> None:
        """Follow the light of the run on the bench."""
        self._watch = watch
        watch.changed.connect(lambda: self.when_seen(self._follow))
        self.when_seen(self._follow)

    # the proof ---------------------------------------------------------------------------------------------------

    def _new_rig(self, rig: Rig) -> None:
        self._rig = rig
        self.when_seen(self._again)

    def _again(self) -> None:
        """Prove the table as it is now."""
        project = self.document.project
        if self._proved_for is not None and self._proved_for != project:
            self._proved_for = None
            self.silences.setText(_UNPROVED)
            restyle(self.silences, role="body")
            clear(self._times)
        self.prove.setEnabled(self._rig is not None and not self.job_line.isVisible())
        proved = prove_lamps(project)
        if self._shown == (proved, self._rig):
            return
        self._shown = proved, self._rig
        self._tell(proved, units(project))

    def _tell(self, proved: Proved, shown_in: Units) -> None:
        from levelbench.review.light import figures_of, words_of  # noqa: PLC0415  comes in when it is wanted
        from levelbench.rig.bench import Bench  # noqa: PLC0415

        bad = bool(proved.dark or proved.alike or proved.against_meaning)
        words, change = words_of(proved) if bad else (_GOOD, "")
        self.verdict.setText(f"▲ {words} {change}" if bad else words)
        restyle(self.verdict, role="attention" if bad else "body")
        self.take_them.setVisible(bad)
        clear(self._figures)
        if self._rig is not None:
            for figure in figures_of(Bench(self._rig), proved):
                self._figures.addWidget(FigureRow(figure, shown_in))
        self._draw_pairs(proved)

    def _draw_pairs(self, proved: Proved) -> None:
        clear(self._pairs)
        more = len(proved.alike) - _PAIRS
        told = f"; {more} more such groups are counted above" if more > 0 else ""
        self.pairs_say.setText(f"Told apart by colour alone, drawn side by side{told}:" if proved.alike else "")
        self.pairs_say.setVisible(bool(proved.alike))
        for group in proved.alike[:_PAIRS]:
            one, other = (Drawn(show) for show in group[:2])
            beside = row(one, other)
            beside.setStretch(0, 1)
            beside.setStretch(1, 1)
            self._pairs.addLayout(beside)

    def _take(self) -> None:
        """Put the lamps that are assumed for new projects into the table; its horns stay."""
        from levelbench.review.light import mended  # noqa: PLC0415  comes in when it is wanted

        project = self.document.project
        try:
            self.document.edit_several({KEY: mended(project, prove_lamps(project))}, "take the assumed lamps")
        except ProjectProblems as error:
            self._refuse(error.problems[0].message)

    # the silence -------------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Silence the horn in the scan, for each cause, and see when it sounds again."""
        rig = self._rig
        if rig is None:
            return
        self._refuse("")
        self.prove.setEnabled(False)
        title, show = "silencing the horn in the scan", partial(self._show_silences, rig)
        job = Job(self, partial(prove_silence, rig), show, self._failed, key="silence", title=title)
        job.ended.connect(lambda: self.prove.setEnabled(self._rig is not None))
        self.job_line.follow(job)

    def _show_silences(self, rig: Rig, found: tuple[Silence, ...]) -> None:
        """Show how long the horn of a rig stays out, unless the project is another meanwhile."""
        from levelbench.review.light import silences_of  # noqa: PLC0415  comes in when it is wanted
        from levelbench.rig.bench import Bench  # noqa: PLC0415

        project = rig.project
        if project != self.document.project:
            return
        self._proved_for = project
        self.silences.setText("\n".join(map(_said, found)) or _NO_HORN)
        clear(self._times)
        for figure in silences_of(Bench(rig), found):
            self._times.addWidget(FigureRow(figure, units(project)))
        restyle(self.silences, role="body" if all(one.holds for one in found) else "attention")

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self._refuse(words_of(error))

    def _refuse(self, words: str) -> None:
        self.state.setText(f"✗ {words}" if words else "")
        self.state.setVisible(bool(words))

    # the bench ---------------------------------------------------------------------------------------------------

    def _follow(self) -> None:
        if self._watch is not None and self._watch.view is not None:
            self.view.follow(self._watch.view, lamp_modes(self._watch.view))

    def _test(self, pressed: bool) -> None:
        if self._watch is not None:
            self._watch.act("lamp test", float(pressed))

    def left(self) -> None:
        """Let the lamp test go; nobody sees its button from here on."""
        self.view.test.setChecked(False)

    def _explain(self, words: str) -> None:
        self.help.setText(words)
        self.help.show()


_TAKE = "take the lamps that are assumed for new projects, one undo step; the horns stay"
_PROVE = "run the scan: bring each cause about, silence the horn, leave it alone, and see when it sounds again"
_NO_HORN = "○ No row of stop, switch or sensor sounds the horn, so there is nothing to silence."


def _said(one: Silence) -> str:
    """Say of one cause whether a horn that was silenced and left alone sounded again in time."""
    if one.seconds is None:
        return f"■ {one.state}: the horn did not sound again."
    return f"✓ {one.state}: it sounded again in time." if one.holds else f"▲ {one.state}: it sounded again too late."
