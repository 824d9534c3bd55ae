"""The columns of a record as they were guessed, each to be confirmed or changed: column, unit, and a signal's scale."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QWidget

from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.look.parts import column, holder, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Dimension, QuantityError, in_marks, read, without_doubt
from levelbench.records import Columns, Guess, Pick, RecordError, Scale, TimePick
from levelbench.records.column_words import SAID
from levelbench.records.columns import DRAW, OUTPUT, PV, ROLES, SET_POINT, TIME, needs_scale
from levelbench.records.stamps import FORMS, NUMBER
from levelbench.records.unit_words import FLOW_UNITS, OUTPUT_UNITS, PV_UNITS, TIME_UNITS, USUAL_ENDS, dimension_of

if TYPE_CHECKING:
    from collections.abc import Sequence

_NONE, _EVERY, _NO_UNIT = "none", "rows in equal steps", "no unit"
_UNITS = {
    TIME: (*TIME_UNITS, *FORMS[1:]), PV: PV_UNITS, OUTPUT: OUTPUT_UNITS, SET_POINT: PV_UNITS, DRAW: FLOW_UNITS,
}  # fmt: skip
_WIDE, _UNIT_WIDE, _END_WIDE = 64, 104, 56  # px
_LEVELS = (Dimension.VOLUME, Dimension.LENGTH, Dimension.FLOW)


class RoleRow(QWidget):
    """One role: which column it is, in what unit, why that was guessed, and for a signal the ends of its scale."""

    changed = Signal()

    def __init__(self, role: str) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.role = role
        self._guess: Guess | None = None
        self.touched = False  # a person has changed something in it
        self.column, self.unit = QComboBox(), QComboBox()
        self.why = text("", "small", wrap=True)
        self.low, self.high, self.at_low, self.at_high = (LineBox() for _ in range(4))
        self.step = LineBox("1 s")
        self.trouble = text("", "refusal", wrap=True)
        self._build()
        self._connect()

    def _build(self) -> None:
        name = text(SAID[self.role])
        name.setFixedWidth(_WIDE)
        self.column.setMinimumContentsLength(6)
        self.column.setAccessibleName(f"column of {SAID[self.role]}")
        self.unit.setFixedWidth(_UNIT_WIDE)
        self.unit.setAccessibleName(f"unit of {SAID[self.role]}")
        for one in (self.column, self.unit):
            one.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            one.wheelEvent = lambda event: event.ignore()  # type: ignore[method-assign]  # the card scrolls instead
        boxes = (
            (self.low, "lower end"),
            (self.high, "upper end"),
            (self.at_low, "at lower end"),
            (self.at_high, "at upper end"),
        )
        for box, words in boxes:
            box.setFixedWidth(_END_WIDE)
            box.setAccessibleName(f"{words} of the scale of {SAID[self.role]}")
        self.step.setAccessibleName("time from one row to the next")
        self.scale = holder(
            row(self.low, text("to"), self.high, text("is"), self.at_low, text("to"), self.at_high, None, gap=4)
        )
        self.every = holder(row(text("each"), self.step, None))
        choice = row(name, self.column, self.unit, gap=GRID // 2)
        choice.setStretch(1, 1)
        inside = column(choice, self.scale, self.every, self.why, self.trouble, gap=2)
        for part in (self.scale, self.every, self.why, self.trouble):
            part.setContentsMargins(_WIDE + GRID // 2, 0, 0, 0)
        self.setLayout(inside)
        self.trouble.hide()

    def _connect(self) -> None:
        self.column.activated.connect(self._new_column)
        self.unit.activated.connect(self._new_unit)
        for box in (self.low, self.high, self.at_low, self.at_high, self.step):
            box.editingFinished.connect(self._typed)
        self.changed.connect(self._touch)

    def _touch(self) -> None:
        self.touched = True

    def show_guess(self, guess: Guess) -> None:
        """Show what was guessed."""
        self._guess, self.touched = guess, False
        self.column.clear()
        if self.role == TIME:
            self.column.addItem(_EVERY, -1)
        elif self.role in (SET_POINT, DRAW):
            self.column.addItem(_NONE, -1)
        else:
            self.column.addItem("choose …", -1)
        for at, one in enumerate(guess.seen):
            self.column.addItem(f"{at + 1} {one.header.name}", at)
        found = guess.at(self.role)
        self.column.setCurrentIndex(self.column.findData(found[0]) if found else 0)
        self._take_column()

    @property
    def at(self) -> int | None:
        """The chosen column, None for none."""
        data = self.column.currentData()
        return None if data is None or data < 0 else int(data)

    def _new_column(self) -> None:
        self._take_column()
        self.changed.emit()

    def _new_unit(self) -> None:
        self._show_scale(self.unit.currentData())
        self.changed.emit()

    def _typed(self) -> None:
        boxes = (self.low, self.high, self.at_low, self.at_high, self.step)
        if any(box.isModified() for box in boxes):
            for box in boxes:
                box.setModified(False)
            self.changed.emit()

    def _take_column(self) -> None:
        """Show the unit and the reason of the column that is chosen now."""
        guess, at = self._guess, self.at
        if guess is None:
            return
        unit, why = "", ""
        if at is not None:
            guessed = guess.guessed[at]
            fits = guessed.role == self.role
            unit = guessed.unit if fits else guess.unit_of(at)
            why = guessed.why if fits else "as you say"
            times = guess.at(TIME)
            if fits and len(times) > 1 and times[0] == at:
                why = f"{why}; with {times[1] + 1} “{guess.seen[times[1]].header.name}”, {guess.guessed[times[1]].why}"
        self._offer(unit)
        self.why.setText(why)
        self.why.setVisible(bool(why))
        self.every.setVisible(self.role == TIME and at is None)
        self.unit.setVisible(at is not None)
        self._show_scale(unit)

    def _offer(self, unit: str) -> None:
        self.unit.clear()
        offered = list(_UNITS[self.role])
        if self.role in (PV, SET_POINT):
            offered.append("")
        if unit not in offered:
            offered.insert(0, unit)
        for one in offered:
            self.unit.addItem(one or _NO_UNIT, one)
        self.unit.setCurrentIndex(self.unit.findData(unit))

    def _show_scale(self, unit: str) -> None:
        """Show the ends of the scale where a signal needs or may have one."""
        asks = self.at is not None and self.role != TIME and self._may_scale(unit)
        self.scale.setVisible(asks)
        low, high = USUAL_ENDS.get(unit, (None, None))
        for box, value in ((self.low, low), (self.high, high)):
            box.setText("" if value is None else in_marks(str(value).removesuffix(".0")))
        output = self.role == OUTPUT
        for box, words in ((self.at_low, "0 %" if output else ""), (self.at_high, "100 %" if output else "")):
            box.setText(words)
            box.setPlaceholderText("" if output else "0 gal" if box is self.at_low else "9 gal")

    def _may_scale(self, unit: str) -> bool:
        if self.role == OUTPUT:
            return needs_scale(OUTPUT, unit)
        return dimension_of(unit) not in _LEVELS

    def refuse(self, words: str) -> None:
        """Say what is wrong with this row; "" when nothing is."""
        self.trouble.setText(f"✗ {words}" if words else "")
        self.trouble.setVisible(bool(words))

    # what is chosen ----------------------------------------------------------------------------------------------

    def pick(self) -> Pick | None:
        """Give the column as chosen; raises RecordError for a scale that can't be read."""
        at, guess = self.at, self._guess
        if at is None or guess is None:
            return None
        unit = str(self.unit.currentData())
        return Pick(at, unit, self._scale(), guess.seen[at].in_cells)

    def _scale(self) -> Scale | None:
        means = [without_doubt(box.text()).strip() for box in (self.at_low, self.at_high)]
        if self.scale.isHidden() or not all(means):
            return None
        ends = []
        for box in (self.low, self.high):
            with suppress(QuantityError):
                ends.append(read(without_doubt(box.text()), Dimension.NUMBER).si)
        if len(ends) < 2:
            raise RecordError(f"scale of {SAID[self.role]}", "Both ends must be numbers.", "Type for example 4 and 20.")
        return Scale(ends[0], ends[1], means[0], means[1])

    def time(self) -> TimePick:
        """Give the time as chosen; raises RecordError for a step that is none."""
        at, guess = self.at, self._guess
        if at is None or guess is None:
            try:
                return TimePick(None, every=read(without_doubt(self.step.text()), Dimension.TIME).si)
            except QuantityError as error:
                raise RecordError("time", error.reason, error.hint) from error
        unit = str(self.unit.currentData())
        form = unit if unit in FORMS else NUMBER
        made = TimePick(at, form, "s" if form != NUMBER else unit)
        times = guess.at(TIME)
        return replace(made, clock=times[1]) if len(times) > 1 and times[0] == at and form != NUMBER else made


