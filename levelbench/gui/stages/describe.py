"""Describe: what the rig is, part by part, as measured and as read from name plates."""

from dataclasses import fields
from functools import partial
from typing import Any

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QFontMetrics, QShowEvent
from PySide6.QtWidgets import QButtonGroup, QPushButton, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import HEAD, declaration, needed, sections, typed
from levelbench.gui.fields.forms import Form, help_for
from levelbench.gui.fields.lamp_grid import KEY as STACK_LIGHT
from levelbench.gui.fields.lamp_grid import LampGrid
from levelbench.gui.fields.meaning_view import MeaningView
from levelbench.gui.look.parts import Card, column, holder, line, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.turns import put_in_turn
from levelbench.gui.look.wrapping import Wrapping
from levelbench.gui.work.slices import Slices

QUIET = 500  # ms without a press until parts are made that nobody asked for yet
LIGHTS = "Lights"


def keys_of(section: str) -> tuple[str, ...]:
    """Give the keys of a section, in the order of the file."""
    return tuple(f"{section}.{one.name}" for one in fields(sections()[section]))


PARTS: dict[str, tuple[str, ...]] = {
    "Job": (*HEAD, *keys_of("display")),
    "Tank": keys_of("tank"),
    "Reservoir": keys_of("reservoir"),
    "Pump": keys_of("pump"),
    "Drain": keys_of("drain"),
    "Sensor": keys_of("sensor"),
    "Switch": keys_of("overflow_switch"),
    "Liquid": keys_of("liquid"),
    "Duty": (*keys_of("duty"), *keys_of("start")),
    "Sheet": keys_of("sheet"),
}


_HOW = "go into a field for its meaning. Enter takes it, Escape goes back, Alt+Down lists the units."
_HOW_LIGHTS = "walk with the arrows; Space goes on to the next mode."
NAMES = (*PARTS, LIGHTS)
LEAST = 384  # px, in which a title stands whole in its box; a smaller window scrolls
_PICTURED = {"Tank", "Reservoir", "Pump", "Drain", "Sensor", "Switch"}


class Describe(Card):
    """The forms of every part, one shown at a time."""

    looked_at = Signal(str)  # key: the drawing may point at it

    def __init__(self, document: Document) -> None:
        super().__init__("Describe the rig", "any unit will do")
        self._document = document
        self.buttons = QButtonGroup(self)
        self._help = text("", "small", wrap=True)
        self._help.setMinimumHeight(40)
        self.setMinimumWidth(LEAST)
        self.head.addWidget(self._part_bar())
        self.head.addWidget(line())
        self._forms = column(gap=0)
        self.body.addLayout(self._forms)
        self.body.addStretch(1)
        self.picture = MeaningView(document)
        self.foot.addWidget(line())
        self.foot.addWidget(self.picture)
        self.foot.addWidget(self._help)
        self._made: dict[str, Form | LampGrid] = {}
        self._slices = Slices(self)
        self._ahead = QTimer(self, singleShot=True, interval=QUIET)
        self._ahead.timeout.connect(self._make_ahead)
        self.buttons.idToggled.connect(self._show_part)
        self.buttons.button(1).setChecked(True)

    def _part_bar(self) -> QWidget:
        return holder(Wrapping(2, 2).add(*map(self._part_button, range(len(NAMES)))))

    def _part_button(self, at: int) -> QPushButton:
        made = QPushButton(NAMES[at])
        made.setProperty("role", "part")
        made.setCheckable(True)
        made.setAccessibleName(f"entries of the part: {NAMES[at]}")
        made.setToolTip(f"Show what describes the part: {NAMES[at]}.")
        bold = made.font()
        bold.setBold(True)  # as it is shown when it is chosen
        made.setMinimumWidth(QFontMetrics(bold).horizontalAdvance(NAMES[at]) + 2 * GRID)
        self.buttons.addButton(made, at)
        return made

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the part that an entry belongs to, with the cursor in its field; False when it is not described here."""
        if key.startswith(STACK_LIGHT):
            self.buttons.button(NAMES.index(LIGHTS)).setChecked(True)
            lights = self._made[LIGHTS]
            if focus and isinstance(lights, LampGrid):
                lights.grid.setFocus()
            return True
        for at, (name, keys) in enumerate(PARTS.items()):
            if key in keys:
                self.buttons.button(at).setChecked(True)
                self.picture.show_entry(key)
                form = self._made[name]
                return isinstance(form, Form) and form.focus_on(key, focus=focus)
        return False

    def _show_part(self, at: int, on: bool) -> None:
        name = NAMES[at]
        if not on:
            self._made[name].hide()
            return
        self._begin(name)
        self._made[name].show()
        self._go_on(name)
        self.area.verticalScrollBar().setValue(0)  # however far somebody was in the part before
        self.picture.setVisible(name in _PICTURED)
        if name in _PICTURED:
            self.picture.show_section(PARTS[name][0].partition(".")[0])
        self._help.setText(f"{name}: {_HOW_LIGHTS if name == LIGHTS else _HOW}")

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Make the other parts as well, once nothing else is going on."""
        super().showEvent(event)
        self._ahead.start()

    def _make_ahead(self) -> None:
        name = next((one for one in NAMES if not self._is_whole(one)), "")
        if name:
            self._begin(name)
            self._go_on(name)

    def _begin(self, name: str) -> None:
        if name not in self._made:
            made = self._made[name] = self._make(name)
            made.hide()
            self._forms.addWidget(made)
            self._put_in_turn(made)

    def _put_in_turn(self, made: QWidget) -> None:
        """Let the Tab key go from the last part's name to what stands in a part."""
        put_in_turn(made, self.buttons.button(len(NAMES) - 1))

    def _is_whole(self, name: str) -> bool:
        made = self._made.get(name)
        return made.whole if isinstance(made, Form) else made is not None

    def _go_on(self, name: str) -> None:
        """Make the fields of a part a few at a time, then those of the parts that nobody asked for yet."""
        self._slices.do((*(partial(self._more, name) for _ in PARTS.get(name, ())), self._ahead.start))

    def _more(self, name: str) -> None:
        made = self._made[name]
        if isinstance(made, Form) and not made.whole:
            made.more()

    def _make(self, name: str) -> Form | LampGrid:
        if name == LIGHTS:
            grid = LampGrid(self._document)
            grid.help_wanted.connect(self._help.setText)
            return grid
        form = Form(self._document, PARTS[name], whole=False)
        form.help_wanted.connect(self._show_help)
        form.completed.connect(partial(self._put_in_turn, form))
        return form

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self.picture.show_entry(key)
        self.looked_at.emit(key)


def given(document: Document) -> tuple[int, int]:
    """Count the required entries that are given, and all that are asked for, over every part."""

    def value_of(key: str) -> Any:
        value = typed(document.project, key)
        return declaration(key).default if value is None else value

    keys = [key for keys in PARTS.values() for key in keys if needed(key, value_of)]
    return sum(typed(document.project, key) is not None for key in keys), len(keys)


def empty_head(document: Document) -> list[str]:
    """Give the entries of the sheet's head that nobody has filled in."""
    return [key for key in PARTS["Sheet"] if declaration(key).default == "" and not typed(document.project, key)]
