"""The search: its linear look, its rounding, its judge, its chances, and its answer beside an exhaustive grid."""

import math
from dataclasses import replace

import numpy as np
import pytest
from plain_rig import plain, plain_project
from scipy.stats import binom, binomtest
from search_grid import compared, grid_curve, random_rig, search_curve

from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import Cancelled, Rig, RigError, assemble, kernel
from levelbench.rig.ensemble import spread
from levelbench.rig.settings import Settings
from levelbench.tuning.forms import rounded
from levelbench.tuning.loop import loop_model, settings_in
from levelbench.tuning.process import of_rig
from levelbench.tuning.response import OpenLoop, raw_margins
from levelbench.tuning.search import Found, Limits, box_from_record, default_box, default_limits, search
from levelbench.tuning.search.answer import answers_of
from levelbench.tuning.search.chance import Count, count_breaks, fresh
from levelbench.tuning.search.scenario import Measures, Scenario, Scenarios
from levelbench.tuning.search.screen import sensitivity
from levelbench.tuning.search.search import judge_of
from levelbench.tuning.search.target import Loop, Target, loop_of

SMALL = 3_000_000  # sub-steps: a search that is soon done


@pytest.fixture(scope="module")
def found(seedling: Rig) -> Found:
    return search(seedling, default_box(seedling), default_limits(seedling), budget=SMALL)


def measured(scenario: Scenario, loop: Loop) -> Measures:
    return spread([scenario], lambda runner, one: one.measure(runner.run(one.member(loop))))[0]


def certain(rig: Rig) -> Scenario:
    """The scenario of a rig of which everything is known."""
    box = default_box(rig)
    draws = replace(box.draw, most=2 * box.draw.least)
    ranges = {one.key: replace(one, most=one.least) for one in box.ranges if one.key != "draw"}
    known = replace(box, draw=draws, **ranges)
    known = replace(known, flow=replace(known.flow, least=1.0, most=1.0))
    return Scenarios(rig, known).at(known.point((0, 0, 0, 0, 0, 0)), 1)


# the linear look -----------------------------------------------------------------------------------------------------


def test_the_look_agrees_with_the_published_ms_of_a_well_known_rule() -> None:
    """Source: S. Skogestad, J. Process Control 13 (2003), table 1: Ms 1.70, integrating, τc = θ (from memory)."""
    loop = OpenLoop(0.2, 3.0, (), Settings(0.5 / (0.2 * 3.0), 24.0, 0.0))
    assert sensitivity(loop) == pytest.approx(1.70, abs=0.01)


def test_the_look_agrees_with_the_exact_margins_for_any_loop() -> None:
    chance = np.random.default_rng(4)
    judged = 0
    for _ in range(150):
        slope, delay, lag = chance.uniform(0.1, 3), chance.uniform(0.2, 8), chance.uniform(0, 8)
        gain = chance.uniform(0.05, 1.3) / (slope * (delay + lag))
        loop = OpenLoop(slope, delay, (lag,), Settings(gain, chance.uniform(1.0, 25) / (slope * gain), 0.0))
        exact = raw_margins(loop)
        if exact.sensitivity > 5 and exact.stable:
            assert sensitivity(loop) > 4  # a sharp peak falls between the frequencies; nobody asks for such a loop
        elif exact.stable:
            judged += 1
            assert sensitivity(loop) == pytest.approx(exact.sensitivity, rel=0.01)
        else:
            assert math.isinf(sensitivity(loop))
    assert judged > 50


# the box from a record ------------------------------------------------------------------------------------------------


def test_a_record_moves_flow_and_delay_of_the_box(seedling: Rig) -> None:
    """What a record finds beside what is described, so lies the range; the delays of its ends are those found."""
    slope, dead_time = loop_model(seedling).slope.si, of_rig(seedling).dead_time
    plain = default_box(seedling)
    box = box_from_record(seedling, (0.8 * slope, 0.9 * slope), (1.2 * dead_time, 2.0 * dead_time))
    assert (box.flow.least, box.flow.most) == pytest.approx((0.8, 0.9))
    assert (box.wear, box.draw, box.noise) == (plain.wear, plain.draw, plain.noise)
    for share, wanted in ((0.0, 1.2), (1.0, 2.0)):
        one = edit_many(
            seedling.project,
            {
                "pump.spin_up": f"{box.spin_up.at(share)} s",
                "sensor.averaging": round(box.averaging.at(share)),
                "loop_settings.pv_filter": f"{wanted * seedling.panel[kernel.P_PV_FILTER]} s",
            },
        )
        assert of_rig(assemble(one)).dead_time == pytest.approx(wanted * dead_time, rel=0.05)
    assert box_from_record(seedling, None) == plain


