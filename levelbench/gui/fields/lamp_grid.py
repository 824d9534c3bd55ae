"""The stack light's truth table as a grid: a row a state, a column a lamp; each change is one undo step."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import typed
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.project import ProjectProblems
from levelbench.project.fields import entries
from levelbench.project.records import LAMP_ANSWERS, LAMP_COLOURS, LAMP_MODES, LAMP_STATES, LampRow, Project

KEY = "stack_light"
ANSWER = "acknowledged"
_NAMES = (*LAMP_COLOURS, "horn", ANSWER)  # of the columns, as the file has them
_HEADS = {ANSWER: "ack."}
_TRY = "try"  # the head of the ticks
_SHOWN = {"off": "·", "steady": "● on", "flashing": "◐ flash", False: "·", True: "♪ on"}
_ANSWERS = {"stays": "·", "steady": "● on"}
_TICKS = {False: "☐", True: "☑"}
_ROW = 25  # px
_BESIDE = 6  # px beside a word in its cell
_WORDS = (
    "A lamp goes off, on, flashing with each press of Space or click. Rows that hold at once add up; flashing wins. "
    "Ack.: what becomes of flashing once somebody has acknowledged. "
    "Let what is abnormal flash or sound, so that nobody has to tell it by its colour alone (IEC 60073)."
)


class _Names(QHeaderView):
    """The states; as wide as their words, where Qt would keep room for bold ones."""

    def __init__(self) -> None:
        super().__init__(Qt.Orientation.Vertical)

    def sectionSizeFromContents(self, at: int) -> QSize:  # noqa: N802  Qt's name
        """Give the room of one state."""
        words = str(self.model().headerData(at, Qt.Orientation.Vertical))
        return QSize(self.fontMetrics().horizontalAdvance(words) + 2 * _BESIDE, _ROW)


class _Grid(QTableWidget):
    """The cells; Space, Enter or a click goes on to the next mode."""

    stepped = Signal(int, int)  # row, column

    def __init__(self, heads: Sequence[str]) -> None:
        super().__init__(len(LAMP_STATES), len(heads))
        self.setVerticalHeader(_Names())
        self.setProperty("role", "lamps")
        self.setAccessibleName("stack light: what each state shows")
        self.setHorizontalHeaderLabels(list(heads))
        self.setVerticalHeaderLabels(list(LAMP_STATES))
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(_ROW)
        self.setFixedHeight((len(LAMP_STATES) + 1) * _ROW + 2)
        self.horizontalHeader().setFixedHeight(_ROW)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.cellClicked.connect(self.stepped)

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the width in which every head and every mode is whole."""
        return QSize(self.verticalHeader().sizeHint().width() + sum(self._needs()) + 2, self.height())

    def _needs(self) -> list[int]:
        """Give the width that each column needs."""
        heads = [str(self.model().headerData(at, Qt.Orientation.Horizontal)) for at in range(self.columnCount())]
        modes = [[_SHOWN[one] for one in LAMP_MODES] if one in LAMP_COLOURS else ["♪ on"] for one in heads]
        modes[_NAMES.index(ANSWER)] = list(_ANSWERS.values())
        return [self._width_of(head, shown) for head, shown in zip(heads, modes, strict=True)]

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Give each column what it needs, and those of lamps and horn what is left over."""
        super().resizeEvent(event)
        needs, alike = self._needs(), _NAMES.index(ANSWER)
        spare = max(self.viewport().width() - sum(needs), 0)
        for at, need in enumerate(needs):
            self.setColumnWidth(at, need + (spare // alike if at < alike else 0))

    def _width_of(self, head: str, modes: Sequence[str]) -> int:
        return max(self.fontMetrics().horizontalAdvance(words) for words in (head, *modes)) + _BESIDE

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Step with Space or Enter; the arrows walk."""
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.stepped.emit(self.currentRow(), self.currentColumn())
        else:
            super().keyPressEvent(event)


