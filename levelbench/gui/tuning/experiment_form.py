"""What a person chooses of an experiment: its kind and sizes; a box that is left empty shows what the plan takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QWidget

from levelbench.gui.fields.typed import Typed
from levelbench.gui.look.parts import column, text
from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.tuning.experiments import BUMP, KINDS, RELAY, STEP, Wishes

if TYPE_CHECKING:
    from levelbench.tuning.experiments import Plan

D = Dimension
_NONE = "by itself"
_SAYS = {
    BUMP: "In manual, the output goes up, down and back. The quickest; the level goes further than with a relay.",
    RELAY: "In manual, the output jumps between two values as the level passes the set point: short swings close by.",
    STEP: "In automatic, another set point and back. It suits a rig in use, and needs a loop that works.",
}
_LARGEST_COUNT = 50


class ExperimentForm(QWidget):
    """The boxes; `edited` when something in them is another."""

    edited = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.kind, self.says = QComboBox(), text("", "small", wrap=True)
        self.jump = Typed("jump of the output", D.PERCENT, 1, may_be_empty=True)
        self.step = Typed("step of the set point", D.VOLUME, 1, may_be_empty=True)
        self.bias = Typed("bias", D.PERCENT, 1, may_be_empty=True)
        self.hysteresis = Typed("hysteresis, half", D.VOLUME, 1, may_be_empty=True)
        self.lasts = Typed("each stretch lasts", D.TIME, 1, may_be_empty=True)
        self.opening = Typed("drain's opening meanwhile", D.PERCENT, 1, may_be_empty=True)
        self.draw = Typed("draw meanwhile", D.FLOW, 1, may_be_empty=True)
        self.repeats = Typed("how often", D.NUMBER, 1)
        self.seed = Typed("seed of the noise", D.NUMBER, 1)
        self._kinds = {
            BUMP: (self.jump, self.lasts),
            RELAY: (self.jump, self.bias, self.hysteresis),
            STEP: (self.step, self.lasts),
        }
        self._forced = False
        self._build()

    @property
    def _all(self) -> tuple[Typed, ...]:
        drain = (self.opening, self.draw)
        return (self.jump, self.step, self.bias, self.hysteresis, self.lasts, *drain, self.repeats, self.seed)

    def _build(self) -> None:
        self.kind.setAccessibleName("kind of experiment")
        for key, name in KINDS.items():
            self.kind.addItem(name[0].upper() + name[1:], key)
        self.setLayout(column(self.kind, self.says, *self._all))
        for one in self._all:
            one.boxes[0].editingFinished.connect(self.edited)
        self.repeats.put((5.0,), "", "each with noise of its own: how far two experiments differ")
        self.seed.put((0.0,), "", "equal seeds give equal experiments")
        self.kind.currentIndexChanged.connect(self._choose)
        self._choose()

    @property
    def chosen(self) -> str:
        """The kind."""
        return str(self.kind.currentData())

    def _choose(self) -> None:
        kind = self.chosen
        self.says.setText(_SAYS[kind])
        for one in (self.jump, self.step, self.bias, self.hysteresis, self.lasts):
            one.setVisible(one in self._kinds[kind])
            if one.touched or one.boxes[0].text():
                one.boxes[0].clear()
                one.refuse("")
        self._show_drain()
        self.edited.emit()

    def for_drain(self, *, forced: bool) -> None:
        """Ask for what this rig's drain takes: a draw, or the opening of its valve."""
        self._forced = forced
        self._show_drain()

    def _show_drain(self) -> None:
        self.opening.setVisible(not self._forced)
        self.draw.setVisible(self._forced)

    def as_proposed(self) -> None:
        """Take back what was typed."""
        for one in self._all[:-2]:
            one.boxes[0].clear()
            one.refuse("")

    def wishes(self) -> Wishes:
        """Read the boxes. Raises QuantityError, and shows it under the box."""
        size = self.step if self.chosen == STEP else self.jump
        relay = self.chosen == RELAY
        return Wishes(
            size=self._one(size),
            bias=(self._one(self.bias, below=True) or 0.0) if relay else 0.0,
            hysteresis=self._one(self.hysteresis) if relay else None,
            lasts=None if relay else self._one(self.lasts),
            repeats=self.repeats.whole(1, _LARGEST_COUNT, bring=False),
            draw=self._one(self.draw) if self._forced else None,
            opening=None if self._forced else self._one(self.opening),
        )

    def first_seed(self) -> int:
        """Read the seed. Raises QuantityError, and shows it under the box."""
        return self.seed.whole(0, 2**31)

    def _one(self, box: Typed, *, below: bool = False) -> float | None:
        (value,) = box.values()
        if value is not None and not below and box is not self.step and value <= 0:
            raise box.refusal("It has to be more than 0.", bring=False)
        return value

    def show_plan(self, plan: Plan) -> None:
        """Show in the empty boxes what the plan takes."""
        show = units(plan.rig.project).show
        drain = "as it is"
        if plan.drain is not None:
            value = plan.drain[1]
            drain = show(value, D.FLOW) if self._forced else show(value, D.PERCENT, 0.01)
        for box, words in (
            (self.jump, show(plan.size, D.PERCENT, 0.001) if plan.kind != STEP else _NONE),
            (self.step, show(plan.size, D.VOLUME) if plan.kind == STEP else _NONE),
            (self.hysteresis, show(plan.hysteresis, D.VOLUME, plan.hysteresis / 10)),
            (self.lasts, show(plan.lasts, D.TIME, 1.0)),
            (self.bias, "none"),
            (self.opening, drain),
            (self.draw, drain),
        ):
            box.boxes[0].setPlaceholderText(words)
