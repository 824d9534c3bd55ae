"""The wide place of shifts by chance: the worst shift drawn, every measure beside its published figure, each alarm."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from levelbench.alarms.measures import FAR_OVER, MET, OVER
from levelbench.gui.look.parts import clear, column, holder, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.picture_view import PictureView
from levelbench.gui.work.slices import Slices
from levelbench.handover.told import value_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from levelbench.alarms.measures import Measure
    from levelbench.alarms.proof import OfAlarm, Proof
    from levelbench.gui.look.scene_view import Draw
    from levelbench.quantity import Figure, Units

WAITING = "The shifts of this rig, counted, come here."
MARKS = {MET: "✓ kept", OVER: "▲ over", FAR_OVER: "■ far over", "": ""}
_ROLES = {MET: "body", OVER: "attention", FAR_OVER: "stop", "": "quiet"}
_MEASURES = ("measured", "value", "95 % between", "published")
_ALARMS = ("alarm", "priority", "came", "in chatter", "fleeting", "no cause", "missed", "stood")
_COUNTED = ("came", "chatter", "fleeting", "false")  # of OfAlarm, as they stand under this head


class Grid(QWidget):
    """A table of words that is built a row at a time; a cell's tip says where its number is from.

    right: columns of numbers, flush right; wraps: columns whose words may take several lines, with their shares of the
    room that is left; a column beyond the last one is room that stays free.
    """

    def __init__(self, name: str, head: Sequence[str], right: Sequence[int], wraps: Mapping[int, int]) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.setAccessibleName(name)
        self._head, self._right, self._wraps = head, right, wraps
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, GRID, 0)
        self._grid.setHorizontalSpacing(GRID + 4)
        self._grid.setVerticalSpacing(3)
        for at, share in wraps.items():
            self._grid.setColumnStretch(at, share)
        self.cells: list[tuple[str, ...]] = []

    def begin(self) -> None:
        """Show the head, and nothing under it."""
        clear(self._grid)
        self.cells = []
        self._put(self._head, ["small"] * len(self._head), [""] * len(self._head))

    def add(self, words: Sequence[str], roles: Sequence[str], tips: Sequence[str]) -> None:
        """Show one more row."""
        self.cells.append(tuple(words))
        self._put(words, roles, tips)

    def _put(self, words: Sequence[str], roles: Sequence[str], tips: Sequence[str]) -> None:
        row = self._grid.rowCount()
        for at, (cell, role, tip) in enumerate(zip(words, roles, tips, strict=True)):
            made = text(cell, role, wrap=at in self._wraps or role == "small")
            made.setToolTip(tip)
            side = Qt.AlignmentFlag.AlignRight if at in self._right else Qt.AlignmentFlag.AlignLeft
            made.setAlignment(side | Qt.AlignmentFlag.AlignTop)
            if at in self._wraps:
                longest = max((made.fontMetrics().horizontalAdvance(word) for word in cell.split()), default=0)
                self._grid.setColumnMinimumWidth(at, max(self._grid.columnMinimumWidth(at), longest + 1))
            self._grid.addWidget(made, row, at)


class ShiftsView(PictureView):
    """A sentence, the worst shift, and under it two tables, which scroll where the window is low."""

    def __init__(self) -> None:
        measures = Grid("what was measured, beside published figures", _MEASURES, (1, 2), {0: 2, 3: 3})
        alarms = Grid("each alarm over all shifts", _ALARMS, range(2, len(_ALARMS)), {0: 2, len(_ALARMS): 1})
        tables = holder(column(alarms, measures, None, gap=2 * GRID))
        super().__init__(WAITING, "the worst shift over time", tables, (2, 3))
        self.measures, self.alarms = measures, alarms
        self._slices = Slices(self)

    def forget(self, words: str = "") -> None:
        """Show nothing, and say why."""
        super().forget(words)
        self._slices.do(())

    def show_found(self, words: str, draw: Draw, found: Proof, shown_in: Units) -> None:
        """Show a proof."""
        self.show_picture(words, draw)
        steps = [self.measures.begin, self.alarms.begin]
        steps += [partial(self._alarm, one, shown_in) for one in found.alarms]
        steps += [partial(self._measure, one, shown_in) for one in found.measures]
        self._slices.do(steps)

    def _measure(self, one: Measure, shown_in: Units) -> None:
        ends = " … ".join(value_of(each, shown_in) for each in one.interval) if one.interval else ""
        norm = f"{MARKS[one.word]}: {one.norm}" if one.word else one.norm
        words = (one.figure.name, value_of(one.figure, shown_in), ends, norm)
        between = one.interval[0].source if one.interval else ""
        tips = (_tip(one.figure), _tip(one.figure), between, one.source)
        self.measures.add(words, ("body", "body", "body", _ROLES[one.word]), tips)

    def _alarm(self, one: OfAlarm, shown_in: Units) -> None:
        counted = [one.figures[key] for key in _COUNTED]
        missed, due, stood = (one.figures[key] for key in ("missed", "beyond", "standing"))
        of_due = f"{value_of(missed, shown_in)} of {value_of(due, shown_in)}" if due.si else "–"
        words = (one.alarm, one.priority, *(value_of(each, shown_in) for each in counted), of_due)
        tips = ("", "", *map(_tip, counted), f"{_tip(missed)}. {_tip(due)}", _tip(stood))
        self.alarms.add((*words, value_of(stood, shown_in)), ["body"] * len(_ALARMS), tips)


def _tip(one: Figure) -> str:
    """Say in a tip how a figure was worked out."""
    inputs = ", ".join(f"{name} {value}" for name, value in one.inputs)
    return f"{one.name}: {one.formula} ({inputs}). Source: {one.source}"
