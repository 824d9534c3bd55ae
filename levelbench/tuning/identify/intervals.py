"""How surely a fitted law's parameters are known: intervals of 95 %, and which of them a record can't tell apart.

What a free simulation leaves hangs together from sample to sample, so its samples count for less than they are. The
covariance is the sandwich (J'J)⁻¹·J'ΩJ·(J'J)⁻¹ [1], Ω from an autoregression of what is left [2]; Student's quantile
is taken at the number of independent samples that the record is worth [3].

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), chapter 9: output error, coloured noise.
[2] W. J. den Haan, A. Levin, Handbook of Statistics 15 (1997) 299-342: autoregressive long-run variance (from memory).
[3] G. V. Bayley, J. M. Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184-197: effective number of observations.
[4] D. A. Belsley, E. Kuh, R. E. Welsch, "Regression Diagnostics" (1980), chapter 3: near dependencies by directions.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter
from scipy.stats import t as student

from levelbench.tuning.identify.law import Parameter
from levelbench.tuning.identify.noise import noise_of, steady
from levelbench.tuning.identify.rows import Ready
from levelbench.tuning.identify.solve import Found, new_in

Floats = NDArray[np.float64]

SOURCE = (
    "L. Ljung, System Identification: Theory for the User (1999), chapter 9: covariance of an output-error fit with "
    "coloured noise; the noise an autoregression (den Haan & Levin 1997)"
)
_PART = 0.5  # of the largest share in a direction: so much makes a parameter part of it
_LEAST = 1e-12  # of the largest: a singular value below it is nought


@dataclass(frozen=True, eq=False)
class Known:
    """What is known of a solution: its covariance [k, k] in the solver's steps, and the quantile for 95 %.

    `worth` is the number of independent samples that the record is worth.
    """

    found: Found
    covariance: Floats
    quantile: float
    worth: float

    def interval(self, one: Parameter) -> tuple[float, float]:
        """Give the interval of 95 % of a fitted parameter, within its limits (its own unit)."""
        at = self.found.problem.free.index(one)
        value, half = self.found.values[one.key], self.quantile * float(np.sqrt(self.covariance[at, at]))
        if one.by_ratio:
            factor = float(np.exp(min(half, 700.0)))
            return max(value / factor, one.low), min(value * factor, one.high)
        return max(value - half * one.matters, one.low), min(value + half * one.matters, one.high)

    def told(self, one: Parameter) -> bool:
        """Tell whether the record tells a fitted parameter: half its interval is less than what matters."""
        at = self.found.problem.free.index(one)
        half = self.quantile * float(np.sqrt(self.covariance[at, at]))
        return half <= (1.0 if one.by_ratio else one.cares(self.found.values[one.key]) / one.matters)

    def weak(self) -> "tuple[Direction, ...]":
        """Give the directions that the record can't tell [4], each without what was given up before.

        Along such a direction half an interval exceeds what matters.
        """
        free = [one for one in self.found.problem.free if one not in self.found.problem.begins]
        values = self.found.values
        steps = np.array([1.0 if one.by_ratio else one.cares(values[one.key]) / one.matters for one in free])
        scaled = self.covariance[: len(free), : len(free)] / np.outer(steps, steps)
        found: list[Direction] = []
        while len(free) > 1:
            sizes, directions = np.linalg.eigh(scaled)
            if self.quantile * np.sqrt(max(float(sizes[-1]), 0.0)) <= 1.0:
                break
            shares = directions[:, -1]
            parts = np.flatnonzero(np.abs(shares) >= _PART * np.abs(shares).max())
            found.append(Direction(tuple(free[at] for at in parts), tuple(float(shares[at]) for at in parts)))
            gone, kept = int(parts[-1]), [at for at in range(len(free)) if at != parts[-1]]
            row = scaled[gone, kept]
            scaled = scaled[np.ix_(kept, kept)] - np.outer(row, row) / scaled[gone, gone]
            free = [free[at] for at in kept]
        return tuple(found)


@dataclass(frozen=True)
class Direction:
    """Parameters that a record tells only together, each with its share of the direction along which it can't tell."""

    parameters: tuple[Parameter, ...]
    shares: tuple[float, ...]

    @property
    def given_up(self) -> Parameter:
        """The parameter that is left alone so that the others can be told: the least basic."""
        return self.parameters[-1]

    @property
    def words(self) -> str:
        """Say for a person what can't be told."""
        names = [one.name for one in self.parameters]
        if len(names) == 1:
            return f"The record can't tell {_the(names[0])}: it hardly changes anything here."
        if len(names) == 2:
            alike = self.shares[0] * self.shares[1] > 0
            sizes = all(one.by_ratio or (one.low == 0.0 and one.known is None) for one in self.parameters)
            how = ("as a ratio" if alike else "as a product") if sizes else "together"
            return f"The record tells {_the(names[0])} and {_the(names[1])} only {how}."
        return f"The record tells {', '.join(_the(one) for one in names[:-1])} and {_the(names[-1])} only together."


