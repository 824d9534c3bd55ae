"""The closed forms of alarms against published values, against chance, and against each other.

Values of false-alarm rate, missed-alarm rate and delay are those of normal noise of one σ about 0 in normal running and
about 2 with an excursion, the limit at 1.5. Sources stand in `levelbench.alarms.rates`; the papers' printed formulas
were not seen, so the values below come from the renewal argument and from chance (the abstracts were seen).
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from chance import comes, first_order, interval, slow_alarm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import lfilter
from scipy.stats import multivariate_normal, norm

from levelbench.alarms import rates
from levelbench.alarms.chain import Chain
from levelbench.rig import watching

LIMIT, ABNORMAL = 1.5, 2.0
P = rates.above(LIMIT)  # of a normal sample
P1 = rates.above(LIMIT - ABNORMAL)  # of an abnormal one
MANY = 1_000_000


def false_alarm_rate(p: float, on: int, off: int) -> float:
    """Without a dead band."""
    return rates.share_in_alarm(p, 1 - p, on, off)


def missed_alarm_rate(p: float, on: int, off: int) -> float:
    """Without a dead band."""
    return 1 - rates.share_in_alarm(p, 1 - p, on, off)


# Xu, Wang, Izadi & Chen (2012): (on, off) to FAR and MAR
DELAYS = {
    (1, 1): (None, 0.308538),
    (2, 1): (0.0044632, 0.52188),
    (3, 1): (None, 0.669398),
    (1, 3): (None, 0.0293714),
    (2, 2): (0.00920191, 0.204688),
    (3, 3): (0.000959454, 0.120734),
    (5, 5): (None, 0.0323857),
}


@pytest.mark.parametrize(("delays", "values"), DELAYS.items())
def test_delays_by_xu_and_others(delays: tuple[int, int], values: tuple[float | None, float | None]) -> None:
    false, missed = values
    if false is not None:
        assert false_alarm_rate(P, *delays) == pytest.approx(false, rel=1e-4)
    if missed is not None:
        assert missed_alarm_rate(P1, *delays) == pytest.approx(missed, rel=1e-4)


def test_the_false_alarm_rate_as_it_is_written_out() -> None:
    """FAR(n, m) = pⁿ (1 − qᵐ) q/[pⁿ (1 − qᵐ) q + qᵐ (1 − pⁿ) p], Xu and others (2012), value recomputed."""
    n, m, q = 3, 2, 1 - P
    over = P**n * (1 - q**m) * q
    written_out = over / (over + q**m * (1 - P**n) * P)
    assert false_alarm_rate(P, n, m) == pytest.approx(written_out, rel=1e-12)
    assert written_out == pytest.approx(0.00061749704173, rel=1e-10)


def test_detection_delay_by_adnan_and_others() -> None:
    """[1 − pⁿ − (1 − p) pⁿ]/[(1 − p) pⁿ] samples after the first abnormal one; Adnan and others (2011)."""
    assert rates.detection_delay(P1, 1) == pytest.approx(0.4462101, rel=1e-5)
    assert rates.detection_delay(P1, 5) == pytest.approx(16.26339, rel=1e-5)
    assert rates.detection_delay(P1, 3, P) == pytest.approx(5.457588, rel=1e-5)
    assert rates.detection_delay(P1, 5, P) == pytest.approx(16.15647, rel=1e-5)


def test_alarms_by_sample_from_renewal() -> None:
    assert rates.alarms_per_sample(P, 1 - P) == pytest.approx(0.062344, rel=1e-4)
    assert rates.alarms_per_sample(P, 1 - P, 3, 3) == pytest.approx(0.00027807, rel=1e-4)


@pytest.mark.parametrize(
    ("dead_band", "false", "missed", "rate"),
    [(0.5, 0.0735639, 0.186627, 0.0618926), (1, 0.0881048, 0.0881048, 0.0609212), (2, 0.177989, 0.00890055, 0.0549163)],
)
def test_dead_bands_by_adnan_and_others(dead_band: float, false: float, missed: float, rate: float) -> None:
    safe, safe_beyond = (1 - rates.above(LIMIT - dead_band - at) for at in (0, ABNORMAL))
    assert rates.share_in_alarm(P, safe) == pytest.approx(false, rel=1e-4)
    assert 1 - rates.share_in_alarm(P1, safe_beyond) == pytest.approx(missed, rel=1e-4)
    assert rates.alarms_per_sample(P, safe) == pytest.approx(rate, rel=1e-4)


def test_against_independent_noise_a_dead_band_hardly_helps_and_delays_do() -> None:
    """Two sigmas of dead band leave 88 % of the alarms; three samples of both delays leave less than a 200th part."""
    none = rates.alarms_per_sample(P, 1 - P)
    wide = rates.alarms_per_sample(P, 1 - rates.above(LIMIT - 2))
    assert 0.8 < wide / none < 1.0
    assert none / rates.alarms_per_sample(P, 1 - P, 3, 3) == pytest.approx(224.2, rel=1e-3)
    assert rates.share_in_alarm(P, 1 - rates.above(LIMIT - 2)) > 2 * P


def test_rice() -> None:
    """White noise through 1/(τ s + 1)² has √(m₂/m₀) = 1/τ; Rice (1944): exp(−u²/2)/(2 π τ), here τ = 2 s."""
    assert rates.rice(0, 1 / 2) == pytest.approx(0.0795774715459, rel=1e-10)
    assert rates.rice(1, 1 / 2) == pytest.approx(0.048266176315, rel=1e-10)
    assert rates.rice(2, 1 / 2) == pytest.approx(0.0107696396509, rel=1e-10)


def test_rice_is_what_fine_sampling_of_a_double_lag_comes_to() -> None:
    """Two lags of τ leave the correlation (1 + h/τ) exp(−h/τ); at τ/100 the sampled rate is Rice's within 2.5 %."""
    tau, step = 2.0, 0.02
    correlation = (1 + step / tau) * math.exp(-step / tau)
    pole = math.exp(-step / tau)
    noise = lfilter([1.0], [1.0, -2 * pole, pole**2], np.random.default_rng(5).standard_normal(2_000_000))[20_000:]
    noise = noise / noise.std()
    for limit in (0.0, 1.0, 2.0):
        sampled = rates.crossings_per_sample(limit, correlation) / step
        assert sampled == pytest.approx(rates.rice(limit, 1 / tau), rel=0.025)
        low, high = interval((noise[:-1] < limit) & (noise[1:] >= limit))
        assert low / step * 0.975 <= rates.rice(limit, 1 / tau) <= high / step * 1.025


