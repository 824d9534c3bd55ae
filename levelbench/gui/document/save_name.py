"""Asking under which name something is saved: an ending that was left out is put behind, and nothing goes unasked."""

from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget


def ask_where(parent: QWidget, title: str, start: Path, kinds: str, whole: Callable[[str, str], str]) -> Path | None:
    """Ask for the place of a file; None when the person leaves it.

    `whole` gives the name of the file from what was typed and the kind that was chosen. Where it puts an ending behind
    it and such a file is there already, the dialog comes again with that name, since it asks before it replaces one.
    """
    while True:
        name, kind = QFileDialog.getSaveFileName(parent, title, str(start), kinds)
        if not name:
            return None
        typed = Path(name)
        path = typed.with_name(whole(typed.name, kind))
        if path == typed or not path.exists():
            return path
        start = path


def ask_where_by_kind(parent: QWidget, title: str, name: str, endings: Mapping[str, str]) -> Path | None:
    """Ask for the place of a file of one of some kinds, each with its ending; None when the person leaves it."""

    def whole(name: str, kind: str) -> str:
        if name.casefold().endswith(tuple(endings.values())):
            return name
        return name.rstrip(". ") + endings.get(kind, next(iter(endings.values())))

    return ask_where(parent, title, folder_of(parent) / name, ";;".join(endings), whole)


def folder_of(part: QWidget) -> Path:
    """Give the folder where a person looks for what belongs to the project of a window: beside its file, or at home."""
    file = part.window().windowFilePath()
    beside = Path(file).parent if file else Path.home()
    return beside if beside.is_dir() else Path.home()
