"""A form for one section of the project, built from its field table; entries that don't apply are not shown.

A choice may ask for entries that are not there yet (a box needs a width). It is then held back, the form asks for what
is missing, and everything goes into the project together, as one undo step, as soon as it is complete.
"""

from collections import deque
from collections.abc import Sequence
from functools import partial
from itertools import pairwise
from typing import Any

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import applies, declaration, in_words, name_of, needed, typed
from levelbench.gui.fields.field import Field
from levelbench.gui.fields.fields import field_for
from levelbench.gui.fields.table_field import KEYS as TABLES
from levelbench.gui.fields.table_field import TableField
from levelbench.gui.fields.unit_menu import has_choice
from levelbench.gui.look.parts import Note, bring_up, button
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.slices import Slices
from levelbench.project import Problem, ProjectProblems, Value
from levelbench.quantity import units_of

LATER = 400  # ms without a further change until a form that nobody sees takes it up
_UNITS = 5  # that a help line names
# two ways to say one thing: to type the one leaves the other out
EITHER = {
    f"{section}.{one}": f"{section}.{other}"
    for section in ("loop_settings", "as_found")
    for one, other in (("gain", "proportional_band"), ("proportional_band", "gain"))
}


class Form(QWidget):
    """The fields of some entries of one section, one under another."""

    help_wanted = Signal(str)  # key
    tried = Signal(object)  # dict of edits that stand half-typed in a field
    given_up = Signal()  # what stands in the field is the project's again
    completed = Signal()  # the last field has been made

    def __init__(self, document: Document, keys: Sequence[str], *, whole: bool = True) -> None:
        """Make a form, `whole` or still without its fields: `more` makes one, `make` all up to the one in hand."""
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self._held: dict[str, Value] = {}
        self._later = QTimer(self, singleShot=True, interval=LATER)
        self._later.timeout.connect(self._take_up_in_turn)
        self._slices = Slices(self)
        self.note = Note("", "attention", button("Leave it as it was", self._let_go, "link"))
        self.note.hide()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GRID - 2)
        self._column.addWidget(self.note)
        self.fields: dict[str, Field] = {}
        self._to_come = deque(keys)
        document.project_changed.connect(self.refresh)
        document.replaced.connect(self._forget)
        if whole:
            self.make()

    @property
    def whole(self) -> bool:
        """Whether every field is there."""
        return not self._to_come

    def make(self, key: str = "") -> None:
        """Make the fields that are still to come, up to the one of an entry where it is among them."""
        while self._to_come and key not in self.fields:
            self.more()

    def more(self) -> None:
        """Make the next field."""
        key = self._to_come.popleft()
        made = (TableField if key in TABLES else field_for)(key, self._submit)
        made.focused.connect(self.help_wanted)
        self.fields[key] = made
        self._column.insertWidget(self._column.count() - 1, made)  # above the note
        self._refresh_field(key, made)
        for box in made.boxes():
            if isinstance(box, QLineEdit):
                box.textEdited.connect(partial(self._typed, key))
                box.textChanged.connect(partial(self._changed, box))
        if self.whole:
            turn = [one for field in self.fields.values() for one in field.turn()]
            for one, other in pairwise(turn):
                QWidget.setTabOrder(one, other)  # whatever else came in between
            self.completed.emit()

    def refresh(self, _project: object = None) -> None:
        """Take up what the project says now; out of sight a moment later, or when the form comes into sight."""
        if self.isVisible():
            self._take_up()
        else:
            self._later.start()

    def _take_up(self) -> None:
        self._later.stop()
        self._slices.do(())
        for key, made in self.fields.items():
            self._refresh_field(key, made)

    def _take_up_in_turn(self) -> None:
        """Take it up out of sight, field by field: an opened file asks it of every form at once."""
        self._slices.also(partial(self._refresh_field, key, made) for key, made in self.fields.items())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Take up what the project came to say meanwhile."""
        super().showEvent(event)
        if self._later.isActive() or self._slices.busy:
            self._take_up()

    def _refresh_field(self, key: str, made: Field) -> None:
        made.needed = needed(key, self._value_of)
        made.refresh(self._held.get(key, typed(self._document.project, key)))
        made.setVisible(applies(key, self._value_of))

    def focus_on(self, key: str, *, focus: bool = True) -> bool:
        """Bring the field of an entry into sight, with the cursor in it unless not wanted; False: it isn't here."""
        if key in self._to_come:
            self.make(key)
        made = self.fields.get(key)
        if made is None:
            return False
        bring_up(made)
        if focus:
            made.boxes()[0].setFocus()
        return True

    def _value_of(self, key: str) -> Any:
        value = self._held.get(key, typed(self._document.project, key))
        return declaration(key).default if value is None else value

    def _typed(self, key: str, _words: str) -> None:
        self.tried.emit(self._changes(key, self.fields[key].value()))

    def _changed(self, box: QLineEdit, _words: str) -> None:
        if not box.isModified():
            self.given_up.emit()

    def _changes(self, key: str, value: Value) -> dict[str, Value]:
        """Give every edit that a value brings: what is held back, and the other way to say it left out."""
        changes = {**self._held, key: value}
        other = EITHER.get(key)
        if other and value is not None and typed(self._document.project, other) is not None:
            changes[other] = None
        return changes

    def _submit(self, key: str, value: Value) -> str:
        """Take a text from a field, give "" or the reason why not; an empty key: a field gave up."""
        if not key:
            self.refresh()
            return ""
        if not self._held and value == typed(self._document.project, key):
            return ""
        changes = self._changes(key, value)
        try:
            if len(changes) == 1:
                self._document.edit(key, value)
            else:
                self._document.edit_several(changes)
        except ProjectProblems as error:
            return self._refused(key, value, error.problems)
        self._held = {}
        self._settle()
        return ""

    def _refused(self, key: str, value: Value, problems: Sequence[Problem]) -> str:
        """Hold a good text back while others are missing; give the reason when the text itself is at fault."""
        if at_fault := [one for one in problems if one.key.startswith(key) and value is not None]:
            return at_fault[0].message
        missing = [one.key for one in problems]
        if not all(self._asked_by_choice(one) for one in missing):
            return problems[0].message
        self._held[key] = value
        names = ", ".join(declaration(one).label for one in missing)
        words = in_words(next(iter(self._held.values())))
        self.note.words.setText(f"▲ “{words}” needs {names} as well. Nothing changes until they are given.")
        self._settle(held=True)
        return ""

    def _asked_by_choice(self, key: str) -> bool:
        return key in self.fields and declaration(key).required and typed(self._document.project, key) is None

    def _settle(self, *, held: bool = False) -> None:
        self.note.setVisible(held)
        self.refresh()

    def _let_go(self) -> None:
        self._held = {}
        self._settle()

    def _forget(self, _project: object) -> None:
        """Another project was opened: nothing half-typed belongs to it."""
        self._held = {}
        self.note.hide()
        for made in self.fields.values():
            made.give_up()


def help_for(key: str) -> str:
    """Give the help of an entry, headed by its name, with the units that it is mostly typed in."""
    entry = declaration(key)
    units = [unit for one in entry.dimensions for unit in units_of(one)[:_UNITS] if unit]
    told = f" Any unit will do: {', '.join(units)} …" if has_choice(entry.dimensions) else ""
    return f"{name_of(key)}: {entry.help}{told}"
