"""A project text for the tests: a sample's, with some of it put otherwise."""

from levelbench.project import Problem, ProjectProblems, read_project, sample

SEEDLING = sample("seedling_house").read_text(encoding="utf-8")
WASHER = sample("parts_washer").read_text(encoding="utf-8")


def changed(old: str, new: str, text: str = SEEDLING) -> str:
    """Give a sample's text with one piece in the place of another, which must be there once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def problems_of(text: str) -> tuple[Problem, ...]:
    """Give the problems of a text that is no project."""
    try:
        read_project(text)
    except ProjectProblems as error:
        return error.problems
    raise AssertionError("it was read without a problem")


def line(text: str, piece: str) -> int:
    """Give the line on which a piece of a text stands."""
    return text[: text.index(piece)].count("\n") + 1
