"""The help menu of a window: the page for what is in hand (F1), the tour, the keys, and what the program is."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QMenu, QWidget

from levelbench.gui.fields.field import Field
from levelbench.gui.help.anywhere import answer_for
from levelbench.gui.stages.staged import STAGE_PAGES
from levelbench.quantity import Figure

if TYPE_CHECKING:
    from levelbench.gui.help.helped import HelpedWindow
    from levelbench.gui.help.pages import Page
    from levelbench.gui.help.tour import Tour
    from levelbench.gui.help.window import HelpWindow
    from levelbench.gui.stages.operator import Rehearsed


def place_of(widget: QWidget | None) -> str:
    """Give the place of the help that belongs to a widget or to what it stands in; "" when there is none."""
    from levelbench.gui.help.fields import anchor_of  # noqa: PLC0415  the help comes in when it is asked for

    while widget is not None:
        if isinstance(widget, Field):
            return f"fields#{anchor_of(widget.key)}"
        if told := widget.property("help"):
            return str(told)
        widget = widget.parentWidget()
    return ""


def keys_page(window: QWidget) -> Page:
    """Make the page of the keys: what is fixed in the parts, and every shortcut that the window really has."""
    from levelbench.gui.help.pages import page_of, written  # noqa: PLC0415

    lines = ["## In the window", "", "| key | does |", "|---|---|"]
    lines += [f"| {keys} | {words} |" for keys, words in shortcuts(window)]
    title, _, fixed = written("keys").markdown.partition("\n")
    return page_of("keys", "\n".join((title, "", *lines, fixed)))


def shortcuts(window: QWidget) -> list[tuple[str, str]]:
    """Give every shortcut of a window with the words of its command, as the menus have them."""
    found = [
        (action.shortcut().toString(QKeySequence.SequenceFormat.NativeText), _words(action))
        for action in window.findChildren(QAction)
        if not action.shortcut().isEmpty()
    ]
    found += [
        (one.key().toString(QKeySequence.SequenceFormat.NativeText), one.whatsThis())
        for one in window.findChildren(QShortcut)
        if one.whatsThis()
    ]
    return found


def _words(action: QAction) -> str:
    """Give the words of a command with the names of its menus before them."""
    names = [action.text()]
    menu = next((one for one in action.associatedObjects() if isinstance(one, QMenu)), None)
    while menu is not None:
        names.insert(0, menu.title())
        above = menu.parent()
        menu = above if isinstance(above, QMenu) else None
    return " ▸ ".join(name.replace("&", "").replace("…", "").strip() for name in names)


class HelpDesk(QObject):
    """Makes the help menu, and opens what it offers."""

    def __init__(self, window: HelpedWindow, rehearsed: Rehearsed) -> None:
        super().__init__(window)
        self._main = window
        self._window: HelpWindow | None = None
        self._rehearsed = rehearsed
        answer_for(window, self._open_over)
        self._make_menu(window.menuBar().addMenu("&Help"))
        self._mark()
        window.closed.connect(self.close)

    @cached_property
    def tour(self) -> Tour:
        """The tour of this window."""
        from levelbench.gui.help.tour import Tour  # noqa: PLC0415

        return Tour(self._main, self._rehearsed)

    def _begin_tour(self) -> None:
        self.tour.begin()

    def _make_menu(self, menu: QMenu) -> None:
        menu.setAccessibleName("Help")
        menu.setToolTipsVisible(True)
        self._add(menu, "&Help on this", self.open_here, "F1")
        self._add(menu, "&Contents", lambda: self.open("start"))
        self._add(menu, "&Keys", lambda: self.open("keys"))
        menu.addSeparator()
        self._add(menu, "Two-minute &tour", self._begin_tour)
        menu.addSeparator()
        self._add(menu, "&About LevelBench", self.show_about)

    def _add(self, menu: QMenu, words: str, do: Callable[[], object], keys: str = "") -> None:
        action = menu.addAction(words)
        action.triggered.connect(lambda _checked=False: do())
        if keys:
            action.setShortcut(QKeySequence(keys))

    def _mark(self) -> None:
        """Say for each part of the window which page speaks of it; a stage says so itself."""
        window = self._main
        for part, page in ((window.centre, "section"), (window.bar, "bench"), (window.rail, "start")):
            part.setProperty("help", page)

    def pages(self) -> list[Page]:
        """Give every page, those that are made from the open project and this window among them."""
        from levelbench.gui.help.fields import fields_page  # noqa: PLC0415
        from levelbench.gui.help.pages import WRITTEN, figures_page, written  # noqa: PLC0415
        from levelbench.gui.help.questions import questions_page  # noqa: PLC0415

        made = [questions_page(), fields_page(), figures_page(self._figures()), keys_page(self._main)]
        at = WRITTEN.index("model")
        return [*(written(name) for name in WRITTEN[:at]), *made, *(written(name) for name in WRITTEN[at:])]

    def _figures(self) -> list[Figure]:
        answers = self._main.answers
        found = (
            [figure for finding in answers.checked.findings for figure in finding.figures] if answers.checked else []
        )
        if answers.tuned is not None:
            tuned = answers.tuned
            found += [*tuned.prediction.figures, *tuned.margins.figures, tuned.known.noise]
            found += tuned.narrow.figures if tuned.narrow is not None else ()
        return found

    def open_here(self) -> None:
        """Open the page for what is in hand; where nothing is, the page of the stage."""
        self.open(place_of(QApplication.focusWidget()) or STAGE_PAGES[self._main.rail.at])

    def _open_over(self, asking: QWidget) -> None:
        """Open the help for what is in hand in a window of its own, as a part of it."""
        from levelbench.gui.help.window import HelpWindow  # noqa: PLC0415

        in_hand = QApplication.focusWidget()
        inside = in_hand is not None and asking.isAncestorOf(in_hand)
        found = asking.findChild(HelpWindow)
        if found is None:
            found = HelpWindow(asking, self.pages)
            asking.installEventFilter(found)
        self._show(found, place_of(in_hand if inside else asking))

    def open(self, place: str) -> None:
        """Open the help at a place, in its own window."""
        from levelbench.gui.help.window import HelpWindow  # noqa: PLC0415

        if self._window is None:
            self._window = HelpWindow(self._main, self.pages)
        self._show(self._window, place)

    def _show(self, window: HelpWindow, place: str) -> None:
        window.show()  # first, so that the page is laid out as wide as it stands
        window.show_place(place)
        window.raise_()
        window.activateWindow()

    @property
    def window(self) -> HelpWindow | None:
        """The window of the help, once it was opened."""
        return self._window

    def show_about(self) -> None:
        """Say what the program is, and of which versions."""
        from levelbench.gui.help.about import AboutDialog  # noqa: PLC0415

        AboutDialog(self._main).open()

    def close(self) -> None:
        """Close the help with the window that it belongs to."""
        if self._window is not None:
            self._window.close()
