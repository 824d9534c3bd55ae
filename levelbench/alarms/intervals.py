"""How sure a count or a share is: the intervals of Garwood and of Wilson."""

import math

from scipy.special import gammaincinv, ndtri  # much sooner there than scipy.stats

SURE = 0.95
GARWOOD = "95 % interval of a Poisson count: F. Garwood, Biometrika 28 (1936) 437-442"
WIDENED = (
    f"{GARWOOD}; widened by √(variance/mean) of the shifts where they differ more than that: P. McCullagh & "
    "J. A. Nelder, Generalized Linear Models (1989), section 6.2"
)
WILSON = "95 % interval of a share: E. B. Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212"


def of_count(count: int, sure: float = SURE) -> tuple[float, float]:
    """Give the interval in which the mean of a Poisson count lies, by Garwood's exact limits."""
    out = (1.0 - sure) / 2.0
    low = float(gammaincinv(count, out)) if count else 0.0
    return low, float(gammaincinv(count + 1, 1.0 - out))


def of_sum(count: int, dispersion: float, sure: float = SURE) -> tuple[float, float]:
    """Give the interval of a sum of counts whose variance is `dispersion` times their mean; 1 is Poisson's.

    Less than Poisson's spread is not made use of: it would be luck.
    """
    low, high = of_count(count, sure)
    wider = math.sqrt(max(dispersion, 1.0))
    return max(count - (count - low) * wider, 0.0), count + (high - count) * wider


def of_share(count: int, among: int, sure: float = SURE) -> tuple[float, float]:
    """Give the interval of a share, `count` of `among`, by Wilson's score; all of it when there is nothing to count."""
    if among == 0:
        return 0.0, 1.0
    z, share = float(ndtri(0.5 + sure / 2.0)), count / among
    middle = (share + z * z / (2 * among)) / (1 + z * z / among)
    half = z / (1 + z * z / among) * math.sqrt(share * (1 - share) / among + z * z / (4 * among * among))
    low, high = max(middle - half, 0.0), min(middle + half, 1.0)
    return (0.0 if count == 0 else low), (1.0 if count == among else high)
