"""Before and after on the same seeds: the statistics against a reference library, and what must hold of any proof.

Sources: Student, Biometrika 6 (1908), by scipy's paired test and the printed table (t of 97.5 % with 7 degrees of
freedom: 2.365, with 11: 2.201); python-control for the margins.
"""

import control
import numpy as np
import pytest
from scipy import stats

from levelbench.project import Project, edit, edit_many, load, sample
from levelbench.project.as_found import as_found_from
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.errors import Cancelled
from levelbench.tuning.doubt import CORNERS, Doubt
from levelbench.tuning.loop import loop_model, margins
from levelbench.tuning.paired import paired
from levelbench.tuning.prediction import predict
from levelbench.tuning.proof import SEEDS, Proof, as_found, proof_of, prove, settings_typed, with_settings

from .plain_rig import plain

FEW = (1, 2, 3, 4)
FOUND = {"gain": "113 %/gal", "integral": "22 s", "set_point_weight": "0.8", "pv_filter": "1 s"}


@pytest.fixture(scope="module")
def weak() -> Rig:
    return assemble(edit(load(sample("seedling_house")), "loop_settings.gain", "113 %/gal"))


@pytest.fixture(scope="module")
def proof(weak: Rig, seedling: Rig) -> Proof:
    return prove(weak, seedling, ("as found", "as it is now"), seeds=FEW)


# --- the statistics --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [2, 8, 12])
def test_interval_is_that_of_the_paired_t_test(count: int) -> None:
    chance = np.random.default_rng(count)
    before = chance.normal(5.0, 1.0, count)
    after = before + chance.normal(-0.3, 0.2, count)
    low, high = stats.ttest_rel(after, before).confidence_interval(0.95)
    found = paired(before.tolist(), after.tolist())
    assert found.mean - found.half == pytest.approx(low, rel=1e-9)
    assert found.mean + found.half == pytest.approx(high, rel=1e-9)


@pytest.mark.parametrize(("count", "t"), [(8, 2.365), (12, 2.201)])
def test_interval_uses_the_printed_table(count: int, t: float) -> None:
    after = [float(number) for number in range(count)]
    found = paired([0.0] * count, after)
    assert found.half == pytest.approx(t * np.std(after, ddof=1) / count**0.5, rel=3e-4)


def test_interval_holds_the_truth_as_often_as_it_says() -> None:
    chance, held = np.random.default_rng(7), 0
    for _ in range(2000):
        before = chance.normal(0.0, 1.0, 8)
        found = paired(before.tolist(), (before + chance.normal(0.5, 1.0, 8)).tolist())
        held += abs(found.mean - 0.5) <= found.half
    assert 0.935 < held / 2000 < 0.965


# --- a proof ---------------------------------------------------------------------------------------------------------


def test_swapping_before_and_after_flips_every_sign(weak: Rig, seedling: Rig, proof: Proof) -> None:
    other = prove(seedling, weak, seeds=FEW)
    flipped = {"less": "more", "more": "less", "same": "same", "open": "open", "never": "never"}
    assert {one.verdict for one in proof.lines} >= {"less", "more"}
    for one, two in zip(proof.lines, other.lines, strict=True):
        assert one.difference is not None
        assert two.difference is not None
        assert two.difference.si == -one.difference.si
        assert (two.interval, two.verdict) == (one.interval, flipped[one.verdict])
        assert (two.before.si, two.after.si) == (one.after.si, one.before.si)


def test_identical_settings_give_exactly_nothing_and_say_so(seedling: Rig) -> None:
    found = prove(seedling, seedling, seeds=FEW)
    assert found.same
    assert all(one.difference is not None and one.difference.si == 0.0 for one in found.lines)
    assert all(one.interval is not None and one.interval.si == 0.0 for one in found.lines)
    assert "the same settings: every difference is exactly 0" in found.verdict
    for was, now in zip(found.before.traces, found.after.traces, strict=True):
        assert np.array_equal(was.volume, now.volume)


def test_every_run_is_the_predictions_own(weak: Rig, seedling: Rig, proof: Proof) -> None:
    """The table's mean is the mean of `predict` on each seed, with the rest that the slower of both needs."""
    alone = [predict(seedling, seed=seed).settling.si for seed in FEW]
    line = next(one for one in proof.lines if one.key == "settling")
    assert line.after.si == pytest.approx(np.mean(alone), abs=seedling.scan)
    assert proof.seeds == FEW
    assert [one.key for one in proof.after.traces] == ["step", "load", "shut"]
    assert proof.after.traces[0].volume.shape[0] == len(FEW)


