"""The picture under the forms: what the dimension in hand means, lit in a small drawing of the part."""

from PySide6.QtCore import QEvent
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.meaning import PICTURES, draw, first_picture, picture_of
from levelbench.drawing.meaning_parts import Picture
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import declaration, in_words, name_of, typed
from levelbench.gui.look import theme
from levelbench.gui.section.paint import paint

_WIDE, _HIGH = 300.0, 168  # px
_TEXT = 11.0  # px
_CHOICES = tuple(sorted({key for picture in PICTURES for key, _ in picture.when}))


class PictureView(QWidget):
    """Shows a picture with one of its marks lit."""

    def __init__(self, height: int = _HIGH) -> None:
        super().__init__()
        self.lit = ""
        self.picture: Picture | None = None
        self.setFixedHeight(height)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("picture of the part")

    def show_picture(self, picture: Picture | None, lit: str) -> None:
        """Show a picture; `lit` is the entry that it points at, where it has a mark for it."""
        self.picture, self.lit = picture, lit
        name = name_of(lit) if picture is not None and lit in picture.marks else ""
        title = picture.title if picture is not None else "no picture"
        self.setAccessibleDescription(f"{title}; lit: {name}" if name else title)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the picture in the middle of the room that there is."""
        if self.picture is None:
            return
        lit = self.lit if self.lit in self.picture.marks else ""
        wide = _WIDE * self.height() / _HIGH
        scene = draw(self.picture, lit, declaration(lit).label if lit else "", wide, _TEXT)
        painter = QPainter(self)
        painter.translate((self.width() - wide) / 2, 0)
        paint(painter, scene.items, theme.current().palette)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Paint anew in a new theme."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()


class MeaningView(PictureView):
    """Shows the picture of an entry of the project, or of a whole section while no entry is looked at."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._section = ""
        document.project_changed.connect(lambda _project: self._refresh())

    def show_section(self, section: str) -> None:
        """Show a part with nothing lit."""
        self._section, self.lit = section, ""
        self._refresh()

    def show_entry(self, key: str) -> None:
        """Light what an entry speaks of; the part alone where there is nothing to point at."""
        self._section, self.lit = key.partition(".")[0], key
        self._refresh()

    def _refresh(self) -> None:
        choices = {key: self._choice(key) for key in _CHOICES}
        self.show_picture(picture_of(self.lit, choices) or first_picture(self._section, choices), self.lit)

    def _choice(self, key: str) -> str:
        value = typed(self._document.project, key)
        return in_words(declaration(key).default if value is None else value)
