"""Describe: what the rig is, part by part, as measured and as read from name plates."""

from dataclasses import fields
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QPushButton, QWidget

from levelbench.gui.document import Document
from levelbench.gui.entry_keys import HEAD, declaration, needed, sections, typed
from levelbench.gui.forms import Form, help_for
from levelbench.gui.parts import Card, column, holder, line, text
from levelbench.gui.theme import GRID

_COLUMNS = 5


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


class Describe(Card):
    """The forms of every part, one shown at a time."""

    looked_at = Signal(str)  # key: the drawing may point at it

    def __init__(self, document: Document) -> None:
        super().__init__("Describe the rig", "any unit will do")
        self._document = document
        self.buttons = QButtonGroup(self)
        self._help = text("", "small", wrap=True)
        self._help.setMinimumHeight(40)
        self.body.addWidget(self._part_bar())
        self.body.addWidget(line())
        self._forms = column(gap=0)
        self.body.addLayout(self._forms)
        self.body.addStretch(1)
        self.foot.addWidget(line())
        self.foot.addWidget(self._help)
        self._made: dict[str, Form] = {}
        self.buttons.idToggled.connect(self._show_part)
        self.buttons.button(1).setChecked(True)

    def _part_bar(self) -> QWidget:
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(GRID // 2)
        for at, name in enumerate(PARTS):
            made = QPushButton(name)
            made.setProperty("role", "part")
            made.setCheckable(True)
            made.setAccessibleName(f"entries of the part: {name}")
            self.buttons.addButton(made, at)
            grid.addWidget(made, at // _COLUMNS, at % _COLUMNS)
        return holder(grid)

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the part that an entry belongs to, with the cursor in its field; False when it is not described here."""
        for at, (name, keys) in enumerate(PARTS.items()):
            if key in keys:
                self.buttons.button(at).setChecked(True)
                return self._made[name].focus_on(key, focus=focus)
        return False

    def _show_part(self, at: int, on: bool) -> None:
        name = list(PARTS)[at]
        if not on:
            self._made[name].hide()
            return
        if name not in self._made:
            form = Form(self._document, PARTS[name])
            form.help_wanted.connect(self._show_help)
            self._made[name] = form
            self._forms.addWidget(form)
        self._made[name].show()
        self._help.setText(f"{name}: point at a field for its meaning; Enter takes it, Escape goes back.")

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self.looked_at.emit(key)


def given(document: Document) -> tuple[int, int]:
    """Count the required entries that are given, and all that are asked for, over every part."""

    def value_of(key: str) -> Any:
        value = typed(document.project, key)
        return declaration(key).default if value is None else value

    keys = [key for keys in PARTS.values() for key in keys if needed(key, value_of)]
    return sum(typed(document.project, key) is not None for key in keys), len(keys)
