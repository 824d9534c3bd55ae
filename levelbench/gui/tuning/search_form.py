"""The boxes that a search starts from: what is not known of the rig, from and to, and what is asked of the settings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from levelbench.gui.fields.typed import Typed
from levelbench.gui.look.parts import button, column, text
from levelbench.quantity import Dimension, in_prose

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.tuning.search import Box, Limits, Range

D = Dimension
_MOST = {"wear": 0.9, "averaging": 1000.0}  # beyond these a range says nothing of a rig
_ABOVE_ZERO = ("flow", "averaging")


class SearchForm(QWidget):
    """All boxes of a search; what was typed stays when the project changes, the rest follows it."""

    edited = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.overshoot = Typed("overshoot, at most", D.VOLUME, 1)
        self.sensitivity = Typed("Ms, at most", D.NUMBER, 1)
        self.travel = Typed("output travel, at most", D.PERCENT_RATE, 1, may_be_empty=True)
        self.starts = Typed("pump starts, at most", D.START_RATE, 1, may_be_empty=True)
        self.digits = Typed("digits the controller takes", D.NUMBER, 1)
        self.ranges: dict[str, Typed] = {}
        self._box: Box | None = None
        self._limits: Limits | None = None
        self._units: Units | None = None
        self._digits = 0
        asked, unknown = (text(words, "subheading") for words in ("What is asked", "What is not known for sure"))
        self._layout = column(asked, *self._asked, unknown)
        self.setLayout(self._layout)
        for one in self._asked:
            one.edited.connect(self.edited)
        self.reset = button(
            "As the project has it", self.as_proposed, "link", "take back what was typed in these boxes"
        )

    @property
    def _asked(self) -> tuple[Typed, ...]:
        return (self.overshoot, self.sensitivity, self.travel, self.starts, self.digits)

    def propose(self, box: Box, limits: Limits, shown_in: Units, digits: int) -> None:
        """Show what the project gives, where nothing was typed."""
        self._box, self._limits, self._units, self._digits = box, limits, shown_in, digits
        if not self.ranges:
            self._make(box)
        for one in box.ranges:
            self._put(self.ranges[one.key], (one.least, one.most), one.why)
        step = "half an entry step: the panel shows it as none"
        self._put(self.overshoot, (limits.overshoot,), step)
        self._put(self.sensitivity, (limits.sensitivity,), in_prose("in the worst corner; 1.4 is calm, 2 is lively"))
        self._put(self.travel, (limits.travel,), "over the step and the load; the curve shows what it costs")
        self._put(self.starts, (limits.starts,), "while it holds; the pump's data sheet, if it says")
        self._put(self.digits, (float(digits),), "significant ones; settings are rounded before they are tried")

    def as_proposed(self) -> None:
        """Take back what was typed."""
        for one in (*self._asked, *self.ranges.values()):
            one.touched = False
        if self._box is not None and self._limits is not None and self._units is not None:
            self.propose(self._box, self._limits, self._units, self._digits)
        self.edited.emit()

    def asked(self) -> tuple[Box, Limits, int]:
        """Read all boxes. Raises QuantityError, and shows it under the box."""
        assert self._box is not None
        assert self._limits is not None
        overshoot, sensitivity, travel, starts, digits = (one.values()[0] for one in self._asked)
        if not overshoot:
            raise self.overshoot.refusal("The pump can only add: ask for a little overshoot, above 0.")
        if sensitivity is None or sensitivity <= 1:
            raise self.sensitivity.refusal(in_prose("Ms is above 1 in every loop. Ask for 1.2 to 2.5."))
        if digits not in (2, 3, 4, 5, 6):
            raise self.digits.refusal("Give 2 to 6, as many as the controller's page shows.")
        limits = replace(self._limits, overshoot=overshoot, sensitivity=sensitivity, travel=travel, starts=starts)
        ranges = {one.key: self._range(one) for one in self._box.ranges}
        return replace(self._box, **ranges), limits, int(digits)

    def _make(self, box: Box) -> None:
        for one in box.ranges:
            made = self.ranges[one.key] = Typed(one.name, one.dimension, 2)
            made.edited.connect(self.edited)
            self._layout.addWidget(made)
        self._layout.addWidget(self.reset)

    def _put(self, one: Typed, values: tuple[float | None, ...], why: str) -> None:
        assert self._units is not None
        one.propose(values, self._units.of(one.dimension), why)

    def _range(self, one: Range) -> Range:
        typed = self.ranges[one.key]
        if not typed.touched:
            return one  # as it is, not as it is rounded in the box
        least, most = typed.values()
        assert least is not None
        assert most is not None
        if least > most:
            raise typed.refusal("The first is more than the second. Give the smaller one first.")
        if least < 0 or (one.key in _ABOVE_ZERO and least == 0):
            raise typed.refusal(f"The {one.name} can't be so little.")
        if most > _MOST.get(one.key, most):
            raise typed.refusal(f"The {one.name} can't be so much.")
        return replace(one, least=least, most=most)
