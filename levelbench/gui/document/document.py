"""The open project: what it is now, where it is kept, what can be undone, and whether it was saved."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from levelbench import project as projects
from levelbench.gui.document.commands import AdoptProposal, EditEntry, EditSeveral, TakeOver
from levelbench.gui.document.disk import FromFile, State
from levelbench.gui.document.file_watch import FileWatch
from levelbench.gui.document.recovery_copy import RecoveryCopy
from levelbench.project import Value
from levelbench.project.records import Project


class Document(QObject):
    """One open project. Edits come in by key and text; the widgets hear of the new project by `project_changed`."""

    project_changed = Signal(object)  # Project
    replaced = Signal(object)  # Project: another file was opened, or the last saved state was taken up again
    title_changed = Signal(str)
    trouble = Signal(str)  # something in the background went wrong: words for the person

    def __init__(
        self, project: Project, path: Path | None = None, parent: QObject | None = None, mark: str | None = None
    ) -> None:
        super().__init__(parent)
        self._project = self.opened = project  # `opened` stays as it came from its file
        self._path = path
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._tell_title)
        self.copy = RecoveryCopy(self, self._unsaved)
        self.copy.trouble.connect(self.trouble)
        self.watch = FileWatch(self)
        self.watch.follow(path, mark)
        self.watch.seen.connect(self._tell_title)

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
        return self.watch.gone or not self.undo_stack.isClean()

    @property
    def state(self) -> str:
        """Whether it is saved, in words."""
        if self.watch.gone:
            return "the file is gone, not saved"
        if self.watch.last.state is State.CHANGED:
            return "the file was changed by another program"
        return "edited, not saved" if self.edited else "saved" if self._path else "from a sample, no file yet"

    @property
    def title(self) -> str:
        """The title of the window: the mark in front says that something is not saved."""
        file = self._path.name if self._path else "not saved yet"
        return f"{'● ' if self.edited else ''}{self._project.title} ({file}) – LevelBench"

    def edit(self, key: str, value: Value) -> None:
        """Set one entry, or leave it out with None; one undo step. Raises ProjectProblems and changes nothing."""
        after = projects.edit(self._project, key, value)
        self._push(EditEntry(self._place, self._project, after, (key, value)), after)

    def edit_several(self, changes: dict[str, Value], words: str = "") -> None:
        """Set several entries in one undo step, named by `words` or else by the first of them.

        Raises ProjectProblems and changes nothing.
        """
        after = projects.edit_many(self._project, changes)
        self._push(EditSeveral(self._place, self._project, after, changes, words), after)

    def adopt(self, changes: dict[str, Value], proposal: str) -> None:
        """Take over what was proposed, in one undo step. Raises ProjectProblems and changes nothing."""
        after = projects.edit_many(self._project, changes)
        self._push(AdoptProposal(self._place, self._project, after, proposal), after)

    def take(self, held: FromFile) -> None:
        """Put the project of a file in the place of this one."""
        self.replace(held.project, held.path, mark=held.mark)

    def new_from(self, sample: Path) -> None:
        """Begin a project of one's own from a sample; it has no file until it is saved."""
        self.replace(projects.load(sample), None)

    def take_over(self, held: FromFile, words: str) -> None:
        """Go on with what this document's file holds now, in one undo step with a name."""
        self._push(TakeOver(self._place, self._project, held.project, words), held.project)
        self.undo_stack.setClean()
        self.copy.forget()
        self.watch.agree(held.mark)

    def keep_mine(self) -> None:
        """Stay with this project although the file holds another one now; saving writes over that."""
        self.watch.agree(self.watch.last.mark)
        self.undo_stack.resetClean()
        self.copy.later()

    def replace(self, project: Project, path: Path | None, *, edited: bool = False, mark: str | None = None) -> None:
        """Put another project in the place of this one; `edited`: it holds what no file holds."""
        self._path = path
        self._project = self.opened = project
        self.undo_stack.clear()
        if edited:
            self.undo_stack.resetClean()
        self.watch.follow(path, mark)
        self.replaced.emit(project)
        self.project_changed.emit(project)
        self._tell_title()

    def save(self) -> None:
        """Write to the file it came from. Raises SaveError; the file is then as it was."""
        assert self._path is not None, "a project without a file is saved under a name"
        self.save_as(self._path)

    def save_as(self, path: Path) -> None:
        """Write to a file and stay with it. Raises SaveError; the file is then as it was."""
        projects.save(self._project, path)
        self.copy.forget()
        self._path = path
        self.undo_stack.setClean()
        self.watch.follow(path)
        self._tell_title()

    def _unsaved(self) -> tuple[Project, Path | None] | None:
        return (self._project, self._path) if self.edited else None

    def _tell_title(self, _what: object = None) -> None:
        self.title_changed.emit(self.title)

    def _push(self, command: QUndoCommand, after: Project) -> None:
        if after != self._project:
            self.undo_stack.push(command)

    def _place(self, project: Project) -> None:
        self._project = project
        self.copy.later()
        self.project_changed.emit(project)
        self._tell_title()
