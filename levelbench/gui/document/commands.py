"""What a person can undo: one small command a kind of intention. Each puts one whole project in the place of another.

A project is immutable and carries its own text, so that going back restores every comment and blank of the file.
"""

from collections.abc import Callable

from PySide6.QtGui import QUndoCommand

from levelbench.gui.fields.entry_keys import declaration, in_words, name_of
from levelbench.project import Value
from levelbench.project.records import Project

Place = Callable[[Project], None]


class _Exchange(QUndoCommand):
    """One project for another, and back."""

    def __init__(self, words: str, place: Place, before: Project, after: Project) -> None:
        super().__init__(words)
        self._place = place
        self._before = before
        self._after = after

    def redo(self) -> None:
        """Put the edited project in its place."""
        self._place(self._after)

    def undo(self) -> None:
        """Put the project as it was before in its place."""
        self._place(self._before)


def _done(key: str, value: Value) -> str:
    """Say what setting one entry does: "set gain to 5.5"."""
    name = name_of(key)
    if value is None:
        return f"leave out {name}"
    return f"write {name}" if declaration(key).sentences else f"set {name} to {in_words(value)}"


class EditEntry(_Exchange):
    """One entry was typed: "set gain to 5.5"."""

    def __init__(self, place: Place, before: Project, after: Project, change: tuple[str, Value]) -> None:
        super().__init__(_done(*change), place, before, after)


class EditSeveral(_Exchange):
    """Several entries that belong together were set: "set tank shape to box (and 2 more)", or words of their own."""

    def __init__(self, place: Place, before: Project, after: Project, changes: dict[str, Value], words: str) -> None:
        set_first = sorted(changes.items(), key=lambda change: change[1] is None)  # what is left out makes room for it
        more = f" (and {len(changes) - 1} more)" if len(changes) > 1 else ""
        super().__init__(words or _done(*set_first[0]) + more, place, before, after)


class AdoptProposal(_Exchange):
    """What a finding proposed was taken over: "adopt: high chatters"."""

    def __init__(self, place: Place, before: Project, after: Project, proposal: str) -> None:
        super().__init__(f"adopt: {proposal}", place, before, after)


class TakeOver(_Exchange):
    """The whole text of a file was taken in the place of what was open: "revert to the saved file"."""

    def __init__(self, place: Place, before: Project, after: Project, words: str) -> None:
        super().__init__(words, place, before, after)
