"""What can go wrong with the words of the command line, and how any error is told.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── UsageError             a word that can't be used; says which, and what to give in its place
"""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from levelbench.project import Problem, ProjectProblems
from levelbench.quantity import LevelBenchError


class UsageError(LevelBenchError):
    """A word of the command line that can't be used."""


def told(error: LevelBenchError) -> list[str]:
    """Give an error as lines: for a project file every problem with its line, key, value found, allowed and nearest."""
    if not isinstance(error, ProjectProblems):
        return [f"levelbench: {error}"]
    count = len(error.problems)
    lines = [f"levelbench: {error.name} can't be used: {count} problem{'s' if count > 1 else ''}"]
    return lines + [line for problem in error.problems for line in _problem(problem)]


def as_document(error: LevelBenchError) -> dict[str, Any]:
    """Give an error for other programs: its text, and for a project file every problem in it."""
    problems = error.problems if isinstance(error, ProjectProblems) else ()
    return {"error": str(error), "problems": [asdict(one) for one in problems]}


def _problem(problem: Problem) -> Iterator[str]:
    yield f"  {problem}"
    for name, value in (("found", problem.found), ("allowed", problem.allowed), ("nearest", problem.nearest)):
        if value:
            yield f"      {name:8} {value}"
