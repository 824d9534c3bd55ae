"""The base of all errors, and what can go wrong with a typed quantity.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
├── PlacedError            what, where and what to do: the base of the rig's, the alarms' and the records' own errors
└── QuantityError          a text that is not a quantity of the wanted dimension; also a ValueError
"""


class LevelBenchError(Exception):
    """The base of every error that is meant to be shown: it says what happened, where, and what to do."""


class PlacedError(LevelBenchError):
    """What is wrong, where it stands, and what to do; each room has its own kind."""

    def __init__(self, what: str, where: str, do: str) -> None:
        self.what = what
        self.where = where
        self.do = do
        super().__init__(f"{what} ({where}) {do}")


class QuantityError(LevelBenchError, ValueError):
    """A text that can't be read as a quantity of the wanted dimension.

    `hint` says what to type instead; `nearest` is the known unit that is most like the typed one.
    """

    def __init__(self, found: str, reason: str, hint: str, nearest: str | None = None) -> None:
        self.found = found
        self.reason = reason
        self.hint = hint
        self.nearest = nearest
        super().__init__(f"{reason} {hint}".strip())
