"""What can go wrong while alarms are designed.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── AlarmError             noise that nothing can be said about, an alarm that can't be designed from it
"""

from levelbench.quantity import LevelBenchError


class AlarmError(LevelBenchError):
    """An alarm that can't be designed: `what` is wrong, `where`, and what to `do`."""

    def __init__(self, what: str, where: str, do: str) -> None:
        self.what = what
        self.where = where
        self.do = do
        super().__init__(f"{what} ({where}) {do}")
