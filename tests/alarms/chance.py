"""Intervals for what was counted in a long row of random samples that hang together: by the means of blocks."""

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t

Floats = NDArray[np.float64]
SURE = 0.99


def interval(values: Floats, blocks: int = 50) -> tuple[float, float]:
    """Give the 99 % interval of the mean of a row of values, from the means of blocks (Student's t)."""
    means = values[: len(values) // blocks * blocks].reshape(blocks, -1).mean(axis=1)
    half = float(t.ppf(0.5 + SURE / 2, blocks - 1) * means.std(ddof=1) / np.sqrt(blocks))
    return float(means.mean()) - half, float(means.mean()) + half


def first_order(correlation: float, count: int, seed: int) -> Floats:
    """Give AR(1) noise of one standard deviation."""
    from scipy.signal import lfilter  # noqa: PLC0415  only some tests want it

    fresh = np.random.default_rng(seed).standard_normal(count)
    fresh[1:] *= np.sqrt(1 - correlation**2)
    made: Floats = np.asarray(lfilter([1.0], [1.0, -correlation], fresh))
    return made


def comes(states: NDArray[np.int64]) -> Floats:
    """Give 1 for each sample at which an alarm comes."""
    return (np.diff(states, prepend=0) == 1).astype(np.float64)


def slow_alarm(values: Floats, limit: float, dead_band: float, on: int, off: int) -> NDArray[np.int64]:
    """The alarm's logic once more, written plainly: by looking back at every sample."""
    standing, since, found = False, 0, []
    for at in range(len(values)):
        count = off if standing else on
        last = values[max(since, at - count + 1) : at + 1]
        beyond = last < limit - dead_band if standing else last >= limit
        if len(last) == count and beyond.all():
            standing, since = not standing, at + 1
        found.append(int(standing))
    return np.array(found)
