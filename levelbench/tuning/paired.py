"""Pairs of measurements on the same runs: mean difference and its interval.

Two settings tried on the same seeds meet the same noise, so what noise does cancels in the difference [1]. The mean of
n differences d lies within t(97.5 %, n − 1)·s/√n of the true one in 95 of 100 such trials, s their standard deviation,
when they scatter about normally [2].

Sources:
[1] A. M. Law, Simulation Modeling and Analysis: common random numbers (quoted from memory).
[2] Student, Biometrika 6 (1908) 1-25; any book on statistics.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import stdtrit

STUDENT = "Student, Biometrika 6 (1908) 1-25: paired differences, 95 % interval"
_LEVEL = 0.975  # two-sided 95 %


@dataclass(frozen=True)
class Paired:
    """Mean difference after − before, half the width of its 95 % interval, and of how many pairs (any one unit)."""

    mean: float
    half: float
    count: int

    @property
    def told_apart(self) -> bool:
        """Whether the interval leaves 0 out; differences that are all exactly 0 are none."""
        return abs(self.mean) > self.half


def paired(before: Sequence[float], after: Sequence[float]) -> Paired:
    """Give the mean paired difference of at least two pairs (any one unit).

    >>> paired([1.0, 2.0], [1.0, 2.0])
    Paired(mean=0.0, half=0.0, count=2)
    """
    differences = [then - was for was, then in zip(before, after, strict=True)]
    count = len(differences)
    mean = math.fsum(differences) / count
    squared = math.fsum((one - mean) ** 2 for one in differences) / (count - 1)
    return Paired(mean, float(stdtrit(count - 1, _LEVEL)) * math.sqrt(squared / count), count)
