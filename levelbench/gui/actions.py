"""The menus: every command with its words and its key. What a command opens comes in when it is opened."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QApplication, QMainWindow, QMenu

from levelbench.gui.document.document import Document
from levelbench.gui.document.file_commands import FileCommands
from levelbench.gui.document.recent_menu import RecentMenu
from levelbench.gui.look import look, theme
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES
from levelbench.gui.stages.staged import StagedWindow
from levelbench.project import samples

if TYPE_CHECKING:
    from levelbench.gui.interview.interview import Interviews

Keys = QKeySequence.StandardKey


class Actions(QObject):
    """Makes the menus of a window; what the commands do stands elsewhere."""

    run_wanted = Signal()  # run or pause
    station_wanted = Signal()
    stage_wanted = Signal(int)
    close_wanted = Signal()
    again_wanted = Signal()  # work the answers out anew

    def __init__(self, window: QMainWindow, document: Document, files: FileCommands, preferences: Preferences) -> None:
        super().__init__(window)
        self._window = window
        self._document = document
        self._files = files
        self._preferences = preferences
        self._make_file_menu(self._menu("&File"))
        self._make_edit_menu(self._menu("&Edit"))
        self._make_run_menu(self._menu("&Run"))
        self._make_view_menu(self._menu("&View"))

    def _menu(self, name: str) -> QMenu:
        menu = self._window.menuBar().addMenu(name)
        menu.setAccessibleName(name.replace("&", ""))
        menu.setToolTipsVisible(True)
        return menu

    def _add(self, menu: QMenu, words: str, do: Callable[[], object], keys: Keys | str | None = None) -> QAction:
        action = menu.addAction(words)
        action.triggered.connect(lambda _checked=False: do())
        if keys is not None:
            action.setShortcut(QKeySequence(keys))
        return action

    def _make_file_menu(self, menu: QMenu) -> None:
        files = self._files
        self._add(menu, "New from &ten questions …", self._ask_questions, "Ctrl+T")
        fresh = menu.addMenu("&New from sample")
        for path in samples():
            self._add(fresh, path.stem.replace("_", " ").capitalize(), partial(files.new_from, path))
        fresh.actions()[0].setShortcut(QKeySequence(Keys.New)) if fresh.actions() else None
        self._add(menu, "New &window", partial(files.window_wanted.emit, None), "Ctrl+Shift+N")
        self._add(menu, "&Open …", files.ask_open, Keys.Open)
        self._add(menu, "Open in a new win&dow …", partial(files.ask_open, beside=True), "Ctrl+Shift+O")
        self.recent = RecentMenu(menu, files.open, self._preferences)
        menu.addMenu(self.recent)
        menu.addSeparator()
        self.save_action = self._add(menu, "&Save", files.save, Keys.Save)
        self._add(menu, "Save &as …", files.ask_save_as, "Ctrl+Shift+S")
        self.revert_action = self._add(menu, "Re&vert to the saved file", files.revert)
        menu.addSeparator()
        self._add(menu, "&Close this window", self.close_wanted.emit, "Ctrl+W")
        self._add(menu, "&Quit", _quit, "Ctrl+Q")
        self._document.title_changed.connect(self._enable)
        self._enable()

    def _make_edit_menu(self, menu: QMenu) -> None:
        self.edit_menu = menu
        stack = self._document.undo_stack
        undo = stack.createUndoAction(self, "Undo")
        redo = stack.createRedoAction(self, "Redo")
        undo.setShortcut(QKeySequence(Keys.Undo))
        redo.setShortcut(QKeySequence("Ctrl+Shift+Z"))
        menu.addActions([undo, redo])
        self._add(menu, "&History …", self._show_history, "Ctrl+H")
        menu.addSeparator()
        self._add(menu, "&Preferences …", self._show_preferences, "Ctrl+,")

    def _make_run_menu(self, menu: QMenu) -> None:
        self.run_action = self._add(menu, "&Run or pause", self.run_wanted.emit, "F5")
        self.station_action = self._add(menu, "&Operator station", self.station_wanted.emit, "F11")
        for one in (self.run_action, self.station_action):
            one.setEnabled(False)
        self._add(menu, "Work out &again", self.again_wanted.emit, "Ctrl+R")

    def _make_view_menu(self, menu: QMenu) -> None:
        for at, name in enumerate(STAGES):
            self._add(menu, f"&{at + 1} {name}", partial(self.stage_wanted.emit, at), f"Ctrl+{at + 1}")
        menu.addSeparator()
        self.theme_action = self._add(menu, "&Dark", self.switch_theme, "Ctrl+D")
        self.theme_action.setCheckable(True)
        menu.aboutToShow.connect(self._tick)
        self._tick()

    def _tick(self) -> None:
        self.theme_action.setChecked(theme.current() is theme.DARK)

    def _enable(self, _title: str = "") -> None:
        watch = self._document.watch
        self.revert_action.setEnabled(self._document.path is not None and self._document.edited and not watch.gone)

    @cached_property
    def interviews(self) -> Interviews:
        """The interviews of this window."""
        from levelbench.gui.interview.interview import Interviews  # noqa: PLC0415

        return Interviews(self._window, self._document, self._files.may_go_on, self._preferences)

    def _ask_questions(self) -> None:
        self.interviews.open()

    def _show_history(self) -> None:
        from levelbench.gui.document.history import HistoryDialog  # noqa: PLC0415

        HistoryDialog(self._window, self._document.undo_stack).open()

    def _show_preferences(self) -> None:
        from levelbench.gui.preferences_dialog import PreferencesDialog  # noqa: PLC0415

        PreferencesDialog(self._window, self._preferences).open()

    def switch_theme(self) -> None:
        """Show the other theme, and remember it."""
        self._preferences.theme = "light" if theme.current() is theme.DARK else "dark"
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        look.put_on(app, self._preferences)
        self._tick()


def _quit() -> None:
    """Close the windows until somebody stays; those with unsaved work ask first, so that the others are there yet."""
    windows = [one for one in QApplication.topLevelWidgets() if isinstance(one, StagedWindow) and one.isVisible()]
    all(one.close() for one in sorted(windows, key=lambda one: not one.document.edited))
