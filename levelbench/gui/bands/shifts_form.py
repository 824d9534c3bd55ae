"""The boxes from which shifts by chance are run: how many, and how the rig is used and looked after."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from levelbench.alarms.proof import SEED, SHIFTS
from levelbench.alarms.shifts import Use
from levelbench.gui.fields.typed import Typed
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import button, column, holder, text
from levelbench.quantity import COMMON_PRACTICE, Dimension

if TYPE_CHECKING:
    from levelbench.quantity import Units

_MOST_SHIFTS = 100_000
_IN_MINUTES = 120.0  # [s] from which a time is written in minutes


class ShiftsForm(QWidget):
    """How many shifts and with which seed; unfolded, every habit of the people about the rig."""

    edited = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._units: Units | None = None
        self.shifts = Typed("shifts", Dimension.NUMBER, 1)
        self.seed = Typed("seed", Dimension.NUMBER, 1)
        self.habits = {one.name: Typed(one.metadata["says"], one.metadata["dimension"], 1) for one in fields(Use)}
        self.folded = Folded("how the rig is used", self._inside)
        self.setLayout(column(self.shifts, self.seed, self.folded))
        for one in (self.shifts, self.seed, *self.habits.values()):
            one.edited.connect(self.edited)

    def _inside(self) -> QWidget:
        says = text(f"Assumed: {COMMON_PRACTICE}. Change what you know better.", "small", wrap=True)
        back = button("As assumed", self.as_assumed, "link", "take back what was typed in these boxes")
        return holder(column(says, *self.habits.values(), back))

    def propose(self, shown_in: Units) -> None:
        """Show what is assumed, where nothing was typed."""
        self._units = shown_in
        self.shifts.propose((float(SHIFTS),), "", "each of them has its own chance")
        self.seed.propose((float(SEED),), "", "the same seed, the same shifts")
        for one in fields(Use):
            value, dimension = getattr(Use(), one.name), one.metadata["dimension"]
            minutes = dimension is Dimension.TIME and value >= _IN_MINUTES
            self.habits[one.name].propose((value,), "min" if minutes else shown_in.of(dimension), "")

    def as_assumed(self) -> None:
        """Take back what was typed."""
        for one in (self.shifts, self.seed, *self.habits.values()):
            one.touched = False
        if self._units is not None:
            self.propose(self._units)
        self.edited.emit()

    def asked(self) -> tuple[int, int, Use]:
        """Read all boxes. Raises QuantityError, and shows it under the box."""
        shifts, seed = self.shifts.whole(1, _MOST_SHIFTS), self.seed.whole(0, 2**32 - 1)
        typed = {name: one.values()[0] for name, one in self.habits.items() if one.touched}
        use = Use(**{name: value for name, value in typed.items() if value is not None})
        trouble = use.trouble()
        if trouble:
            self.folded.open()
            raise next((self.habits[name] for name in typed), self.shifts).refusal(trouble)
        return shifts, seed, use
