"""A layout that sets its widgets side by side like words, and goes on in the next line where there is no more room."""

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class Kept(QLayout):
    """A layout that keeps its items in a list; what stands where is up to those made from it."""

    def __init__(self, gap: int) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self.setSpacing(gap)
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:  # noqa: N802  Qt's names
        """Take an item at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Give how many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:  # noqa: N802  None ends Qt's walk
        """Give an item."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:  # noqa: N802
        """Take an item out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None


class Wrapping(Kept):
    """Widgets in lines, each at its own size, `between` px from line to line; hidden ones take no room."""

    def __init__(self, gap: int, between: int = 0) -> None:
        super().__init__(gap)
        self._between = between

    def expandingDirections(self) -> Qt.Orientation:  # noqa: N802
        """Never wants more room than it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:  # noqa: N802
        """Narrower is taller."""
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Give the height of all lines."""
        return self._lay(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, place: QRect) -> None:  # noqa: N802
        """Lay the lines out."""
        super().setGeometry(place)
        self._lay(place, move=True)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give the least size; the height follows from the width."""
        return self.minimumSize()

    def minimumSize(self) -> QSize:  # noqa: N802
        """Give the room for the largest item."""
        size = QSize()
        for item in self._items:
            if not item.isEmpty():
                size = size.expandedTo(item.minimumSize())
        return size

    def add(self, *widgets: QWidget) -> "Wrapping":
        """Take widgets at the end, and give the layout."""
        for widget in widgets:
            self.addWidget(widget)
        return self

    def _lay(self, place: QRect, *, move: bool) -> int:
        x, y, tall = place.x(), place.y(), 0
        for item in self._items:
            if item.isEmpty():
                continue
            size = item.sizeHint()
            if x + size.width() > place.right() + 1 and x > place.x():
                x, y, tall = place.x(), y + tall + self._between, 0
            if move:
                item.setGeometry(QRect(x, y, min(size.width(), place.width()), size.height()))
            x += size.width() + self.spacing()
            tall = max(tall, size.height())
        return y + tall - place.y()


class Even(Wrapping):
    """Widgets in columns of one width, as many columns as the widest leaves room for."""

    def _lay(self, place: QRect, *, move: bool) -> int:
        seen = [item for item in self._items if not item.isEmpty()]
        sizes = [item.sizeHint() for item in seen]
        widest, high = (max(map(part, sizes), default=1) for part in (QSize.width, QSize.height))
        across = max((place.width() + self.spacing()) // (widest + self.spacing()), 1)
        wide = (place.width() - (across - 1) * self.spacing()) // across
        for at, item in enumerate(seen if move else ()):
            down, right = divmod(at, across)
            x, y = place.x() + right * (wide + self.spacing()), place.y() + down * (high + self.spacing())
            item.setGeometry(QRect(x, y, wide, high))
        lines = -(-len(seen) // across)
        return lines * high + max(lines - 1, 0) * self.spacing()
