"""A small sheet beside what was chosen on the drawing, in which its value is typed."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QFrame, QVBoxLayout, QWidget

from levelbench.gui.fields.field import Field
from levelbench.gui.fields.fields import field_for
from levelbench.gui.look.parts import clear, text
from levelbench.gui.look.theme import GRID
from levelbench.project import Value

WIDE = 400  # px
CLEAR = 12  # px kept between the line and the sheet


class SectionEditor(QFrame):
    """One field of one entry. Enter hands it in and closes, Esc closes; a refused text stays with the reason."""

    closed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        self.setFixedWidth(WIDE)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.field: Field | None = None
        self._take: Callable[[str, str], str] = lambda _key, _words: ""
        self._rule = text("", "small", wrap=True)
        self._place = QVBoxLayout()
        self._line = QPoint()  # of the drawing, at which it stands
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID, GRID, GRID, GRID)
        layout.setSpacing(GRID // 2)
        layout.addLayout(self._place)
        layout.addWidget(self._rule)
        self.hide()
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._left)

    def open(self, key: str, words: str, rule: str, take: Callable[[str, str], str]) -> None:
        """Open for an entry that now says `words`; `take` gets what is typed and gives why it can't be taken."""
        clear(self._place)
        self._take = take
        self.field = field_for(key, self._hand_on)
        self.field.put(words)
        self._place.addWidget(self.field)
        self._rule.setText(rule)
        self.setAccessibleName(f"type the {self.field.entry.label}")
        self.show()
        self.raise_()
        box = self.field.boxes()[0]
        box.setFocus(Qt.FocusReason.OtherFocusReason)
        if hasattr(box, "selectAll"):
            box.selectAll()

    def put_at(self, place: QPoint) -> None:
        """Stand under the line of a place of the drawing, or over it, so that what is typed stays in sight."""
        above, layout = self.parentWidget(), self.layout()
        assert above is not None, "the editor stands on a drawing"
        assert layout is not None, "its field stands in a layout"
        self._line = place
        self.resize(WIDE, layout.totalHeightForWidth(WIDE))
        room, size = above.size(), self.size()
        x = min(max(place.x(), 4), max(room.width() - WIDE - 4, 4))
        under, over = place.y() + CLEAR, place.y() - CLEAR - size.height()
        y = under if under + size.height() < room.height() else max(over, 4)
        self.move(x, y)

    def event(self, event: QEvent) -> bool:
        """Take the room that a reason needs, however long it is."""
        if event.type() == QEvent.Type.LayoutRequest and self.isVisible():
            self.put_at(self._line)
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Enter closes once nothing refused is left; the field has handed in before."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.field is not None and not self.field.touched:
                self.shut()
            return
        if event.key() == Qt.Key.Key_Escape:
            self.shut()
            return
        super().keyPressEvent(event)

    def shut(self) -> None:
        """Close; give the keyboard back where it was here."""
        focus = QApplication.focusWidget()
        here = focus is not None and self.isAncestorOf(focus)
        if self.isVisible():
            self.hide()
            if here:
                self.closed.emit()

    def _left(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Close when the keyboard goes elsewhere and nothing refused is left; a list of units is not elsewhere."""
        elsewhere = now is not None and not self.isAncestorOf(now) and QApplication.activePopupWidget() is None
        if self.isVisible() and elsewhere and self.field is not None and not self.field.touched:
            self.hide()

    def _hand_on(self, key: str, value: Value) -> str:
        if not key:  # Esc in the field
            self.shut()
            return ""
        reason = self._take(key, str(value)) if value is not None else "Type a value, or press Esc."
        if not reason:
            self.shut()
        return reason
