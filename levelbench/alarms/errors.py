"""What can go wrong while alarms are designed.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── AlarmError             noise that nothing can be said about, an alarm that can't be designed from it
"""

from levelbench.quantity import PlacedError


class AlarmError(PlacedError):
    """An alarm that can't be designed: `what` is wrong, `where`, and what to `do`."""
