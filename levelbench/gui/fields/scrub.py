"""A box of a form scrubbed: pulled left or right, or stepped by Alt and the left and right keys, to try other values.

A press on a box that has not got the keyboard and a pull changes its number and keeps its unit as it was typed.
Letting go hands it in, Escape takes it back; what was only stepped by keys is taken back on leaving too.
"""

import math

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QLineEdit

from levelbench.gui.fields.entry_keys import in_words
from levelbench.gui.fields.fields import QuantityField
from levelbench.gui.fields.value_cell import DOUBLE, SLACK, STEP
from levelbench.gui.look.parts import restyle
from levelbench.quantity import Dimension, QuantityError, in_unit, precise, read
from levelbench.quantity.numerals import numeral, plain, without_doubt

HOW = "Drag left or right to try it (or Alt and the left and right keys): letting go takes it, Esc takes it back."
_ZERO = {Dimension.TIME: 2.0, Dimension.PERCENT: 0.1, Dimension.NUMBER: 0.1, Dimension.VOLUME: 1e-4}  # SI, by DOUBLE


class Scrub(QObject):
    """Lets the box of a field be scrubbed; the field takes what comes of it as if it were typed."""

    def __init__(self, field: QuantityField) -> None:
        super().__init__(field)
        self._field = field
        self._box: QLineEdit = field.box
        self._from: float | None = None  # x of the press
        self._start = ""  # the text that is pulled from
        self._pulled = 0.0  # in doublings
        field.explain(HOW)
        self._box.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Turn presses, moves and keys into other values."""
        if isinstance(event, QMouseEvent):
            return self._by_mouse(event)
        if isinstance(event, QKeyEvent):
            return self._by_key(event)
        if isinstance(event, QFocusEvent) and event.lostFocus() and self._pulled and self._from is None:
            self._field.take_back()
            self._rest()
        return False

    def _by_mouse(self, event: QMouseEvent) -> bool:
        kind, left = event.type(), Qt.MouseButton.LeftButton
        if kind == QEvent.Type.MouseButtonPress and event.button() == left and not self._box.hasFocus():
            self._from, self._start = event.position().x(), self._text()
            return True
        if self._from is None:
            return False
        if kind == QEvent.Type.MouseMove:
            by = event.position().x() - self._from
            if self._pulled or abs(by) > SLACK:
                self._box.setFocus(Qt.FocusReason.MouseFocusReason)
                self._pull(by / DOUBLE / (10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0))
        elif kind == QEvent.Type.MouseButtonRelease:
            pulled = self._pulled
            self._rest()
            if pulled:
                self._field.hand_in()
            else:
                self._box.setFocus(Qt.FocusReason.MouseFocusReason)
                self._box.selectAll()
        return True

    def _by_key(self, event: QKeyEvent) -> bool:
        key, keys = event.key(), Qt.Key
        way = {keys.Key_Right: 1, keys.Key_Left: -1}.get(Qt.Key(key), 0)
        if way and event.modifiers() & Qt.KeyboardModifier.AltModifier:
            if event.type() == QEvent.Type.ShortcutOverride:
                event.accept()
            elif event.type() == QEvent.Type.KeyPress:
                if not self._pulled:
                    self._start = self._text()
                much = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
                self._pull(self._pulled + way * much * math.log2(1.0 + STEP))
            return True
        if event.type() == QEvent.Type.KeyPress and not event.modifiers() & Qt.KeyboardModifier.AltModifier:
            self._rest()
        return False

    def _text(self) -> str:
        return self._box.text() or in_words(self._field.entry.default)

    def _rest(self) -> None:
        self._from, self._pulled = None, 0.0
        restyle(self._box, trying="")

    def _pull(self, doublings: float) -> None:
        """Try what stands so many doublings from the text that was there; what has no number can't be pulled."""
        words = other_value(self._field, self._start, doublings)
        if not words:
            return
        self._pulled = doublings
        restyle(self._box, trying="yes")
        self._box.setText(words)
        self._box.setModified(True)
        self._box.textEdited.emit(words)


def other_value(field: QuantityField, text: str, doublings: float) -> str:
    """Give a text with its number so many doublings on, within the entry's bounds; "" where that can't be."""
    entry = field.entry
    try:
        told = numeral(plain(without_doubt(text)), "")
        quantity = next(read(text, one) for one in entry.dimensions if _reads(text, one))
    except (QuantityError, StopIteration):
        return ""
    si = quantity.si * 2.0**doublings
    if quantity.si == 0:
        si = max(0.0, doublings * _ZERO.get(quantity.dimension, 0.0))
    si = max(si, entry.low if entry.low is not None else -math.inf)
    si = min(si, entry.high if entry.high is not None else math.inf)
    value = in_unit(si, quantity.dimension, quantity.unit)
    return f"{precise(float(f'{value:.3e}'))} {told.rest}".strip()


def _reads(text: str, dimension: Dimension) -> bool:
    try:
        read(text, dimension)
    except QuantityError:
        return False
    return True
