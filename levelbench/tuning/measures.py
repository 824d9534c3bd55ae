"""Measures of a response over time: when it first gets somewhere, and when it stays for good."""

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def first_beyond(time: Floats, values: Floats, threshold: float) -> float:
    """Give when rising values first reach a threshold [s], straight between samples; infinite when they never do.

    >>> first_beyond(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 3.0]), 2.0)
    1.5
    """
    beyond = np.flatnonzero(values >= threshold)
    if not beyond.size:
        return math.inf
    at = int(beyond[0])
    if at == 0:
        return float(time[0])
    return float(np.interp(threshold, values[at - 1 : at + 1], time[at - 1 : at + 1]))


def last_outside(time: Floats, values: Floats, target: float, band: float) -> float:
    """Give when values come within a band of a target for good [s]: 0 when never outside, infinite when still outside.

    >>> last_outside(np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 1.3, 1.0, 1.0]), 1.0, 0.1)
    2.0
    """
    outside = np.flatnonzero(np.abs(values - target) > band)
    if not outside.size:
        return 0.0
    if outside[-1] == len(values) - 1:
        return math.inf
    return float(time[outside[-1] + 1])
