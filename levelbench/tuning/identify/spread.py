"""How surely each number of a fit is known: its spread, and with which others it is mixed up.

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), sections 9.2-9.4: the asymptotic
    covariance from the derivatives of independent rows (Fisher's information, were they normal).
[2] The same, section 9.4: the sandwich (J'J)⁻¹·J'ΩJ·(J'J)⁻¹ where what is left is coloured.
[3] D. A. Belsley, E. Kuh, R. E. Welsch, "Regression Diagnostics" (1980), chapter 3: condition number of scaled columns;
    above 30 some numbers can hardly be told from each other.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter
from scipy.special import stdtrit

Floats = NDArray[np.float64]

NONE: Floats = np.zeros(0)
HAZY = 30.0  # condition number above which numbers can hardly be told from each other [3]


@dataclass(frozen=True, eq=False)
class Spread:
    """How far off numbers may be [k] (standard error, own units), their correlations [k, k], and the condition number.

    `quantile` times the spread is half an interval of 95 %.
    """

    spread: Floats
    correlation: Floats
    condition: float
    quantile: float

    @property
    def half(self) -> Floats:
        """Half of each interval of 95 % [k]."""
        return self.quantile * self.spread


def spread_of(slopes: Floats, left: Floats, weights: Floats = NONE, *, wider: float = 1.0) -> Spread:
    """Work out how surely numbers are known, from derivatives [m, k] and what is left over [m].

    `weights`[p] say how what is left still hangs together from row to row, an autoregression that dies away: the
    spread is widened for it [2], never narrowed; and by a factor `wider`.
    """
    m, k = slopes.shape
    scale = np.maximum(np.linalg.norm(slopes, axis=0), 1e-300)
    scaled = slopes / scale
    _, sizes, turned = np.linalg.svd(scaled, full_matrices=False)
    sizes = np.maximum(sizes, 1e-9 * sizes[0])
    inverse = (turned.T / sizes**2) @ turned
    spare = max(m - k, 1)
    covariance = float(left @ left) / spare * inverse
    if len(weights):
        grown = inverse @ _together(scaled, left, weights) @ inverse
        grow = np.sqrt(np.maximum(np.diag(grown) / np.maximum(np.diag(covariance), 1e-300), 1.0))
        covariance = covariance * np.outer(grow, grow)
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread) if spread.all() else np.eye(k)
    return Spread(wider * spread / scale, correlation, float(sizes[0] / sizes[-1]), float(stdtrit(spare, 0.975)))


def _together(slopes: Floats, left: Floats, weights: Floats) -> Floats:
    """Give J'ΩJ where what is left hangs together by weights: the slopes, answered by the noise backwards in time."""
    whole = np.concatenate(([1.0], -weights))
    new = lfilter(whole, [1.0], left)[len(weights) :]
    answered = lfilter([1.0], whole, slopes[::-1], axis=0)
    variance = float(new @ new) / max(len(new) - slopes.shape[1] - len(weights), 1)
    return np.asarray(variance * (answered.T @ answered))
