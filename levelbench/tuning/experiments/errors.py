"""What can go wrong before an experiment begins, or with what it recorded.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── ExperimentError        an experiment that can't be done on this rig as it is planned, or a record that says nothing
"""

from levelbench.quantity import PlacedError


class ExperimentError(PlacedError):
    """An experiment that can't be done: `what` is wrong, `where`, and what to `do`."""
