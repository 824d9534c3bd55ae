"""An alarm with dead band, on-delay and off-delay on noise of which each sample follows from the one before: AR(1).

An exact Markov chain: its state is the sample together with the count of samples in a row. Between two alarms the chain
goes through all that it can be, which a resolvent sums; what is left is the chain of the samples at which alarms come
and go. Integrals over the sample are taken at Gauss's nodes in panels that end at every limit, so they are as good as
the numbers themselves. Independent samples are the case of no correlation, where `levelbench.alarms.rates` has the
closed forms that this is checked against.

Sources:
[1] P. Brémaud, Markov Chains (1999), chapters 2 and 4: chains on a part of their states, and renewal.
[2] L. M. Delves & J. L. Mohamed, Computational Methods for Integral Equations (1985), chapter 4: Nyström's method.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BREMAUD = "an exact Markov chain of sample and count (P. Brémaud, Markov Chains, 1999)"
MOST_CORRELATED = 0.99  # beyond it the nodes would be too many, and noise is slow enough to be simulated
_NEVER = 1e11  # samples; beyond it the numbers are too coarse to tell one rate from none
_REACH = 8.5  # standard deviations beyond which there is nothing
_NODES = 12
_PANEL = 3.0  # widest, in standard deviations of one sample given the one before
_WIDEST = 1.5  # and in standard deviations of the noise


@dataclass(frozen=True)
class Leg:
    """The way from one change of the alarm to the next: where it ends by where it began, and how long it takes."""

    ends: Floats  # [nodes, nodes] a stochastic matrix
    lasts: Floats  # [nodes] samples


class Chain:
    """The chain of AR(1) noise of one standard deviation about 0, with every limit that will be asked for."""

    def __init__(self, correlation: float, cuts: Iterable[float]) -> None:
        """Make the chain; cuts [1, in standard deviations] are all limits, and the ends of all dead bands."""
        spread = math.sqrt(1.0 - correlation**2)
        self._nodes, weights = _panels(sorted(set(cuts)), min(_PANEL * spread, _WIDEST))
        nodes = self._nodes
        share = (nodes[None, :] - correlation * nodes[:, None]) / spread
        made = np.exp(-0.5 * share**2) * weights
        self._step = made / made.sum(axis=1, keepdims=True)
        rest = np.exp(-0.5 * nodes**2) * weights
        self.rest: Floats = rest / rest.sum()  # [nodes] what the noise is like at any moment
        self._legs: dict[tuple[float, int, bool], Leg] = {}

    def comes(self, limit: float, on: int) -> Leg:
        """Give the leg without the alarm, until so many samples in a row are at or above the limit."""
        return self._leg(limit, on, rising=True)

    def goes(self, clears: float, off: int) -> Leg:
        """Give the leg with the alarm, until so many samples in a row are below the dead band's end."""
        return self._leg(clears, off, rising=False)

    def steady(self, limit: float, dead_band: float, on: int = 1, off: int = 1) -> tuple[float, float]:
        """Give the share of time in alarm, and the alarms by sample; 0 where the noise doesn't reach the limit."""
        if limit > _REACH - 1.0:
            return 0.0, 0.0
        out, within = self.comes(limit, on), self.goes(limit - dead_band, off)
        began, before = self.rest, np.zeros_like(self.rest)
        for _ in range(10_000):
            if np.abs(began - before).sum() < 1e-13:
                break
            came = began @ out.ends
            before, began = began, came @ within.ends
            began = began / began.sum()
        came = began @ out.ends
        silent, stood = float(began @ out.lasts), float(came @ within.lasts / came.sum())
        if not 0.0 < silent < _NEVER:
            return 0.0, 0.0
        return stood / (silent + stood), 1.0 / (silent + stood)

    def delay(self, limit: float, on: int = 1) -> float:
        """Give the expected samples from the first abnormal one to the alarm; the limit is below where it goes to."""
        return float(self.rest @ self.comes(limit, on).lasts) - 1.0

    def _leg(self, limit: float, count: int, *, rising: bool) -> Leg:
        key = (limit, count, rising)
        if key not in self._legs:
            beyond = self._nodes > limit if rising else self._nodes < limit
            self._legs[key] = _leg(self._step, beyond, count)
        return self._legs[key]


def _panels(cuts: list[float], widest: float) -> tuple[Floats, Floats]:
    """Give Gauss's nodes and weights in panels from one end to the other, none across a cut."""
    edges = [-_REACH, *(one for one in cuts if -_REACH < one < _REACH), _REACH]
    points, weights = np.polynomial.legendre.leggauss(_NODES)
    nodes: list[Floats] = []
    shares: list[Floats] = []
    for low, high in pairwise(edges):
        ends = np.linspace(low, high, max(1, math.ceil((high - low) / widest)) + 1)
        for begin, end in pairwise(ends):
            half = 0.5 * (end - begin)
            nodes.append(begin + half * (1.0 + points))
            shares.append(half * weights)
    return np.concatenate(nodes), np.concatenate(shares)


def _leg(step: Floats, beyond: NDArray[np.bool_], count: int) -> Leg:
    """Sum over all ways until `count` samples in a row were beyond.

    With B the step to a sample beyond and Z the step to one that is not, a run of less than `count` is S = Σ Bᵏ, and
    the chain of the beginnings of runs is S Z; so the leg ends by (1 − S Z)⁻¹ Bⁿ and lasts (1 − S Z)⁻¹ S 1.
    """
    size = len(step)
    inner = step[np.ix_(beyond, beyond)]
    power, total = _powers(inner, count - 1)  # of `inner`: ^(count − 1), and the sum of all below it
    into = step[:, beyond]
    runs = np.eye(size)
    runs[:, beyond] += into @ total
    back = runs @ np.where(beyond, 0.0, step)
    ends = np.zeros((size, size))
    ends[:, beyond] = into @ power
    solved = np.linalg.solve(np.eye(size) - back, np.column_stack((ends, runs.sum(axis=1))))
    return Leg(solved[:, :size], solved[:, size])


def _powers(inner: Floats, count: int) -> tuple[Floats, Floats]:
    """Give a matrix to the power of `count`, and the sum of its powers from 0 to `count` − 1, by doubling."""
    power, total = np.eye(len(inner)), np.zeros_like(inner)
    for digit in bin(count)[2:] if count else "":
        total = total + power @ total
        power = power @ power
        if digit == "1":
            total = total + power
            power = power @ inner
    return power, total
