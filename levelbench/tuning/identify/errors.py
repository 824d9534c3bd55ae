"""What can go wrong between a record and a model of it.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── FitError               a record that nothing can be fitted to
"""

from levelbench.quantity import PlacedError


class FitError(PlacedError):
    """A record that a model can't be fitted to: `what` is wrong, `where`, and what to `do`."""
