"""The window of the help: contents and search at the left, the page at the right, back and forward, all by keyboard."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QUrl
from PySide6.QtGui import QKeySequence, QShortcut, QTextCursor
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QTextBrowser, QWidget

from levelbench.gui.help.pages import Page, search
from levelbench.gui.look import typeset
from levelbench.gui.look.parts import button, column, holder, row, text
from levelbench.gui.look.theme import GRID

_LEFT = 264  # px; contents and what a search found
_PLACE = Qt.ItemDataRole.UserRole
_MOST = 60  # places that a search shows


class HelpWindow(QWidget):
    """Shows places of the help, "page#anchor". The pages are asked for when they are shown, since some change."""

    def __init__(self, parent: QWidget, pages: Callable[[], list[Page]]) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setWindowTitle("Help – LevelBench")
        self.resize(960, 680)
        self._pages = pages
        self._past: list[str] = []
        self._to_come: list[str] = []
        self.place = ""
        self._make_left()
        self._make_right()
        left = holder(column(self.search, self.contents, gap=GRID))
        left.setFixedWidth(_LEFT)
        whole = row(left, holder(column(self._bar, self.browser, gap=GRID)), gap=2 * GRID)
        whole.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        whole.setStretch(1, 1)
        self.setLayout(whole)
        for keys, do in {
            "Alt+Left": self.go_back,
            "Alt+Right": self.go_forward,
            "Ctrl+F": self._to_search,
            "Esc": self.close,
        }.items():
            QShortcut(QKeySequence(keys), self).activated.connect(do)

    def _make_left(self) -> None:
        self.search = QLineEdit()
        self.search.setPlaceholderText("search (Ctrl+F)")
        self.search.setAccessibleName("search the help")
        self.search.setToolTip("Type words that must all stand in a section; Enter goes to the first.")
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._list)
        self.search.returnPressed.connect(self._open_first)
        self.contents = QListWidget()
        self.contents.setAccessibleName("pages, or places that the search found")
        self.contents.setWordWrap(True)
        self.contents.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.contents.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.contents.itemActivated.connect(self._open_item)
        self.contents.itemClicked.connect(self._open_item)

    def _make_right(self) -> None:
        self.back = button("◀ Back", self.go_back, "", "back to the place before (Alt+Left)")
        self.forward = button("Forward ▶", self.go_forward, "", "forward again (Alt+Right)")
        self.heading = text("", "quiet")
        self._bar = row(self.back, self.forward, None, self.heading)
        self.browser = QTextBrowser()
        self.browser.setAccessibleName("page of the help")
        self.browser.setOpenLinks(False)
        self.browser.anchorClicked.connect(self._follow)

    # Going about ---------------------------------------------------------------------------------------------------

    def show_place(self, place: str) -> None:
        """Show a place, and remember the one before."""
        if self.place and place != self.place:
            self._past.append(self.place)
            self._to_come.clear()
        self._show(place)

    def go_back(self) -> None:
        """Show the place before."""
        if self._past:
            self._to_come.append(self.place)
            self._show(self._past.pop())

    def go_forward(self) -> None:
        """Show the place from which somebody went back."""
        if self._to_come:
            self._past.append(self.place)
            self._show(self._to_come.pop())

    def _show(self, place: str) -> None:
        name, _, anchor = place.partition("#")
        pages = self._pages()
        page = next((one for one in pages if one.name == name), pages[0])
        self.place = place
        typeset.show(self.browser, page.markdown)
        self.heading.setText(page.title)
        self.setWindowTitle(f"{page.title} – help – LevelBench")
        if not self.search.text().strip():
            self._list()
        self._scroll_to(page.anchors.index(anchor) if anchor in page.anchors else 0)
        self.back.setEnabled(bool(self._past))
        self.forward.setEnabled(bool(self._to_come))

    def _scroll_to(self, at: int) -> None:
        """Bring the heading with this number to the top."""
        blocks = [block for block in typeset.blocks(self.browser) if block.blockFormat().headingLevel()]
        self.browser.moveCursor(QTextCursor.MoveOperation.End)
        self.browser.setTextCursor(QTextCursor(blocks[at]))
        bar = self.browser.verticalScrollBar()
        bar.setValue(bar.value() + self.browser.cursorRect().top() - GRID if at else 0)

    def top_heading(self) -> str:
        """Give the heading at which the page stands."""
        return self.browser.textCursor().block().text()

    def _follow(self, link: QUrl) -> None:
        self.show_place(link.toString())

    # Contents and search -------------------------------------------------------------------------------------------

    def _to_search(self) -> None:
        self.search.setFocus()
        self.search.selectAll()

    def _list(self, _words: str = "") -> None:
        """List the pages, or what the search found."""
        self.contents.clear()
        words, pages = self.search.text(), self._pages()
        if not words.strip():
            for page in pages:
                self._add(page.title, page.name)
            return
        found = search(pages, words)[:_MOST]
        for one in found:
            under = "" if one.heading == one.title else f" · {one.title}"
            self._add(f"{one.heading}{under}\n{one.words}", one.place)
        if not found:
            self._add("Nothing found. Try fewer words.", "")

    def _add(self, words: str, place: str) -> None:
        item = QListWidgetItem(words, self.contents)
        item.setData(_PLACE, place)
        if not place:
            item.setFlags(Qt.ItemFlag.NoItemFlags)
        if place and place == self.place.partition("#")[0]:
            self.contents.setCurrentItem(item)

    def _open_first(self) -> None:
        if self.contents.count():
            self._open_item(self.contents.item(0))

    def _open_item(self, item: QListWidgetItem) -> None:
        if place := item.data(_PLACE):
            self.show_place(str(place))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Go with the dialog that asked for the help."""
        if event.type() == QEvent.Type.Hide and not event.spontaneous():
            self.close()
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802  Qt's name
        """Take on the colours of the other theme."""
        if event.type() == QEvent.Type.PaletteChange and self.place:
            self._show(self.place)
        super().changeEvent(event)
