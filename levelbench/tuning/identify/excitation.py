"""Whether a record is lively enough to tell each number of a model, and what experiment would tell the others.

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), sections 9.4 and 13.3: the information
    that an experiment will bring can be worked out before it is made.
"""

import math
from dataclasses import dataclass

import numpy as np

from levelbench.quantity import rounded, written
from levelbench.tuning.identify.found import Found
from levelbench.tuning.identify.least import Problem
from levelbench.tuning.identify.noise import Noise
from levelbench.tuning.identify.rows import Ready
from levelbench.tuning.identify.spread import spread_of

WANTED = 0.1  # a bump is to tell every number to this share of it
POOR = 0.5  # half an interval that is more than this share of its number tells nothing to work with
SIZES = (0.02, 0.05, 0.1, 0.2, 0.3)
_LONGEST = 3600.0  # s; nobody stands by for longer
_FARTHEST = 2.0  # times as far as the PV went in the record, a bump may move it
_MOST = 4000  # samples of a bump that is thought through


@dataclass(frozen=True)
class Bump:
    """A step of the output by `size` [1] for `length` [s] and back; the PV then moves by about `moves` (its unit)."""

    size: float
    length: float
    moves: float

    @property
    def words(self) -> str:
        """What to do."""
        size, length = written(100 * self.size, ".3g"), _in_words(self.length)
        return f"in manual, move the output by {size} % for {length}, then back for as long"


def _in_words(seconds: float) -> str:
    if seconds < 120:
        return f"{rounded(seconds, 2)} s"
    return f"{rounded(seconds / 60, 2)} min" if seconds < 7200 else f"{rounded(seconds / 3600, 2)} h"


def bump_that_tells(found: Found) -> Bump | None:
    """Find the shortest bump, and the smallest of that length, that tells every number to a tenth [1].

    The noise is that of the record. None when the record says too little even for that, or no bump in reason would do.
    """
    solved = found.solved
    gain = float(solved.coefficients[found.problem.gain_at])
    if not solved.kept[found.problem.gain_at] or gain == 0.0:
        return None
    variance = solved.squares / max(len(solved.left) - len(solved.point) - int(solved.kept.sum()), 1)
    for length in _lengths(found):
        for size in SIZES:
            moves = _moved(found, gain, size, length)
            if abs(moves) <= _FARTHEST * np.ptp(found.problem.ready.pv) and _tells(found, size, length, variance):
                return Bump(size, length, moves)
    return None


def _lengths(found: Found) -> list[float]:
    point, step = found.solved.point, found.problem.ready.step
    pace = max(point[0], 2 * step)
    if found.problem.bends:
        pace = max(pace, math.exp(point[1]) / 4)
    longest = min(20 * found.problem.ready.lasts, _LONGEST)
    return [_round(pace * many) for many in (3, 6, 12, 25, 50, 100) if pace * many <= max(longest, 12 * step)]


def _round(seconds: float) -> float:
    """Give a time that a person would choose [s]: one or two and a half or five, times a power of ten."""
    power = 10.0 ** math.floor(math.log10(seconds))
    return float(next(power * one for one in (1, 2, 3, 5, 10) if power * one >= seconds * (1 - 1e-9)))


def _moved(found: Found, gain: float, size: float, length: float) -> float:
    if not found.problem.bends:
        return gain * size * length
    return gain * size * (1 - math.exp(-length / math.exp(found.solved.point[1])))


def _tells(found: Found, size: float, length: float, variance: float) -> bool:
    """Tell whether a bump would tell every number to a tenth."""
    step = max(found.problem.ready.step, 2.2 * length / _MOST)
    count = int(2.2 * length / step) + 1
    if count < 12:
        return False
    ready = _planned(step, count, size, length)
    problem = Problem(ready, bends=found.problem.bends, rises=None)
    gain = float(found.solved.coefficients[found.problem.gain_at])
    every = np.arange(count)
    columns, by = problem.columns(found.solved.point, every)
    slopes = [gain * each[problem.gain_at] for each in by]
    spread = math.sqrt(variance) * _longer(found.noise, found.problem.ready.step * found.rows.block, step)
    known = spread_of(np.column_stack((columns, *slopes)), np.full(count, spread))
    half = known.half
    if half[problem.gain_at] > WANTED * abs(gain):
        return False
    last = columns.shape[1]
    dead_time = max(WANTED * found.solved.point[0], step)
    return bool(half[last] <= dead_time and (not problem.bends or half[last + 1] <= WANTED))


def _longer(noise: Noise, usual: float, step: float) -> float:
    """Give by how much the noise of steps of `step` [s] is larger than its new part in each `usual` step [s].

    Over times long against its memory noise acts as white noise times 1/(1 − sum of its weights); bounded, since a bump
    ends before a walk has gone far.
    """
    many = math.sqrt(usual / step)
    if noise.memory > 0:
        return min(math.sqrt(2 * noise.memory / usual + 1), 20.0) * many
    return min(1.0 / max(1.0 - float(noise.weights.sum()), 0.05), 20.0) * many


def _planned(step: float, count: int, size: float, length: float) -> Ready:
    time = step * np.arange(count, dtype=np.float64)
    begin = 0.1 * length
    output = np.where((time >= begin) & (time < begin + length), size, 0.0)
    return Ready(
        time,
        np.zeros(count),
        output,
        None,
        np.ones(count, dtype=np.bool_),
        np.zeros(count, dtype=np.intp),
        np.zeros(1, dtype=np.intp),
        True,
        step,
        (),
    )
