"""What the person describes: typed records, the text file they live in, its history, and saving it without loss.

    text ──lines──▶ places of keys        (which line a problem is on)
      │ ──migrations──▶ newest format     (through `page`, so that comments survive)
      ▼
    reader ──checking, agreement──▶ Project (records) or ProjectProblems, all of them
      ▲                                │
      └────── page ◀── editing ◀───────┘   saving: whole or not at all; recovery: what a crash left

May import: `levelbench.quantity`.
"""

from levelbench.project.editing import Value, edit, edit_many
from levelbench.project.problems import Problem, ProjectProblems, SaveError
from levelbench.project.reader import load, read_project
from levelbench.project.records import Project
from levelbench.project.samples import sample, samples
from levelbench.project.saving import save, write_whole
from levelbench.quantity import Units

__all__ = [
    "Problem",
    "Project",
    "ProjectProblems",
    "SaveError",
    "Value",
    "edit",
    "edit_many",
    "load",
    "read_project",
    "sample",
    "samples",
    "save",
    "units",
    "write_whole",
]


def units(project: Project) -> Units:
    """Give the units in which a project's computed values are shown."""
    shown = project.display
    return Units(shown.volume, shown.length, shown.flow)
