"""The kinds of fields: a text, a number with its unit, a pair of them, a whole number, a choice, yes or no."""

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLineEdit, QSizePolicy, QWidget

from levelbench.gui.fields.entry_keys import declaration, in_words, kind_of
from levelbench.gui.fields.field import BOX, Field, Submit
from levelbench.gui.fields.sentences import SentenceBox
from levelbench.gui.fields.understood import understood
from levelbench.gui.look.theme import GRID
from levelbench.project import Value
from levelbench.project.fields import Entry
from levelbench.quantity import LevelBenchError, in_marks

WIDEST = 152  # px


class TextField(Field):
    """A free text."""

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        if not hasattr(self, "box"):
            self.box = QLineEdit()
            self.box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self.box.textEdited.connect(self._edited)
            self.box.returnPressed.connect(self.hand_in)
        return [self.box]

    def value(self) -> Value:
        """Give the text, None when it is empty."""
        return self.box.text().strip() or None

    def put(self, value: Any) -> None:
        """Show the text, or what is assumed in its place."""
        self.box.setText(in_words(value))
        unsaid = "" if self.needed else "empty" if self.entry.default == "" else "left out"
        self.box.setPlaceholderText(_assumed(self.entry) or unsaid)

    def _edited(self, _text: str) -> None:
        self.touched = True


class SentenceField(Field):
    """A text of whole sentences, over the whole width and as high as they need."""

    low, wide = False, True

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        if not hasattr(self, "box"):
            self.box = SentenceBox()
            self.box.edited.connect(self._edited)
            self.box.handed_in.connect(self.hand_in)
        return [self.box]

    def value(self) -> Value:
        """Give the text, None when it is empty."""
        return self.box.words or None

    def put(self, value: Any) -> None:
        """Show the text."""
        self.box.put(in_words(value))

    def _edited(self) -> None:
        self.touched = True


class QuantityField(TextField):
    """A number with any unit of its dimension; says at once what it understood, in the other system of units."""

    roomy = False

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        fresh = not hasattr(self, "box")
        made = super().boxes()
        if fresh:  # later it is as wide as its words need
            self.box.setFixedWidth(BOX)
        return made

    def beside_boxes(self) -> list[QWidget]:
        """Give the list of units."""
        return self._unit_button(self.box)

    def _fit(self) -> None:
        """Make the box wide enough for what stands in it, as far as its neighbours can spare the room."""
        words = self.box.text() or self.box.placeholderText()
        self.box.setFixedWidth(min(max(BOX, self.box.fontMetrics().horizontalAdvance(words) + 3 * GRID), WIDEST))

    def put(self, value: Any) -> None:
        """Show the text as typed, and what it means; where it is left out, what is assumed."""
        super().put(value)
        self._fit()
        self._say(in_words(value) or in_words(self.entry.default), "" if value is not None else "assumed")

    def _edited(self, _text: str) -> None:
        super()._edited(_text)
        self._say(self.box.text(), "")

    def _say(self, words: str, prefix: str) -> None:
        if not words:
            self.beside.setText("has to be given" if self.needed else "")
            return
        try:
            self.beside.setText(" ".join(part for part in (prefix, understood(self.key, words)) if part))
        except LevelBenchError:
            self.beside.setText("…")


class WholeField(TextField):
    """A whole number."""

    roomy = False

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        made = super().boxes()
        self.box.setFixedWidth(BOX)
        return made

    def value(self) -> Value:
        """Give the number; what is not a whole number goes on as text, to be refused with a reason."""
        words = self.box.text().strip()
        return int(words) if words.lstrip("+-").isdecimal() else words or None


class PairField(Field):
    """Two quantities that belong together, such as the ends of a span; what was understood stands under them."""

    under = True

    def boxes(self) -> list[QWidget]:
        """Give the two boxes."""
        if not hasattr(self, "pair"):
            self.pair = (QLineEdit(), QLineEdit())
            for box in self.pair:
                box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
                box.setMinimumWidth(72)
                box.textEdited.connect(self._edited)
                box.returnPressed.connect(self.hand_in)
        return list(self.pair)

    def beside_boxes(self) -> list[QWidget]:
        """Give the list of units, for both at once."""
        return self._unit_button(*self.pair)

    def value(self) -> Value:
        """Give both texts as the project takes a pair; None when both are empty."""
        words = [box.text().strip() for box in self.pair]
        return words if any(words) else None

    def put(self, value: Any) -> None:
        """Show both texts, or what is assumed in their place."""
        for box, words, assumed in zip(self.pair, _two(value), _two(self.entry.default), strict=True):
            box.setText(words)
            box.setPlaceholderText(in_marks(assumed))
        self._say()

    def _edited(self, _text: str) -> None:
        self.touched = True
        self._say()

    def _say(self) -> None:
        """Say both in the other system of units, once both can be read."""
        words = [box.text() or box.placeholderText() for box in self.pair]
        try:
            said = [understood(self.key, one) if one else "" for one in words]
        except LevelBenchError:
            said = ["…"]
        first, *others = [one for one in said if one] or [""]
        self.beside.setText(" and ".join([first, *(one.removeprefix("= ") for one in others)]))
        self.beside.setVisible(bool(self.beside.text()))


class ChoiceField(Field):
    """One of a few words."""

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        if not hasattr(self, "box"):
            self.box = QComboBox()
            self.box.addItems(list(self.entry.choices))
            self.box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self.box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self.box.activated.connect(self._chosen)
        return [self.box]

    def value(self) -> Value:
        """Give the word."""
        return self.box.currentText()

    def put(self, value: Any) -> None:
        """Show the word."""
        self.box.setCurrentText(in_words(value if value is not None else self.entry.default))

    def _chosen(self, _index: int) -> None:
        self.touched = True
        self.hand_in()


class YesNoField(Field):
    """Yes or no."""

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        if not hasattr(self, "box"):
            self.box = QCheckBox("yes")
            self.box.clicked.connect(self._chosen)
        return [self.box]

    def value(self) -> Value:
        """Give the answer."""
        return self.box.isChecked()

    def put(self, value: Any) -> None:
        """Show the answer."""
        self.box.setChecked(bool(value if value is not None else self.entry.default))

    def _chosen(self, _checked: bool) -> None:
        self.touched = True
        self.hand_in()


def _assumed(entry: Entry) -> str:
    """Give what is assumed where an entry is left out; a number in the person's marks, since nobody typed it."""
    words = in_words(entry.default)
    return in_marks(words) if entry.dimensions else words


def _two(value: Any) -> tuple[str, str]:
    """Give the two texts of a pair; both empty where there is none."""
    parts = [in_words(one) for one in value or ()]
    return (parts[0], parts[1]) if len(parts) == 2 else ("", "")


def field_for(key: str, submit: Submit) -> Field:
    """Make the kind of field that an entry wants."""
    entry, kind = declaration(key), kind_of(key)
    made: type[Field] = TextField
    if entry.sentences:
        made = SentenceField
    elif entry.choices:
        made = ChoiceField
    elif kind is bool:
        made = YesNoField
    elif kind is int:
        made = WholeField
    elif entry.count == 2:
        made = PairField
    elif entry.dimension is not None:
        made = QuantityField
    return made(key, submit)


def hand_in_half_typed() -> None:
    """Give what stands half-typed in the box that has the keyboard to the project, before it is saved or left."""
    widget = QApplication.focusWidget()
    while widget is not None and not isinstance(widget, Field):
        widget = widget.parentWidget()
    if widget is not None:
        widget.hand_in()
