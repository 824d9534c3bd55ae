"""All rules on the samples' rigs: the facts of the trade, and that what is shown is what the controller gets."""

import math
from dataclasses import replace

import pytest
from plain_rig import plain

from levelbench.project import edit_many, units
from levelbench.quantity import Figure
from levelbench.rig import Cancelled
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import loop_model, margins, settings_in
from levelbench.tuning.prediction import predict
from levelbench.tuning.process import FirstOrder, of_rig
from levelbench.tuning.rules import NOW, RULES, SLIP, Choices, Comparison, Ruled, compare
from levelbench.tuning.rules.compare import with_settings


@pytest.fixture(scope="module")
def on_seedling(seedling: Rig) -> Comparison:
    return compare(seedling)


@pytest.fixture(scope="module")
def on_washer(washer: Rig) -> Comparison:
    return compare(washer)


@pytest.fixture(params=["on_seedling", "on_washer"])
def found(request: pytest.FixtureRequest) -> Comparison:
    both: Comparison = request.getfixturevalue(request.param)
    return both


def line(found: Comparison, key: str) -> Ruled:
    return next(one for one in found.lines if one.key == key)


def test_every_rule_is_judged_or_refused_with_a_reason(found: Comparison) -> None:
    judged = {one.key for one in found.lines} - {NOW, SLIP}
    refused = {one.rule.key: one.why for one in found.refused}
    assert judged | set(refused) == {one.key for one in RULES}
    assert set(refused) == {"cohen_coon_pi", "cohen_coon_pid"}  # a tank integrates: it has no gain at rest
    assert all("integrates" in why for why in refused.values())


def test_a_tenth_of_the_gain_alone_makes_the_overshoot_larger(found: Comparison) -> None:
    # fact of the trade: a tank is an integrator, so a PI loop on it has two (Skogestad 2003; common practice)
    whole, slip = line(found, "simc_pi"), line(found, SLIP)
    assert slip.settings.gain == pytest.approx(whole.settings.gain / 10, rel=0.01)
    assert slip.settings.integral_time == pytest.approx(whole.settings.integral_time, rel=1e-9)
    assert slip.prediction.overshoot.si > 5 * whole.prediction.overshoot.si
    assert slip.prediction.settling.si > 2 * whole.prediction.settling.si
    assert slip.linear is not None
    assert whole.linear is not None
    assert slip.linear.overshoot.si > 2 * whole.linear.overshoot.si
    assert "grows from" in found.verdict.gain_words


@pytest.mark.parametrize(
    "changes", [{}, {"sensor__averaging": 101}, {"pump__spin_up": "3 s"}, {"tank__diameter": "22 in"}]
)
def test_a_tenth_of_the_gain_alone_makes_the_overshoot_larger_on_other_rigs(changes: dict[str, str | int]) -> None:
    rig = plain(**changes)
    one = next(rule for rule in RULES if rule.key == "simc_pi").settings(of_rig(rig))
    whole, slip = (predict(with_settings(rig, replace(one, gain=gain))) for gain in (one.gain, one.gain / 10))
    assert slip.overshoot.si > 1.5 * whole.overshoot.si
    assert slip.load_deviation is not None
    assert whole.load_deviation is not None
    assert slip.load_deviation.si > 2 * whole.load_deviation.si


def test_right_gains_look_large(found: Comparison) -> None:
    # fact of the trade: a band near 1 to 2 % (common practice, no source)
    holding = [one for one in found.lines if one.key in ("simc_pi", "lambda_pi", "amigo_pi", "tyreus_luyben_pi")]
    low, high = found.rig.span
    bands = [1 / (one.settings.gain * (high - low)) for one in holding]
    assert all(0.005 < band < 0.02 for band in bands)
    band = next(one for one in found.verdict.figures if one.key == "rules.band")
    assert band.si == pytest.approx(bands[0], rel=1e-9)
    assert "looks like a slip and is right" in found.verdict.gain_words


