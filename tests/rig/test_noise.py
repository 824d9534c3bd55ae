"""Chance: the counter-based generator against its known answers, and the noise that is made of it."""

import numpy as np
import pytest
from rigs import AREA, BY_HAND, PLAIN, build, go
from scipy import stats

from levelbench.project import Value
from levelbench.rig import Action, kernel

NOISY: dict[str, Value] = BY_HAND | {
    "sensor.kind": "plain 4-20 mA",
    "sensor.signal_span": ["0 m", "0.5 m"],
    "sensor.noise": "1 mm",
}
MILLIMETRE = 0.001 * AREA  # [m3] of volume in that tank
ONES = 0xFFFFFFFF


@pytest.mark.parametrize(
    ("counter", "stream", "key", "answer"),
    [
        (0, 0, 0, (0xFF1DAE59, 0x6CD10DF2)),
        (ONES, ONES, ONES, (0x2C3F628B, 0xAB4FD7AD)),
        (0x243F6A88, 0x85A308D3, 0x13198A2E, (0xDD7CE038, 0xF62A4C12)),
    ],
)
def test_known_answers(counter: int, stream: int, key: int, answer: tuple[int, int]) -> None:
    """Philox 2x32 with ten rounds: the known-answer vectors of Salmon et al. (SC11, 2011), values from memory."""
    assert kernel.philox(counter, stream, key) == answer


def test_normal_numbers_are_normal() -> None:
    """Kolmogorov-Smirnov, moments, and tails of 100 000 numbers against the standard normal (scipy.stats)."""
    numbers = np.array([kernel.normal(at, 1, 7) for at in range(100_000)])
    assert stats.kstest(numbers, "norm").pvalue > 1e-3
    assert numbers.mean() == pytest.approx(0, abs=4 / np.sqrt(len(numbers)))
    assert numbers.std() == pytest.approx(1, abs=4 / np.sqrt(2 * len(numbers)))
    assert stats.kurtosis(numbers) == pytest.approx(0, abs=4 * np.sqrt(24 / len(numbers)))
    assert 3.8 < np.abs(numbers).max() < 6.0


def test_streams_and_seeds_do_not_follow_each_other() -> None:
    """No correlation between neighbouring seeds, streams or counters beyond chance (4 sigma)."""
    base = np.array([kernel.normal(at, 1, 7) for at in range(20_000)])
    others = (
        np.array([kernel.normal(at, 1, 8) for at in range(20_000)]),
        np.array([kernel.normal(at, 2, 7) for at in range(20_000)]),
        np.roll(base, 1),
    )
    for other in others:
        assert abs(np.corrcoef(base, other)[0, 1]) < 4 / np.sqrt(20_000)


def test_noise_of_a_reading() -> None:
    """Mean, standard deviation and whiteness of the reading are as described (scipy.stats)."""
    recording = go(build(PLAIN, NOISY), 5000, seed=3)
    error = (recording["pv"] - recording["volume"])[1:] / MILLIMETRE
    assert stats.kstest(error, "norm").pvalue > 1e-3
    assert error.mean() == pytest.approx(0, abs=4 / np.sqrt(len(error)))
    assert error.std() == pytest.approx(1, abs=4 / np.sqrt(2 * len(error)))
    for lag in (1, 2, 5, 10):
        assert abs(np.corrcoef(error[:-lag], error[lag:])[0, 1]) < 4 / np.sqrt(len(error))


def test_averaging_takes_the_root_of_its_length_from_the_noise() -> None:
    """Standard error of a mean: 1/√16; neighbours share 15 of 16 readings."""
    recording = go(build(PLAIN, NOISY, {"sensor.averaging": 16}), 20_000)
    error = (recording["pv"] - recording["volume"])[200:] / MILLIMETRE
    assert error.std() == pytest.approx(0.25, rel=0.03)
    assert np.corrcoef(error[:-1], error[1:])[0, 1] == pytest.approx(15 / 16, abs=0.01)
    assert abs(np.corrcoef(error[:-16], error[16:])[0, 1]) < 0.05


def test_ripple_comes_with_the_filling_only() -> None:
    """Standard deviations of independent causes add in squares; the ripple follows the pump's flow."""
    rippling: dict[str, Value] = {
        "sensor.noise": "0.3 mm",
        "sensor.ripple": "2 mm",
        "start.tank_volume": "2 l",
        "drain.kind": "forced draw",
        "drain.goes_to": "reservoir",
    }
    rig = build(PLAIN, NOISY, rippling)
    full = 12e-3 / 60
    actions = [Action(500, "manual output", 1.0), Action(500, "draw", full)]
    actions += [Action(1000, "manual output", 0.5), Action(1000, "draw", full / 2)]
    recording = go(rig, 1500, actions)
    error = (recording["pv"] - recording["volume"]) / MILLIMETRE
    assert error[10:5000].std() == pytest.approx(0.3, rel=0.05)
    assert error[5010:10_000].std() == pytest.approx(np.hypot(0.3, 2.0), rel=0.05)
    assert error[10_010:].std() == pytest.approx(np.hypot(0.3, 1.0), rel=0.05)


def test_seeds_give_different_noise_of_one_kind() -> None:
    one, other = (go(build(PLAIN, NOISY), 500, seed=seed)["pv"][1:] for seed in (1, 2))
    assert not np.array_equal(one, other)
    assert stats.ks_2samp(one, other).pvalue > 1e-3
    assert abs(np.corrcoef(one, other)[0, 1]) < 4 / np.sqrt(len(one))