def test_the_same_seeds_tell_more_than_others_would(weak: Rig, proof: Proof) -> None:
    """Common random numbers: a small change is told apart that different seeds drown in noise."""
    gain = float(weak.panel[13])
    panel = weak.panel.copy()
    panel[13] = 1.002 * gain
    near = Rig(weak.project, weak.strapping, weak.params, panel)
    alike = prove(weak, near, seeds=FEW)
    line = next(one for one in alike.lines if one.key == "overshoot")
    others = [predict(near, seed=seed + 50).overshoot.si for seed in FEW]
    apart = paired([predict(weak, seed=seed).overshoot.si for seed in FEW], others)
    assert line.interval is not None
    assert line.interval.si < 0.3 * apart.half


def test_what_never_comes_back_is_counted_not_averaged() -> None:
    """Without integral action a load leaves an offset (any book on control)."""
    found = prove(plain(), plain(loop_settings__integral="off"), seeds=(1, 2))
    line = next(one for one in found.lines if one.key == "recovery")
    assert (line.verdict, line.difference) == ("never", None)
    assert line.words == "never in 0 of 2 runs before, in 2 of 2 after"
    assert "Not to be compared: recovery after a load step" in found.verdict


def test_a_difference_too_small_to_be_shown_says_nothing(weak: Rig) -> None:
    """The same noise cancels so well that a millionth of the gain is told apart, which is of no use to anybody."""
    panel = weak.panel.copy()
    panel[13] *= 1 + 1e-6
    found = prove(weak, Rig(weak.project, weak.strapping, weak.params, panel), seeds=FEW)
    assert {one.verdict for one in found.lines} <= {"open", "same"}
    assert not found.same
    assert "Nothing is better" in found.verdict


@pytest.mark.parametrize("doubt", CORNERS)
def test_the_least_margins_are_those_of_the_worst_corner(proof: Proof, seedling: Rig, doubt: Doubt) -> None:
    """The gain margin of each corner by python-control, dead time by a Padé approximation of the tenth order."""
    model, one = loop_model(seedling), margins(seedling)
    settings = proof.after.known.settings
    s = control.tf("s")
    loop = model.slope.si * doubt.flow * settings.gain * (1 + 1 / (settings.integral_time * s)) / s
    for lag in model.lags:
        loop = loop / (lag * doubt.delay * s + 1)
    delay = control.tf(*control.pade(model.dead_time * doubt.delay, 10))
    gain, phase, _, _ = control.margin(loop * delay)
    least = {each.key: each.si for each in proof.after.least}
    assert least["proof.least.gain"] <= gain * 1.001
    assert least["proof.least.phase"] <= phase + 0.1
    assert least["proof.least.gain"] < one.gain.si
    if doubt == Doubt(1.1, 1.25):
        assert least["proof.least.gain"] == pytest.approx(gain, rel=1e-3)


def test_it_can_be_stopped(weak: Rig, seedling: Rig) -> None:
    with pytest.raises(Cancelled):
        prove(weak, seedling, progress=lambda share: share < 0.3, seeds=FEW)


# --- which settings --------------------------------------------------------------------------------------------------


@pytest.fixture
def noted() -> Project:
    return edit_many(load(sample("seedling_house")), as_found_from(FOUND, "12 March"))


def test_without_a_note_there_is_nothing_to_prove() -> None:
    assert proof_of(load(sample("seedling_house"))) is None


def test_what_was_found_is_run_on_the_rig_of_now(noted: Project) -> None:
    before = as_found(noted)
    assert before is not None
    assert before.tank == noted.tank
    assert before.loop_settings.gain is not None
    assert before.loop_settings.gain.text == "113 %/gal"
    assert before.loop_settings.entry_step == noted.loop_settings.entry_step
    assert len(SEEDS) >= 8


def test_settings_of_another_project_are_taken_whole(noted: Project) -> None:
    other = with_settings(noted, settings_typed(load(sample("seedling_house"))))
    assert other.loop_settings == noted.loop_settings
