"""Tests of what a fit leaves over, against closed forms and values worked out by hand."""

import math

import numpy as np
import pytest
from scipy import stats

from levelbench.tuning.identify.residuals import against, correlations, ljung_box, runs, verdicts


def test_ljung_box_of_a_series_that_alternates():
    # r(k) = (−1)^k·(n − k)/n for +1, −1, …, n even: so Q = (n + 2)/n·Σ (n − k), a closed form
    n, lags = 20, 4
    series = np.tile([1.0, -1.0], n // 2)
    np.testing.assert_allclose(correlations(series, 4), [-0.95, 0.90, -0.85, 0.80])
    q, chance = ljung_box(series, lags)
    assert q == pytest.approx((n + 2) / n * (19 + 18 + 17 + 16))  # 77.0
    assert chance == pytest.approx(float(stats.chi2.sf(77.0, 4)), rel=1e-9)
    assert ljung_box(series, lags, fitted=1)[1] == pytest.approx(float(stats.chi2.sf(77.0, 3)), rel=1e-9)


def test_ljung_box_by_hand():
    # 1, 2, 3, 4: away from the mean −1.5, −0.5, 0.5, 1.5; r(1) = 1.25/5, r(2) = −1.5/5; Q = 4·6·(0.0625/3 + 0.09/2)
    q, _ = ljung_box(np.array([1.0, 2.0, 3.0, 4.0]), 2)
    assert q == pytest.approx(24 * (0.0625 / 3 + 0.09 / 2))


def test_quantile_of_tables():
    # χ² of 10 degrees of freedom is above 18.307 in 5 of 100 (printed tables)
    assert stats.chi2.sf(18.307, 10) == pytest.approx(0.05, abs=1e-5)


def test_noise_is_called_noise_as_often_as_it_should_be():
    rng = np.random.default_rng(0)
    alarms = sum(ljung_box(rng.normal(size=300), 20)[1] < 0.05 for _ in range(400))
    assert stats.binom.ppf(0.001, 400, 0.05) <= alarms <= stats.binom.ppf(0.999, 400, 0.05)


def test_runs_by_the_published_moments():
    # Wald & Wolfowitz (1940): of 10 and 10 signs, 11 runs are expected, variance 2·100·(200 − 20)/(400·19)
    signs = np.concatenate((np.ones(3), -np.ones(3), np.ones(3), -np.ones(3), np.ones(4), -np.ones(4)))
    count, chance = runs(signs)
    assert count == 6
    z = (6 - 11) / math.sqrt(2 * 100 * 180 / (400 * 19))
    assert chance == pytest.approx(2 * stats.norm.cdf(z), rel=1e-9)
    assert chance == pytest.approx(0.0216, abs=1e-4)


def test_a_left_over_answer_is_found_at_its_delay():
    rng = np.random.default_rng(1)
    driven = rng.normal(size=800)
    left = rng.normal(size=800)
    left[7:] += 0.4 * driven[:-7]
    _, chance, lag, r = against(left, driven, 20)
    assert lag == 7
    assert chance < 1e-6
    assert r == pytest.approx(0.4 / math.sqrt(1.16), abs=0.1)
    alarms = sum(against(rng.normal(size=300), np.cumsum(rng.normal(size=300)), 10)[1] < 0.05 for _ in range(300))
    assert stats.binom.ppf(0.001, 300, 0.05) <= alarms <= stats.binom.ppf(0.999, 300, 0.05)


def test_words_follow_the_chances():
    rng = np.random.default_rng(2)
    driven = rng.normal(size=500)
    good = verdicts(rng.normal(size=500), driven, 0, 2.0)
    assert all(one.passed for one in good)
    slow = np.convolve(rng.normal(size=500), np.ones(10), "same")
    slow[5:] += 3 * driven[:-5]
    whiteness, dynamics, signs = verdicts(slow, driven, 0, 2.0)
    assert not whiteness.passed
    assert not signs.passed
    assert "10 s later" in dynamics.words
    assert not dynamics.passed