# rounding ------------------------------------------------------------------------------------------------------------

FORMS: list[dict[str, Value]] = [
    {"loop_settings.gain": "120 %/gal", "loop_settings.integral": "200 s"},
    {"loop_settings.gain": "6 %/%", "loop_settings.integral": "3 min"},
    {
        "loop_settings.gain": None,
        "loop_settings.proportional_band": "15 %",
        "loop_settings.integral": "0.5 repeats/min",
    },
    {"loop_settings.form": "series", "loop_settings.gain": "80 %/l", "loop_settings.derivative": "2 s"},
    {"loop_settings.form": "parallel", "loop_settings.gain": "9 %/%", "loop_settings.integral": "3 1/min"},
    {"loop_settings.form": "parallel", "loop_settings.gain": "40 %/l", "loop_settings.integral": "0.5 1/s"},
    {
        "loop_settings.form": "parallel",
        "loop_settings.gain": None,
        "loop_settings.proportional_band": "12 %",
        "loop_settings.integral": "1 1/min",
    },
    {"loop_settings.integral": "off", "loop_settings.pv_filter": "0.02 min"},
]


@pytest.mark.parametrize("digits", [2, 3])
@pytest.mark.parametrize("changes", FORMS, ids=range(len(FORMS)))
def test_what_is_typed_into_the_project_is_what_was_tried(changes: dict[str, Value], digits: int) -> None:
    project = plain_project(**{key.replace(".", "__"): value for key, value in changes.items()})  # type: ignore[arg-type]
    rig = assemble(project)
    target = Target(project.loop_settings, rig.span[1] - rig.span[0], digits)
    wanted = Loop(Settings(317.3, 47.77, 0.0), 0.634, 1.2345)
    typed = target.typed(wanted)
    got = loop_of(assemble(edit_many(project, target.edits(typed))))
    tried = target.loop_at(typed)
    assert got.settings.gain == pytest.approx(tried.settings.gain, rel=1e-9)
    assert got.settings.integral_time == pytest.approx(tried.settings.integral_time, rel=1e-9)
    assert got.settings.derivative_time == 0
    assert (got.weight, got.pv_filter) == pytest.approx((tried.weight, tried.pv_filter), rel=1e-9)
    off = 0.5 * 10.0 ** (1 - digits)
    assert tried.settings.gain == pytest.approx(wanted.settings.gain, rel=1.01 * off)
    assert tried.settings.integral_time == pytest.approx(wanted.settings.integral_time, rel=2.05 * off)
    assert target.typed(tried) == typed  # rounding twice changes nothing


def test_rounding_is_that_of_the_forms_or_nearer() -> None:
    wanted = Settings(317.3, 47.77, 0.0)
    for changes, form in ((FORMS[0], "standard"), (FORMS[5], "parallel")):
        project = plain_project(**{key.replace(".", "__"): value for key, value in changes.items()})  # type: ignore[arg-type]
        rig = assemble(project)
        target = Target(project.loop_settings, rig.span[1] - rig.span[0], 2)
        gain_unit = 0.01 / (231 * 0.0254**3) if form == "standard" else 0.01 / 1e-3  # %/US gal and %/l, in 1/m3
        theirs = rounded(wanted, form, 2, gain_unit)
        ours = target.loop_at(target.typed(Loop(wanted, 1.0, 0.0))).settings
        assert ours.gain == pytest.approx(theirs.gain, rel=1e-9)
        if form == "standard":
            assert ours.integral_time == pytest.approx(theirs.integral_time, rel=1e-9)
        else:  # Ki goes with the gain as it was rounded, so that the integral time comes nearer
            assert abs(ours.integral_time - 47.77) < abs(theirs.integral_time - 47.77)


