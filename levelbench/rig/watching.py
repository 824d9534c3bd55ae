"""The alarm's logic alone, compiled: limit, dead band, on-delay and off-delay on a series of values.

Choosing an alarm runs this thousands of times, on noise alone; a test keeps it equal to the scan's own logic
(`levelbench.rig.kernel`). Nothing but numpy and numba is imported here, and nothing in it is shared with the scan,
since the compiler's disk cache does not notice edits in another module.

Values grow towards the alarm: for a low limit they are given with the other sign. Delays are counts of samples,
(on, off): an alarm comes at the on-th sample in a row that is at or beyond the limit, and goes at the off-th in a row
that is more than the dead band on the safe side; 1 is no delay.
"""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

F = TypeVar("F", bound=Callable[..., Any])
Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


def compiled(function: F) -> F:
    """Compile a function with the flags that the whole room uses: kept on disk, and no thread is held up meanwhile."""
    return cast("F", njit(cache=True, nogil=True, error_model="numpy")(function))


@compiled
def resting(values: Reals, limit: float, dead_band: float, counts: tuple[int, int]) -> tuple[int, int]:
    """Give how often the alarm came in a series, and in how many samples it stood; it begins with none."""
    on, off = counts
    standing = False
    run = came = stood = 0
    clears = limit - dead_band
    for value in values:
        beyond = value < clears if standing else value >= limit
        run = run + 1 if beyond else 0
        if run >= (off if standing else on):
            standing = not standing
            run = 0
            came += 1 if standing else 0
        stood += 1 if standing else 0
    return came, stood


@compiled
def states(values: Reals, limit: float, dead_band: float, counts: tuple[int, int]) -> Wholes:
    """Give for each value whether the alarm stands after it, 1 or 0."""
    on, off = counts
    standing = False
    run = 0
    found = np.zeros(len(values), np.int64)
    clears = limit - dead_band
    for at, value in enumerate(values):
        beyond = value < clears if standing else value >= limit
        run = run + 1 if beyond else 0
        if run >= (off if standing else on):
            standing = not standing
            run = 0
        found[at] = 1 if standing else 0
    return found


@compiled
def crossings(
    noise: Reals, starts: Wholes, way: tuple[float, float, int], dead_band: float, counts: tuple[int, int]
) -> Wholes:
    """Give for each crossing how often the alarm came.

    The values go from way[0] below the limit, way[1] a sample, for way[2] samples; a crossing's noise begins at its
    start.
    """
    first, slope, samples = way
    on, off = counts
    found = np.zeros(len(starts), np.int64)
    for at, start in enumerate(starts):
        standing = False
        run = came = 0
        for step in range(samples):
            value = first + slope * step + noise[start + step]
            beyond = value < -dead_band if standing else value >= 0.0
            run = run + 1 if beyond else 0
            if run >= (off if standing else on):
                standing = not standing
                run = 0
                came += 1 if standing else 0
        found[at] = came
    return found


@compiled
def passages(noise: Reals, starts: Wholes, way: tuple[float, float, int], on: int) -> Reals:
    """Give for each excursion the samples from the crossing of its mean until `on` in a row were beyond the limit.

    The way is that of `crossings`; an excursion that is not noticed within it gives infinity.
    """
    first, slope, samples = way
    found = np.full(len(starts), np.inf)
    for at, start in enumerate(starts):
        run = 0
        for step in range(samples):
            run = run + 1 if first + slope * step + noise[start + step] >= 0.0 else 0
            if run >= on:
                found[at] = step + first / slope
                break
    return found


@compiled
def expected(above: Reals, below: Reals, counts: tuple[int, int]) -> float:
    """Give how often an alarm is expected to come while independent samples go along; it begins with none.

    `above` is each sample's chance to be at or beyond the limit, `below` to be on the safe side of the dead band. A
    Markov chain whose states are the counts of samples in a row, without the alarm and with it.
    """
    on, off = counts
    waiting, standing = np.zeros(on), np.zeros(off)
    waiting[0] = 1.0
    came = 0.0
    for at in range(len(above)):
        high, low = above[at], below[at]
        rises, falls = waiting[on - 1] * high, standing[off - 1] * low
        stays_out, stays_in = waiting.sum() * (1.0 - high), standing.sum() * (1.0 - low)
        for count in range(on - 1, 0, -1):
            waiting[count] = waiting[count - 1] * high
        for count in range(off - 1, 0, -1):
            standing[count] = standing[count - 1] * low
        waiting[0], standing[0] = stays_out + falls, stays_in + rises
        came += rises
    return came
