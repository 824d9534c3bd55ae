"""How what a model leaves over hangs together in time, so that intervals are as wide as they must be.

Equal steps: autoregressive of an order that the corrected criterion picks. Uneven steps: a noise of first order in
time, whose memory fades with the seconds between samples. Rows are then made as good as independent of each other
before they are weighed (generalised least squares).

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), chapters 4, 7 and 16.
[2] C. M. Hurvich, C.-L. Tsai, Biometrika 76 (1989) 297-307: the corrected Akaike criterion.
[3] R. H. Jones, Technometrics 22 (1980) 389-395: noise of first order between uneven stamps (quoted from memory).
[4] F. H. C. Marriott, J. A. Pope, Biometrika 41 (1954) 390-402: the bias of a weight (quoted from memory); for each
    number fitted rather than the mean alone.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from levelbench.tuning.identify.rows import Ready, Rows

Floats = NDArray[np.float64]
MOST_ORDER = 25


@dataclass(frozen=True, eq=False)
class Noise:
    """What is left over: `weights`[p] of the p samples before (equal steps), or `memory` [s] (uneven; 0: none).

    Both say nothing for white noise.
    """

    weights: Floats
    memory: float = 0.0

    @property
    def count(self) -> int:
        """How many numbers describe it, its size not counted."""
        return len(self.weights) + (self.memory > 0)

    def wider(self, step: float, samples: int, numbers: int) -> float:
        """Give by how much intervals must be wider, since so many numbers that were fitted took up some of the noise.

        The weights then come out too small: their sum by about numbers·(1 + sum)/samples [4]. `step` [s].
        """
        total = math.exp(-step / self.memory) if self.memory > 0 else float(self.weights.sum())
        short = 1.0 - total
        if not 0.0 < short < 1.0:
            return 1.0
        return short / (short - min(numbers * (1.0 + total) / samples, short / 2))


def steady(noise: Noise, step: float) -> Floats:
    """Give the weights of an autoregression that dies away, for samples `step` [s] apart."""
    weights = np.array([np.exp(-step / noise.memory)]) if noise.memory > 0 else noise.weights.copy()
    for _ in range(400):
        if not len(weights) or np.all(np.abs(np.roots(np.concatenate(([1.0], -weights)))) < 0.999):
            break
        weights *= 0.995 ** np.arange(1, len(weights) + 1)
    return weights


WHITE = Noise(np.zeros(0))


def whitened(columns: Floats, rows: Rows, ready: Ready, noise: Noise) -> Floats:
    """Make the blocks of rows [m, k] independent of each other as far as the noise is what is said.

    Weights: each block less what the p blocks before it say of it; those that lack one of these are left out. Memory:
    each less the share that it keeps of the one before, over the root of what is new in it.
    """
    columns = rows.means(columns)
    if len(noise.weights):
        new = columns.copy()
        for lag, weight in enumerate(noise.weights.tolist(), start=1):
            new[lag:] -= weight * columns[:-lag]
        return new[rows.run >= len(noise.weights)]
    if noise.memory > 0:
        keeps = _keeps(rows, ready, noise.memory)[:, None]
        before = np.concatenate((columns[:1], columns[:-1]))
        return np.asarray((columns - keeps * before) / np.sqrt(1.0 - keeps**2))
    return columns


def _keeps(rows: Rows, ready: Ready, memory: float) -> Floats:
    """Give the share of the block before that each block still has; 0 where a run begins."""
    time = rows.means(ready.time[rows.at])
    kept = np.exp(-np.diff(time, prepend=time[0]) / memory)
    return np.where(rows.run > 0, np.minimum(kept, 1.0 - 1e-9), 0.0)


def noise_of(residuals: Floats, rows: Rows, ready: Ready) -> Noise:
    """Find how residuals [m] hang together, from block to block of the rows."""
    means = rows.means(residuals)
    if ready.even and np.mean(rows.run >= MOST_ORDER) > 0.5:
        return _from_sample_to_sample(means, rows)
    return _over_time(residuals, rows, ready)


def _from_sample_to_sample(residuals: Floats, rows: Rows) -> Noise:
    """Find the weights of the samples before, with the order that the corrected criterion picks [1][2]."""
    most = min(MOST_ORDER, len(residuals) // 15)
    good = int(np.count_nonzero(rows.run >= most))
    if most < 1 or good < 3 * most + 10:
        return WHITE
    gram = _products(residuals, rows, most)
    order = [*range(1, most + 1), 0]
    gram = gram[np.ix_(order, order)]
    upper = np.linalg.cholesky(gram + 1e-12 * np.trace(gram) / len(gram) * np.eye(len(gram))).T
    last = upper[:, -1]
    left = np.cumsum(last[::-1] ** 2)[::-1]  # [p] the squares left with so many weights
    found = [criterion(float(left[p]), good, p + 1) for p in range(most + 1)]
    best = int(np.argmin(found))
    if best == 0:
        return WHITE
    return Noise(np.linalg.solve(upper[:best, :best], last[:best]))


def _products(values: Floats, rows: Rows, most: int) -> Floats:
    """Give Σ x(t − i)·x(t − j) over all t with `most` values before them in their run.

    Each is its neighbour one up and one to the left, with one product more at the begin and one less at the end.
    """
    total = np.zeros((most + 1, most + 1))
    begins = np.flatnonzero(rows.run == 0)
    for begin, end in zip(begins.tolist(), np.append(begins[1:], len(values)).tolist(), strict=True):
        x = values[begin:end]
        n = len(x)
        if n <= most:
            continue
        one = np.empty_like(total)
        one[0] = [float((x[most:] * x[most - lag : n - lag]).sum()) for lag in range(most + 1)]
        one[:, 0] = one[0]
        before, last = x[most - 1 :: -1][:most], x[n - 1 : n - 1 - most : -1]
        for i in range(most):
            one[i + 1, 1:] = one[i, :-1] + before[i] * before - last[i] * last
        total += one
    return total


def _over_time(residuals: Floats, rows: Rows, ready: Ready) -> Noise:
    """Find the memory of a noise of first order between uneven stamps [3], or none."""
    means = rows.means(residuals)
    n = len(means)

    def cost(log: float) -> float:
        noise = Noise(np.zeros(0), math.exp(log))
        new = whitened(residuals[:, None], rows, ready, noise)
        keeps = _keeps(rows, ready, noise.memory)
        return n * math.log(float(new[:, 0] @ new[:, 0]) / n) + float(np.log1p(-(keeps**2)).sum())

    bounds = (math.log(ready.step / 10), math.log(100 * ready.lasts))
    found = minimize_scalar(cost, bounds=bounds, method="bounded")
    white = n * math.log(float(means @ means) / n)
    if found.fun > white - 4.0:  # a parameter more must be worth it
        return WHITE
    return Noise(np.zeros(0), math.exp(float(found.x)))


def criterion(squares: float, samples: int, parameters: int) -> float:
    """Give the corrected Akaike criterion [2] of a sum of squares, n·ln(S/n) + 2·k·n/(n − k − 1); less is better."""
    spare = max(samples - parameters - 1, 1)
    return samples * math.log(max(squares, 1e-300) / samples) + 2.0 * parameters * samples / spare


def unevenness(rows: Rows, ready: Ready, noise: Noise) -> float:
    """Give what the criterion of uneven rows is less by, because their new part was made larger: Σ ln(1 − keeps²)."""
    return float(np.log1p(-(_keeps(rows, ready, noise.memory) ** 2)).sum()) if noise.memory > 0 else 0.0
