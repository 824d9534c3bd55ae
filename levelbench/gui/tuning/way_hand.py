"""By hand: the loop settings in every form and unit, what they do, and what others would do before any is taken."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from levelbench.drawing.scene import Role
from levelbench.gui.bench.mode_switch import ModeSwitch
from levelbench.gui.document.document import Document
from levelbench.gui.fields.fields import QuantityField
from levelbench.gui.fields.forms import Form, help_for
from levelbench.gui.fields.scrub import Scrub
from levelbench.gui.findings.what_if import Trier, WhatIf
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import line, text
from levelbench.gui.stages.describe import keys_of
from levelbench.gui.tuning.bench_note import WHILE_IT_RUNS, BenchNote
from levelbench.gui.tuning.consequences import Consequences
from levelbench.gui.tuning.equation import EquationView
from levelbench.gui.tuning.loop_equation import in_numbers, in_symbols, in_words
from levelbench.gui.tuning.settings_grid import SettingsGrid
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import Answers, Tuned
from levelbench.project import ProjectProblems

if TYPE_CHECKING:
    from levelbench.project import Value

FIRST = ("form", "action", "gain", "proportional_band", "integral", "derivative", "set_point_weight")
FIRST_KEYS = tuple(f"loop_settings.{name}" for name in FIRST)
MORE_KEYS = tuple(key for key in keys_of("loop_settings") if key not in FIRST_KEYS)
_HOW = (
    "Bold: as it stands in the file. Type or drag any value to try it, Esc takes it back; the file keeps its form and "
    "units whichever you edit. Press a form's name to take that form."
)


class Hand(Way):
    """The settings side by side, their consequences under them, and everything else of the controller."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._trier = Trier(document, self)
        self._in_grid = False  # what is being tried stands in the table, else in a field
        self._before: Tuned | None = None  # the last tuning that was shown
        self.grid, self.mode, self.equation = SettingsGrid(), ModeSwitch(), EquationView()
        self.bench = BenchNote(document)
        self.does = Consequences(self.bench)
        self.first = self._form(FIRST_KEYS)
        self._first_folded = Folded("as typed into the controller", lambda: self.first)
        self._more_folded = Folded("scan, filters, limits, ramp", lambda: self.more)
        self._help = text("", "small", wrap=True)
        self._help.hide()
        self._build()
        self._connect()
        self.when_seen(self._show)
        self._say()

    def _build(self) -> None:
        self._state = text("", "quiet", wrap=True)
        self._shown = [self.equation, self.grid, text(_HOW, "small", wrap=True), line(), self.does, line()]
        self.body.addWidget(self._state)
        for part in self._shown:
            self.body.addWidget(part)
        self.foot.addWidget(self.does.plots)
        self._shown.append(self.does.plots)
        for part in self._shown:
            part.hide()
        self._first_folded.open()
        self.body.addWidget(self._first_folded)
        self.body.addWidget(self._more_folded)
        self.body.addWidget(line())
        self.body.addWidget(text("The running bench", "subheading"))
        self.body.addWidget(self.mode)
        self.body.addWidget(text(WHILE_IT_RUNS, "small", wrap=True))
        self.body.addStretch(1)
        self.foot.addWidget(self._help)

    @cached_property
    def more(self) -> Form:
        """The settings that are seldom touched; made when they are unfolded."""
        return self._form(MORE_KEYS)

    def _form(self, keys: tuple[str, ...]) -> Form:
        form = Form(self.document, keys)
        form.help_wanted.connect(self._show_help)
        form.tried.connect(self._try_typed)
        form.given_up.connect(self._give_up)
        for field in form.fields.values():
            if isinstance(field, QuantityField):
                Scrub(field)
        return form

    def _connect(self) -> None:
        self.grid.previewed.connect(self._try)
        self.grid.given_up.connect(self._give_up)
        self.grid.handed_in.connect(self._take)
        self._trier.done.connect(self._tried)
        self._trier.refused.connect(self._not_tried)
        self.answers.tuned_changed.connect(lambda: self.when_seen(self._show))
        self.answers.state_changed.connect(self._say)
        self.does.wide_changed.connect(self._widen)
        self.document.project_changed.connect(lambda _project: self._trier.stop())
        self.document.replaced.connect(self._forget)

    def _widen(self) -> None:
        self.wide = self.does.wide

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Put the cursor into the field of a loop setting; False when the entry is none."""
        if key in MORE_KEYS:
            self._more_folded.open()
        elif key in FIRST_KEYS:
            self._first_folded.open()
        return (self.more if key in MORE_KEYS else self.first).focus_on(key, focus=focus)

    def _forget(self, _project: object) -> None:
        self._before = None
        for part in self._shown:
            part.hide()

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self._help.show()
        self.looked_at.emit(key)

    def _say(self) -> None:
        answers = self.answers
        trouble = answers.trouble or answers.tune_trouble
        words = ""
        if trouble:
            words = f"■ {trouble}"
        elif answers.waiting:
            words = "The first start prepares the rig; the prediction follows."
        elif answers.tuned is None and self._before is None:
            words = "Working out margins and a simulated step …"
        self._state.setText(words)
        self._state.setVisible(bool(words))
        if trouble:
            for part in self._shown:
                part.hide()

    # what is -----------------------------------------------------------------------------------------------------

    def _show(self) -> None:
        tuned = self.answers.tuned
        if tuned is None:
            return
        before, self._before = self._before, tuned
        typed = self.document.project.loop_settings
        numbers = in_numbers(tuned, typed)
        symbols = in_symbols(typed.form, band=typed.proportional_band is not None)
        rows = [(symbols, Role.INK), *([(numbers, Role.QUIET)] if numbers else [])]
        self.equation.show_rows(rows, in_words(tuned, typed))
        self.grid.show_tuning(tuned, typed)
        self.does.show_tuning(tuned, before if before is not tuned else None)
        for part in self._shown:
            part.show()

    # what would be -----------------------------------------------------------------------------------------------

    def _try(self, edits: dict[str, Value]) -> None:
        self._in_grid = True
        self._trier.begin(edits)

    def _try_typed(self, edits: dict[str, Value]) -> None:
        """Try what stands half-typed in a field; what can't be read yet the field refuses when it is handed in."""
        self._in_grid = False
        self._trier.begin(edits)

    def _not_tried(self, reason: str) -> None:
        if self._in_grid:
            self.grid.refuse(reason)
        else:
            self._tell_as_it_is()

    def _tried(self, outcome: WhatIf) -> None:
        tuned, tried = self.answers.tuned, outcome.tuned
        if tuned is None:
            return
        if tried is None:
            self._not_tried(outcome.trouble)
            return
        self.grid.follow(tried)
        self.does.try_out(tried)

    def _give_up(self) -> None:
        self._trier.stop()
        self._tell_as_it_is()

    def _tell_as_it_is(self) -> None:
        if self.answers.tuned is not None:
            self.grid.follow(self.answers.tuned)
            self.does.give_up()

    def _take(self, edits: dict[str, Value]) -> None:
        """Put what was typed or dragged into the project, in one undo step."""
        self._trier.stop()
        project = self.document.project
        try:
            self.document.edit_several(edits)
        except ProjectProblems as error:
            self.grid.refuse(error.problems[0].message)
            return
        if self.document.project is project and self.answers.tuned is not None:
            self.grid.show_tuning(self.answers.tuned, project.loop_settings)
            self._give_up()