def test_what_is_judged_is_what_is_typed(found: Comparison) -> None:
    """The edits of each line, put into the project, give the settings and the run that its figures are of."""
    for key in ("simc_pi", "amigo_pid", "averaging_p"):
        one = line(found, key)
        rig = assemble(edit_many(found.rig.project, one.edits))
        assert settings_in(rig) == one.settings
        assert margins(rig).gain.si == pytest.approx(one.margins.gain.si, rel=1e-9)
        assert predict(rig).settling.si == one.prediction.settling.si


def test_settings_are_typed_in_the_persons_form_and_unit(on_seedling: Comparison, on_washer: Comparison) -> None:
    assert line(on_seedling, "simc_pi").edits == {
        "loop_settings.gain": "1410 %/gal", "loop_settings.integral": "17.2 s", "loop_settings.derivative": "0 s",
    }  # fmt: skip
    assert line(on_washer, "averaging_p").edits["loop_settings.integral"] == "off"
    assert str(line(on_washer, "simc_pi").edits["loop_settings.integral"]).endswith("repeats/min")


@pytest.mark.parametrize("form", ["parallel", "series"])
def test_settings_come_in_the_projects_form(form: str) -> None:
    rig = plain(loop_settings__form=form, loop_settings__integral="off")
    found = compare(rig)
    typed = line(found, "ultimate_pid")  # Ti = 4·Td, the edge of what a series controller can do
    other = assemble(edit_many(rig.project, typed.edits))
    expected = compare(plain(loop_settings__integral="off"))
    for one, same in ((typed, line(expected, "ultimate_pid")), (line(found, "simc_pi"), line(expected, "simc_pi"))):
        assert one.settings.gain == pytest.approx(same.settings.gain, rel=0.06)  # a series Ti = 4·Td feels its digits
    assert settings_in(other) == typed.settings


def test_simc_on_the_rig_is_the_formula(washer: Rig, on_washer: Comparison) -> None:
    model = loop_model(washer)
    largest, smallest = max(model.lags), min(model.lags)
    dead = model.dead_time + largest / 2 + smallest  # Skogestad (2003): half of the largest lag, all of the others
    one = line(on_washer, "simc_pi").settings
    assert one.gain == pytest.approx(0.5 / (model.slope.si * dead), rel=0.005)
    assert one.integral_time == pytest.approx(8 * dead, rel=0.005)


def test_the_ultimate_rules_use_the_gain_that_is_shown(on_seedling: Comparison) -> None:
    one = line(on_seedling, "ultimate_pi")
    assert one.settings.gain == pytest.approx(0.45 * one.margins.ultimate_gain.si, rel=0.005)
    assert one.settings.integral_time == pytest.approx(one.margins.ultimate_period.si / 1.2, rel=0.005)


def test_averaging_level_keeps_within_its_room_on_the_rig(found: Comparison) -> None:
    room = found.choices.room
    for key in ("averaging_p", "averaging_pi"):
        one = line(found, key)
        assert one.linear is not None
        assert one.linear.load_deviation.si == pytest.approx(room, rel=0.03)
        assert one.prediction.load_deviation is not None
        assert 0.6 * room < one.prediction.load_deviation.si < 1.1 * room


def test_the_linear_loop_and_the_rig_agree_on_the_load_where_nothing_limits(found: Comparison) -> None:
    """Two ways to one number that share no code: the linear loop, and the compiled scan with its noise."""
    for key in ("simc_pi", "amigo_pi", "lambda_pi"):
        one = line(found, key)
        assert one.linear is not None
        assert one.prediction.load_deviation is not None
        assert one.linear.load_deviation.si == pytest.approx(one.prediction.load_deviation.si, rel=0.15)


