"""The alarms as a table, from the spill down to the drain's inlet, and under them those that have no place in the tank.

Every limit stands in volume, height and signal side by side, each to be typed into or dragged. What no alarm is (set
points, drain's inlet) stands among them, so that the order is seen. What stands out of order stays where it was typed,
with a mark and words under it.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.bands.band_values import typed_volume
from levelbench.gui.bands.parts import Part
from levelbench.gui.bands.row_view import INSET, NAME, RowView, fit_column
from levelbench.gui.bands.rows import ALARMS, MOVES, PLACES, ROWS, Column, Row
from levelbench.gui.findings.finding_note import ROLES
from levelbench.gui.look.parts import holder, restyle, text

if TYPE_CHECKING:
    from levelbench.gui.fields.value_cell import ValueCell
    from levelbench.gui.work.answers import Checked
    from levelbench.project.records import Project
    from levelbench.review import Finding
    from levelbench.rig.bench import Bench

_NUMBERS = ("volume", "height", "signal", "seconds", "dead_band", "on_delay", "off_delay")
_KEYS = [row.key for row in ALARMS]
_ORDER = "ladder.order"  # its change lays every row anew, also those with which nothing is wrong


class AlarmTable(QWidget):
    """Tells which alarm is chosen, and what has to be edited when a cell is tried or handed in."""

    chosen = Signal(str)  # key of the alarm
    previewed = Signal(object)  # dict of edits
    handed_in = Signal(object)  # dict of edits
    given_up = Signal()
    used = Signal(str, bool)  # key, whether it is to be in use

    def __init__(self, columns: tuple[Column, ...], parts: tuple[Part, ...] = (), *, whole: bool = True) -> None:
        """Make the table, `whole` or still without its rows: `more` makes one."""
        super().__init__()
        self.setProperty("role", "on-card")
        self._columns, self._parts = columns, parts
        self._buttons = QButtonGroup(self)
        self.rows: dict[str, RowView] = {}
        self.under: dict[str, QLabel] = {}  # words under a row
        self.heads: dict[str, QLabel] = {}
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        self._grid = self._heads()
        layout.addWidget(holder(self._grid))
        layout.addWidget(self.reason)
        while whole and len(self.rows) < len(ROWS):
            self.more()
        self._buttons.idToggled.connect(lambda at, on: self.chosen.emit(_KEYS[at]) if on else None)

    @property
    def alarm(self) -> str:
        """The key of the chosen alarm."""
        return _KEYS[self._buttons.checkedId()] if self._buttons.checkedId() >= 0 else "high_high"

    def choose(self, key: str) -> None:
        """Choose an alarm."""
        self._buttons.button(_KEYS.index(key)).setChecked(True)

    def cell(self, key: str, column: str) -> ValueCell:
        """Give the cell of a row, by the key of a column or a part."""
        return self.rows[key].cells[column]

    def _heads(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(2)
        grid.setVerticalSpacing(1)
        grid.addWidget(text("in use", "small"), 0, 0, 1, NAME + 1, Qt.AlignmentFlag.AlignBottom)
        heads = [(one.key, one.name) for one in self._columns] + [(one.key, one.head) for one in self._parts]
        right = Qt.AlignmentFlag.AlignRight
        for at, (key, name) in enumerate(heads, NAME + 1):
            self.heads[key] = text(name, "small")
            self.heads[key].setAlignment(
                Qt.AlignmentFlag.AlignBottom | (right if key in _NUMBERS else Qt.AlignmentFlag.AlignLeft)
            )
            beside = (0, 0, INSET - 1, 0) if key in _NUMBERS else (INSET, 0, 0, 0)
            self.heads[key].setContentsMargins(*beside)  # in line with what stands in the cells
            grid.addWidget(self.heads[key], 0, at)
        grid.setColumnStretch(NAME, 1)
        return grid

    def more(self) -> None:
        """Make the next row."""
        at = len(self.rows)
        row = ROWS[at]
        made = self.rows[row.key] = RowView(row, self._columns, self._parts, self)
        made.place(self._grid, 2 * at + 1)
        made.previewed.connect(self.previewed)
        made.handed_in.connect(self.handed_in)
        made.refused.connect(self.refuse)
        made.given_up.connect(self._give_up)
        made.used.connect(lambda on, key=row.key: self.used.emit(key, on))
        if row.is_alarm and isinstance(made.name, QPushButton):
            made.wanted.connect(lambda key=row.key: self.choose(key))
            self._buttons.addButton(made.name, _KEYS.index(row.key))
        self.under[row.key] = text("", "refusal")
        self.under[row.key].hide()
        side = Qt.AlignmentFlag.AlignLeft if self._parts else Qt.AlignmentFlag.AlignRight
        self.under[row.key].setContentsMargins(INSET, 0, 0, 0)
        self._grid.addWidget(self.under[row.key], 2 * at + 2, NAME, 1, 1 + len(self.heads), side)

    # what is shown -----------------------------------------------------------------------------------------------

    def show_project(self, project: Project, checked: Checked | None) -> None:
        """Show the alarms of a project; heights, signals and times are there once it has been checked."""
        for row in self.rows.values():
            row.show_use(project, checked=checked is not None)
        if checked is not None:
            self.follow(checked)

    def follow(self, checked: Checked) -> None:
        """Show the alarms of a rig, of the project's or of a try; the cell in hand keeps what is in it."""
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        bench = Bench(checked.rig)
        for one in self._columns:
            self.heads[one.key].setText(f"{one.name}\n{bench.units.of(one.dimension)}")
        for part, unit in (("dead_band", bench.units.volume), ("on_delay", "s"), ("off_delay", "s")):
            if part in self.heads:
                head = next(one.head for one in self._parts if one.key == part)
                self.heads[part].setText(f"{head}\n{unit}")
        for row in self.rows.values():
            row.follow(bench)
        for key in (*(one.key for one in self._columns), *(one.key for one in self._parts)):
            cells = [row.cells[key] for row in self.rows.values() if key in row.cells]
            fit_column(cells, key, whole=bool(self._parts))
        self._mark(checked, self._say_under(bench))

    def _say_under(self, bench: Bench) -> set[str]:
        """Say under a row in which units it is, and where the order is wrong; give the rows between which it is."""
        held = [(row, volume) for row in PLACES if (volume := typed_volume(bench, row)) is not None]
        words = {row.key: self.rows[row.key].units() for row in MOVES}
        roles, wrong = dict.fromkeys(words, "small"), set[str]()
        for (high, above), (low, below) in pairwise(held):
            if above <= below:
                gap = bench.volume(below - above)
                words[high.key] = f"■ wrong order: {gap} below “{low.name}”"
                roles[high.key] = "refusal"
                wrong |= {high.key, low.key}
        for key, label in self.under.items():
            label.setText(words.get(key, ""))
            restyle(label, role=roles.get(key, "small"))
            label.setVisible(bool(words.get(key)))
        return wrong

    def _mark(self, checked: Checked, wrong: set[str]) -> None:
        """Mark each row with the worst that the review says about it."""
        bad = [one for one in checked.findings if one.severity.word != "good"]
        for key, row in self.rows.items():
            found = [one for one in bad if (key in wrong if one.key == _ORDER else _is_about(one, row.row))]
            worst = min(found, key=lambda one: one.severity.rank, default=None)
            role = ROLES[worst.severity.word] if worst else "body"
            row.show_mark(worst.severity.mark if worst else "", role, " · ".join(one.title for one in found))

    # what is typed -----------------------------------------------------------------------------------------------

    def refuse(self, reason: str, cell: ValueCell | None = None) -> None:
        """Say under the table why a value can't be, and keep what was typed; "" when it can."""
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))
        if cell is not None and reason:
            cell.refuse(True)

    def take_back(self) -> None:
        """Forget what was typed into any cell."""
        for row in self.rows.values():
            row.take_back()
        self.refuse("")

    def _give_up(self) -> None:
        self.refuse("")
        self.given_up.emit()


def _is_about(finding: Finding, row: Row) -> bool:
    """Tell whether a finding, or its change, is about an entry of a row."""
    keys = (finding.go_to, *finding.what_if)
    return any(key == row.entry or (row.is_alarm and key.startswith(f"bands.{row.key}.")) for key in keys)
