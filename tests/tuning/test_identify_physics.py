"""The physics found from records: a public record of a real rig, rigs by chance whose truth is known, and its words."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rigs_by_chance import described, two_tanks, within
from scipy import stats

from levelbench.project import edit_many, load, sample, units
from levelbench.quantity import Dimension
from levelbench.records.measured import Measured, from_recording
from levelbench.rig import Action, assemble, run
from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.physics import fit_physics, foretell
from levelbench.tuning.process import FirstOrder, Integrating

DATA = Path(__file__).parents[1] / "data" / "two_tanks_record.csv"


def real() -> Measured:
    time, drive, level = np.loadtxt(DATA, delimiter=",", skiprows=1).T
    return Measured(time, level, drive, None, None, "V", None, "two tanks")


def by_key(fit):
    return {one.figure.key: one for one in fit.estimates}


@pytest.fixture(scope="module")
def found():
    return fit_physics(real(), upper=True)


def test_the_whole_public_record_is_explained(found):
    """Required: 0.22 V. Schoukens, Mattsson, Wigren, Noël, "Cascaded tanks benchmark" (2016), DOI 10.4121/12960104.

    Published root mean square errors of simulation on the other half of that data, in volts, as listed in Mathematical
    Problems in Engineering 2021, article 6613425, table 2: best linear approximation 0.757, polynomial nonlinear state
    space 0.450, NLSS2 0.343. They are for data that those fits had not seen; the next test is the like of them.
    """
    assert found.fit.rmse.si <= 0.22
    assert np.sqrt(np.mean(found.fit.residuals**2)) == pytest.approx(found.fit.rmse.si)
    told = by_key(found.fit)
    assert told["fit.upper.share"].told_apart
    assert 0.0 < told["fit.upper.share"].low < told["fit.upper.share"].high < 1.0
    assert told["fit.upper.capacity"].unit == "V"
    assert told["fit.pump.largest"].unit == "V/s"
    assert isinstance(found.fit.process, FirstOrder)
    assert not found.fit.edits
    head = told["fit.tank.head"]  # liquid still ran out at the lowest PV, so the outlet can't be above that
    assert -real().pv.min() < head.low < head.figure.si < head.high
    assert "above the PV's zero" in head.words


def test_what_was_not_shown_is_foretold():
    """Required: 0.30 V on the last 30 % of the public record after a fit to the first 70 %, simulated freely.

    Published errors on data that was not shown (the other half of the record): 0.757, 0.450 and 0.343 V, see above.
    """
    record = real()
    until = record.time[round(0.7 * len(record))]
    first, last = record.part(0.0, until), record.part(until, 1e9)
    shown_most = fit_physics(first, upper=True)
    goes_on = foretell(shown_most.model, record)[len(first) :]
    assert np.sqrt(np.mean((goes_on - last.pv) ** 2)) <= 0.30
    begun_anew = foretell(shown_most.model, last)
    assert np.sqrt(np.mean((begun_anew - last.pv) ** 2)) <= 0.30


def test_only_the_first_samples_of_another_record_are_looked_at(found):
    record = real()
    spoiled = replace(record, pv=np.where(np.arange(len(record)) < 60, record.pv, 3.0))
    np.testing.assert_array_equal(foretell(found.model, record, first=60), foretell(found.model, spoiled, first=60))


def test_a_freer_law_must_earn_its_parameters(found):
    plain, *others = found.tried
    taken = next(one for one in found.tried if one.law.title == found.fit.title)
    assert taken.held_out < 0.92 * plain.held_out
    assert any(one.found.cost < taken.found.cost for one in others)  # a freer one fits better, and was not taken
    assert any("held-out blocks" in words for words in found.fit.warnings)


def test_saturated_samples_say_that_the_level_is_beyond(found):
    record = real()
    stuck = record.pv >= 10.0
    assert stuck.sum() > 40
    assert np.all(found.fit.simulated <= 10.0)
    assert np.mean(found.fit.simulated[stuck] >= 9.9) > 0.8


def recovered(seeds) -> Counter:
    """Count intervals that hold the truth, and those that don't.

    Rigs in hand, some that leak and have a sensor that is off, with the draw measured; rigs in automatic; two tanks.
    """
    counts: Counter = Counter()
    for seed in seeds:
        if seed % 4 == 3:
            record, truth = two_tanks(seed, samples=600)
            fit = fit_physics(record, upper=True).fit
        else:
            one = described(seed, by_hand=seed % 4 != 2, in_doubt=seed % 4 == 1)
            fit, truth = fit_physics(one.measured, rig=assemble(one.project)).fit, one.truth
            if seed % 4 == 1 and "fit.sensor.span_error" not in by_key(fit):
                continue  # held at the project's, which is wrong here: the fit says what that does
        counts.update(within(fit.estimates, truth).values())
    return counts


@pytest.mark.timeout(600)  # some 20 s of the processor, more where others work
def test_intervals_hold_the_truth_of_rigs_by_chance():
    counts = recovered(range(20))
    told = counts.total()
    assert told > 100  # most of some 170 parameters can be told
    # an interval of 95 % that held less often than this would be no accident (binomial, one in a thousand)
    assert counts[True] >= stats.binom.ppf(0.001, told, 0.95)


@pytest.mark.long
@pytest.mark.timeout(3000)
def test_intervals_hold_the_truth_of_two_hundred_rigs():
    counts = recovered(range(1000, 1200))
    assert counts.total() > 1000
    assert 0.90 <= counts[True] / counts.total() <= 0.99


@pytest.fixture(scope="module")
def by_hand():
    project = load(sample("seedling_house"))
    chance = np.random.default_rng(1)
    outputs = chance.choice([0.0, 0.03, 0.05, 0.07, 0.08, 0.1, 0.12, 0.15, 0.25, 0.4, 0.6, 0.9], 40)
    actions = [Action(30.0 + 30 * at, "manual output", float(one)) for at, one in enumerate(outputs)]
    return from_recording(
        run(assemble(project), 1200.0, actions=(Action(0.0, "auto", 0.0), *actions), seed=3, every=2), units(project)
    )


def test_a_project_that_was_guessed_is_put_right(by_hand):
    guessed = edit_many(
        load(sample("seedling_house")),
        {
            "pump.largest_flow": "1.3 gal/min",
            "pump.starts_moving_at": "20 %",
            "pump.stalls_at": "15 %",
            "drain.valve_cv": "1.5",
        },
    )
    fit = fit_physics(by_hand, rig=assemble(guessed)).fit
    assert isinstance(fit.process, Integrating)
    right = edit_many(guessed, fit.edits)  # in one step; all of it can be typed
    true = load(sample("seedling_house"))
    assert right.pump.largest_flow.si == pytest.approx(true.pump.largest_flow.si, rel=0.01)
    assert right.drain.valve_cv.si == pytest.approx(true.drain.valve_cv.si, rel=0.02)
    assert right.pump.starts_moving_at.si == pytest.approx(0.09, abs=0.015)
    assert right.pump.stalls_at.si == pytest.approx(0.06, abs=0.015)
    assert right.pump.slowest_flow.si == pytest.approx(true.pump.slowest_flow.si, rel=0.2)


def test_a_project_that_is_right_is_left_alone(by_hand):
    fit = fit_physics(by_hand, rig=assemble(load(sample("seedling_house")))).fit
    assert not set(fit.edits) & {"pump.largest_flow", "drain.valve_cv", "pump.starts_moving_at", "pump.stalls_at"}
    assert any("only be told as a product" in words for words in fit.warnings)


def test_a_level_and_a_percentage_are_turned_into_volumes(by_hand):
    rig = assemble(load(sample("seedling_house")))
    low, high = rig.span
    as_level = replace(by_hand, pv=rig.strapping.level_at(by_hand.pv), pv_dimension=Dimension.LENGTH, pv_unit="in")
    as_share = replace(by_hand, pv=(by_hand.pv - low) / (high - low), pv_dimension=Dimension.PERCENT, pv_unit="%")
    flows = []
    for one in (by_hand, as_level, as_share):
        found = fit_physics(one, rig=rig)
        flows.append(by_key(found.fit)["fit.pump.largest"].figure.si)
        assert np.sqrt(np.mean((foretell(found.model, one) - one.pv) ** 2)) < 0.01 * np.ptp(one.pv)
    np.testing.assert_allclose(flows, flows[0], rtol=1e-3)


def test_what_a_record_can_not_tell_is_said_and_left():
    # the pump stands still nearly all the time and then gives one flow only: nothing tells its slowest one
    project = load(sample("seedling_house"))
    actions = (Action(0.0, "auto", 0.0), Action(200.0, "manual output", 0.6), Action(260.0, "manual output", 0.0))
    record = from_recording(run(assemble(project), 400.0, actions=actions, seed=1), units(project))
    guessed = edit_many(project, {"pump.slowest_flow": "0.2 gal/min"})
    fit = fit_physics(record, rig=assemble(guessed)).fit
    lost = [one for one in fit.estimates if not one.told_apart]
    assert any("only" in one.words or "can't tell" in one.words for one in lost)
    assert "pump.slowest_flow" not in fit.edits
    assert "pump.starts_moving_at" not in fit.edits


def test_flow_and_outlet_of_a_tank_at_rest_are_told_only_as_a_ratio():
    # a small outlet, hardly moved: dV/dt = q·u − o says nothing of q and o apart where u stays near o/q
    time = np.arange(0.0, 300.0, 1.0)
    output = 0.5 + 0.002 * np.sign(np.sin(time / 15))
    pv = 5.0 + np.random.default_rng(1).normal(0, 0.05, 300)
    fit = fit_physics(Measured(time, pv, output, None, None, "V", None, "at rest")).fit
    assert not by_key(fit)["fit.pump.largest"].told_apart
    assert any("only" in words or "can't tell" in words for words in fit.warnings)


def test_a_gap_begins_a_part_of_its_own():
    record, truth = two_tanks(5)
    kept = (np.arange(len(record)) < 400) | (np.arange(len(record)) > 520)
    holed = replace(record, time=record.time[kept], pv=record.pv[kept], output=record.output[kept])
    fit = fit_physics(holed, upper=True).fit
    assert any("gap" in words for words in fit.warnings)
    largest = by_key(fit)["fit.pump.largest"]
    assert largest.figure.si == pytest.approx(truth["fit.pump.largest"], rel=0.1)


@pytest.mark.parametrize("column", ["output", "pv"])
def test_a_record_in_which_nothing_moves_is_refused(column):
    record = real()
    with pytest.raises(FitError, match="stays the same"):
        fit_physics(replace(record, **{column: np.full(len(record), 5.0)}), upper=True)


def test_a_pv_that_is_no_volume_and_two_tanks_do_not_go_with_a_project():
    rig = assemble(load(sample("seedling_house")))
    with pytest.raises(FitError, match="turned into a volume"):
        fit_physics(real(), rig=rig)
    with pytest.raises(FitError, match="one tank"):
        fit_physics(real(), rig=rig, upper=True)


def test_it_says_how_far_it_is_and_can_be_stopped():
    told: list[float] = []

    def stop(share: float) -> bool:
        told.append(share)
        return len(told) < 50

    with pytest.raises(Cancelled):
        fit_physics(real(), upper=True, progress=stop)
    assert told == sorted(told)
    assert 0.0 < told[-1] < 1.0


def test_the_same_record_gives_the_same_fit():
    record, _ = two_tanks(9, samples=300)
    first, second = (fit_physics(record, upper=True).fit for _ in range(2))
    assert [one.figure.si for one in first.estimates] == [one.figure.si for one in second.estimates]
