"""What can go wrong between a record and a model of it.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── FitError               a record that nothing can be fitted to
"""

from levelbench.quantity import LevelBenchError


class FitError(LevelBenchError):
    """A record that a model can't be fitted to: `what` is wrong, `where`, and what to `do`."""

    def __init__(self, what: str, where: str, do: str) -> None:
        self.what = what
        self.where = where
        self.do = do
        super().__init__(f"{what} ({where}) {do}")
