"""The table of rules: a row a rule, a column a figure, to be sorted by any column; the row in hand is what is tried."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QFontMetrics

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.row_table import RowTable
from levelbench.quantity import Figure, in_unit, rounded
from levelbench.tuning.rules import NOW, SLIP, Comparison, Refused, Ruled

if TYPE_CHECKING:
    from levelbench.quantity import Units

Line = Ruled | Refused
_Index = QModelIndex | QPersistentModelIndex
_NONE = "–"
_ROW, _ROOM, _MORE = 20, 12, 48  # px; height of a row, room beside the words of a cell, at most so much more
RULE = 0  # column
_SETTINGS = (("gain", "gain"), ("integral", "int."), ("derivative", "der."))
_ON_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_ON_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


@dataclass(frozen=True)
class Column:
    """One figure of every rule: its head, and how it is read from a line; `digits`: so many significant ones."""

    head: str
    read: Callable[[Ruled], Figure | None]
    digits: int = 0


_MARGINS = (
    Column("GM", lambda one: one.margins.gain, 3),
    Column("PM\n°", lambda one: one.margins.phase, 3),
    Column("Ms", lambda one: one.margins.sensitivity, 3),
)
ON_RIG = (
    *_MARGINS,
    Column("over", lambda one: one.prediction.overshoot),
    Column("settles", lambda one: one.prediction.settling),
    Column("load", lambda one: one.prediction.load_deviation),
    Column("travel", lambda one: one.prediction.travel, 3),
    Column("starts", lambda one: one.prediction.starts, 3),
)
IN_THEORY = (
    *_MARGINS,
    Column("over", lambda one: one.linear.overshoot if one.linear else None),
    Column("settles", lambda one: one.linear.settling if one.linear else None),
    Column("load", lambda one: one.linear.load_deviation if one.linear else None),
    Column("travel", lambda one: one.linear.travel if one.linear else None, 3),
)


def key_of(line: Line) -> str:
    """Give the key of a line."""
    return line.key if isinstance(line, Ruled) else line.rule.key


class RulesModel(QAbstractTableModel):
    """The lines of a comparison; what can't be used stands at the end, whichever way they are sorted."""

    def __init__(self) -> None:
        super().__init__()
        self._found: Comparison | None = None
        self._units: Units | None = None
        self._sorted: tuple[int, Qt.SortOrder] | None = None
        self.columns: tuple[Column, ...] = ON_RIG
        self.lines: list[Line] = []

    def show_found(self, found: Comparison, shown_in: Units) -> None:
        """Show a comparison, sorted as it was."""
        self.beginResetModel()
        self._found, self._units = found, shown_in
        self._arrange()
        self.endResetModel()

    def show_columns(self, columns: tuple[Column, ...]) -> None:
        """Show other figures."""
        self.beginResetModel()
        self.columns, self._sorted = columns, None
        self._arrange()
        self.endResetModel()

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; a negative one brings the order of the rules back."""
        self.beginResetModel()
        self._sorted = (column, order) if column >= 0 else None
        self._arrange()
        self.endResetModel()

    def _arrange(self) -> None:
        if self._found is None:
            return
        lines = list(self._found.lines)
        if self._sorted is not None:
            column, order = self._sorted
            down = order is Qt.SortOrder.DescendingOrder
            told = [(self._rank(one, column), one) for one in lines]
            missing = [one for rank, one in told if rank is None]
            there = sorted(((rank, one) for rank, one in told if rank is not None), key=lambda pair: pair[0])
            lines = [one for _, one in (reversed(there) if down else there)] + missing
        self.lines = [*lines, *self._found.refused]

    def _rank(self, line: Ruled, column: int) -> Any:
        """Give by what a line is sorted; None: there is nothing, so it goes to the end."""
        if column == RULE:
            return line.title.casefold()
        if column < self._first:
            one = line.settings
            return (one.gain, one.integral_time, one.derivative_time)[column - RULE - 1]
        figure = self.columns[column - self._first].read(line)
        return None if figure is None or math.isnan(figure.si) else figure.si

    @property
    def _first(self) -> int:
        """The first column of figures."""
        return RULE + 1 + len(_SETTINGS)

    def mark(self, line: Line) -> str:
        """Give the mark by which a line stands out; the sentences over the table have the same."""
        if isinstance(line, Refused) or self._found is None:
            return ""
        verdict = self._found.verdict
        words = {NOW: "●", SLIP: "▲", verdict.worst: "■", verdict.best: "✓"}
        return words.get(line.key, "")

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008  Qt's name and default
        """Give how many lines there are."""
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008  Qt's name and default
        """Give how many columns there are."""
        return 0 if parent.isValid() else self._first + len(self.columns)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Give what a cell shows, how, and why."""
        line, column = self.lines[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self.words(line, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _ON_LEFT if column == RULE else _ON_RIGHT
        if role == Qt.ItemDataRole.ToolTipRole:
            return self._why(line, column)
        if role == Qt.ItemDataRole.ForegroundRole and isinstance(line, Refused):
            return theme.colour(Role.QUIET)
        if role == Qt.ItemDataRole.FontRole and self.mark(line) in ("✓", "■") and column == RULE:
            return theme.font(theme.SMALL, bold=True)
        return None

    def words(self, line: Line, column: int) -> str:
        """Give what stands in a cell; its unit stands in the head."""
        if isinstance(line, Refused):
            return f"{line.rule.name} {line.rule.kind}" if column == RULE else _NONE
        if column == RULE:
            return f"{self.mark(line)} {line.title}".strip()
        if column < self._first:
            return _typed(line, _SETTINGS[column - RULE - 1][0]).partition(" ")[0]
        return self._told(self.columns[column - self._first], line)

    def _told(self, column: Column, line: Ruled) -> str:
        """Write a figure without its unit."""
        figure = column.read(line)
        if figure is None or self._units is None:
            return _NONE
        unit = self._units.of(figure.dimension)
        if column.digits and math.isfinite(figure.si):
            return rounded(in_unit(figure.si, figure.dimension, unit), column.digits)
        return self._units.tell(figure).removesuffix(unit).strip()

    def _why(self, line: Line, column: int) -> str:
        if isinstance(line, Refused):
            return line.why
        if column < self._first:
            return f"{line.formula}\n{line.source}"
        figure = self.columns[column - self._first].read(line)
        return "an unstable loop has none" if figure is None else f"{figure.name}: {figure.formula}"

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: N802  Qt's name
        """Give the head of a column, with its unit under it."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _ON_LEFT if section == RULE else _ON_RIGHT
        return self.head(section) if role == Qt.ItemDataRole.DisplayRole else None

    def head(self, section: int) -> str:
        """Give the head of a column and, under it, its unit."""
        if section == RULE:
            return "rule"
        ruled = [one for one in self.lines if isinstance(one, Ruled)]
        if section < self._first:
            name, head = _SETTINGS[section - RULE - 1]
            units = [_typed(one, name).partition(" ")[2] for one in ruled]
            return _head(head, next((one for one in units if one), ""))
        column = self.columns[section - self._first]
        figure = next((one for one in map(column.read, ruled) if one is not None), None)
        unit = self._units.of(figure.dimension) if figure is not None and self._units is not None else ""
        return _head(column.head, unit)


def _head(name: str, unit: str) -> str:
    """Put a unit under a name; a long one in two lines, and what the name says already is not said again."""
    unit = unit.removeprefix(name)
    return f"{name}\n{unit if len(unit) < 8 else unit.replace('/', chr(10) + '/', 1)}".strip()


def _typed(line: Ruled, name: str) -> str:
    """Give a setting as it is typed into this project."""
    if name == "gain" and "loop_settings.gain" not in line.edits:
        name = "proportional_band"
    return str(line.edits[f"loop_settings.{name}"])


class RulesTable(RowTable):
    """Shows a comparison and says which line is in hand."""

    chosen = Signal(object)  # Ruled or Refused

    def __init__(self) -> None:
        rules = RulesModel()
        super().__init__(rules, "published tuning rules, each tried on this rig")
        self.rules = rules
        self.setShowGrid(False)
        self.setAlternatingRowColors(False)
        self.setWordWrap(False)
        self.verticalHeader().setDefaultSectionSize(_ROW)
        head = self.horizontalHeader()
        head.setSortIndicatorShown(True)
        head.setSectionsClickable(True)
        head.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        head.setSortIndicatorClearable(True)
        head.setDefaultAlignment(_ON_RIGHT)
        head.setMinimumSectionSize(_ROOM)
        self.setSortingEnabled(True)
        self.rules.modelReset.connect(self._choose_again)

    def show_found(self, found: Comparison, shown_in: Units) -> None:
        """Show a comparison; the line that was in hand stays it, the best is it at first."""
        if not self.key:
            self.key = found.verdict.best or NOW
        self.rules.show_found(found, shown_in)
        self.fit()

    def show_columns(self, columns: tuple[Column, ...]) -> None:
        """Show other figures of the same rules."""
        self.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.rules.show_columns(columns)
        self.fit()

    def choose(self, key: str) -> None:
        """Take the line with a key in hand."""
        self.key = key
        self._choose_again()

    def fit(self) -> None:
        """Make each column as wide as its words, a little wider where there is room; no taller than its lines."""
        plain, bold = theme.font(theme.SMALL), theme.font(theme.SMALL, bold=True)
        rules, wanted = self.rules, []
        for at in range(rules.columnCount()):
            words = [*rules.head(at).split("\n"), *(rules.words(one, at) for one in rules.lines)]
            metrics = QFontMetrics(bold if at == RULE else plain)
            wanted.append(max(map(metrics.horizontalAdvance, words)) + _ROOM)
        over = self.viewport().width() - sum(wanted)
        each = max(0, min(over // len(wanted), _MORE))
        for at, width in enumerate(wanted):
            self.setColumnWidth(at, width + each)
        head = self.horizontalHeader().sizeHint().height()
        self.setMaximumHeight(head + _ROW * max(len(rules.lines), 1) + _ROOM)

    def _choose_again(self) -> None:
        """Keep the line in hand when the table was filled or sorted anew."""
        keys = [key_of(one) for one in self.rules.lines]
        if self.key in keys:
            self.setCurrentIndex(self.rules.index(keys.index(self.key), RULE))

    def take(self, row: int) -> None:
        """Take a line in hand."""
        line = self.rules.lines[row]
        self.key = key_of(line)
        self.chosen.emit(line)
