"""Which of several laws a record deserves: the plainest that foretells what it was not shown.

A freer law always fits better; whether it knows more shows on blocks of the record that are held out of its fit.

Source: M. Stone, J. R. Stat. Soc. B 36 (1974) 111-147: choice by cross-validation; in whole blocks, since neighbouring
samples say nearly the same.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.tuning.identify.intervals import known_of
from levelbench.tuning.identify.law import Law
from levelbench.tuning.identify.rows import Ready
from levelbench.tuning.identify.solve import Found, Problem, improve, many_starts, pose

Look = Callable[[], bool]

BLOCKS = 5
_BETTER = 0.92  # of the held-out error: a freer law must get below it to be worth its parameters
_SURELY = 0.85  # the same, for a law of whose parameters the record can't tell all


@dataclass(frozen=True, eq=False)
class Tried:
    """A law fitted to the whole record, and its error on blocks that were held out (the record's unit).

    `told` says that the record tells all of its parameters apart.
    """

    law: Law
    found: Found
    held_out: float
    told: bool


def choose(
    laws: Sequence[Law], ready: Ready, *, floor: float, longest: float, look: Look | None = None
) -> tuple[Tried, tuple[Tried, ...]]:
    """Fit each law, the plainest first, and give the one that is worth it, and all of them; steps at most [s].

    Raises Cancelled when `look` answers False.
    """
    fits: list[Found] = []
    for law in laws:
        problem = pose(law, ready, floor=floor, longest=longest)
        found = many_starts(problem, progress=look)
        fits.append(_lower(found, fits[-1], look) if fits else found)
    for at in range(len(fits) - 2, -1, -1):  # and back: the freer one may have found its way to a lower place
        fits[at] = _lower(fits[at], fits[at + 1], look)
    for at in range(1, len(fits)):  # a freer law never fits worse than a plainer one that is a case of it
        fits[at] = _lower(fits[at], fits[at - 1], look)
    tried: list[Tried] = []
    best: Tried | None = None
    for law, found in zip(laws, fits, strict=True):
        newest = Tried(law, found, held_out(found, look), not known_of(found, ready).weak())
        tried.append(newest)
        if best is None or newest.held_out < (_BETTER if newest.told else _SURELY) * best.held_out:
            best = newest
    assert best is not None
    return best, tuple(tried)


def _lower(found: Found, neighbour: Found, look: Look | None) -> Found:
    """Give a fit, or one that began where a neighbouring law's ended, whichever is lower."""
    problem = found.problem
    known = {one.key: problem.law.fixed.get(one.key, one.low) for one in problem.free}
    other = improve(problem, known | _shared(problem, neighbour), progress=look)
    return min(found, other, key=lambda one: one.cost)


def _shared(problem: Problem, found: Found) -> dict[str, float]:
    wanted = {one.key for one in problem.free}
    return {key: value for key, value in found.values.items() if key in wanted}


def held_out(found: Found, look: Look | None = None) -> float:
    """Give the error on blocks, each simulated by a fit to all others: the geometric mean of their root mean squares.

    Geometric, so that one block in which the only overflow happened doesn't outweigh all others.
    """
    problem = found.problem
    n = len(problem.pv)
    errors = []
    edges = np.linspace(0, n, BLOCKS + 1).astype(int)
    for first, last in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        seen: NDArray[np.bool_] = np.ones(n, dtype=np.bool_)
        seen[first:last] = False
        one = improve(problem.judging(seen), found.values, most=12, progress=look)
        errors.append(float(np.mean((problem.simulate(one.values) - problem.pv)[first:last] ** 2)))
    return float(np.exp(0.5 * np.mean(np.log(np.maximum(errors, 1e-300)))))
