"""One page of the interview: the question, why it is asked, its boxes with what is assumed, and a picture."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QShortcut
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget

from levelbench.drawing.meaning import picture_of
from levelbench.gui.fields.meaning_view import PictureView
from levelbench.gui.fields.understood import in_other_unit
from levelbench.gui.fields.unit_menu import UnitButton
from levelbench.gui.look.parts import column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.project.interview import ASKS, InterviewError, Question, applies, assumed, check, text_of
from levelbench.quantity import in_marks, without_doubt

_OPEN = "left open"
_LABEL, _BOX = 128, 176  # px
# the entry of the project whose picture explains an ask
_PICTURED = {
    "shape": "tank.shape", "diameter": "tank.diameter", "length": "tank.length", "width": "tank.width",
    "height": "tank.height", "largest_flow": "pump.largest_flow", "shut_off_head": "pump.shut_off_head",
    "drain": "drain.kind", "sensor": "sensor.kind",
}  # fmt: skip

_NOT_LEFT = (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason)  # the person comes back


class AskField(QWidget):
    """One box of a question; the text goes into the notes with every key that is pressed."""

    looked_at = Signal(str)  # key: its picture is wanted

    def __init__(
        self, key: str, texts: dict[str, str], told: Callable[[], object], taken: Callable[[], object]
    ) -> None:
        super().__init__()
        self.key, self._texts, self._told = key, texts, told
        self.setProperty("help", f"questions#{key}")
        self.entry = ASKS[key]
        name = text(self.entry.label, "quiet", wrap=True)
        name.setFixedWidth(_LABEL)
        self.box: QLineEdit | QComboBox = QComboBox() if self.entry.choices else QLineEdit()
        self.box.setFixedWidth(_BOX) if isinstance(self.box, QLineEdit) else self.box.setMinimumWidth(_BOX)
        self.box.setAccessibleName(self.entry.label)
        self.box.setAccessibleDescription(self.entry.help)
        self.box.setToolTip(self.entry.help)
        self.box.installEventFilter(self)
        self.beside = text("", "small", wrap=True)
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        parts: list[QWidget | None] = [name, self.box]
        if isinstance(self.box, QLineEdit):
            self.box.textEdited.connect(self._typed)
            self.box.returnPressed.connect(taken)
            if self.entry.dimensions:
                parts.append(UnitButton([self.box], self.entry.dimensions, self.entry.label, lambda: None))
        else:
            self.box.addItems([_OPEN, *self.entry.choices])
            self.box.activated.connect(lambda _at: self._typed(self._chosen()))
            for enter in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                QShortcut(enter, self.box, taken, context=Qt.ShortcutContext.WidgetShortcut)
        line = row(*parts)
        line.addWidget(self.beside, 1)
        self.setLayout(column(line, self.reason, gap=2))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Ask for the picture when the keyboard comes in; say what is wrong with an answer when it is left."""
        if event.type() == QEvent.Type.FocusIn:
            self.looked_at.emit(self.key)
        elif isinstance(event, QFocusEvent) and event.lostFocus() and event.reason() not in _NOT_LEFT:
            self.check()
        return super().eventFilter(watched, event)

    def refresh(self) -> None:
        """Show what the notes say, what is assumed while the box is empty, and what was understood."""
        words = self._texts.get(self.key, "")
        told = f"assumed: {self._marked(assumed(self.key, self._texts))}"
        if isinstance(self.box, QComboBox):
            self.box.setCurrentText(words or _OPEN)
        else:
            if without_doubt(self.box.text()) != words:
                self.box.setText(words)
            self.box.setPlaceholderText(self._marked(text_of(self.key, {**self._texts, self.key: ""})))
        self.beside.setText(self._understood(words) if words.strip() else told)
        self.setVisible(applies(self.key, self._texts))

    def check(self) -> bool:
        """Tell whether the answer can be read; say beside it why not."""
        try:
            check(self.key, self._texts.get(self.key, ""))
        except InterviewError as error:
            self.refuse(str(error))
            return False
        self.refuse("")
        return True

    def refuse(self, reason: str) -> None:
        """Show why an answer is not taken; "" when it is."""
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))
        restyle(self.box, state="refused" if reason else "")

    def _marked(self, words: str) -> str:
        """Give what nobody typed in the person's marks."""
        return in_marks(words) if self.entry.dimensions else words

    def _understood(self, words: str) -> str:
        try:
            quantity = check(self.key, words)
        except InterviewError:
            return "…"
        return in_other_unit(quantity) if quantity is not None else ""

    def _chosen(self) -> str:
        assert isinstance(self.box, QComboBox)
        return self.box.currentText() if self.box.currentIndex() else ""

    def _typed(self, words: str) -> None:
        self._texts[self.key] = without_doubt(words) if self.entry.dimensions else words
        self.refuse("")
        self._told()


class Page(QWidget):
    """A question with its boxes."""

    changed = Signal()
    entered = Signal()  # Enter was pressed in the last box

    def __init__(self, question: Question, texts: dict[str, str]) -> None:
        super().__init__()
        self._texts = texts
        self.fields = {key: AskField(key, texts, self._told, self._next) for key in question.asks}
        for one in self.fields.values():
            one.looked_at.connect(self._look_at)
        self.heading = text(question.title, "heading", wrap=True)
        self.why = text(question.why, "quiet", wrap=True)
        self.picture = PictureView(200)
        self.setLayout(column(self.heading, self.why, *self.fields.values(), None, self.picture, gap=GRID + 4))
        self._refresh()

    def begin(self) -> None:
        """Take up what the notes say, with the keyboard in the first box."""
        self._refresh()
        self._shown()[0].box.setFocus()

    def clear(self) -> None:
        """Empty the answer."""
        for key in self.fields:
            self._texts[key] = ""
        for one in self.fields.values():
            one.refuse("")
        self._told()

    def check(self) -> bool:
        """Tell whether every answer can be read; the first that can't has the keyboard."""
        wrong = [one for one in self._shown() if not one.check()]
        if wrong:
            wrong[0].box.setFocus()
        return not wrong

    def refuse(self, key: str, reason: str) -> None:
        """Show why an answer does not go with the others."""
        self.fields[key].refuse(reason)
        self.fields[key].box.setFocus()

    def _shown(self) -> list[AskField]:
        return [one for key, one in self.fields.items() if applies(key, self._texts)]

    def _told(self) -> None:
        self._refresh()
        self.changed.emit()

    def _next(self) -> None:
        """Go to the next box, or on where there is none; an answer that can't be read is explained first."""
        shown = self._shown()
        at = next((number for number, one in enumerate(shown) if one.box.hasFocus()), len(shown) - 1)
        if not shown[at].check():
            return
        if at + 1 < len(shown):
            shown[at + 1].box.setFocus()
        else:
            self.entered.emit()

    def _refresh(self) -> None:
        for one in self.fields.values():
            one.refresh()
        in_hand = next((one.key for one in self._shown() if one.box.hasFocus()), self._shown()[0].key)
        self._look_at(in_hand)

    def _look_at(self, key: str) -> None:
        """Light what a box asks for."""
        choices = {_PICTURED[one]: text_of(one, self._texts) for one in ("shape", "drain", "sensor")}
        lit = _PICTURED.get(key, "")
        self.picture.setVisible(bool(lit))
        self.picture.show_picture(picture_of(lit, choices), "" if lit.endswith((".shape", ".kind")) else lit)
