"""The stack light's truth table as a grid: a row a state, a column a lamp; each change is one undo step."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import typed
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.project import ProjectProblems
from levelbench.project.fields import entries
from levelbench.project.records import LAMP_COLOURS, LAMP_MODES, LAMP_STATES, LampRow, Project

KEY = "stack_light"
_SHOWN = {"off": "·", "steady": "● on", "flashing": "◐ flash", False: "·", True: "♪ on"}
_ROW = 25  # px
_BESIDE = 6  # px beside a word in its cell
_WORDS = (
    "A lamp goes off, on, flashing with each press of Space or click. Rows that hold at once add up; flashing wins. "
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

    def __init__(self) -> None:
        super().__init__(len(LAMP_STATES), len(LAMP_COLOURS) + 1)
        self.setVerticalHeader(_Names())
        self.setProperty("role", "lamps")
        self.setAccessibleName("stack light: what each state shows")
        self.setHorizontalHeaderLabels([*LAMP_COLOURS, "horn"])
        self.setVerticalHeaderLabels(list(LAMP_STATES))
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.verticalHeader().setDefaultSectionSize(_ROW)
        self.setFixedHeight((len(LAMP_STATES) + 1) * _ROW + 2)
        self.horizontalHeader().setFixedHeight(_ROW)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.cellClicked.connect(self.stepped)

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the width in which every head and every mode is whole."""
        across, model = self.horizontalHeader(), self.model()
        heads = [str(model.headerData(at, Qt.Orientation.Horizontal)) for at in range(across.count())]
        wide = max(self.fontMetrics().horizontalAdvance(words) for words in (*heads, *_SHOWN.values())) + _BESIDE
        return QSize(self.verticalHeader().sizeHint().width() + across.count() * wide + 2, self.height())

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Step with Space or Enter; the arrows walk."""
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.stepped.emit(self.currentRow(), self.currentColumn())
        else:
            super().keyPressEvent(event)


class LampGrid(QWidget):
    """The form of the stack light."""

    help_wanted = Signal(str)  # words

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self.grid = _Grid()
        self.grid.stepped.connect(self.step)
        self.grid.currentCellChanged.connect(self._explain)
        self.origin = text("", "small", wrap=True)
        self.back = button("Back to the table that is assumed", self._forget, "link")
        layout = column(self.grid, self.origin, row(self.back, None), text(_WORDS, "small", wrap=True), gap=GRID)
        self.setLayout(layout)
        document.project_changed.connect(self.refresh)
        self.refresh(document.project)

    def refresh(self, project: Project) -> None:
        """Show the table of a project."""
        rows = {one.state: one for one in project.stack_light}
        for at, state in enumerate(LAMP_STATES):
            for place, name in enumerate((*LAMP_COLOURS, "horn")):
                value = getattr(rows[state], name) if state in rows else _off(name)
                item = QTableWidgetItem(_SHOWN[value])
                item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
                words = f"{state}: {name} {value if isinstance(value, str) else 'sounds' if value else 'silent'}"
                item.setData(Qt.ItemDataRole.AccessibleTextRole, words)
                item.setToolTip(words)
                self.grid.setItem(at, place, item)
        own = typed(project, KEY) is not None
        assumed = "The file says nothing: this table is assumed. Change it here."
        self.origin.setText("Written in the project's file." if own else assumed)
        self.back.setVisible(own)

    def step(self, at: int, place: int) -> None:
        """Go on to the next mode of one lamp in one state."""
        if at < 0 or place < 0:
            return
        name, state = (*LAMP_COLOURS, "horn")[place], LAMP_STATES[at]
        rows = {one.state: dict(vars(one)) for one in self._document.project.stack_light}
        table = rows.setdefault(state, {"state": state, **{one: _off(one) for one in (*LAMP_COLOURS, "horn")}})
        table[name] = not table[name] if name == "horn" else _next(str(table[name]))
        ordered = [rows[one] for one in LAMP_STATES if one in rows]
        mode = table[name] if name != "horn" else "on" if table[name] else "off"
        self._document.edit_several({KEY: ordered}, f"set stack light, {state}: {name} to {mode}")
        self.grid.setCurrentCell(at, place)
        self._explain(at, place)

    def _forget(self) -> None:
        try:
            self._document.edit_several({KEY: None}, "leave out the stack light's own table")
        except ProjectProblems as error:
            self.origin.setText(f"✗ {error.problems[0].message}")

    def _explain(self, at: int, place: int, *_before: int) -> None:
        if at >= 0 and place >= 0:
            name = (*LAMP_COLOURS, "horn")[place]
            self.help_wanted.emit(f"{LAMP_STATES[at]}, {name}: {entries(LampRow)[name].help}")


def _off(name: str) -> str | bool:
    return False if name == "horn" else "off"


def _next(mode: str) -> str:
    return LAMP_MODES[(LAMP_MODES.index(mode) + 1) % len(LAMP_MODES)]
