"""What can go wrong with a recording outside the program.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
├── RecordError            a file that is not a recording; says the file, the line and what to do
└── ActionError            a text that is not an action: what it can be is said
"""

from levelbench.quantity import LevelBenchError


class RecordError(LevelBenchError):
    """A file that can't be read as a recording."""

    def __init__(self, place: str, reason: str, hint: str) -> None:
        self.place = place
        self.reason = reason
        self.hint = hint
        super().__init__(f"{place}: {reason} {hint}")


class ActionError(LevelBenchError, ValueError):
    """A text that can't be read as an action."""

    def __init__(self, text: str, reason: str, hint: str) -> None:
        self.text = text
        self.reason = reason
        self.hint = hint
        super().__init__(f"“{text}”: {reason} {hint}")
