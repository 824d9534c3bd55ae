"""The ladder of limits as a table: volume, height, signal and seconds to spill, each to be typed into or dragged.

Between two rows stands the room between them. What no limit is (switch, set points, drain's inlet) stands among them
in quiet letters, so that the order is seen.
"""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QCheckBox, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.bands.band_values import COLUMNS, Column, as_typed, shown, told, volume_of
from levelbench.gui.fields.value_cell import ValueCell
from levelbench.gui.look.parts import holder, restyle, text
from levelbench.gui.tuning.setting_texts import is_bare
from levelbench.quantity import Dimension, QuantityError, in_unit

if TYPE_CHECKING:
    from collections.abc import Callable

    from levelbench.gui.work.answers import Checked
    from levelbench.project.records import Project
    from levelbench.rig.bench import Bench

BANDS = {"high_high": "high-high", "high": "high", "low": "low", "low_low": "low-low", "deviation": "deviation"}
_ROWS = ("switch", "high_high", "high", "set point, highest", "set point, lowest", "low", "low_low", "drain takes air")
WIDTHS = {"volume": 58, "height": 54, "signal": 46, "seconds": 44}  # px


class BandsTable(QWidget):
    """Tells which limit is chosen, and what has to be edited when a cell is tried or handed in."""

    chosen = Signal(str)  # band
    previewed = Signal(object)  # dict of edits
    handed_in = Signal(object)  # dict of edits
    given_up = Signal()
    used = Signal(str, bool)  # band, whether it is to be in use

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._bench: Bench | None = None
        self._buttons = QButtonGroup(self)
        self.cells: dict[tuple[str, str], ValueCell] = {}
        self.others: dict[tuple[str, str], QLabel] = {}
        self.gaps: dict[str, QLabel] = {}  # under the row with this key
        self.in_use: dict[str, QCheckBox] = {}
        self.heads: dict[str, QLabel] = {}
        self._names: dict[str, QLabel] = {}
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(holder(self._table()))
        layout.addWidget(self.reason)
        self._buttons.idToggled.connect(lambda at, on: self.chosen.emit(list(BANDS)[at]) if on else None)

    @property
    def band(self) -> str:
        """The chosen limit."""
        return list(BANDS)[max(self._buttons.checkedId(), 0)]

    def choose(self, band: str) -> None:
        """Choose a limit."""
        self._buttons.button(list(BANDS).index(band)).setChecked(True)

    def _table(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(4)
        grid.setVerticalSpacing(1)
        grid.addWidget(text("in use", "small"), 0, 0, 1, 2, Qt.AlignmentFlag.AlignBottom)
        for at, column in enumerate(COLUMNS):
            self.heads[column.key] = text(column.name, "small")
            self.heads[column.key].setAlignment(Qt.AlignmentFlag.AlignRight)
            grid.addWidget(self.heads[column.key], 0, at + 2)
        for at, row in enumerate((*_ROWS, "deviation")):
            if row in BANDS:
                self._add_band(grid, 2 * at + 1, row)
            else:
                self._add_other(grid, 2 * at + 1, row)
            self.gaps[row] = text("", "small")
            self.gaps[row].setAlignment(Qt.AlignmentFlag.AlignRight)
            grid.addWidget(self.gaps[row], 2 * at + 2, 1, 1, len(COLUMNS) + 1)
        grid.setColumnStretch(1, 1)
        return grid

    def _add_band(self, grid: QGridLayout, at: int, band: str) -> None:
        name = BANDS[band]
        box = QCheckBox()
        box.setAccessibleName(f"{name} in use")
        box.setToolTip(f"{name}: in use or left out, one undo step")
        box.clicked.connect(lambda on, band=band: self.used.emit(band, on))
        self.in_use[band] = box
        made = QPushButton(name)
        made.setProperty("role", "part")
        made.setProperty("side", "left")
        made.setCheckable(True)
        made.setAccessibleName(f"limit: {name}")
        made.setToolTip(f"choose {name}: its dead band, delays, priority and findings stand below")
        self._buttons.addButton(made, list(BANDS).index(band))
        grid.addWidget(box, at, 0)
        grid.addWidget(made, at, 1)
        for column, each in enumerate(COLUMNS):
            cell = ValueCell(f"{name}, {each.name}", partial(self._write, each))
            cell.setFixedWidth(WIDTHS[each.key])
            cell.previewed.connect(partial(self._told, band, each, self.previewed.emit))
            cell.handed_in.connect(partial(self._told, band, each, self.handed_in.emit))
            cell.given_up.connect(self._give_up)
            cell.entered.connect(partial(self.choose, band))
            self.cells[band, each.key] = cell
            grid.addWidget(cell, at, column + 2)

    def _add_other(self, grid: QGridLayout, at: int, row: str) -> None:
        self._names[row] = text(row, "small")
        self._names[row].setContentsMargins(7, 0, 0, 0)  # in line with the words of the buttons
        grid.addWidget(self._names[row], at, 1)
        for column, each in enumerate(COLUMNS):
            self.others[row, each.key] = text("", "quiet")
            self.others[row, each.key].setAlignment(Qt.AlignmentFlag.AlignRight)
            self.others[row, each.key].setContentsMargins(0, 0, 5, 0)
            grid.addWidget(self.others[row, each.key], at, column + 2)

    # what is shown -----------------------------------------------------------------------------------------------

    def show_project(self, project: Project, checked: Checked | None) -> None:
        """Show the limits of a project; heights, signals and times are there once it has been checked."""
        for band, box in self.in_use.items():
            box.setChecked(getattr(project.bands, band) is not None)
            box.setEnabled(checked is not None or box.isChecked())
        if checked is None:
            return
        self.follow(checked)

    def follow(self, checked: Checked) -> None:
        """Show a ladder, of the project or of a try; the cell in hand keeps what is in it."""
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        self._bench = bench = Bench(checked.rig)
        for column in COLUMNS:
            self.heads[column.key].setText(f"{column.name}\n{bench.units.of(column.dimension)}")
        for band in BANDS:
            self._show_band(bench, band)
        rungs = {one.name: (one.volume, one.level) for one in checked.ladder}
        for row in self._names:
            self._show_other(bench, row, rungs.get(row))
        self._show_gaps(bench, checked)

    def _show_band(self, bench: Bench, band: str) -> None:
        used = getattr(bench.project.bands, band)
        values = {} if used is None else told(bench, used.limit.si)
        for column in COLUMNS:
            cell = self.cells[band, column.key]
            tells = band != "deviation" or column.key == "volume"  # a distance from the set point has no one height
            value = values.get(column.key) if tells else None
            unit = bench.units.of(column.dimension)
            number = None if value is None else _in_unit(value, column, unit)
            cell.put(number, "" if value is None else shown(bench, column, value))
            cell.setVisible(tells)

    def _show_other(self, bench: Bench, row: str, place: tuple[float, float] | None) -> None:
        for column in COLUMNS:
            label = self.others[row, column.key]
            label.setVisible(place is not None)
            if place is not None:
                value = place[1] if column.key == "height" else told(bench, place[0])[column.key]
                label.setText(shown(bench, column, value))
        self._names[row].setVisible(place is not None)

    def _show_gaps(self, bench: Bench, checked: Checked) -> None:
        """Write the room from each rung to the next below it, and say where the order is wrong."""
        keys = {one.name: one for one in checked.ladder}
        rows = [(row, keys.get(BANDS.get(row, row))) for row in _ROWS]
        there = [(row, rung) for row, rung in rows if rung is not None]
        for gap in self.gaps.values():
            gap.hide()
        self.gaps["deviation"].setText("distance from the set point, either way")
        self.gaps["deviation"].show()
        for (row, high), (_, low) in pairwise(there):
            room = high.volume - low.volume
            words = " · ".join(
                [
                    f"{shown(bench, COLUMNS[0], room)} {bench.units.volume}",
                    bench.show(high.level - low.level, Dimension.LENGTH, 1e-3),
                    bench.show(room / bench.fill_rate, Dimension.TIME, 1.0),
                ]
            )
            right = room > 0
            self.gaps[row].setText(f"↕ {words}" if right else f"■ wrong order: {words}")
            restyle(self.gaps[row], role="small" if right else "refusal")
            self.gaps[row].show()

    # what is typed -----------------------------------------------------------------------------------------------

    def _write(self, column: Column, value: float) -> str:
        assert self._bench is not None
        unit = self._bench.units.of(column.dimension)
        si = value * (_in_si(column, unit))
        return shown(self._bench, column, si)

    def _told(self, band: str, column: Column, tell: Callable[[object], None], words: str) -> None:
        """Turn a text in a cell into the edit of the limit's volume."""
        cell = self.cells[band, column.key]
        self.refuse("")
        if self._bench is None:
            return
        try:
            volume = volume_of(self._bench, column, words)
        except QuantityError as error:
            self.refuse(str(error), cell)
            return
        bare = column.key == "volume" and not is_bare(words)
        tell({f"bands.{band}.limit": words.strip() if bare else as_typed(self._bench, band, volume)})

    def refuse(self, reason: str, cell: ValueCell | None = None) -> None:
        """Say under the table why a limit can't be, and keep what was typed; "" when it can."""
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))
        if cell is not None:
            cell.refuse(True)
        elif not reason:
            for each in self.cells.values():
                each.refuse(False)

    def _give_up(self) -> None:
        self.refuse("")
        self.given_up.emit()


def _in_si(column: Column, unit: str) -> float:
    return 1.0 / in_unit(1.0, column.dimension, unit)


def _in_unit(si: float, column: Column, unit: str) -> float:
    return si / _in_si(column, unit)
