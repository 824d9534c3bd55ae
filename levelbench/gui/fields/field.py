"""The frame of every field of a form: the name of an entry, its box, what was understood, and why it was refused.

A field never loses what was typed: a refused text stays in its box with the reason under it, also while other entries
change. Enter or leaving the box hands the text in (one undo step); Escape goes back to what the project says.
"""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QWheelEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from levelbench.gui.fields.entry_keys import declaration, name_of
from levelbench.gui.fields.unit_menu import UnitButton, has_choice
from levelbench.gui.look.parts import bring_up, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.project import Value

Submit = Callable[[str, Value], str]  # key, value → "" when taken, else the reason why not
LABEL, BOX = 116, 100  # px


class Field(QWidget):
    """The frame of every field; the kinds below it differ in their box."""

    focused = Signal(str)  # key: its help is wanted
    low = True  # the box is one line high
    wide = False  # the box stands under its name, over the whole width
    roomy = True  # the box takes the room in which other kinds say what they understood
    under = False  # what was understood stands under the boxes

    def __init__(self, key: str, submit: Submit) -> None:
        super().__init__()
        self.key = key
        self.entry = declaration(key)
        self.touched = False
        self.needed = self.entry.required
        self._submit = submit
        self._helpers: list[QWidget] = []
        self._reason, self._how = "", ""
        self.setProperty("role", "on-card")
        self.beside = text("", "small", wrap=True)
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        self._build(self.entry.label)

    def _build(self, label: str) -> None:
        words = text(label, "quiet", wrap=True)
        words.setFixedWidth(LABEL)
        line = QHBoxLayout()
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(GRID)
        line.addWidget(words)
        for box in self.boxes():
            box.setAccessibleName(name_of(self.key))
            box.installEventFilter(self)
            if not self.wide:
                line.addWidget(box)
        if self.wide:
            line.addStretch(1)
        self._helpers = self.beside_boxes()
        for one in self._helpers:
            one.installEventFilter(self)
        if self._helpers:
            line.addLayout(row(*self._helpers, gap=GRID // 2))
        if self.roomy:
            self.beside.hide()
        else:
            line.addWidget(self.beside, 1)
        line.setAlignment(words, Qt.AlignmentFlag.AlignVCenter if self.low else Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addLayout(line)
        if self.under:
            self.beside.setContentsMargins(LABEL + GRID, 0, 0, 0)
            layout.addWidget(self.beside)
        for box in self.boxes() if self.wide else ():
            words.setFixedWidth(LABEL + BOX // 2)
            layout.addWidget(box)
        layout.addWidget(self.reason)
        self.explain()

    def explain(self, how: str = "") -> None:
        """Let each box tell what it is for, its numbers as they are shown now, and how else it may be used."""
        self._how = how or self._how
        for box in self.boxes():
            box.setAccessibleDescription(f"{self._reason} {self.entry.help}".strip())
            box.setToolTip(f"{self.entry.help}\n{self._how}".strip())

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Explain it anew when numbers are written otherwise."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.LocaleChange:
            self.explain()

    def beside_boxes(self) -> list[QWidget]:
        """Make what stands right beside the boxes and helps to fill them."""
        return []

    def turn(self) -> list[QWidget]:
        """Give what the Tab key reaches, in its turn: the boxes, then what helps to fill them."""
        return [*self._helpers, *self.boxes()] if self.wide else [*self.boxes(), *self._helpers]

    def _unit_button(self, *boxes: QLineEdit) -> list[QWidget]:
        """Give the list of units for some boxes; nothing where there is but one unit."""
        dimensions = self.entry.dimensions
        return [UnitButton(boxes, dimensions, name_of(self.key), self.hand_in)] if has_choice(dimensions) else []

    def boxes(self) -> list[QWidget]:
        """Give what is typed in or pressed, made on the first call."""
        raise NotImplementedError

    def value(self) -> Value:
        """Give what stands in the boxes, as it goes into the file; None to leave it out."""
        raise NotImplementedError

    def put(self, value: Any) -> None:
        """Show what the project says; None where the entry is left out."""
        raise NotImplementedError

    def refresh(self, value: Any) -> None:
        """Take up what the project says now, unless something half-typed or refused stands in the box."""
        if not self.touched:
            self.put(value)

    def hand_in(self) -> None:
        """Give what was typed to the project; keep it, with the reason, when it is refused."""
        if not self.touched:
            return
        self.touched = False  # so that the box follows the project that comes out
        reason = self._submit(self.key, self.value())
        self.touched = bool(reason)
        self.refuse(reason)

    def refuse(self, reason: str) -> None:
        """Show why the text was not taken; "" when it was."""
        self._reason = reason
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))
        for box in self.boxes():
            restyle(box, state="refused" if reason else "")
        self.explain()
        if reason:
            self.bring_up(self.reason)

    def bring_up(self, words: QLabel) -> None:
        """Scroll to what is said of this field while somebody is in it."""
        focus = QApplication.focusWidget()
        if focus is not None and self.isAncestorOf(focus):
            bring_up(words)

    def give_up(self) -> None:
        """Forget what was typed; the form brings back what the project says."""
        self.touched = False
        self.refuse("")

    def take_back(self) -> None:
        """Forget what was typed and show what the project says."""
        self.give_up()
        self._submit("", None)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Hand in on leaving, ask for help on entering, give up on Escape, and let the wheel scroll the form."""
        if event.type() == QEvent.Type.FocusIn:
            self.focused.emit(self.key)
        elif isinstance(event, QFocusEvent) and event.lostFocus():
            menu = event.reason() == Qt.FocusReason.PopupFocusReason  # a menu of this box: nothing is left yet
            if not menu and not any(box.hasFocus() for box in self.boxes()):
                self.hand_in()
        elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride and not self.touched:
            if event.matches(QKeySequence.StandardKey.Undo) or event.matches(QKeySequence.StandardKey.Redo):
                event.ignore()  # nothing half-typed here: the project is undone, not the letters of this box
                return True
        elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() == Qt.Key.Key_Escape:
            self.take_back()
            return True
        elif isinstance(event, QWheelEvent):
            event.ignore()
            return True
        return super().eventFilter(watched, event)
