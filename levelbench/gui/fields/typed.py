"""A line to type a value or a range into, in any unit of its dimension, with the reason for what stands there."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QWidget

from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.fields.unit_menu import UnitButton, has_choice
from levelbench.gui.look.parts import bring_up, column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Dimension, QuantityError, in_marks, in_unit, read, without_doubt

LABEL, BOX = 104, 124  # px


class Typed(QWidget):
    """One line: a name, one box or two, their unit, and under them why it is so, or why it is refused."""

    edited = Signal()

    def __init__(self, name: str, dimension: Dimension, boxes: int, *, may_be_empty: bool = False) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.dimension, self._may_be_empty = dimension, may_be_empty
        words = text(name, "quiet", wrap=True)
        self.boxes = [LineBox() for _ in range(boxes)]
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
        if boxes == 1:
            words.setFixedWidth(LABEL)
            self.under.setContentsMargins(LABEL + GRID, 0, 0, 0)
            self.setLayout(column(row(words, *between, None, gap=GRID - 2), self.under, gap=2))
        else:  # two boxes want the whole width, so the name stands over them
            self.setLayout(column(words, row(*between, None, gap=GRID - 2), self.under, gap=2))

    def put(self, values: tuple[float | None, ...], unit: str, why: str) -> None:
        """Show values (SI) that were not typed here, and why they are so."""
        self.touched, self._why = False, why
        for box, value in zip(self.boxes, values, strict=True):
            box.setText("" if value is None else _words(value, self.dimension, unit))
        self.refuse("")

    def propose(self, values: tuple[float | None, ...], unit: str, why: str) -> None:
        """Show these where nothing was typed."""
        if not self.touched:
            self.put(values, unit, why)

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

    def refusal(self, reason: str, *, bring: bool = True) -> QuantityError:
        """Say why what was typed can't be taken, and give that to raise; `bring`: the cursor goes there."""
        self.refuse(reason)
        if bring:
            self.bring(self.boxes[0])
        return QuantityError(self.boxes[0].text(), reason, "Type another value.")

    def whole(self, least: int, most: int, *, bring: bool = True) -> int:
        """Read a whole number from the one box. Raises QuantityError, and shows it here."""
        value = self.values()[0]
        if value is None or value != round(value) or not least <= value <= most:
            raise self.refusal(f"Give a whole number from {least} to {most}.", bring=bring)
        return round(value)

    def bring(self, box: QLineEdit) -> None:
        """Put the cursor into a box, and the line into sight."""
        box.setFocus()
        bring_up(self)

    def _edited(self) -> None:
        self.touched = True
        self.refuse("")
        self.edited.emit()


def _words(value: float, dimension: Dimension, unit: str) -> str:
    """Write a value in a box as a person would type it."""
    return f"{in_marks(f'{in_unit(value, dimension, unit):.4g}')} {unit}".strip()
