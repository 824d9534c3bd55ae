"""A box for whole sentences: it wraps them, is as high as they are, and Enter or leaving it hands them in."""

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QPlainTextEdit, QSizePolicy

from levelbench.gui.look.theme import GRID

_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class SentenceBox(QPlainTextEdit):
    """One text without line breaks of its own; Tab leaves it."""

    edited = Signal()  # by the person
    handed_in = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "sentences")
        self.setTabChangesFocus(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setPlaceholderText("empty")
        self._putting = False
        self.textChanged.connect(self._changed)

    @property
    def words(self) -> str:
        """What stands in it, in one line."""
        return " ".join(self.toPlainText().split())

    def put(self, words: str) -> None:
        """Show a text of the project."""
        if words != self.toPlainText():
            self._putting = True
            self.setPlainText(words)
            self._putting = False

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Be as high as the text."""
        rows = max(round(self.document().documentLayout().documentSize().height()), 1)
        high = rows * self.fontMetrics().lineSpacing() + 2 * round(self.document().documentMargin())
        return QSize(super().sizeHint().width(), high + GRID // 2)  # the border around it

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Never be lower than the text, and as narrow as a column may be."""
        return QSize(80, self.sizeHint().height())

    def _changed(self) -> None:
        self.updateGeometry()
        if not self._putting:
            self.edited.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Hand in on Enter."""
        if Qt.Key(event.key()) in _KEYS:
            self.handed_in.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802  Qt's name
        """Ask for another height where another width wraps the text otherwise."""
        super().resizeEvent(event)
        self.updateGeometry()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Be high enough for another font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.updateGeometry()
