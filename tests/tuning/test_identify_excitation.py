"""What a record can tell, and whether the experiment that is advised really tells it."""

import numpy as np
import pytest
from random_records import Rig, record

from levelbench.tuning.identify.excitation import Bump, bump_that_tells
from levelbench.tuning.identify.simple import find, fit
from levelbench.tuning.identify.spread import spread_of


def dull(rig, seed, size=0.002, noise=0.02):
    """Make a record in which hardly anything happens."""
    time = np.arange(0.0, 240.0, 1.0)
    output = np.where((time > 60) & (time < 90), 0.4 + size, 0.4)
    pv = rig.run(time, output, begin=3.0)[0] + np.random.default_rng(seed).normal(0, noise, 240)
    return record(time, pv, output)


def after(rig, bump, seed, noise=0.02):
    """Make the record of a bump."""
    time = np.arange(0.0, 2.4 * bump.length, 1.0)
    begin = 0.1 * bump.length
    output = np.where((time > begin) & (time < begin + bump.length), 0.4 + bump.size, 0.4)
    pv = rig.run(time, output, begin=3.0)[0] + np.random.default_rng(seed).normal(0, noise, len(time))
    return record(time, pv, output)


def test_a_dull_record_says_which_number_it_can_not_tell():
    found = fit(dull(Rig(0.5, 6.0), 0), "integrating")
    told = {one.figure.key: one.told_apart for one in found.estimates}
    assert not told["fit.dead_time"]
    assert any("not lively enough" in one and "dead time" in one for one in found.warnings)
    poor = next(one for one in found.estimates if one.figure.key == "fit.dead_time")
    assert "can't tell" in poor.words
    assert "What would" in poor.words


@pytest.mark.parametrize("seed", range(4))
def test_the_advised_bump_tells_every_number_to_a_tenth(seed):
    rig = Rig(0.5, 6.0)
    bump = bump_that_tells(find(dull(rig, seed, size=0.01, noise=0.02), "integrating"))
    assert isinstance(bump, Bump)
    found = {one.figure.key: one for one in fit(after(rig, bump, 10 + seed), "integrating").estimates}
    assert all(one.told_apart for one in found.values())
    slope = found["fit.slope"]
    assert (slope.high - slope.low) / 2 < 0.15 * slope.figure.si  # a tenth, were the guess of the rig exact
    assert bump.moves == pytest.approx(0.5 * bump.size * bump.length, rel=0.5)


def test_a_larger_bump_than_needed_is_not_asked_for():
    lively = find(dull(Rig(0.5, 6.0), 5, size=0.1, noise=0.02), "integrating")
    quiet = find(dull(Rig(0.5, 6.0), 5, size=0.1, noise=0.002), "integrating")
    assert bump_that_tells(quiet).size <= bump_that_tells(lively).size


def test_spread_is_that_of_a_straight_line():
    # closed form: slope of n equally spaced samples has variance 12·σ²/(T²·n·(n² − 1))
    n, step = 11, 2.0
    columns = np.column_stack((np.ones(n), step * np.arange(n)))
    left = np.array([1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 0.0])
    known = spread_of(columns, left)
    variance = left @ left / (n - 2)
    assert known.spread[1] ** 2 == pytest.approx(12 * variance / (step**2 * n * (n**2 - 1)))
    assert known.quantile == pytest.approx(2.262, abs=5e-4)  # Student's t, 9 degrees of freedom (printed tables)


def test_numbers_that_are_mixed_up_are_seen():
    time = np.linspace(0, 1, 50)
    known = spread_of(np.column_stack((time, time + 1e-3 * np.sin(9 * time))), np.ones(50))
    assert known.condition > 30
    assert known.correlation[0, 1] < -0.99


@pytest.mark.parametrize(("step", "warned"), [(1.0, False), (4.0, True)])
def test_a_dead_time_between_two_samples_is_warned_of(step, warned):
    time = np.arange(0.0, 600.0, step)
    output = np.where(time % 200 < 100, 0.3, 0.6)
    pv = Rig(0.02, 5.0).run(time, output)[0] + np.random.default_rng(3).normal(0, 0.01, len(time))
    found = fit(record(time, pv, output), "integrating")
    assert any("hardly longer" in one for one in found.warnings) == warned
