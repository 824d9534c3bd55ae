"""What can go wrong with the words of the command line.

LevelBenchError            anything this program refuses, in words for a person (see `levelbench.quantity.errors`)
└── UsageError             a word that can't be used; says which, and what to give in its place
"""

from levelbench.quantity import LevelBenchError


class UsageError(LevelBenchError):
    """A word of the command line that can't be used."""
