"""What each computed figure means, in plain words, and what the trade calls it: read once from resources/texts."""

import tomllib
from dataclasses import dataclass
from functools import cache

from levelbench.places import resources
from levelbench.quantity import NumberFormat, in_prose, number_format


@dataclass(frozen=True)
class Meaning:
    """One or two sentences for whoever reads a figure for the first time, and the trade's term for it."""

    says: str
    term: str


def meanings() -> dict[str, Meaning]:
    """Give every meaning by the key of a figure, or by the front part of its key; its numbers as they are shown now."""
    return _meanings(number_format())


@cache
def _meanings(_shown_as: NumberFormat) -> dict[str, Meaning]:
    text = (resources() / "texts" / "figures.toml").read_text(encoding="utf-8")
    return {key: Meaning(in_prose(one["says"]), one["term"]) for key, one in tomllib.loads(text).items()}


def meaning(key: str) -> Meaning | None:
    """Give the meaning of a figure by its key, or by the longest front part that has one; None when there is none."""
    parts = key.split(".")
    fronts = (".".join(parts[:length]) for length in range(len(parts), 0, -1))
    return next((meanings()[front] for front in fronts if front in meanings()), None)
