"""A cell of a table of values: typed into, or dragged left and right to try other values before any is taken.

A press and a pull on a cell that has not got the keyboard scrubs its value; so do Alt and the arrow keys. Whatever is
tried is told by `previewed` and edits nothing; letting go (or Enter) hands it in, Escape and leaving take it back.
"""

import math
from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QMouseEvent
from PySide6.QtWidgets import QLineEdit

from levelbench.gui.look.parts import restyle

DOUBLE = 120.0  # px of a pull that doubles a value; Shift: ten times as many
STEP = 0.02  # share of a value that Alt and an arrow key add; Shift: ten times as much
SLACK = 4  # px that a press may move before it is a pull
HOW = "Type, or drag left or right to try it: letting go takes it, Esc takes it back. Alt and arrow keys do the same."

Write = Callable[[float], str]


class ValueCell(QLineEdit):
    """One value in one unit. `zero_step` is what a pull by `DOUBLE` adds to a value of 0; 0 when it can't be pulled."""

    previewed = Signal(str)  # the text that is tried, typed or dragged
    handed_in = Signal(str)
    given_up = Signal()
    entered = Signal()  # the keyboard came here

    def __init__(self, name: str, write: Write, zero_step: float = 0.0, tip: str = "") -> None:
        super().__init__()
        self.setProperty("role", "cell")
        self.setAccessibleName(name)
        self.setToolTip(f"{tip or name}. {HOW}")
        self.setAccessibleDescription(HOW)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self._write = write
        self._zero_step = zero_step
        self._value: float | None = None
        self._shown = ""
        self._pressed_at: float | None = None
        self._pulled = 0.0  # in doublings
        self.trying = False
        self.textEdited.connect(self._typed)

    def put(self, value: float | None, words: str) -> None:
        """Show a value; one that is being tried or typed stays as it is."""
        if self.trying:
            return
        self._value, self._shown = value, words
        if self.text() != words:
            self.setText(words)
            self.setCursorPosition(0)

    def take_back(self) -> None:
        """Show what stands in the project again."""
        was, self.trying = self.trying, False
        self._pressed_at, self._pulled = None, 0.0
        restyle(self, trying="", state="")
        self.setText(self._shown)
        if was:
            self.given_up.emit()

    def refuse(self, refused: bool) -> None:
        """Mark what was typed as refused; it stays for mending."""
        self.trying = self.trying or refused
        restyle(self, state="refused" if refused else "")

    def hand_in(self) -> None:
        """Give what is tried or typed to whoever takes it."""
        if self.trying:
            self.trying, self._pulled = False, 0.0
            restyle(self, trying="")
            self.handed_in.emit(self.text())

    def _typed(self, words: str) -> None:
        self.trying = True
        self.previewed.emit(words)

    def _pull(self, doublings: float) -> None:
        """Try the value that stands so many doublings from the one of the project."""
        if self._value is None or math.isinf(self._value):
            return
        value = self._value * 2.0**doublings
        if self._value == 0:
            value = max(0.0, doublings * self._zero_step)
        self.trying, self._pulled = True, doublings
        restyle(self, trying="yes")
        self.setText(self._write(value))
        self.previewed.emit(self.text())

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Begin a pull, unless the keyboard is here already: then the mouse moves the cursor among the letters."""
        if self.hasFocus() and not event.modifiers() & Qt.KeyboardModifier.AltModifier:
            super().mousePressEvent(event)
        elif event.button() == Qt.MouseButton.LeftButton:
            self._pressed_at = event.position().x()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Follow the pull."""
        if self._pressed_at is None:
            super().mouseMoveEvent(event)
            return
        by = event.position().x() - self._pressed_at
        if self._pulled or abs(by) > SLACK:
            if not self.hasFocus():
                self.setFocus(Qt.FocusReason.MouseFocusReason)
            fine = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
            self._pull(by / DOUBLE / fine)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """End the pull and hand it in; a press without a pull begins typing."""
        if self._pressed_at is None:
            super().mouseReleaseEvent(event)
            return
        self._pressed_at = None
        if self.trying:
            self.hand_in()
        else:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.selectAll()

    def event(self, event: QEvent) -> bool:
        """Keep Alt and arrows, and Escape during a try, from menus and shortcuts; let undo through when idle."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            if self._arrow(event) or (event.key() == Qt.Key.Key_Escape and self.trying):
                event.accept()
                return True
            if not self.trying and (
                event.matches(QKeySequence.StandardKey.Undo) or event.matches(QKeySequence.StandardKey.Redo)
            ):
                event.ignore()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Try by Alt and arrows; Enter hands in, Escape takes back."""
        way = self._arrow(event)
        if way:
            much = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
            self._pull(self._pulled + way * much * math.log2(1.0 + STEP))
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.hand_in()
        elif event.key() == Qt.Key.Key_Escape and self.trying:
            self.take_back()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Tell that this is the value in hand."""
        super().focusInEvent(event)
        self.entered.emit()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Hand in what was typed; take back what was only tried."""
        super().focusOutEvent(event)
        if self._pressed_at is None and event.reason() != Qt.FocusReason.PopupFocusReason:
            if self._pulled:
                self.take_back()
            else:
                self.hand_in()

    @staticmethod
    def _arrow(event: QKeyEvent) -> int:
        if not event.modifiers() & Qt.KeyboardModifier.AltModifier:
            return 0
        keys = Qt.Key
        ways = {keys.Key_Right: 1, keys.Key_Up: 1, keys.Key_Left: -1, keys.Key_Down: -1}
        return ways.get(Qt.Key(event.key()), 0)
