"""Which model a record deserves: judged by a part that was held out."""

import numpy as np
import pytest
from random_records import Rig, record

from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.every import foretold_by, weigh

BOTH = ("integrating", "first-order")


def bumped(rig, seed, begin, count=700):
    """Make a record of a rig under bumps up and down."""
    time = np.arange(0.0, float(count))
    output = 0.3 + 0.1 * np.sign(np.sin(2 * np.pi * time / 170 + 0.4)) * (np.sin(time / 97) > -0.4)
    noise = np.random.default_rng(seed).normal(0, 0.005, count)
    return record(time, rig.run(time, output, begin=begin)[0] + noise, output)


@pytest.mark.parametrize("seed", range(3))
def test_each_record_gets_the_model_that_made_it(seed):
    tank = weigh(bumped(Rig(0.01, 4.0, 0.0, -0.003), seed, 3.0), BOTH)
    assert tank.fits[tank.taken].model == "integrating"
    bends = weigh(bumped(Rig(3.0, 4.0, 40.0, 1.0), seed, 1.9), BOTH)
    assert bends.fits[bends.taken].model == "first-order"
    assert "strays least" in bends.words
    assert bends.foretold[0].si > 3 * bends.foretold[1].si


def test_error_of_what_was_held_out_is_that_of_the_noise_for_the_right_model():
    # simulated freely with the true process only the noise is left over: its standard deviation, 0.005
    error = foretold_by(bumped(Rig(3.0, 4.0, 40.0, 1.0), 7, 1.9), "first-order")
    assert error.si == pytest.approx(0.005, rel=0.15)


def test_nothing_of_the_held_out_part_reaches_the_fit():
    kept = bumped(Rig(3.0, 4.0, 40.0, 1.0), 8, 1.9)
    other = kept.pv.copy()
    other[-200:] += 1.0  # in the last 30 %: 210 samples
    changed = record(kept.time, other, kept.output)
    first, second = (foretold_by(one, "first-order").si for one in (kept, changed))
    assert second == pytest.approx(np.sqrt(first**2 + 200 / 210), rel=0.02)


def test_a_model_that_can_not_be_fitted_is_named_and_the_others_go_on():
    time = np.arange(50.0)
    output = np.where(time < 20, 0.3, 0.5)
    short = record(time, Rig(0.01, 4.0).run(time, output)[0] + np.random.default_rng(1).normal(0, 1e-3, 50), output)
    found = weigh(short, BOTH)
    assert found.foretold == (None, None)
    assert "too short" in found.words
    still = record(short.time, short.pv, np.full(50, 0.3))
    with pytest.raises(FitError, match="stays the same"):
        weigh(still, BOTH)


def test_weighing_can_be_stopped_and_says_how_far_it_is():
    seen = []
    kept = bumped(Rig(0.01, 4.0), 2, 3.0)
    weigh(kept, BOTH, progress=lambda share: seen.append(share) or True)
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0)
    with pytest.raises(Cancelled):
        weigh(kept, BOTH, progress=lambda share: share < 0.3)
