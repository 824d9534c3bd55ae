"""How sure a count or a share is: against printed tables, and against chance itself."""

import numpy as np
import pytest
from scipy.stats import nbinom, poisson

from levelbench.alarms.intervals import of_count, of_share, of_sum


@pytest.mark.parametrize(
    ("count", "low", "high"), [(0, 0.0, 3.689), (1, 0.0253, 5.572), (5, 1.623, 11.668), (10, 4.795, 18.390)]
)
def test_poisson_limits_are_those_of_the_table(count: int, low: float, high: float) -> None:
    """E. S. Pearson & H. O. Hartley, Biometrika Tables for Statisticians 1, table 40, 95 % (quoted from memory)."""
    assert of_count(count) == pytest.approx((low, high), abs=6e-4)


@pytest.mark.parametrize(
    ("count", "among", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_shares_are_those_of_newcombe(count: int, among: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (quoted from memory)."""
    assert of_share(count, among) == pytest.approx((low, high), abs=6e-5)


def test_nothing_counted_says_nothing() -> None:
    assert of_share(0, 0) == (0.0, 1.0)
    assert of_share(7, 7)[1] == 1.0


def test_garwood_covers_in_at_least_95_of_100() -> None:
    for mean in (0.3, 2.0, 11.0):
        counts = np.arange(200)
        covers = np.array([low <= mean <= high for low, high in map(of_count, counts.tolist())])
        assert poisson.pmf(counts, mean)[covers].sum() >= 0.95


def test_counts_that_differ_more_than_poisson_get_a_wider_interval() -> None:
    """Forty shifts of a negative binomial of mean 5 and variance 30: Poisson's interval covers the mean too seldom."""
    rng, mean, size = np.random.default_rng(1), 5.0, 1.0
    draws = nbinom.rvs(size, size / (size + mean), size=(400, 40), random_state=rng)
    inside = {"poisson": 0, "widened": 0}
    for counts in draws:
        total, dispersion = int(counts.sum()), float(counts.var(ddof=1) / counts.mean())
        for name, spread in (("poisson", 1.0), ("widened", dispersion)):
            low, high = of_sum(total, spread)
            inside[name] += low <= 40 * mean <= high
    assert inside["poisson"] / 400 < 0.75
    assert 0.90 < inside["widened"] / 400 < 0.99


def test_less_than_poissons_spread_is_not_made_use_of() -> None:
    assert of_sum(12, 0.2) == of_count(12)