class LampGrid(QWidget):
    """The form of the stack light; with `ticks`, states can be ticked to be tried out together."""

    help_wanted = Signal(str)  # words
    tried = Signal()  # other states are in hand, or ticked

    def __init__(self, document: Document, *, ticks: bool = False) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self._ticked: set[str] | None = set() if ticks else None
        self.grid = _Grid([*(_HEADS.get(name, name) for name in _NAMES), *([_TRY] if ticks else [])])
        self.grid.stepped.connect(self.step)
        self.grid.currentCellChanged.connect(self._explain)
        self.origin = text("", "small", wrap=True)
        self.back = button("Back to the table that is assumed", self._forget, "link")
        layout = column(self.grid, self.origin, row(self.back, None), text(_WORDS, "small", wrap=True), gap=GRID)
        self.setLayout(layout)
        document.project_changed.connect(self.refresh)
        self.refresh(document.project)

    @property
    def states(self) -> tuple[str, ...]:
        """The states that are tried out: the ticked ones, or the one in hand."""
        ticked = tuple(state for state in LAMP_STATES if state in (self._ticked or ()))
        return ticked or (LAMP_STATES[max(self.grid.currentRow(), 0)],)

    def refresh(self, project: Project) -> None:
        """Show the table of a project."""
        rows = {one.state: one for one in project.stack_light}
        for at, state in enumerate(LAMP_STATES):
            for place, name in enumerate(_NAMES):
                value = getattr(rows[state], name) if state in rows else _off(name)
                shown = _ANSWERS[str(value)] if name == ANSWER else _SHOWN[value]
                self._put(at, place, shown, f"{state}: {_in_words(name, value)}")
            if self._ticked is not None:
                self._show_tick(at)
        own = typed(project, KEY) is not None
        assumed = "The file says nothing: this table is assumed. Change it here."
        self.origin.setText("Written in the project's file." if own else assumed)
        self.back.setVisible(own)

    def _put(self, at: int, place: int, shown: str, words: str) -> None:
        item = QTableWidgetItem(shown)
        item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
        item.setData(Qt.ItemDataRole.AccessibleTextRole, words)
        item.setToolTip(words)
        self.grid.setItem(at, place, item)

    def _show_tick(self, at: int) -> None:
        ticked = LAMP_STATES[at] in (self._ticked or ())
        said = "is ticked, to be tried out" if ticked else "is not ticked"
        self._put(at, len(_NAMES), _TICKS[ticked], f"{LAMP_STATES[at]}: {said}")

    def step(self, at: int, place: int) -> None:
        """Go on to the next mode of one lamp in one state, or tick the state."""
        if at < 0 or place < 0:
            return
        if place == len(_NAMES):
            self._tick(at)
            return
        name, state = _NAMES[place], LAMP_STATES[at]
        rows = {one.state: dict(vars(one)) for one in self._document.project.stack_light}
        table = rows.setdefault(state, {"state": state, **{one: _off(one) for one in _NAMES}})
        table[name] = not table[name] if name == "horn" else _next(name, str(table[name]))
        ordered = [rows[one] for one in LAMP_STATES if one in rows]
        mode = table[name] if name != "horn" else "on" if table[name] else "off"
        self._document.edit_several({KEY: ordered}, f"set stack light, {state}: {name} to {mode}")
        self.grid.setCurrentCell(at, place)
        self._explain(at, place)

    def _tick(self, at: int) -> None:
        if self._ticked is not None:
            self._ticked ^= {LAMP_STATES[at]}
            self._show_tick(at)
            self.grid.setCurrentCell(at, len(_NAMES))
            self.tried.emit()

    def untick(self) -> None:
        """Take every tick away."""
        if self._ticked:
            self._ticked.clear()
            for at in range(len(LAMP_STATES)):
                self._show_tick(at)
            self.tried.emit()

    def _forget(self) -> None:
        try:
            self._document.edit_several({KEY: None}, "leave out the stack light's own table")
        except ProjectProblems as error:
            self.origin.setText(f"✗ {error.problems[0].message}")

    def _explain(self, at: int, place: int, *_before: int) -> None:
        if at >= 0 and 0 <= place < len(_NAMES):
            name = _NAMES[place]
            self.help_wanted.emit(f"{LAMP_STATES[at]}, {name}: {entries(LampRow)[name].help}")
        self.tried.emit()


def _off(name: str) -> str | bool:
    if name == "horn":
        return False
    return LAMP_ANSWERS[0] if name == ANSWER else "off"


def _next(name: str, mode: str) -> str:
    modes = LAMP_ANSWERS if name == ANSWER else LAMP_MODES
    return modes[(modes.index(mode) + 1) % len(modes)]


def _in_words(name: str, value: str | bool) -> str:
    """Say what one cell means."""
    if name == ANSWER:
        return "flashing stays once acknowledged" if value == "stays" else "flashing becomes steady once acknowledged"
    return f"{name} {value if isinstance(value, str) else 'sounds' if value else 'silent'}"
