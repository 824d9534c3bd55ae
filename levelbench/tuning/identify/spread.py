"""How surely each number of a fit is known: its spread, and with which others it is mixed up.

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), sections 9.2-9.4: the asymptotic
    covariance from the derivatives of independent rows (Fisher's information, were they normal).
[2] W. K. Newey, K. D. West, Econometrica 55 (1987) 703-708: rows that still hang together.
[3] D. A. Belsley, E. Kuh, R. E. Welsch, "Regression Diagnostics" (1980), chapter 3: condition number of scaled columns;
    above 30 some numbers can hardly be told from each other.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

Floats = NDArray[np.float64]

HAZY = 30.0  # condition number above which numbers can hardly be told from each other [3]


@dataclass(frozen=True, eq=False)
class Spread:
    """How far off numbers may be [k] (standard error, own units), their correlations [k, k], and the condition number.

    `quantile` times the spread is half an interval of 95 %; `shared` [k] is the share of each column that the others
    make up together, 0 to 1.
    """

    spread: Floats
    correlation: Floats
    condition: float
    quantile: float
    shared: Floats

    @property
    def half(self) -> Floats:
        """Half of each interval of 95 % [k]."""
        return self.quantile * self.spread


def spread_of(slopes: Floats, left: Floats, *, hangs_together: bool, wider: float = 1.0) -> Spread:
    """Work out how surely numbers are known, from derivatives [m, k] and what is left over [m] of independent rows.

    When rows still hang together the spread is widened for it [2], never narrowed; and by a factor `wider`.
    """
    m, k = slopes.shape
    scale = np.maximum(np.linalg.norm(slopes, axis=0), 1e-300)
    scaled = slopes / scale
    _, sizes, turned = np.linalg.svd(scaled, full_matrices=False)
    sizes = np.maximum(sizes, 1e-9 * sizes[0])
    inverse = (turned.T / sizes**2) @ turned
    spare = max(m - k, 1)
    variance = float(left @ left) / spare
    covariance = variance * inverse
    if hangs_together:
        grown = inverse @ _long_run(scaled * left[:, None]) @ inverse
        grow = np.sqrt(np.maximum(np.diag(grown) / np.maximum(np.diag(covariance), 1e-300), 1.0))
        covariance = covariance * np.outer(grow, grow)
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread) if spread.all() else np.eye(k)
    return Spread(
        wider * spread / scale,
        correlation,
        float(sizes[0] / sizes[-1]),
        float(stdtrit(spare, 0.975)),
        np.clip(1.0 - 1.0 / np.maximum(np.diag(inverse), 1.0), 0.0, 1.0),
    )


def _long_run(scores: Floats) -> Floats:
    """Give the covariance of a sum of scores [m, k] that hang together, over the lags that matter [2]."""
    m = len(scores)
    most = min(int(4 * (m / 100) ** (2 / 9)) + int(m**0.25), m // 4)
    total = scores.T @ scores
    for lag in range(1, most + 1):
        one = scores[lag:].T @ scores[:-lag]
        total += (1 - lag / (most + 1)) * (one + one.T)
    return np.asarray(total)
