"""What can go wrong between a project and its run.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
├── RigError               a described rig that can't exist or can't be run: the geometry, a setting, an action
└── Cancelled              the person stopped a long piece of work; nothing needs to be shown
"""

from levelbench.quantity import LevelBenchError, PlacedError


class RigError(PlacedError):
    """A rig that can't exist or can't be run as described.

    `what` says what is wrong, `where` names the entry of the project file, `do` says what to change.
    """


class Cancelled(LevelBenchError):  # noqa: N818 (a wish of the person's, not a mistake)
    """The person stopped the work before it was done."""

    def __init__(self) -> None:
        super().__init__("Stopped before it was done; nothing was changed.")
