"""The menus: every command with its words and its key, and what it does to the document."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QApplication, QFileDialog, QMainWindow, QMenu

from levelbench.gui import dialogs, theme
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.document import Document
from levelbench.gui.fields import hand_in_half_typed
from levelbench.gui.preferences import Preferences
from levelbench.gui.rail import STAGES
from levelbench.project import ProjectProblems, SaveError, samples

_KINDS = "LevelBench project (*.toml);;All files (*)"
Keys = QKeySequence.StandardKey


class Actions(QObject):
    """Makes the menus of a window and carries out their commands."""

    run_wanted = Signal()  # run or pause
    stage_wanted = Signal(int)
    quit_wanted = Signal()

    def __init__(self, window: QMainWindow, document: Document, preferences: Preferences) -> None:
        super().__init__(window)
        self._window = window
        self._document = document
        self._preferences = preferences
        self._make_file_menu(self._menu("&File"))
        self._make_edit_menu(self._menu("&Edit"))
        self._make_run_menu(self._menu("&Run"))
        self._make_view_menu(self._menu("&View"))

    def _menu(self, name: str) -> QMenu:
        menu = self._window.menuBar().addMenu(name)
        menu.setAccessibleName(name.replace("&", ""))
        return menu

    def _add(self, menu: QMenu, words: str, do: Callable[[], object], keys: Keys | str | None = None) -> QAction:
        action = menu.addAction(words)
        action.triggered.connect(lambda _checked=False: do())
        if keys is not None:
            action.setShortcut(QKeySequence(keys))
        return action

    def _make_file_menu(self, menu: QMenu) -> None:
        fresh = menu.addMenu("&New from sample")
        for path in samples():
            self._add(fresh, path.stem.replace("_", " ").capitalize(), partial(self.new_from, path))
        fresh.actions()[0].setShortcut(QKeySequence(Keys.New)) if fresh.actions() else None
        self._add(menu, "&Open …", self.ask_open, Keys.Open)
        self.recent = menu.addMenu("Open &recent")
        self.recent.aboutToShow.connect(self._list_recent)
        menu.addSeparator()
        self.save_action = self._add(menu, "&Save", self.save, Keys.Save)
        self._add(menu, "Save &as …", self.ask_save_as, "Ctrl+Shift+S")
        self.revert_action = self._add(menu, "Re&vert to the saved file", self.revert)
        menu.addSeparator()
        self._add(menu, "&Quit", self.quit_wanted.emit, "Ctrl+Q")
        menu.aboutToShow.connect(self._enable)
        self._enable()

    def _make_edit_menu(self, menu: QMenu) -> None:
        stack = self._document.undo_stack
        undo = stack.createUndoAction(self, "Undo")
        redo = stack.createRedoAction(self, "Redo")
        undo.setShortcut(QKeySequence(Keys.Undo))
        redo.setShortcut(QKeySequence("Ctrl+Shift+Z"))
        menu.addActions([undo, redo])

    def _make_run_menu(self, menu: QMenu) -> None:
        self.run_action = self._add(menu, "&Run or pause", self.run_wanted.emit, "F5")
        self.run_action.setEnabled(False)

    def _make_view_menu(self, menu: QMenu) -> None:
        for at, name in enumerate(STAGES):
            self._add(menu, f"&{at + 1} {name}", partial(self.stage_wanted.emit, at), f"Ctrl+{at + 1}")
        menu.addSeparator()
        self.theme_action = self._add(menu, "&Dark", self.switch_theme, "Ctrl+D")
        self.theme_action.setCheckable(True)
        self.theme_action.setChecked(theme.current() is theme.DARK)

    def _enable(self) -> None:
        self.revert_action.setEnabled(self._document.path is not None and self._document.edited)

    def _list_recent(self) -> None:
        self.recent.clear()
        for path in self._preferences.recent:
            self._add(self.recent, str(path), partial(self.open, path))
        if self.recent.isEmpty():
            self.recent.addAction("none yet").setEnabled(False)

    def switch_theme(self) -> None:
        """Show the other theme, and remember it."""
        other = theme.LIGHT if theme.current() is theme.DARK else theme.DARK
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        theme.apply(app, other)
        self._preferences.theme = other.name
        self.theme_action.setChecked(other is theme.DARK)

    def new_from(self, sample: Path) -> None:
        """Begin a project from a sample, once the present one is safe."""
        if self.may_go_on():
            self._try_open(lambda: self._document.new_from(sample))

    def ask_open(self) -> None:
        """Ask for a file and open it."""
        folder = str(self._document.path.parent if self._document.path else Path.home())
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a project", folder, _KINDS)
        if name:
            self.open(Path(name))

    def open(self, path: Path) -> None:
        """Open a file, once the present project is safe; a refused file leaves everything as it is."""
        if self.may_go_on() and self._try_open(lambda: self._document.open(path)):
            self._preferences.remember(path)

    def _try_open(self, do: Callable[[], None]) -> bool:
        try:
            do()
        except ProjectProblems as error:
            dialogs.show_problems(self._window, error)
            return False
        return True

    def revert(self) -> None:
        """Go back to the saved file."""
        self._try_open(self._document.revert)

    def save(self) -> bool:
        """Save to the project's file, or ask for one. Gives whether it is saved."""
        hand_in_half_typed()
        if self._document.path is None:
            return self.ask_save_as()
        return self.save_to(self._document.path)

    def ask_save_as(self) -> bool:
        """Ask for a file and save to it. Gives whether it is saved."""
        hand_in_half_typed()
        start = self._document.path or Path.home() / "project.toml"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the project", str(start), _KINDS)
        return bool(name) and self.save_to(Path(name))

    def save_to(self, path: Path) -> bool:
        """Save to a file. Gives whether it is saved; a failure is shown and loses nothing."""
        try:
            self._document.save_as(path)
        except SaveError as error:
            dialogs.show_trouble(self._window, "Not saved", error)
            return False
        self._preferences.remember(path)
        return True

    def may_go_on(self) -> bool:
        """Ask about unsaved work where there is some. Gives whether it is saved, or may be let go."""
        hand_in_half_typed()
        if not self._document.edited:
            return True
        answer = dialogs.ask_about_unsaved(self._window, self._document.project.title)
        if answer is Unsaved.SAVE:
            return self.save()
        if answer is Unsaved.LET_GO:
            self._document.forget_copy()
            return True
        return False
