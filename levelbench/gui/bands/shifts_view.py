"""The wide place of shifts by chance: the worst shift drawn, every measure beside its published figure, each alarm."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QVBoxLayout, QWidget

from levelbench.alarms.measures import FAR_OVER, MET, OVER
from levelbench.gui.look.parts import clear, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.evidence_view import Picture
from levelbench.gui.work.slices import Slices
from levelbench.handover.told import value_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.measures import Measure
    from levelbench.alarms.proof import OfAlarm, Proof
    from levelbench.gui.look.scene_view import Draw
    from levelbench.quantity import Figure, Units

WAITING = "The shifts of this rig, counted, come here."
MARKS = {MET: "✓ kept", OVER: "▲ over", FAR_OVER: "■ far over", "": ""}
_ROLES = {MET: "body", OVER: "attention", FAR_OVER: "stop", "": "body"}
_MEASURES = ("", "measured", "value", "95 % between", "published")
_ALARMS = ("alarm", "priority", "a shift", "came", "in chatter", "fleeting", "no cause", "due", "missed", "stood")


class Grid(QWidget):
    """A table of words that is built a row at a time; a cell's tip says where its number is from."""

    def __init__(self, name: str, head: Sequence[str], wide: int) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.setAccessibleName(name)
        self._head, self._wide = head, wide
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, GRID, 0)
        self._grid.setHorizontalSpacing(GRID + 4)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(wide, 1)
        self.cells: list[tuple[str, ...]] = []

    def begin(self) -> None:
        """Show the head, and nothing under it."""
        clear(self._grid)
        self.cells = []
        self._put(self._head, "small", [""] * len(self._head))

    def add(self, words: Sequence[str], role: str, tips: Sequence[str]) -> None:
        """Show one more row."""
        self.cells.append(tuple(words))
        self._put(words, role, tips)

    def _put(self, words: Sequence[str], role: str, tips: Sequence[str]) -> None:
        row = self._grid.rowCount()
        for column, (cell, tip) in enumerate(zip(words, tips, strict=True)):
            made = text(cell, role if column == 0 or role == "small" else "body", wrap=column == self._wide)
            made.setToolTip(tip)
            right = column in (2, 3) if self._wide else column > 1
            side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
            made.setAlignment(side | Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(made, row, column)


class ShiftsView(QFrame):
    """A sentence, the worst shift, and under it two tables, which scroll where the window is low."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.says, self.picture = text(WAITING, wrap=True), Picture("the worst shift over time")
        self.measures = Grid("what was measured, beside published figures", _MEASURES, 4)
        self.alarms = Grid("each alarm over all shifts", _ALARMS, 0)
        self._slices = Slices(self)
        inside = QWidget()
        inside.setProperty("role", "on-card")
        tables = QVBoxLayout(inside)
        tables.setContentsMargins(0, 0, 0, 0)
        tables.setSpacing(2 * GRID)
        for part in (self.alarms, self.measures):
            tables.addWidget(part)
        tables.addStretch(1)
        self.tables = scrolling(inside)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, 2 * GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addWidget(self.says)
        layout.addWidget(self.picture, 2)
        layout.addWidget(self.tables, 3)
        layout.addStretch(0)
        self.forget()

    def forget(self, words: str = "") -> None:
        """Show nothing, and say why."""
        self._slices.do(())
        self.says.setText(words or WAITING)
        self.picture.hide()
        self.tables.hide()

    def outdated(self, words: str) -> None:
        """Say that what is shown is of an older project."""
        self.says.setText(words)

    def show_found(self, words: str, draw: Draw, found: Proof, shown_in: Units) -> None:
        """Show a proof."""
        self.says.setText(words)
        self.picture.show_drawn(draw)
        self.picture.show()
        self.tables.show()
        steps = [self.measures.begin, self.alarms.begin]
        steps += [partial(self._alarm, one, shown_in) for one in found.alarms]
        steps += [partial(self._measure, one, shown_in) for one in found.measures]
        self._slices.do(steps)

    def _measure(self, one: Measure, shown_in: Units) -> None:
        ends = " … ".join(value_of(each, shown_in) for each in one.interval) if one.interval else ""
        words = (MARKS[one.word], one.figure.name, value_of(one.figure, shown_in), ends, one.norm)
        tip = _tip(one.figure)
        between = one.interval[0].source if one.interval else ""
        self.measures.add(words, _ROLES[one.word], (tip, tip, tip, between, one.source))

    def _alarm(self, one: OfAlarm, shown_in: Units) -> None:
        figures = list(one.figures.values())
        words = (one.alarm, one.priority, *(value_of(each, shown_in) for each in figures))
        self.alarms.add(words, "body", ("", "", *map(_tip, figures)))


def _tip(one: Figure) -> str:
    """Say in a tip how a figure was worked out."""
    inputs = ", ".join(f"{name} {value}" for name, value in one.inputs)
    return f"{one.name}: {one.formula} ({inputs}). Source: {one.source}"
