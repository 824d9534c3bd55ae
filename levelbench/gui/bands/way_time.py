"""Time: what each alarm leaves a person at the worst rate, the policy, and the change that would leave enough."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QButtonGroup, QPushButton

from levelbench.gui.bands.reviewed import Reviewed
from levelbench.gui.bands.time_view import TimeView
from levelbench.gui.fields.forms import Form
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import choice, clear, column, holder, line, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Wrapping
from levelbench.project import units

if TYPE_CHECKING:
    from levelbench.alarms.timing import Timed
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers, Checked
    from levelbench.quantity import Figure

POLICY = ("duty.time_to_act", "alarm_handling.protection")  # of two sections, so in two forms
RULES = ("ladder.time_to_act", "ladder.time_to_air", "bands.on_delay", "alarms.time_available")
_SAYS = (
    "From each limit to what must not happen, at the worst rate there can be: what sensor, filter, scan and on-delay "
    "eat, what still runs in, and what is left for a person. Where that is too little, hardware has to act."
)
_NONE = "No alarm is in use."


class Time(Reviewed):
    """The policy and what follows from it on the card, with the alarm in hand in full; bars in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._timed: dict[str, Timed] = {}
        self._in_hand = ""
        self.view = TimeView()
        self.policy = tuple(Form(document, [key]) for key in POLICY)
        self.buttons: dict[str, QPushButton] = {}
        self._group = QButtonGroup(self)
        self.title, self.verdict = text("", "subheading", wrap=True), text("", wrap=True)
        self._choice, self._figures = Wrapping(4), column(gap=GRID // 2)
        self._build()
        self.wide = self.view
        for form in self.policy:
            form.help_wanted.connect(self.explain)
        self.follow()

    def _build(self) -> None:
        parts = (
            text(_SAYS, "small", wrap=True), *self.policy, holder(self.said), line(), holder(self._choice), self.title,
            self.verdict, holder(self._figures),
        )  # fmt: skip
        for part in parts:
            self.body.addWidget(part)
        self.body.addStretch(1)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.help)

    # what is -----------------------------------------------------------------------------------------------------

    def show_checked(self, checked: Checked) -> None:
        """Show the times of the rig as it is now."""
        from levelbench.alarms.starting import starting  # noqa: PLC0415  the rig comes in when it is wanted
        from levelbench.alarms.timing import timing  # noqa: PLC0415

        timed, shown_in = timing(checked.rig), units(checked.rig.project)
        self._timed = {one.key: one for one in timed}
        self.view.show_times(timed, starting(checked.rig), shown_in)
        self._offer()
        good = self.tell([one for one in checked.findings if one.key in RULES and one.applies])
        told = "\n\n".join(f"{one.title}. {one.text}" for one in good)
        self.said.addWidget(Folded("what the rules say of it", partial(text, told, "quiet", wrap=True)))
        self._choose(self._in_hand)

    def say(self) -> None:
        """Say why there is no answer, in the wide place too."""
        super().say()
        if self.answers.trouble and self.answers.checked is None:
            self.shown = None
            self.view.forget(f"■ {self.answers.trouble}")

    # the alarm in hand -------------------------------------------------------------------------------------------

    def _offer(self) -> None:
        """Make a button for each alarm in use."""
        if list(self.buttons) == list(self._timed):
            return
        clear(self._choice)
        self.buttons = {key: self._button(one) for key, one in self._timed.items()}
        self._choice.add(*self.buttons.values())

    def _button(self, one: Timed) -> QPushButton:
        made = choice(one.name, partial(self._pressed, one.key), f"{one.name}: the time that it leaves, in full")
        self._group.addButton(made)
        return made

    def _pressed(self, key: str) -> None:
        self._choose(key)
        self.looked_at.emit(f"bands.{key}.limit")

    def _choose(self, key: str) -> None:
        """Show how the time of an alarm was worked out."""
        clear(self._figures)
        if not self._timed:
            self._in_hand = ""
            self.title.setText(_NONE)
            self.verdict.setText("")
            return
        from levelbench.alarms.timing import SAID  # noqa: PLC0415  the rig comes in when it is wanted

        self._in_hand = key if key in self._timed else next(iter(self._timed))
        one = self._timed[self._in_hand]
        self.buttons[self._in_hand].setChecked(True)
        way = "rising" if one.rising else "falling"
        self.title.setText(f"{one.name.capitalize()} {one.tag}, {way}, to “{one.end}”")
        self.verdict.setText(" ".join(SAID[one.stands]))
        shown_in = units(self.document.project)
        for figure in _in_full(one):
            self._figures.addWidget(FigureRow(figure, shown_in))


def _in_full(one: Timed) -> tuple[Figure, ...]:
    """Give the figures of an alarm in the order in which they are worked out, with the parts of its delay."""
    latest = (one.latest,) if one.latest is not None else ()
    before = (one.start, one.rate, one.to_next, one.to_end)
    return (*before, *one.parts, one.late, one.moved, one.coast, one.left, *latest)
