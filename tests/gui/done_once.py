"""Pure work of a second or more that several tests want the answer of: done once."""

from functools import cache

from levelbench.gui.work.jobs import Progress
from levelbench.project import read_project
from levelbench.rig import Rig, assemble
from levelbench.tuning.filling import Filling, fill


@cache
def filled(text: str) -> Filling:
    """Give how the rig of a project fills."""
    return fill(assemble(read_project(text)))


def fill_once(rig: Rig, _progress: Progress) -> Filling:
    """Stand in for `fill`."""
    return filled(rig.project.text)
