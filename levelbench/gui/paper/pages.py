"""The pages of a PDF as a person will hold them: rendered in the background, shown one under another."""

from dataclasses import dataclass
from threading import Lock

import pypdfium2
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.parts import clear, column, scrolling
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.jobs import Progress

_POINT = 1 / 72  # in
_DPI = 150  # rendered to this, shown scaled
_ONE_AT_A_TIME = Lock()  # the renderer must not be entered by two threads at once


@dataclass(frozen=True)
class Page:
    """One rendered page: width and height in pixels and its bytes, four a pixel (blue, green, red, unused)."""

    width: int
    height: int
    pixels: bytes


def render(pdf: bytes, progress: Progress) -> tuple[Page, ...]:
    """Render every page of a PDF; on a working thread."""
    pages: list[Page] = []
    with _ONE_AT_A_TIME:
        document = pypdfium2.PdfDocument(pdf)
        try:
            for at in range(len(document)):
                if not progress.report(at / len(document), f"page {at + 1} of {len(document)}"):
                    break
                bitmap = document[at].render(scale=_DPI * _POINT, rev_byteorder=False, prefer_bgrx=True)
                pages.append(Page(bitmap.width, bitmap.height, bytes(bitmap.buffer)))
        finally:
            document.close()
    return tuple(pages)


class PageView(QWidget):
    """One page, as wide as there is room."""

    def __init__(self, page: Page, number: int, count: int) -> None:
        super().__init__()
        self.image = QImage(page.pixels, page.width, page.height, page.width * 4, QImage.Format.Format_RGB32)
        self._keep = page.pixels  # the image reads these bytes as long as it lives
        self.setAccessibleName(f"page {number} of {count}")

    def hasHeightForWidth(self) -> bool:  # noqa: N802  Qt's name
        """Keep the proportions of the paper."""
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802  Qt's name
        """Give the height of the page at a width."""
        return round(self._shown_width(width) * self.image.height() / self.image.width())

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give a comfortable size."""
        return QSize(600, self.heightForWidth(600))

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Draw the paper with a hairline about it."""
        width = self._shown_width(self.width())
        box = QRectF((self.width() - width) / 2, 0, width, width * self.image.height() / self.image.width())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(box, self.image)
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))

    def _shown_width(self, width: int) -> int:
        return min(width, self.image.width())


class Pages(QFrame):
    """All pages of a sheet, scrolling."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("preview of the sheet")
        self._column = QVBoxLayout()
        self._column.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        self._column.setSpacing(2 * GRID)
        inside = QWidget()
        inside.setLayout(self._column)
        area = scrolling(inside)
        area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        area.setAccessibleName("preview of the sheet")
        self.setLayout(column(area))
        self._views: list[PageView] = []

    def views(self) -> list[PageView]:
        """Give the pages that are shown, in their order."""
        return list(self._views)

    def show_pages(self, pages: tuple[Page, ...]) -> None:
        """Show these pages in the place of the ones before."""
        clear(self._column)
        self._views = [PageView(page, at + 1, len(pages)) for at, page in enumerate(pages)]
        for view in self._views:
            self._column.addWidget(view)
        self._column.addStretch(1)
