"""The list of units beside a box: choosing one says the same quantity in it, or gives a bare number its unit."""

from collections.abc import Callable, Sequence
from contextlib import suppress

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QMenu, QPushButton

from levelbench.quantity import Dimension, Quantity, QuantityError, in_marks, in_unit, read, units_of, without_doubt

WIDTH = 26  # px
_MOST = 12  # units in the list


def has_choice(dimensions: Sequence[Dimension]) -> bool:
    """Tell whether there is more than one unit to choose from."""
    return sum(len(units_of(one)) for one in dimensions) > 1


def in_words_of(quantity: Quantity, unit: str) -> str:
    """Say a quantity in another unit with the fewest digits that mean the very same value."""
    value = in_unit(quantity.si, quantity.dimension, unit)
    for digits in range(3, 17):
        words = f"{value:.{digits}g}"
        with suppress(QuantityError):
            if "e" not in words and abs(read(f"{words} {unit}", quantity.dimension).si / quantity.si - 1) < 1e-14:
                return f"{in_marks(words)} {unit}"
    return f"{in_marks(f'{value:.15g}')} {unit}"


class UnitButton(QPushButton):
    """The small button at the end of a box (or of a pair), next to it for Tab; Alt+Down in the box opens it too."""

    def __init__(
        self, boxes: Sequence[QLineEdit], dimensions: Sequence[Dimension], name: str, taken: Callable[[], object]
    ) -> None:
        super().__init__("▾")
        self.setProperty("role", "unit")
        self.setFixedWidth(WIDTH)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(f"unit of {name}, Alt+Down in its box")
        self.setAccessibleDescription("Says the value in another unit.")
        self.setToolTip("Say it in another unit (Alt+Down in the box).")
        self._boxes, self._dimensions, self._taken = tuple(boxes), tuple(dimensions), taken
        self.menu_of_units: QMenu | None = None  # made when it is first wanted: a form has many of these buttons
        self.clicked.connect(self.open)
        for box in boxes:
            box.installEventFilter(self)

    def open(self) -> None:
        """List the units, each with the value as it would stand in the box."""
        if self.menu_of_units is None:
            self.menu_of_units = QMenu(self)
            self.menu_of_units.setAccessibleName(self.accessibleName())
        self._fill(self.menu_of_units)
        self.menu_of_units.popup(self._boxes[0].mapToGlobal(self._boxes[0].rect().bottomLeft()))
        self.menu_of_units.setActiveAction(self.menu_of_units.actions()[0])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Open with Alt and the down key."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            alt = event.modifiers() & Qt.KeyboardModifier.AltModifier
            if event.key() == Qt.Key.Key_Down and alt:
                self.open()
                return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Open with the down key and Enter as well, as a list does; Space is a button's own."""
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.open()
            return
        super().keyPressEvent(event)

    def _fill(self, menu: QMenu) -> None:
        menu.clear()
        for dimension in self._dimensions:
            for unit in units_of(dimension)[:_MOST]:
                words = [_offered(box.text() or box.placeholderText(), dimension, unit) for box in self._boxes]
                if unit and any(words):
                    action = menu.addAction(" and ".join(word or "…" for word in words))
                    action.triggered.connect(lambda _on=False, offered=tuple(words): self._take(offered))
        if menu.isEmpty():
            menu.addAction("Type a number first, then choose its unit.").setEnabled(False)

    def _take(self, offered: tuple[str, ...]) -> None:
        for box, words in zip(self._boxes, offered, strict=True):
            if words:
                box.setText(words)
                box.textEdited.emit(words)
        self._boxes[0].setFocus()
        QTimer.singleShot(0, self._boxes[0], self._taken)


def _offered(text: str, dimension: Dimension, unit: str) -> str:
    """Give what a text becomes in a unit: the same quantity, or a bare number with the unit; "" for neither."""
    with suppress(QuantityError):
        return in_words_of(read(without_doubt(text), dimension), unit)
    with suppress(QuantityError):
        read(without_doubt(f"{text} {unit}"), dimension)
        return f"{text.strip()} {unit}"
    return ""
