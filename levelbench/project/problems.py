"""What can go wrong with a project file, in words for the person who wrote it.

ProjectProblems   the text is no project: every problem in it, each with its line, both readable one by one
SaveError         nothing was written: the old file is whole; `cause` tells a full disk from a read-only place
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from levelbench.quantity import LevelBenchError


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: where, what was found, what is allowed, and the nearest name that is known."""

    line: int  # counted from 1; 0 when it is about the whole file
    key: str
    found: str
    allowed: str
    nearest: str | None
    message: str

    def __str__(self) -> str:
        where = ", ".join(one for one in (f"line {self.line}" if self.line else "", self.key) if one)
        return f"{where}: {self.message}" if where else self.message


class ProjectProblems(LevelBenchError):  # noqa: N818  it carries problems
    """A text that is no project; `problems` holds all that is wrong with it, in the order of its lines.

    What stands on no line, such as a section that is missing, comes last.
    """

    def __init__(self, name: str, problems: Sequence[Problem]) -> None:
        self.name = name
        self.problems = tuple(sorted(problems, key=lambda one: (one.line == 0, one.line)))
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__("\n  ".join([f"{name}: {count}", *(str(one) for one in self.problems)]))


class SaveError(LevelBenchError, OSError):
    """A file that could not be written. What stood there before is untouched."""

    def __init__(self, message: str, cause: Literal["full disk", "read-only", "other"]) -> None:
        self.cause = cause
        super().__init__(message)
