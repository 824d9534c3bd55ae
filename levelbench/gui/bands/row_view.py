"""One row of the table of alarms: its widgets, what they show, and what of it is tried or handed in."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QPushButton, QWidget

from levelbench.gui.bands.parts import (
    PARTS,
    Part,
    entry_of,
    front,
    has,
    is_number,
    is_yes_no,
    typed_part,
    value_in,
    written_in,
)
from levelbench.gui.bands.rows import COLUMNS, Column, Kind, Row, quantity_of, scale, shown, told, typed_back, unit_of
from levelbench.gui.fields.entry_keys import declaration, typed
from levelbench.gui.fields.value_cell import ValueCell
from levelbench.gui.look.parts import restyle, text
from levelbench.quantity import QuantityError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from levelbench.project import Value
    from levelbench.project.records import Project
    from levelbench.rig.bench import Bench

WIDTHS = {"volume": 56, "height": 50, "signal": 48, "seconds": 40}  # px
ARROW = 26  # px beside the words of a choice
SHORT = {"not started or manual": "either"}  # what a choice says after those that it joins, in a narrow cell
WIDE_LIST = 200  # px; of the list that it opens
CLOSER = 2  # px; less for a limit where its dead band and delays stand beside it
BESIDE = 13  # px beside the words of a cell
INSET = 5  # px of the words in a cell from its edge
NAME = 2  # the column of the name; before it the box and the mark


class RowView(QObject):
    """The widgets of a row. Places in the tank that are no alarm have no box and no parts."""

    previewed = Signal(object)  # dict of edits
    handed_in = Signal(object)  # dict of edits
    refused = Signal(str, QWidget)  # why, the cell
    given_up = Signal()
    used = Signal(bool)  # whether it is to be in use
    wanted = Signal()  # the keyboard came here, or its name was pressed

    def __init__(self, row: Row, columns: tuple[Column, ...], parts: tuple[Part, ...], parent: QObject) -> None:
        super().__init__(parent)
        self.row, self._columns, self._parts = row, columns, parts
        self._bench: Bench | None = None
        self.cells: dict[str, ValueCell] = {}  # by column or part
        self.choices: dict[str, QComboBox] = {}
        self.boxes: dict[str, QCheckBox] = {}
        self.labels: dict[str, QLabel] = {}  # what can't be typed: a spill's place
        self.in_use: QCheckBox | None = None
        self.mark = text("", "body")
        self.mark.setAccessibleName(f"{row.name}: mark")
        self.name: QPushButton | QLabel = self._choosable() if row.is_alarm else _plain(row.name)

    def place(self, grid: QGridLayout, at: int) -> None:
        """Make the widgets of the row and put them into a grid."""
        if self.row.is_alarm:
            self.in_use = self._use()
            grid.addWidget(self.in_use, at, 0)
        grid.addWidget(self.mark, at, 1)
        grid.addWidget(self.name, at, NAME)
        for where, column in enumerate(self._columns, NAME + 1):
            grid.addWidget(self._limit(column), at, where)
        for where, part in enumerate(self._parts, NAME + 1 + len(self._columns)):
            if has(self.row, part):
                made = self._part(part)
                grid.addWidget(made, at, where)
                if isinstance(made, QCheckBox):
                    grid.setAlignment(made, Qt.AlignmentFlag.AlignCenter)

    def _choosable(self) -> QPushButton:
        made = QPushButton(self.row.name)
        made.setProperty("role", "part")
        made.setProperty("side", "left")
        made.setProperty("low", "yes")
        made.setCheckable(True)
        made.setAutoDefault(False)
        made.setAccessibleName(f"alarm: {self.row.name}")
        made.setToolTip(f"choose {self.row.name}: everything about it stands below the table")
        return made

    def _use(self) -> QCheckBox:
        box = QCheckBox()
        box.setProperty("role", "bare")
        box.setAccessibleName(f"{self.row.name} in use")
        box.setToolTip(f"{self.row.name}: in use or left out, one undo step")
        box.clicked.connect(lambda on: self.used.emit(on))  # noqa: PLW0108  a signal would lose its argument
        return box

    def _limit(self, column: Column) -> QWidget:
        """Make the cell of the limit in a column, or a label where nothing can be typed."""
        if not self.row.entry:
            self.labels[column.key] = made = text("", "quiet")
            made.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            made.setContentsMargins(0, 0, INSET, 0)
            return made
        return self._cell(column.key, column.name, partial(self._write, column), partial(self._limit_edit, column))

    def _part(self, part: Part) -> QWidget:
        key, name = entry_of(self.row, part), f"{self.row.name}, {part.name}"
        if is_number(key):
            return self._cell(part.key, part.name, partial(self._write_part, key), partial(self._part_edit, key))
        if is_yes_no(key):
            self.boxes[part.key] = box = QCheckBox()
            box.setProperty("role", "bare")
            box.setAccessibleName(name)
            box.setToolTip(f"{name}: {declaration(key).help}")
            box.clicked.connect(lambda on: self._chosen({key: on}))
            return box
        self.choices[part.key] = made = QComboBox()
        made.setProperty("role", "cell")
        made.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        made.view().setMinimumWidth(WIDE_LIST)
        made.setFixedWidth(part.width)
        made.currentTextChanged.connect(lambda words: made.setFixedWidth(max(part.width, _needed(made, words))))
        for at, words in enumerate(declaration(key).choices):
            made.addItem(SHORT.get(words, words), words)
            for role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
                made.setItemData(at, words, role)
        made.setAccessibleName(name)
        made.activated.connect(lambda _at: self._chosen({key: str(made.currentData())}))
        return made

    def _cell(
        self, key: str, name: str, write: Callable[[float], str], edit: Callable[[str], dict[str, str]]
    ) -> ValueCell:
        cell = ValueCell(f"{self.row.name}, {name}", write, 1.0)
        cell.setFixedWidth(_usual(key, whole=bool(self._parts)))
        cell.previewed.connect(partial(self._told, cell, edit, self.previewed.emit))
        cell.handed_in.connect(partial(self._told, cell, edit, self.handed_in.emit))
        cell.given_up.connect(self.given_up)
        cell.entered.connect(self.wanted)
        self.cells[key] = cell
        return cell

    def _chosen(self, edits: dict[str, Value]) -> None:
        self.wanted.emit()
        self.handed_in.emit(edits)

    # what is shown -----------------------------------------------------------------------------------------------

    def show_use(self, project: Project, *, checked: bool) -> None:
        """Show whether the alarm is in use; without a rig nothing can be proposed for one that is not."""
        if self.in_use is not None:
            self.in_use.setChecked(typed(project, front(self.row)) is not None)
            self.in_use.setEnabled(checked or self.in_use.isChecked())

    def follow(self, bench: Bench) -> None:
        """Show the values of a rig; a cell that is typed in keeps what is in it."""
        self._bench = bench
        values = told(bench, self.row)
        there = self.row.is_alarm or bool(values)
        off = self.row.entry.startswith("bands.") and not values  # its cells stay, to be typed into
        self.name.setVisible(there)
        for column in COLUMNS:
            value = values.get(column.key)
            words = "" if value is None else shown(bench, self.row, column, value)
            if column.key in self.labels:
                self.labels[column.key].setText(words)
            elif column.key in self.cells:
                number = None if value is None else value / scale(bench, self.row, column)
                self.cells[column.key].put(number, words)
                self.cells[column.key].setVisible(self._tells(column) and (there and (value is not None or off)))
        for part in self._parts:
            self._show_part(part)

    def _tells(self, column: Column) -> bool:
        return self.row.kind in (Kind.VOLUME, Kind.HEIGHT) or column.key != "seconds"

    def _show_part(self, part: Part) -> None:
        """Show an entry, or what is assumed for it; nothing of an alarm that is left out."""
        assert self._bench is not None
        project, key = self._bench.project, entry_of(self.row, part)
        used = typed(project, front(self.row)) is not None
        if part.key in self.cells:
            quantity = quantity_of(project, key)
            units = self._bench.units
            value = None if quantity is None else value_in(units, key, quantity.si)
            self.cells[part.key].put(value, "" if quantity is None else written_in(units, key, quantity.si))
            self.cells[part.key].setEnabled(used)
        elif part.key in self.boxes or part.key in self.choices:
            now = getattr(getattr(project.bands, self.row.key), part.key, None)
            if part.key in self.boxes:
                self.boxes[part.key].setChecked(bool(now))
                self.boxes[part.key].setEnabled(used)
            else:
                choice, words = self.choices[part.key], str(now or declaration(key).default)
                choice.setCurrentIndex(choice.findData(words))
                choice.setToolTip(f"{choice.accessibleName()}: {words}. {declaration(key).help}")
                choice.setEnabled(used)

    def show_mark(self, mark: str, role: str, why: str) -> None:
        """Show the mark of the worst that the review says about the row; "" for nothing."""
        self.mark.setText(mark)
        self.mark.setToolTip(why)
        self.mark.setAccessibleName(f"{self.row.name}: {why or 'nothing against it'}")
        restyle(self.mark, role=role)

    def units(self) -> str:
        """Give the units of the row where they are not those of the head."""
        if self._bench is None or self.row.kind is not Kind.RATE:
            return ""
        return " · ".join(unit_of(self._bench, self.row, column) for column in self._columns if self._tells(column))

    def take_back(self) -> None:
        """Forget what was typed."""
        for cell in self.cells.values():
            cell.refuse(False)
            cell.take_back()

    # what is typed -----------------------------------------------------------------------------------------------

    def _write(self, column: Column, value: float) -> str:
        assert self._bench is not None
        return shown(self._bench, self.row, column, value * scale(self._bench, self.row, column))

    def _write_part(self, key: str, value: float) -> str:
        assert self._bench is not None
        one = value_in(self._bench.units, key, 1.0)
        return written_in(self._bench.units, key, value / one)

    def _limit_edit(self, column: Column, words: str) -> dict[str, str]:
        assert self._bench is not None
        return {self.row.entry: typed_back(self._bench, self.row, column, words)}

    def _part_edit(self, key: str, words: str) -> dict[str, str]:
        assert self._bench is not None
        return {key: typed_part(self._bench.units, key, words)}

    def _told(
        self, cell: ValueCell, edit: Callable[[str], dict[str, str]], tell: Callable[[object], None], words: str
    ) -> None:
        """Turn a text in a cell into the edit of its entry."""
        if self._bench is None:
            self.refused.emit("The rig is not worked out yet: what was typed stays; press Enter in a moment.", cell)
            return
        try:
            edits = edit(words)
        except QuantityError as error:
            self.refused.emit(str(error), cell)
            return
        cell.refuse(False)
        self.refused.emit("", cell)
        tell(edits)


def _usual(key: str, *, whole: bool) -> int:
    """Give the width of a column of cells [px], in the whole table or without the parts."""
    wide = WIDTHS.get(key) or next(one.width for one in PARTS if one.key == key)
    return wide - CLOSER if whole and key == "height" else wide


def fit_column(cells: Sequence[ValueCell], key: str, *, whole: bool) -> None:
    """Make the cells of a column as wide as usual, or as wide as the longest value needs."""
    needed = [one.fontMetrics().horizontalAdvance(one.text()) + BESIDE for one in cells]
    for one in cells:
        one.setFixedWidth(max(_usual(key, whole=whole), *needed))


def _needed(box: QComboBox, words: str) -> int:
    """Give the width [px] in which a choice shows its words whole."""
    return box.fontMetrics().horizontalAdvance(words) + ARROW


def _plain(name: str) -> QLabel:
    made = text(name, "small")
    made.setContentsMargins(INSET, 0, 0, 0)  # in line with the words of the buttons
    return made
