"""The boxes that a search starts from: what is not known of the rig, from and to, and what is asked of the settings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QScrollArea, QVBoxLayout, QWidget

from levelbench.gui.fields.unit_menu import UnitButton, has_choice
from levelbench.gui.look.parts import button, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Dimension, QuantityError, in_marks, in_prose, in_unit, read, without_doubt

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.tuning.search import Box, Limits, Range

D = Dimension
LABEL, BOX = 104, 124  # px
_MOST = {"wear": 0.9, "averaging": 1000.0}  # beyond these a range says nothing of a rig
_ABOVE_ZERO = ("flow", "averaging")


class Typed(QWidget):
    """One line: a name, one box or two, their unit, and under them why it is so, or why it is refused."""

    edited = Signal()

    def __init__(self, name: str, dimension: Dimension, boxes: int, *, may_be_empty: bool = False) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.dimension, self._may_be_empty = dimension, may_be_empty
        words = text(name, "quiet", wrap=True)
        self.boxes = [QLineEdit() for _ in range(boxes)]
        ends = ("from", "to") if boxes > 1 else ("",)
        for end, box in zip(ends, self.boxes, strict=True):
            box.setFixedWidth(BOX)
            box.setAccessibleName(f"{name} {end}".strip())
            box.setPlaceholderText("any" if may_be_empty else "")
            box.textEdited.connect(self._edited)
        between: list[QWidget] = [self.boxes[0]] if boxes == 1 else [self.boxes[0], text("to", "quiet"), self.boxes[1]]
        if has_choice([dimension]):
            between.append(UnitButton(self.boxes, [dimension], name, self._edited))
        self.touched = False
        self._why = ""
        self.under = text("", "small", wrap=True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        if boxes == 1:
            words.setFixedWidth(LABEL)
            self.under.setContentsMargins(LABEL + GRID, 0, 0, 0)
            layout.addLayout(row(words, *between, None, gap=GRID - 2))
        else:  # two boxes want the whole width, so the name stands over them
            layout.addWidget(words)
            layout.addLayout(row(*between, None, gap=GRID - 2))
        layout.addWidget(self.under)

    def put(self, values: tuple[float | None, ...], unit: str, why: str) -> None:
        """Show values (SI) that were not typed here, and why they are so."""
        self.touched, self._why = False, why
        for box, value in zip(self.boxes, values, strict=True):
            box.setText("" if value is None else _words(value, self.dimension, unit))
        self.refuse("")

    def values(self) -> tuple[float | None, ...]:
        """Read the boxes (SI); None for one that is empty and may be. Raises QuantityError, and shows it here."""
        found: list[float | None] = []
        for box in self.boxes:
            words = without_doubt(box.text().strip())
            try:
                found.append(None if self._may_be_empty and not words else read(words, self.dimension).si)
            except QuantityError as error:
                self.refuse(str(error))
                self.bring(box)
                raise
        self.refuse("")
        return tuple(found)

    def refuse(self, reason: str) -> None:
        """Say why what was typed can't be taken; "" when it can."""
        self.under.setText(f"✗ {reason}" if reason else self._why)
        self.under.setVisible(bool(self.under.text()))
        restyle(self.under, role="refusal" if reason else "small")
        for box in self.boxes:
            restyle(box, state="refused" if reason else "")

    def bring(self, box: QLineEdit) -> None:
        """Put the cursor into a box, and the line into sight."""
        box.setFocus()
        above = self.parentWidget()
        while above is not None and not isinstance(above, QScrollArea):
            above = above.parentWidget()
        if above is not None:
            above.ensureWidgetVisible(self)

    def _edited(self) -> None:
        self.touched = True
        self.refuse("")
        self.edited.emit()


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
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(GRID)
        self._layout.addWidget(text("What is asked", "subheading"))
        for one in self._asked:
            one.edited.connect(self.edited)
            self._layout.addWidget(one)
        self._layout.addWidget(text("What is not known for sure", "subheading"))
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
            raise _refused(self.overshoot, "The pump can only add: ask for a little overshoot, above 0.")
        if sensitivity is None or sensitivity <= 1:
            raise _refused(self.sensitivity, in_prose("Ms is above 1 in every loop. Ask for 1.2 to 2.5."))
        if digits not in (2, 3, 4, 5, 6):
            raise _refused(self.digits, "Give 2 to 6, as many as the controller's page shows.")
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
        if not one.touched:
            one.put(values, self._units.of(one.dimension), why)

    def _range(self, one: Range) -> Range:
        typed = self.ranges[one.key]
        if not typed.touched:
            return one  # as it is, not as it is rounded in the box
        least, most = typed.values()
        assert least is not None
        assert most is not None
        if least > most:
            raise _refused(typed, "The first is more than the second. Give the smaller one first.")
        if least < 0 or (one.key in _ABOVE_ZERO and least == 0):
            raise _refused(typed, f"The {one.name} can't be so little.")
        if most > _MOST.get(one.key, most):
            raise _refused(typed, f"The {one.name} can't be so much.")
        return replace(one, least=least, most=most)


def _refused(typed: Typed, reason: str) -> QuantityError:
    typed.refuse(reason)
    typed.bring(typed.boxes[0])
    return QuantityError(typed.boxes[0].text(), reason, "Type another value.")


def _words(value: float, dimension: Dimension, unit: str) -> str:
    """Write a value in a box as a person would type it."""
    return f"{in_marks(f'{in_unit(value, dimension, unit):.4g}')} {unit}".strip()