def test_a_single_lag_has_no_finite_rate() -> None:
    """Halving the time between samples raises the crossings by √2, again and again."""
    by_time = [rates.crossings_per_sample(0, math.exp(-step / 2)) / step for step in (0.02, 0.01, 0.005, 0.0025)]
    for coarse, fine in pairwise(by_time):
        assert fine / coarse == pytest.approx(math.sqrt(2), rel=0.002)


@pytest.mark.parametrize(
    ("correlation", "limit", "rate"), [(0.9, 0, 0.0717831), (0.9, 2, 0.00938888), (0.5, 1, 0.0961412)]
)
def test_crossings_of_sampled_noise(correlation: float, limit: float, rate: float) -> None:
    """Φ(u) − Φ₂(u, u; ρ), also by the general-purpose library's own bivariate normal, and acos(ρ)/(2π) at u = 0."""
    both = multivariate_normal([0, 0], [[1, correlation], [correlation, 1]]).cdf([limit, limit])
    found = rates.crossings_per_sample(limit, correlation)
    assert found == pytest.approx(rate, rel=1e-4)
    assert found == pytest.approx(float(norm.cdf(limit)) - float(both), rel=1e-4)
    assert rates.crossings_per_sample(0, correlation) == pytest.approx(math.acos(correlation) / (2 * math.pi), rel=1e-9)


def test_far_away_a_rate_is_nothing_and_never_breaks() -> None:
    assert rates.share_in_alarm(rates.above(45), 1.0, 5, 5) == 0.0
    assert rates.share_in_alarm(1.0, 0.0, 5, 5) == 1.0
    assert math.isinf(rates.detection_delay(rates.above(9), 600))


CASES = [(1, 1, 0.0), (3, 3, 0.0), (3, 2, 1.0), (1, 1, 2.0), (5, 4, 0.5)]


@pytest.mark.parametrize(("on", "off", "dead_band"), CASES)
def test_chance_agrees_with_the_closed_forms(on: int, off: int, dead_band: float) -> None:
    """False-alarm share, missed-alarm share and alarms by sample lie in the 99 % interval of a million samples."""
    noise = np.random.default_rng(12).standard_normal(MANY)
    for limit, at in ((1.0, 0.0), (LIMIT, ABNORMAL)):
        beyond, safe = rates.above(limit - at), 1 - rates.above(limit - dead_band - at)
        seen = watching.states(noise, limit - at, dead_band, (on, off))
        low, high = interval(seen.astype(np.float64))
        assert low <= rates.share_in_alarm(beyond, safe, on, off) <= high
        low, high = interval(comes(seen))
        assert low <= rates.alarms_per_sample(beyond, safe, on, off) <= high


def test_the_interval_of_chance_would_show_a_wrong_formula() -> None:
    """Xu's share with the delays exchanged lies outside the same interval, so the check above can fail."""
    noise = np.random.default_rng(12).standard_normal(MANY)
    p = rates.above(1.0)
    low, high = interval(watching.states(noise, 1.0, 0.0, (3, 2)).astype(np.float64))
    assert low <= false_alarm_rate(p, 3, 2) <= high
    assert not low <= false_alarm_rate(p, 2, 3) <= high