def _the(name: str) -> str:
    return name if name.startswith(("how ", "upper tank's", "pump's", "outlet's")) else f"the {name}"


def known_of(found: Found, ready: Ready) -> Known:
    """Work out how surely a solution is known; what is left must be of every sample of the record."""
    slopes, left = found.slopes, found.left
    n, k = slopes.shape
    weights = noise_left(found, ready)
    new = new_in(left, weights)
    variance = float(new @ new) / max(n - k - len(weights), 1)
    answered = lfilter([1.0], np.concatenate(([1.0], -weights)), slopes[::-1], axis=0)
    meat = variance * (answered.T @ answered)
    bread = _inverse(slopes.T @ slopes)
    covariance = bread @ meat @ bread
    long_run = variance / max(1.0 - float(weights.sum()), 1e-6) ** 2
    worth = min(n * float(left @ left) / n / max(long_run, 1e-300), float(n)) if len(weights) else float(n)
    quantile = float(student.ppf(0.975, max(worth - k, 4.0)))
    return Known(found, covariance, quantile, worth)


def doubted(known: Known, other: Found) -> Known:
    """Widen the intervals by how far another way to fit the same record ends up from this one.

    In a closed loop the output answers the noise of the PV. A fit of the free simulation is then drawn aside, one that
    describes the noise is not, but trusts what is swift in the model more than it deserves. Where both agree, neither
    matters. Source: J. A. Hausman, Econometrica 46 (1978) 1251-1271: two estimates, one of them proof against it.
    """
    apart = [
        _moved(one, other.values[one.key]) - _moved(one, known.found.values[one.key])
        for one in known.found.problem.free
    ]
    return replace(known, covariance=known.covariance + np.outer(apart, apart) / known.quantile**2)


def _moved(one: Parameter, value: float) -> float:
    return float(np.log(value)) if one.by_ratio else value / one.matters


def noise_left(found: Found, ready: Ready) -> Floats:
    """Give the weights of the autoregression that describes what a solution leaves."""
    left = found.left
    if float(left.std()) == 0.0:
        return np.zeros(0)
    used = np.arange(len(ready.used)) >= len(ready.used) - len(left)  # what is new begins later
    return steady(noise_of(left, replace(ready, used=used).rows(), ready), ready.step)


def _inverse(square: Floats) -> Floats:
    """Invert J'J; a direction in which nothing changes gets a huge variance, not an error."""
    size = np.sqrt(np.diag(square))
    size = np.maximum(size, max(1e-9 * float(size.max()), 1e-100))
    values, vectors = np.linalg.eigh(square / np.outer(size, size))
    values = np.maximum(values, _LEAST * max(float(values[-1]), 1e-300))
    return np.asarray((vectors / values) @ vectors.T / np.outer(size, size))