def test_neighbours_differ_in_the_last_digit() -> None:
    project = plain_project()
    target = Target(project.loop_settings, 0.04, 3)
    typed = target.typed(Loop(Settings(500.0, 47.0, 0.0), 1.0, 0.0))
    beside = list(target.beside(typed))
    assert len(beside) == len(set(beside)) == 5  # gain and integral up and down, the weight only down
    assert all(target.typed(target.loop_at(one)) == one for one in beside)


# the judged run ------------------------------------------------------------------------------------------------------


def test_a_step_takes_what_the_mass_balance_says(seedling: Rig) -> None:
    """Pump flat out less the draw fills the step (mass balance); then some delays to come to rest."""
    rig = plain(sensor__noise="0 in", sensor__averaging=5, loop_settings__entry_step="0.1 gal")
    scenario = certain(rig)
    loop = Loop(Settings(4000.0, 40.0, 0.0), 1.0, 0.0)
    gallon = 231 * 0.0254**3  # [m3] NIST Handbook 44
    least = 0.9 * gallon / ((1.0 - 0.25) * gallon / 60)  # [s] nine of ten entry steps of 0.1 gal
    found = measured(scenario, loop)
    assert least <= found.settling <= 1.25 * least
    assert found.starts == 0


def test_a_tenth_of_the_gain_alone_makes_the_overshoot_larger(seedling: Rig, washer: Rig) -> None:
    """A fact of the trade for integrating tanks; k'·K·Ti below 4 swings slowly (Skogestad 2003, from memory)."""
    for rig in (seedling, washer):
        scenario, loop = certain(rig), replace(loop_of(rig), weight=1.0)
        lower = replace(loop, settings=replace(loop.settings, gain=loop.settings.gain / 10))
        assert measured(scenario, lower).overshoot > 3 * measured(scenario, loop).overshoot


def test_the_picture_is_the_judged_run(found: Found) -> None:
    one = found.front[0]
    scenario = found.scenarios[one.worst["overshoot"]]
    step, load = answers_of(scenario, one.loop)
    rows = np.column_stack([step.recording[column.name] for column in step.recording.columns])
    assert scenario.measure(rows) == measured(scenario, one.loop)
    assert scenario.measure(rows).overshoot == one.overshoot.si
    assert load is not None


# chances -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("broken", "runs"), [(0, 100), (0, 400), (3, 100), (17, 60), (99, 100)])
def test_the_chance_is_the_exact_limit_of_a_share(broken: int, runs: int) -> None:
    """Reference: scipy.stats.binomtest; one-sided 95 % is the upper end of the two-sided 90 %."""
    theirs = binomtest(broken, runs).proportion_ci(0.90, "exact").high
    assert Count(broken, runs).chance == pytest.approx(theirs, rel=1e-9)


def test_none_broken_is_the_rule_of_three() -> None:
    """About 3/n. Source: J. A. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743-1745 (from memory)."""
    assert Count(0, 400).chance == pytest.approx(3 / 400, rel=0.01)
    assert Count(5, 5).chance == 1.0


# the answer ----------------------------------------------------------------------------------------------------------


def test_nothing_on_the_curve_beats_another_and_all_keep_the_limits(found: Found) -> None:
    assert len(found.front) >= 5
    slow, busy = ([getattr(one, key).si for one in found.front] for key in ("slowness", "travel"))
    assert slow == sorted(slow)
    assert busy == sorted(busy, reverse=True)
    limits = found.limits
    for one in found.front:
        assert one.overshoot.si < limits.overshoot
        assert one.sensitivity.si <= limits.sensitivity
        assert one.starts.si <= (limits.starts or math.inf)
        assert one.chance is not None
        assert one.chance.si < 0.10
        assert math.isfinite(one.settling.si)
    assert found.pick is not None
    assert found.pick.chance is not None
    assert dict(found.pick.chance.inputs)["runs"] == "400"


def test_the_figures_survive_typing(found: Found, seedling: Rig) -> None:
    one = found.pick
    assert one is not None
    rig = assemble(edit_many(seedling.project, one.edits))
    assert settings_in(rig).gain == pytest.approx(one.loop.settings.gain, rel=1e-9)
    judge, _ = judge_of(rig, default_box(seedling), found.limits)
    again = judge.loop_in_full(loop_of(rig))
    assert again.worst("overshoot") == pytest.approx(one.overshoot.si, rel=0.02)
    assert again.travel == pytest.approx(one.travel.si, rel=0.02)


