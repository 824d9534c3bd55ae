"""Where the parts of the station stand: side by side where there is room, else one under another."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtWidgets import QLayoutItem, QWidget

from levelbench.gui.look.wrapping import Kept


class Columns(Kept):
    """Three parts: three columns, two with the last part under them, or one; whatever the width allows."""

    def __init__(self, parts: Sequence[tuple[QWidget, int]], gap: int) -> None:
        super().__init__(gap)
        self._shares = [share for _, share in parts]
        for widget, _ in parts:
            self.addWidget(widget)

    def expandingDirections(self) -> Qt.Orientation:  # noqa: N802
        """Take the room that there is."""
        return Qt.Orientation.Horizontal | Qt.Orientation.Vertical

    def hasHeightForWidth(self) -> bool:  # noqa: N802
        """Narrower is taller."""
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Give the least height."""
        lines = self._lines(width)
        return sum(self._high(line, width) for line in lines) + self.spacing() * (len(lines) - 1)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Give all parts side by side."""
        wide = sum(one.minimumSize().width() for one in self._items) + self.spacing() * (len(self._items) - 1)
        return QSize(wide, self.heightForWidth(wide))

    def minimumSize(self) -> QSize:  # noqa: N802
        """Give the room for the widest part; the height follows from the width."""
        return QSize(max(one.minimumSize().width() for one in self._items), 0)

    def setGeometry(self, place: QRect) -> None:  # noqa: N802
        """Lay the parts out; what is left of the height goes to the first line."""
        super().setGeometry(place)
        lines, y = self._lines(place.width()), place.y()
        left = max(place.height() - self.heightForWidth(place.width()), 0)
        for line in lines:
            high = self._high(line, place.width()) + (left if line is lines[0] else 0)
            x = place.x()
            for at, wide in zip(line, self._widths(line, place.width()), strict=True):
                self._items[at].setGeometry(QRect(x, y, wide, high))
                x += wide + self.spacing()
            y += high + self.spacing()

    def columns(self, width: int) -> int:
        """Give how many parts stand side by side."""
        return len(self._lines(width)[0])

    def _lines(self, width: int) -> list[list[int]]:
        """Give the parts of each line: as many side by side in the first as there is room for."""
        every = list(range(len(self._items)))
        for many in range(len(every), 1, -1):
            first = every[:many]
            if sum(self._items[at].minimumSize().width() for at in first) + self.spacing() * (many - 1) <= width:
                return [first, *([at] for at in every[many:])]
        return [[at] for at in every]

    def _widths(self, line: list[int], width: int) -> list[int]:
        """Share a width among the parts of a line, none under its least."""
        least = [self._items[at].minimumSize().width() for at in line]
        free = width - self.spacing() * (len(line) - 1)
        shares = [self._shares[at] for at in line]
        wanted = [free * share // sum(shares) for share in shares]
        lacking = [at for at, (one, need) in enumerate(zip(wanted, least, strict=True)) if one < need]
        if not lacking:
            return wanted
        rest = free - sum(least[at] for at in lacking)
        others = sum(share for at, share in enumerate(shares) if at not in lacking)
        given = [least[at] if at in lacking else rest * shares[at] // others for at in range(len(line))]
        return (
            given
            if all(one >= need for one, need in zip(given, least, strict=True))
            else [need + (free - sum(least)) // len(line) for need in least]
        )

    def _high(self, line: list[int], width: int) -> int:
        widths = self._widths(line, width)
        return max(_height(self._items[at], wide) for at, wide in zip(line, widths, strict=True))


def _height(item: QLayoutItem, width: int) -> int:
    """Give the least height of a part in a width."""
    least = item.minimumSize().height()
    return max(least, item.minimumHeightForWidth(width)) if item.hasHeightForWidth() else least
