"""Editing a project by key: a new project comes out, and the text around the edit stays as it was."""

from collections.abc import Mapping, Sequence

from levelbench.project.fields import entries
from levelbench.project.page import Page, PageError, Plain, steps
from levelbench.project.problems import Problem, ProjectProblems
from levelbench.project.reader import read_project
from levelbench.project.records import Head, Project
from levelbench.project.stack_light import DEFAULT_ROWS
from levelbench.quantity import without_doubt

Value = Plain | None
_FREE = frozenset(entries(Head))  # texts, no quantities
_REASONS = ("cause", "consequence", "operator_action", "basis")  # texts as well


def edit(project: Project, key: str, value: Value) -> Project:
    """Give the project with one entry set, or left out with None; keys are as in "bands.high.limit".

    Raises ProjectProblems when the outcome is no project; the old one is as it was.
    """
    return edit_many(project, {key: value})


def edit_many(project: Project, changes: Mapping[str, Value]) -> Project:
    """Give the project with several entries set at once, checked only when all are in place.

    Raises ProjectProblems when the outcome is no project; the old one is as it was.
    """
    page = Page(project.text)
    for key, value in changes.items():
        _set(page, key, value)
    return read_project(page.text, project.title)


def _meant(value: Plain) -> Plain:
    """Give a value without texts that only a person with a decimal comma reads as they are meant.

    A file is read alike everywhere, so what stands in it must not hang on how somebody's numbers are shown.
    """
    if isinstance(value, str):
        return without_doubt(value)
    if isinstance(value, Mapping):
        return {name: _meant(one) for name, one in value.items()}
    return [_meant(one) for one in value] if isinstance(value, Sequence) else value


def _is_text(key: str) -> bool:
    return key in _FREE or key.startswith("sheet.") or key.rpartition(".")[2] in _REASONS


def _set(page: Page, key: str, value: Value) -> None:
    try:
        if steps(key)[:1] == ["stack_light"] and key != "stack_light" and page.value("stack_light") is None:
            page.put("stack_light", [vars(row) for row in DEFAULT_ROWS])
        if value is None:
            page.take_out(key)
        else:
            page.put(key, value if _is_text(key) else _meant(value))
    except PageError as error:
        message = f"“{key}” can't be set. {error}"
        raise ProjectProblems(key, [Problem(0, key, str(value), "a key of the project file", None, message)]) from error