def test_choices_are_followed(seedling: Rig) -> None:
    slow = compare(seedling, choices=Choices(closed_loop_time=10.0, arrest_time=20.0, room=0.0003))
    dead = of_rig(seedling).dead_time
    assert line(slow, "simc_pi").settings.integral_time == pytest.approx(4 * (10.0 + dead), rel=0.005)
    assert line(slow, "lambda_pi").settings.integral_time == pytest.approx(40.0 + dead, rel=0.005)
    averaging = line(slow, "averaging_pi").linear
    assert averaging is not None
    assert averaging.load_deviation.si == pytest.approx(0.0003, rel=0.05)


def test_the_verdict_names_the_worst_by_what_the_rig_does(found: Comparison) -> None:
    verdict = found.verdict
    worst, best = line(found, verdict.worst), line(found, verdict.best)
    assert worst.restless.si > 3 * best.restless.si
    assert "In simulation" in verdict.worst_words
    assert worst.title in verdict.worst_words
    assert best.title in verdict.best_words
    assert best.margins.sensitivity is not None
    assert best.margins.sensitivity.si < 2.0


def test_every_figure_says_where_it_is_from(found: Comparison) -> None:
    figures: list[Figure] = [figure for one in found.lines for figure in one.figures]
    assert all(one.formula and one.source for one in figures)
    assert not any(math.isnan(one.si) for one in figures)


def test_a_loop_that_swings_ever_wider_has_no_linear_figures_and_is_never_best(seedling: Rig) -> None:
    now = settings_in(seedling)
    wild = with_settings(seedling, Settings(8 * now.gain, now.integral_time, 0.0))
    found = compare(wild)
    assert found.lines[0].linear is None
    assert not found.lines[0].margins.stable
    assert found.verdict.best != NOW


def test_settings_may_come_from_a_process_that_was_measured(seedling: Rig) -> None:
    """A fit's process in place of the rig's own: the rule is the process's, the judgement the rig's."""
    own = of_rig(seedling)
    measured = FirstOrder(gain=40 * own.slope, time_constant=40.0, dead_time=2 * own.dead_time)
    found = compare(seedling, measured)
    assert {one.rule.key for one in found.refused} == {"simc_pid", "averaging_p", "averaging_pi"}
    simc = line(found, "simc_pi")
    assert simc.settings.gain == pytest.approx(1 / (own.slope * 4 * own.dead_time), rel=0.005)
    assert simc.settings.integral_time == pytest.approx(min(40.0, 16 * own.dead_time), rel=0.005)
    assert simc.margins.gain.si == pytest.approx(margins(with_settings(seedling, simc.settings)).gain.si, rel=1e-9)


def test_a_controller_that_acts_the_wrong_way_round_is_told_so() -> None:
    found = compare(plain(loop_settings__action="direct"))
    assert (found.verdict.best, found.verdict.worst, found.verdict.gain_words) == ("", "", "")
    assert "loop_settings.action" in found.verdict.best_words
    assert not any(one.margins.stable for one in found.lines)


def test_an_output_that_rests_wanders_by_nothing() -> None:
    found = compare(plain(loop_settings__set_point_weight="0"))
    told = units(found.rig.project).tell(line(found, "averaging_p").restless)
    assert told == "0.00 %"


def test_a_rig_without_a_drain_has_no_averaging(seedling: Rig) -> None:
    project = seedling.project
    still = replace(project, duty=replace(project.duty, largest_draw=replace(project.duty.largest_draw, si=0.0)))
    found = compare(replace(seedling, project=still))
    assert {"averaging_p", "averaging_pi"} <= {one.rule.key for one in found.refused}


def test_it_can_be_stopped_and_tells_how_far_it_is(seedling: Rig) -> None:
    heard: list[float] = []

    def stop_at_half(share: float) -> bool:
        heard.append(share)
        return share < 0.5

    with pytest.raises(Cancelled):
        compare(seedling, progress=stop_at_half)
    assert heard == sorted(heard)
    assert 0.5 <= heard[-1] < 0.7
