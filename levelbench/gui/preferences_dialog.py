"""What a person can prefer: looks for every window, size at the next start, and habits of new projects."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QFormLayout, QWidget

from levelbench.gui.help.anywhere import explain
from levelbench.gui.look import look
from levelbench.gui.look.parts import button, column, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.preferences import GROUPS, MARKS, PAPERS, SCALES, THEMES, UNITS, Preferences
from levelbench.gui.window_layout import ROOM

THEME_NAMES = {"light": "light", "dark": "dark", "system": "as the system is set"}

_HELP = {
    "theme": "theme",
    "size of everything": "size-of-everything",
    "decimal mark": "decimal-mark",
    "digit groups": "digit-groups",
    "shows values in": "units-of-a-new-project",
    "paper of the sheet": "paper-of-a-new-project",
}  # the headings of the help


class PreferencesDialog(QDialog):
    """Each choice is kept when it is made."""

    def __init__(self, parent: QWidget, preferences: Preferences) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Preferences – LevelBench")
        self.setMinimumWidth(520)
        self._preferences = preferences
        self.theme = _choice([THEME_NAMES[one] for one in THEMES], THEMES.index(preferences.theme), self._take_theme)
        self.scale = _choice([f"{one} %" for one in SCALES], SCALES.index(preferences.scale), self._take_scale)
        self.scale_words = text("", "quiet", wrap=True)
        self.mark = _choice(
            [f"{name}: 2{mark}40" for name, mark in MARKS.items()],
            list(MARKS).index(preferences.decimal_mark),
            self._take_mark,
        )
        self.groups = _choice(
            [f"{name}: 12{space}500" for name, space in GROUPS.items()],
            list(GROUPS).index(preferences.digit_groups),
            self._take_groups,
        )
        self.units = _choice(list(UNITS), list(UNITS).index(preferences.units), self._take_units)
        self.paper = _choice(PAPERS, PAPERS.index(preferences.paper), self._take_paper)
        self._place()
        self._say_scale()
        explain(self, "preferences")

    def _place(self) -> None:
        close = button("Close", self.accept, "main", "close; every choice is kept already")
        close.setDefault(True)
        window = _form(
            ("theme", self.theme, "light or dark, for every window, at once"),
            ("size of everything", self.scale, "texts, controls and drawings together; from the next start on"),
        )
        fresh = _form(
            ("shows values in", self.units, "units of computed values; what is typed keeps its own unit"),
            ("paper of the sheet", self.paper, "the size on which the sheet is printed"),
        )
        layout = column(
            text("Preferences", "heading"),
            text("This program", "subheading"),
            window,
            self.scale_words,
            line(),
            text("Numbers", "subheading"),
            self._numbers(),
            text(
                "How numbers are shown here and on the sheet. Both marks can be typed at any time, and what was typed "
                "stays; tables (CSV) keep the point.",
                "quiet",
                wrap=True,
            ),
            line(),
            text("Projects begun from a sample", "subheading"),
            fresh,
            text(
                "A project has these as entries of its own; change them for an open one under Describe.",
                "quiet",
                wrap=True,
            ),
            None,
            row(None, close),
        )
        layout.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        self.setLayout(layout)

    def _numbers(self) -> QFormLayout:
        return _form(
            ("decimal mark", self.mark, "of every number that is shown, whatever the language of the system"),
            ("digit groups", self.groups, "from five digits on; a small space, as ISO 80000-1 recommends (7.3.1)"),
        )

    def _take_theme(self, at: int) -> None:
        self._preferences.theme = THEMES[at]
        self._put_on()

    def _take_mark(self, at: int) -> None:
        self._preferences.decimal_mark = list(MARKS)[at]
        self._put_on()

    def _take_groups(self, at: int) -> None:
        self._preferences.digit_groups = list(GROUPS)[at]
        self._put_on()

    def _put_on(self) -> None:
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        look.put_on(app, self._preferences)

    def _take_scale(self, at: int) -> None:
        self._preferences.scale = SCALES[at]
        self._say_scale()

    def _take_units(self, at: int) -> None:
        self._preferences.units = list(UNITS)[at]

    def _take_paper(self, at: int) -> None:
        self._preferences.paper = PAPERS[at]

    def _say_scale(self) -> None:
        """Say when a size takes effect, and when the screen is too small for it."""
        percent = self._preferences.scale
        width, height = (round(one * percent / 100) for one in ROOM.toTuple())
        room = QGuiApplication.primaryScreen().availableGeometry().size() * look.scale_now()
        if width > room.width() or height > room.height():
            self.scale_words.setText(
                f"▲ At {percent} % the window needs {width} × {height} points; this screen has "
                f"{room.width()} × {room.height()}, so it would scroll."
            )
        elif percent != round(100 * look.scale_now()):
            self.scale_words.setText(f"{percent} % takes effect when the program starts the next time.")
        else:
            self.scale_words.setText("This is the size that is shown now.")


def _choice(names: Sequence[str], now: int, chosen: Callable[[int], None]) -> QComboBox:
    box = QComboBox()
    box.addItems(names)
    box.setCurrentIndex(now)
    box.activated.connect(chosen)
    return box


def _form(*rows: tuple[str, QComboBox, str]) -> QFormLayout:
    form = QFormLayout()
    form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    for name, box, tip in rows:
        box.setAccessibleName(name)
        box.setToolTip(tip)
        box.setProperty("help", f"preferences#{_HELP[name]}")
        label = text(name)
        label.setMinimumWidth(label.fontMetrics().horizontalAdvance("size of everything") + 2 * GRID)  # forms in line
        label.setMinimumHeight(box.sizeHint().height())  # its words stand at the height of those in the box
        form.addRow(label, box)
    return form
