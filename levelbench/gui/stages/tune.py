"""Tune: the loop settings as typed into the controller, what they will do, and the same in every other form."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.answers import Answers
from levelbench.gui.document import Document
from levelbench.gui.figures import FigureRow
from levelbench.gui.forms import Form, help_for
from levelbench.gui.parts import Card, Note, button, clear, holder, line, row, text
from levelbench.gui.rail import State
from levelbench.gui.slices import Slices
from levelbench.gui.stages.describe import keys_of
from levelbench.gui.theme import GRID
from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Units

if TYPE_CHECKING:
    from levelbench.drawing.frame import Size
    from levelbench.drawing.scene import Scene
    from levelbench.tuning.forms import Form as OneForm
    from levelbench.tuning.prediction import Prediction

FIRST = ("form", "gain", "proportional_band", "integral", "derivative", "set_point_weight")
FIRST_KEYS = tuple(f"loop_settings.{name}" for name in FIRST)
MORE_KEYS = tuple(key for key in keys_of("loop_settings") if key not in FIRST_KEYS)


class Folded(QWidget):
    """A heading that opens and closes what stands under it."""

    def __init__(self, heading: str, inside: QWidget) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._heading = heading
        self.inside = inside
        self.fold = button("", self._toggle, "link", f"open or close: {heading}")
        self.fold.setCheckable(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addLayout(row(self.fold, None))
        layout.addWidget(inside)
        self._toggle()

    def open(self) -> None:
        """Show what is inside."""
        self.fold.setChecked(True)
        self._toggle()

    def _toggle(self) -> None:
        opened = self.fold.isChecked()
        self.fold.setText(f"{'▾' if opened else '▸'} {self._heading}")
        self.inside.setVisible(opened)


class Tune(Card):
    """The settings in hand above, their consequences under them."""

    looked_at = Signal(str)  # key

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Tune the loop", f"{document.project.first_letter}IC-{document.project.loop}")
        self._document = document
        self._answers = answers
        self._slices = Slices(self)
        self.first = Form(document, FIRST_KEYS)
        self.more = Form(document, MORE_KEYS)
        self._more_folded = Folded("scan, filters, limits, ramp", self.more)
        self._does, self._forms = QVBoxLayout(), QVBoxLayout()
        self._does.setSpacing(GRID - 2)
        self._forms_folded = Folded("these settings in every form", holder(self._forms))
        self._help = text("", "small", wrap=True)
        self._help.setMinimumHeight(28)
        self._build()
        for form in (self.first, self.more):
            form.help_wanted.connect(self._show_help)
        answers.tuned_changed.connect(lambda: self.when_seen(self._show))
        answers.state_changed.connect(self._say)
        document.project_changed.connect(self._name)
        self.when_seen(self._show)
        self._say()

    def _build(self) -> None:
        self.body.addWidget(self.first)
        self.body.addWidget(self._more_folded)
        self.body.addWidget(line())
        self.body.addWidget(text("What it will do", "subheading"))
        self._state = text("", "quiet", wrap=True)
        self.body.addWidget(self._state)
        self.body.addLayout(self._does)
        self.body.addWidget(line())
        self.body.addWidget(self._forms_folded)
        self.body.addStretch(1)
        self.foot.addWidget(line())
        self.foot.addWidget(self._help)

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Put the cursor into the field of a loop setting; False when the entry is none."""
        if key in MORE_KEYS:
            self._more_folded.open()
        return self.first.focus_on(key, focus=focus) or self.more.focus_on(key, focus=focus)

    def _name(self, _project: object) -> None:
        self.aside.setText(f"{self._document.project.first_letter}IC-{self._document.project.loop}")

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self.looked_at.emit(key)

    def _say(self) -> None:
        answers = self._answers
        words = ""
        if answers.trouble or answers.tune_trouble:
            words = f"■ {answers.trouble or answers.tune_trouble}"
        elif answers.waiting:
            words = "The first start prepares the rig; the prediction follows."
        elif answers.tuned is None:
            words = "Working out margins and a simulated step …"
        self._state.setText(words)
        self._state.setVisible(bool(words))
        if answers.tuned is None:
            clear(self._does)

    def _show(self) -> None:
        clear(self._does)
        clear(self._forms)
        tuned = self._answers.tuned
        if tuned is None:
            return
        shown_in = units(self._document.project)
        if not tuned.margins.stable:
            self._does.addWidget(Note("■ The loop is unstable with these settings: it swings ever wider.", "stop"))
        self._does.addWidget(_step_plot(tuned.prediction))
        figures = (*tuned.prediction.figures, *tuned.margins.figures)
        rows = [partial(self._add_figure, one, shown_in) for one in figures]
        self._slices.do([*rows, *(partial(self._add_form, one) for one in tuned.forms)])

    def _add_figure(self, figure: Figure, shown_in: Units) -> None:
        self._does.addWidget(FigureRow(figure, shown_in))

    def _add_form(self, one: OneForm) -> None:
        self._forms.addWidget(_form_box(one))


def _step_plot(prediction: Prediction) -> QWidget:
    """Plot PV and SP of the simulated set point step."""
    from levelbench.drawing.trend import trend  # noqa: PLC0415  the rig is there by now
    from levelbench.gui.scene_view import SceneView  # noqa: PLC0415

    step = prediction.step
    times = (max(step.at - 0.05 * (step.until - step.at), 0.0), step.until)

    def draw(size: Size) -> Scene:
        return trend(step.recording, ("pv", "set_point"), size, times)

    return SceneView(draw, 150, "plot of PV and SP after a step of the set point, as the model runs it")


def _form_box(one: OneForm) -> QWidget:
    """Lay out the settings in one form: equation, then each value in each unit."""
    grid = QGridLayout()
    grid.setContentsMargins(0, 0, 0, GRID)
    grid.setVerticalSpacing(3)
    grid.addWidget(text(one.name + (" (your controller)" if one.own else ""), "strong"), 0, 0, 1, 2)
    grid.addWidget(text(one.equation, "small", wrap=True, selectable=True), 1, 0, 1, 2)
    if one.missing:
        grid.addWidget(text(one.missing, "quiet", wrap=True), 2, 0, 1, 2)
    for at, value in enumerate(one.values):
        grid.addWidget(text(value.figure.name, "quiet", wrap=True), at + 2, 0)
        grid.addWidget(text(value.text, "body", selectable=True), at + 2, 1)
    grid.setColumnStretch(0, 1)
    return holder(grid)


def state(answers: Answers) -> State:
    """Say how the tuning stands, for the rail."""
    if answers.trouble or answers.tune_trouble:
        return State("■", "can't be worked out", Role.STOP)
    tuned = answers.tuned
    if tuned is None:
        return State("", "preparing …" if answers.waiting else "working …")
    if not tuned.margins.stable:
        return State("■", "unstable", Role.STOP)
    overshoot, settling = tuned.prediction.overshoot, tuned.prediction.settling
    shown_in = tuned.units
    over = shown_in.show(overshoot.si, Dimension.VOLUME, overshoot.resolution)
    return State("", f"over {over} · settles {shown_in.show(settling.si, Dimension.TIME, 1.0)}")
