"""The same loop settings side by side: a column a form, a row a unit; every cell can be typed into or dragged.

Whichever cell is edited, the file keeps the form and the units that stand in it; the head of a column takes its form.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.fields.value_cell import ValueCell
from levelbench.gui.look.parts import button, holder, restyle, text
from levelbench.gui.tuning.setting_texts import FORMS, ROWS, Row, number, own_cell, plain_value, shown_values
from levelbench.quantity import QuantityError

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings

CELL = 82  # px
_ZERO = {"derivative_seconds": 2.0, "derivative_minutes": 2.0 / 60}  # a pull by one doubling adds 2 s to none
_BLANK = "–"
_PARALLEL = "parallel: integral and derivative stand here in % per % of span; in the file, as the gain, per"


class SettingsGrid(QWidget):
    """Shows a tuning in every form; tells what has to be edited when a cell is tried or handed in."""

    previewed = Signal(object)  # dict of edits
    handed_in = Signal(object)  # dict of edits
    given_up = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._tuned: Tuned | None = None
        self._typed: LoopSettings | None = None
        self._in_hand: ValueCell | None = None
        self.cells: dict[tuple[str, str], ValueCell] = {}
        self.heads = {form: self._head(form) for form in FORMS}
        self.units: dict[str, QLabel] = {}
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        self.missing = text("", "small", wrap=True)
        self.missing.hide()
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(4)
        grid.setVerticalSpacing(2)
        for at, head in enumerate(self.heads.values()):
            grid.addWidget(head, 0, at + 1)
        for at, row in enumerate(ROWS):
            self._add_row(grid, at + 1, row)
        grid.setColumnStretch(0, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(holder(grid))
        layout.addWidget(self.reason)
        layout.addWidget(self.missing)

    def _head(self, form: str) -> QPushButton:
        made = button(form, partial(self._take_form, form), "part", "")
        made.setCheckable(True)
        made.setProperty("head", "yes")
        made.setFixedWidth(CELL)
        made.setEnabled(False)
        return made

    def _add_row(self, grid: QGridLayout, at: int, row: Row) -> None:
        self.units[row.key] = text(f"{row.name} {row.unit}".strip(), "small")
        grid.addWidget(self.units[row.key], at, 0)
        for column, form in enumerate(FORMS):
            name = f"{row.setting} in {row.unit or 'the gain of a volume'}, {form} form"
            cell = ValueCell(name, partial(_words, form, row), _ZERO.get(row.key, 0.0))
            cell.setFixedWidth(CELL)
            cell.previewed.connect(partial(self._preview, form, row))
            cell.handed_in.connect(partial(self._hand_in, form, row))
            cell.given_up.connect(self._give_up)
            grid.addWidget(cell, at, column + 1)
            self.cells[form, row.key] = cell

    def show_tuning(self, tuned: Tuned, typed: LoopSettings) -> None:
        """Show the settings as they are in the project."""
        self._tuned, self._typed = tuned, typed
        self.units["gain"].setText(_gain_unit(tuned))
        own = {own_cell(typed, setting) for setting in ("gain", "integral", "derivative")}
        for form in FORMS:
            is_own = typed.form == form
            self.heads[form].setChecked(is_own)
            self.heads[form].setEnabled(is_own or bool(shown_values(tuned, form)))
            tip = f"{form}: the form that the controller computes" if is_own else f"let the controller compute {form}"
            self.heads[form].setToolTip(tip if is_own else f"{tip}; the loop stays as it is, one undo step")
            self.heads[form].setAccessibleName(tip)
            for row in ROWS:
                restyle(self.cells[form, row.key], own="yes" if (form, row.key) in own else "")
        self.follow(tuned)

    def follow(self, tuned: Tuned) -> None:
        """Show the numbers of a tuning, of the project or of a try; the cell in hand keeps what is in it."""
        for form in FORMS:
            shown = shown_values(tuned, form)
            for row in ROWS:
                value = plain_value(shown[row.key]) if row.key in shown else None
                self.cells[form, row.key].put(value, _words(form, row, value))
                self.cells[form, row.key].setEnabled(value is not None)
        missing = [f"{one.name}: {one.missing}" for one in tuned.forms if one.missing]
        typed = self._typed
        if typed is not None and typed.form == "parallel" and typed.gain is not None and typed.gain.per_volume:
            missing.append(f"{_PARALLEL} {typed.gain.unit.removeprefix('%/')}.")
        self.missing.setText(" ".join(missing))
        self.missing.setVisible(bool(missing))

    def focus_on(self, setting: str) -> bool:
        """Put the cursor into the cell in which the project has a setting typed; False while there are no values."""
        if self._typed is None:
            return False
        cell = self.cells[own_cell(self._typed, setting)]
        cell.setFocus()
        cell.selectAll()
        return True

    def refuse(self, reason: str) -> None:
        """Say under the table why a value can't be, and keep it for mending; "" when it can."""
        if self._in_hand is not None:
            self._in_hand.refuse(bool(reason))
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))

    def _take_form(self, form: str) -> None:
        """Ask for another form of the same loop; the one in force stays pressed."""
        from levelbench.gui.tuning.typed_back import in_form  # noqa: PLC0415  the rig comes in when it is wanted

        assert self._tuned is not None
        assert self._typed is not None
        own = self._typed.form
        for name, head in self.heads.items():
            head.setChecked(name == own)
        if form != own:
            self._in_hand = None
            self.refuse("")
            self.handed_in.emit(in_form(self._tuned, self._typed, form))

    def _edits(self, form: str, row: Row, words: str) -> dict[str, object] | None:
        from levelbench.gui.tuning.typed_back import changes  # noqa: PLC0415  the rig comes in when it is wanted

        assert self._tuned is not None
        assert self._typed is not None
        try:
            made = changes(self._tuned, self._typed, form, row, words)
        except QuantityError as error:
            self.refuse(str(error))
            return None
        return dict(made)

    def _preview(self, form: str, row: Row, words: str) -> None:
        self._in_hand = self.cells[form, row.key]
        self.refuse("")
        edits = self._edits(form, row, words)
        if edits is not None:
            self.previewed.emit(edits)

    def _hand_in(self, form: str, row: Row, words: str) -> None:
        self._in_hand = self.cells[form, row.key]
        edits = self._edits(form, row, words)
        if edits is not None:
            self.handed_in.emit(edits)

    def _give_up(self) -> None:
        self.refuse("")
        if self._tuned is not None:
            self.follow(self._tuned)
        self.given_up.emit()


def _gain_unit(tuned: Tuned) -> str:
    return shown_values(tuned, "standard")["gain"].unit


def _words(form: str, row: Row, value: float | None) -> str:
    """Write what stands in a cell; a parallel integral says its unit, because it isn't the one of its row."""
    if value is None:
        return _BLANK
    if row.setting == "integral" and (math.isinf(value) or value == 0):
        return "off"
    return number(value) + (row.parallel_suffix if form == "parallel" else "")
