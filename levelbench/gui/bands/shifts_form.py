"""The boxes from which shifts by chance are run: how many, and how the rig is used and looked after."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.alarms.proof import SEED, SHIFTS
from levelbench.alarms.shifts import Use
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import button, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.search_form import Typed
from levelbench.quantity import COMMON_PRACTICE, Dimension, QuantityError

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
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        for part in (self.shifts, self.seed, self.folded):
            layout.addWidget(part)
        for one in (self.shifts, self.seed, *self.habits.values()):
            one.edited.connect(self.edited)

    def _inside(self) -> QWidget:
        made = QWidget()
        made.setProperty("role", "on-card")
        layout = QVBoxLayout(made)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addWidget(text(f"Assumed: {COMMON_PRACTICE}. Change what you know better.", "small", wrap=True))
        for one in self.habits.values():
            layout.addWidget(one)
        layout.addWidget(button("As assumed", self.as_assumed, "link", "take back what was typed in these boxes"))
        return made

    def propose(self, shown_in: Units) -> None:
        """Show what is assumed, where nothing was typed."""
        self._units = shown_in
        self._put(self.shifts, float(SHIFTS), "", "each of them has its own chance")
        self._put(self.seed, float(SEED), "", "the same seed, the same shifts")
        for one in fields(Use):
            value, dimension = getattr(Use(), one.name), one.metadata["dimension"]
            minutes = dimension is Dimension.TIME and value >= _IN_MINUTES
            self._put(self.habits[one.name], value, "min" if minutes else shown_in.of(dimension), "")

    def as_assumed(self) -> None:
        """Take back what was typed."""
        for one in (self.shifts, self.seed, *self.habits.values()):
            one.touched = False
        if self._units is not None:
            self.propose(self._units)
        self.edited.emit()

    def asked(self) -> tuple[int, int, Use]:
        """Read all boxes. Raises QuantityError, and shows it under the box."""
        shifts, seed = self._whole(self.shifts, 1, _MOST_SHIFTS), self._whole(self.seed, 0, 2**32 - 1)
        typed = {name: one.values()[0] for name, one in self.habits.items() if one.touched}
        use = Use(**{name: value for name, value in typed.items() if value is not None})
        trouble = use.trouble()
        if trouble:
            self.folded.open()
            raise self._refused(next((self.habits[name] for name in typed), self.shifts), trouble)
        return shifts, seed, use

    def _whole(self, typed: Typed, least: int, most: int) -> int:
        value = typed.values()[0]
        if value is None or value != round(value) or not least <= value <= most:
            raise self._refused(typed, f"Give a whole number from {least} to {most}.")
        return round(value)

    def _put(self, one: Typed, value: float, unit: str, why: str) -> None:
        if not one.touched:
            one.put((value,), unit, why)

    def _refused(self, typed: Typed, reason: str) -> QuantityError:
        typed.refuse(reason)
        typed.bring(typed.boxes[0])
        return QuantityError(typed.boxes[0].text(), reason, "Type another value.")
