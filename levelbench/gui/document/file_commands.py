"""What a person does with files: new, open, save, save as, revert, and what was changed behind the program's back.

Reading goes through a job, so that a large file never holds the window; writing is done at once, since whoever closes
the window must know what became of it.
"""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QApplication, QFileDialog, QMainWindow, QWidget

from levelbench.gui import dialogs
from levelbench.gui.dialogs import Overwrite, Unsaved
from levelbench.gui.document.difference import DifferenceDialog
from levelbench.gui.document.disk import FromFile, State, from_file
from levelbench.gui.document.document import Document
from levelbench.gui.document.save_name import ask_where, folder_of
from levelbench.gui.fields.fields import hand_in_half_typed
from levelbench.gui.preferences import Preferences
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import ProjectProblems, SaveError
from levelbench.project.file_names import project_file, with_project_ending

KINDS = "LevelBench project (*.levelbench.toml *.toml);;All files (*)"


class FileCommands(QObject):
    """The file commands of one window and its document."""

    window_wanted = Signal(object)  # FromFile, or None: another window, on a sample
    told = Signal(str)  # words for the person

    def __init__(self, window: QMainWindow, document: Document, preferences: Preferences) -> None:
        super().__init__(window)
        self._window = window
        self._document = document
        self._preferences = preferences
        self.job_line = JobLine()

    # Another project -----------------------------------------------------------------------------------------------

    def new_from(self, sample: Path) -> None:
        """Begin a project from a sample, in the units and on the paper that the person prefers."""
        if self.may_go_on():
            self._document.new_from(sample)
            changes = self._preferences.for_a_new_project(self._document.project)
            if changes:
                self._document.edit_several(changes)
                self._document.undo_stack.clear()

    def ask_open(self, *, beside: bool = False) -> None:
        """Ask for a file and open it, here or (`beside`) in a window of its own."""
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a project", str(folder_of(self._window)), KINDS)
        if name:
            self.open(Path(name), beside=beside)

    def open(self, path: Path, *, beside: bool = False) -> None:
        """Open a file, once the present project is safe; a refused file leaves everything as it is."""
        if _bring_up_its_window(path):
            self.told.emit(f"{path.name} is open already.")
        elif beside:
            self._read(path, self._show_beside)
        elif self.may_go_on():
            self._read(path, self._take)

    def open_all(self, paths: Sequence[Path]) -> None:
        """Open the first of some files here, the others in windows of their own; what is open here already stays."""
        mine = self._document.path
        beside = mine is not None and any(_same(mine, path) for path in paths)
        for path in paths:
            self.open(path, beside=beside)
            beside = True

    def _take(self, held: FromFile) -> None:
        if not self._document.edited or self.may_go_on():  # somebody may have typed while the file was read
            self._document.take(held)
            self._preferences.remember(held.path)

    def _show_beside(self, held: FromFile) -> None:
        self._preferences.remember(held.path)
        self.window_wanted.emit(held)

    def _read(self, path: Path, then: Callable[[FromFile], None]) -> None:
        """Read a file in the background; a second press on Open while it is read begins anew."""
        key = "open" if then == self._take else f"open {path}"
        job = Job(self, lambda _progress: from_file(path), then, self._refused, key=key, title=f"opening {path.name}")
        self.job_line.follow(job)

    def _refused(self, error: Exception) -> None:
        if isinstance(error, ProjectProblems):
            dialogs.show_problems(self._window, error)
        else:
            dialogs.show_trouble(self._window, "Not opened", error)

    # What the file holds -------------------------------------------------------------------------------------------

    def revert(self) -> None:
        """Go back to the saved file, in one undo step."""
        self._take_over("revert to the saved file")

    def load_theirs(self) -> None:
        """Take what another program wrote, in one undo step."""
        self._take_over(f"load the file as changed at {self._document.watch.last.clock}")

    def _take_over(self, words: str) -> None:
        path = self._document.path
        if path is not None:
            self._read(path, partial(self._take_it_over, words))

    def _take_it_over(self, words: str, held: FromFile) -> None:
        if held.path == self._document.path:
            self._document.take_over(held, words)

    def show_difference(self) -> None:
        """Show how the file and the open project differ."""
        path = self._document.path
        if path is not None:
            DifferenceDialog(self._window, self._document.project.text, path).open()

    # Saving --------------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save to the project's file, or ask for one. Gives whether it is saved."""
        hand_in_half_typed()
        path = self._document.path
        if path is None:
            return self.ask_save_as()
        seen = self._document.watch.look_now()
        if seen.state is State.FOLDER_GONE:
            self.told.emit(f"▲ The folder {path.parent} is gone: choose another place.")
            return self.ask_save_as()
        if seen.state is State.CHANGED:
            answer = dialogs.ask_about_overwriting(self._window, path, seen.clock)
            if answer is not Overwrite.WRITE:
                return answer is Overwrite.ELSEWHERE and self.ask_save_as()
        return self.save_to(path)

    def ask_save_as(self) -> bool:
        """Ask for a file and save to it. Gives whether it is saved.

        A project that has a file is offered its own name, whatever that is; a new one is offered its title.
        """
        hand_in_half_typed()
        file = self._document.path
        start = folder_of(self._window) / (file.name if file else project_file(self._document.project.title))
        path = ask_where(self._window, "Save the project", start, KINDS, lambda name, _kind: with_project_ending(name))
        return path is not None and self.save_to(path)

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
            self._document.copy.forget()
            return True
        return False


def _bring_up_its_window(path: Path) -> bool:
    """Bring up the window that has this file open already. Gives whether there is one."""
    for one in QApplication.topLevelWidgets():
        if one.isVisible() and one.windowFilePath() and _same(Path(one.windowFilePath()), path):
            _bring_up(one)
            return True
    return False


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _bring_up(window: QWidget) -> None:
    window.setWindowState(window.windowState() & ~window.windowState().WindowMinimized)
    window.raise_()
    window.activateWindow()