@pytest.mark.parametrize("on", [1, 3, 5])
def test_chance_agrees_with_the_detection_delay(on: int) -> None:
    noise = np.random.default_rng(3).standard_normal(MANY)
    starts = np.arange(0, MANY - 400, 400)
    late = watching.passages(noise, starts, (ABNORMAL - LIMIT, 1e-12, 400), on) - (ABNORMAL - LIMIT) / 1e-12
    found = late[np.isfinite(late)]
    assert len(found) > 0.999 * len(starts)
    low, high = interval(found)
    assert low <= rates.detection_delay(P1, on) <= high


# --- noise of which each sample follows from the one before ---------------------------------------------------------


@pytest.mark.parametrize(("on", "off", "dead_band"), [*CASES, (8, 3, 1.5)])
def test_the_chain_of_independent_samples_is_the_closed_form(on: int, off: int, dead_band: float) -> None:
    chain = Chain(0.0, (LIMIT, LIMIT - dead_band, LIMIT - ABNORMAL))
    share, rate = chain.steady(LIMIT, dead_band, on, off)
    safe = 1 - rates.above(LIMIT - dead_band)
    assert share == pytest.approx(rates.share_in_alarm(P, safe, on, off), rel=1e-8)
    assert rate == pytest.approx(rates.alarms_per_sample(P, safe, on, off), rel=1e-8)
    assert chain.delay(LIMIT - ABNORMAL, on) == pytest.approx(rates.detection_delay(P1, on), rel=1e-8)


@pytest.mark.parametrize(("correlation", "limit"), [(0.5, 1.0), (0.9, 0.0), (0.9, 2.0), (0.99, 1.5)])
def test_the_chain_without_delays_crosses_as_the_bivariate_normal_says(correlation: float, limit: float) -> None:
    share, rate = Chain(correlation, (limit,)).steady(limit, 0.0)
    assert rate == pytest.approx(rates.crossings_per_sample(limit, correlation), rel=1e-8)
    assert share == pytest.approx(rates.above(limit), rel=1e-8)


@pytest.mark.parametrize(("on", "off", "dead_band"), [(1, 1, 1.0), (5, 8, 0.5), (20, 10, 0.0)])
def test_chance_agrees_with_the_chain(on: int, off: int, dead_band: float) -> None:
    correlation, limit = 0.9, 0.8
    chain = Chain(correlation, (limit, limit - dead_band, limit - ABNORMAL))
    seen = watching.states(first_order(correlation, 2 * MANY, 7), limit, dead_band, (on, off))
    share, rate = chain.steady(limit, dead_band, on, off)
    low, high = interval(seen.astype(np.float64))
    assert low <= share <= high
    low, high = interval(comes(seen))
    assert low <= rate <= high


# --- the alarm's logic ----------------------------------------------------------------------------------------------

rows = st.lists(st.sampled_from([-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0]), min_size=1, max_size=80)


@settings(max_examples=150, deadline=None)
@given(values=rows, dead_band=st.sampled_from([0.0, 0.5, 1.0]), on=st.integers(1, 5), off=st.integers(1, 5))
def test_the_compiled_logic_is_the_plain_one(values: list[float], dead_band: float, on: int, off: int) -> None:
    row = np.array(values)
    seen = watching.states(row, 0.0, dead_band, (on, off))
    assert seen.tolist() == slow_alarm(row, 0.0, dead_band, on, off).tolist()
    came, stood = watching.resting(row, 0.0, dead_band, (on, off))
    assert (came, stood) == (int(comes(seen).sum()), int(seen.sum()))
    one = watching.crossings(row, np.zeros(1, np.int64), (0.0, 0.0, len(row)), dead_band, (on, off))
    assert one[0] == came


@pytest.mark.parametrize(("dead_band", "on", "off"), [(0.0, 1, 1), (2.0, 1, 1), (0.0, 6, 3), (1.0, 2, 2)])
def test_what_is_expected_of_a_slow_crossing_is_what_chance_gives(dead_band: float, on: int, off: int) -> None:
    """Independent samples: the chain of counts against many crossings."""
    slope, samples = 0.02, 600
    place = -6.0 + slope * np.arange(samples)
    beyond = norm.sf(-place)
    safe = norm.cdf(-dead_band - place)
    noise = np.random.default_rng(4).standard_normal(MANY)
    starts = np.arange(0, MANY - samples, samples)
    counted = watching.crossings(noise, starts, (-6.0, slope, samples), dead_band, (on, off))
    low, high = interval(counted.astype(np.float64), 40)
    assert low <= watching.expected(beyond, safe, (on, off)) <= high