class ColumnsForm(QWidget):
    """A row for each role."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._guess: Guess | None = None
        self.rows = {role: RoleRow(role) for role in ROLES}
        self.setLayout(column(*self.rows.values()))
        for one in self.rows.values():
            one.changed.connect(self.changed)

    def show_guess(self, guess: Guess) -> None:
        """Show what was guessed of a file."""
        self._guess = guess
        for one in self.rows.values():
            one.show_guess(guess)
            one.refuse("")

    def columns(self) -> Columns | None:
        """Give what is chosen; None, said in its row, when something is missing."""
        guess, made = self._guess, {}
        if guess is None:
            return None
        time: TimePick | None = None
        for role, one in self.rows.items():
            one.refuse("")
            try:
                if role == TIME:
                    time = one.time()
                else:
                    made[role] = one.pick()
            except RecordError as error:
                one.refuse(f"{error.reason} {error.hint}")
        for role in (PV, OUTPUT):
            if role in made and made[role] is None:
                one = self.rows[role]
                one.refuse("Choose its column.")
        pv, output = made.get(PV), made.get(OUTPUT)
        if time is None or pv is None or output is None or len(made) < len(self.rows) - 1:
            return None
        return Columns(guess.dialect, time, pv, output, made[SET_POINT], made[DRAW])

    def questions(self) -> list[str]:
        """Give what the guess asks, without what a person has answered by changing it."""
        guess = self._guess
        if guess is None:
            return []
        doubtful = [at for role, one in self.rows.items() if not one.touched for at in guess.at(role)]
        return [one for one in guess.questions if any(one.startswith(f"Column {at + 1} ") for at in doubtful)]

    def refuse(self, error: RecordError) -> bool:
        """Say an error in the row of the role that it is about; False when it is about none."""
        found: Sequence[str] = [role for role in self.rows if error.place in (role, f"the scale of the {role}")]
        for role in found:
            self.rows[role].refuse(f"{error.reason} {error.hint}")
        return bool(found)