def test_threads_have_no_part_in_the_answer(seedling: Rig, found: Found) -> None:
    alone = search(seedling, default_box(seedling), found.limits, budget=SMALL, threads=1)
    assert [one.words for one in alone.front] == [one.words for one in found.front]
    assert [one.figures for one in alone.front] == [one.figures for one in found.front]
    assert alone.runs == found.runs


def test_it_is_as_good_as_a_grid_on_a_small_problem(seedling: Rig, found: Found) -> None:
    grid = grid_curve(seedling, default_box(seedling), found.limits, (12, 5, 3, 3))
    fastest, area = compared(search_curve(seedling, default_box(seedling), found.limits, SMALL), grid)
    assert fastest <= 1.01
    assert area >= 0.99


def test_where_nothing_holds_it_names_the_limit_and_the_nearest(washer: Rig) -> None:
    tight = Limits(overshoot=1e-5, sensitivity=1.05)
    found = search(washer, default_box(washer), tight, budget=SMALL)
    assert found.front == ()
    assert found.picked is None
    assert found.nearest is not None
    assert found.nearest.sensitivity.si > 1.05
    assert "What stands in the way: largest sensitivity Ms" in found.why


def test_it_stops_when_told(seedling: Rig) -> None:
    heard: list[float] = []

    def progress(share: float) -> bool:
        heard.append(share)
        return share < 0.3

    with pytest.raises(Cancelled):
        search(seedling, default_box(seedling), default_limits(seedling), progress, budget=SMALL)
    assert heard == sorted(heard)


def test_what_can_not_be_searched_says_why(seedling: Rig) -> None:
    direct = assemble(edit_many(seedling.project, {"loop_settings.action": "direct"}))
    with pytest.raises(RigError, match="direct"):
        search(direct, default_box(direct), default_limits(direct))
    with pytest.raises(RigError, match="overshoot"):
        Limits(overshoot=0.0)
    with pytest.raises(RigError, match="Ms"):
        Limits(overshoot=1.0, sensitivity=1.0)
    with pytest.raises(RigError, match="digits"):
        search(seedling, default_box(seedling), default_limits(seedling), digits=1)


def test_the_box_of_the_project_has_its_own_values_inside(seedling: Rig, washer: Rig) -> None:
    for rig in (seedling, washer):
        box = default_box(rig)
        own = (
            1.0,
            rig.project.pump.wear.si,
            None,
            rig.project.pump.spin_up.si,
            rig.params.sensor.noise,
            rig.params.sensor.averaging,
        )
        for one, value in zip(box.ranges, own, strict=True):
            assert one.why
            assert value is None or one.least <= value <= one.most
        assert box.draw.most == rig.project.duty.largest_draw.si
        names = [one.name for one in box.corners()]
        assert len(names) == len(set(names)) == 9


# the whole of it, on rigs of every kind ------------------------------------------------------------------------------

RIGS = ("seedling_house", "parts_washer", *range(20))


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.parametrize("which", RIGS)
def test_it_is_as_good_as_a_fine_grid_and_keeps_its_word(which: str | int) -> None:
    rig = assemble(load(sample(which))) if isinstance(which, str) else random_rig(which)
    box, limits = default_box(rig), default_limits(rig)
    found = search(rig, box, limits)
    grid = grid_curve(rig, box, limits, (22, 9, 5, 5))
    assert bool(found.front) == bool(grid), found.why
    if not grid:
        return
    fastest, area = compared(search_curve(rig, box, limits), grid)
    assert fastest <= 1.01, f"fastest {fastest:.4f} of the grid's, area {area:.4f}, {found.runs} runs"
    assert area >= 0.99, f"area {area:.4f} of the grid's, fastest {fastest:.4f}, {found.runs} runs"
    assert found.pick is not None
    assert found.pick.chance is not None
    scenarios = fresh(Scenarios(rig, box), 1000, 777)
    broken = count_breaks([found.pick.loop], scenarios, limits, threads=2)[0].broken
    # a stated chance p allows so many of 1000 (binomial, 99.9 %)
    assert broken <= binom.ppf(0.999, 1000, found.pick.chance.si), f"{broken}, stated {found.pick.chance.si:.2%}"
