"""The open project: what it is now, where it is kept, what can be undone, and whether it was saved."""

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from levelbench import project as projects
from levelbench.gui.commands import AdoptProposal, EditEntry, EditSeveral
from levelbench.gui.jobs import Job
from levelbench.project import Value, recovery
from levelbench.project.records import Project

KEEP_AFTER = 2000  # ms without a further change until the recovery copy is written


class Document(QObject):
    """One open project. Edits come in by key and text; the widgets hear of the new project by `project_changed`."""

    project_changed = Signal(object)  # Project
    replaced = Signal(object)  # Project: another file was opened, or the last saved state was taken up again
    title_changed = Signal(str)
    trouble = Signal(str)  # something in the background went wrong: words for the person

    def __init__(self, project: Project, path: Path | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._project = project
        self._path = path
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._tell_title)
        self._keep = QTimer(self, singleShot=True, interval=KEEP_AFTER)
        self._keep.timeout.connect(self._keep_copy)

    @property
    def project(self) -> Project:
        """The project as it is now."""
        return self._project

    @property
    def path(self) -> Path | None:
        """The file it was opened from or saved to; None: it has none yet."""
        return self._path

    @property
    def edited(self) -> bool:
        """Whether there is anything that the file does not hold."""
        return not self.undo_stack.isClean()

    @property
    def title(self) -> str:
        """The title of the window: the mark in front says that something is not saved."""
        file = self._path.name if self._path else "not saved yet"
        return f"{'● ' if self.edited else ''}{self._project.title} ({file}) – LevelBench"

    def edit(self, key: str, value: Value) -> None:
        """Set one entry, or leave it out with None; one undo step. Raises ProjectProblems and changes nothing."""
        after = projects.edit(self._project, key, value)
        self._push(EditEntry(self._place, self._project, after, (key, value)), after)

    def edit_several(self, changes: dict[str, Value]) -> None:
        """Set several entries in one undo step. Raises ProjectProblems and changes nothing."""
        after = projects.edit_many(self._project, changes)
        self._push(EditSeveral(self._place, self._project, after, changes), after)

    def adopt(self, changes: dict[str, Value], proposal: str) -> None:
        """Take over what was proposed, in one undo step. Raises ProjectProblems and changes nothing."""
        after = projects.edit_many(self._project, changes)
        self._push(AdoptProposal(self._place, self._project, after, proposal), after)

    def open(self, path: Path) -> None:
        """Put the project in a file in the place of this one. Raises ProjectProblems and keeps this one."""
        self.replace(projects.load(path), path)

    def new_from(self, sample: Path) -> None:
        """Begin a project of one's own from a sample; it has no file until it is saved."""
        self.replace(projects.load(sample), None)

    def revert(self) -> None:
        """Go back to what the file holds. Raises ProjectProblems and keeps this one."""
        if self._path is not None:
            self.open(self._path)

    def replace(self, project: Project, path: Path | None, *, edited: bool = False) -> None:
        """Put another project in the place of this one; `edited`: it holds what no file holds."""
        self._path = path
        self._project = project
        self.undo_stack.clear()
        if edited:
            self.undo_stack.resetClean()
        self.replaced.emit(project)
        self.project_changed.emit(project)
        self.title_changed.emit(self.title)

    def save(self) -> None:
        """Write to the file it came from. Raises SaveError; the file is then as it was."""
        assert self._path is not None, "a project without a file is saved under a name"
        self.save_as(self._path)

    def save_as(self, path: Path) -> None:
        """Write to a file and stay with it. Raises SaveError; the file is then as it was."""
        projects.save(self._project, path)
        self.forget_copy()
        self._path = path
        self.undo_stack.setClean()
        self.title_changed.emit(self.title)

    def forget_copy(self) -> None:
        """Remove the recovery copy: everything is saved, or the person chose to let it go."""
        self._keep.stop()
        recovery.discard(self._path)

    def _tell_title(self) -> None:
        self.title_changed.emit(self.title)

    def _push(self, command: EditEntry | EditSeveral | AdoptProposal, after: Project) -> None:
        if after != self._project:
            self.undo_stack.push(command)

    def _place(self, project: Project) -> None:
        self._project = project
        self._keep.start()
        self.project_changed.emit(project)
        self.title_changed.emit(self.title)

    def _keep_copy(self) -> None:
        project, path = self._project, self._path
        if self.edited:
            Job(self, lambda _progress: recovery.keep(project, path), lambda _kept: None, self._copy_failed, key="copy")

    def _copy_failed(self, error: Exception) -> None:
        self.trouble.emit(f"No recovery copy could be kept: {error}")
