"""A project from the ten questions: whatever is answered, it can be read, built, and has nothing that stops."""

import math
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from levelbench.project import read_project
from levelbench.project.instruments import SENSOR_KINDS
from levelbench.project.interview import SHAPES, SYSTEMS, InterviewError
from levelbench.project.machines import DRAIN_KINDS
from levelbench.quantity import Dimension, in_unit
from levelbench.review import Severity, review
from levelbench.review.fresh import fresh
from levelbench.rig import assemble
from levelbench.rig.strapping import strap
from levelbench.tuning.loop import loop_model, settings_in

LENGTHS, VOLUMES, FLOWS = ("in", "mm", "ft"), ("gal", "l", "imp gal"), ("gal/min", "l/min", "m3/h")


def typed(si: float, dimension: Dimension, unit: str) -> str:
    return f"{in_unit(si, dimension, {'gal': 'US gal', 'gal/min': 'US gal/min'}.get(unit, unit)):.9g} {unit}"


def words(values: tuple[str, ...]) -> st.SearchStrategy[str]:
    return st.sampled_from(("", *values))


def share(low: float, high: float) -> st.SearchStrategy[float]:
    """A share, or 0: the question is left open."""
    return st.one_of(st.just(0.0), st.floats(low, high))


@st.composite
def answered(draw: st.DrawFn) -> dict[str, str]:
    """Valid answers: what is named at one question fits what was named before, as far as a tape and a bucket go."""
    answers = {
        "units": draw(words(tuple(SYSTEMS))),
        "shape": draw(words(SHAPES)),
        "drain": draw(words(DRAIN_KINDS)),
        "sensor": draw(words(SENSOR_KINDS)),
        "title": draw(words(('Day "tank" №1', "Bath"))),
        "loop": draw(words(("310", "12A"))),
    }
    if draw(st.booleans()):
        unit = draw(st.sampled_from(LENGTHS))
        for key in ("diameter", "length", "width", "height"):
            answers[key] = typed(draw(st.floats(0.06, 4.9)), Dimension.LENGTH, unit)
    tank = fresh({**answers}).tank  # what it holds, from the tank alone
    table = strap(tank)
    spill = table.volume_at(0.96 * float(table.levels[-1]))
    unit = draw(st.sampled_from(VOLUMES))
    high, low = draw(share(0.3, 0.84)) * spill, draw(share(0.06, 0.28)) * spill
    answers["high"] = typed(high, Dimension.VOLUME, unit) if high else ""
    answers["low"] = typed(low, Dimension.VOLUME, unit) if low else ""
    if draw(st.booleans()):
        answers["step"] = typed(draw(st.floats(0.0005, 0.015)) * spill, Dimension.VOLUME, unit)
    flow = draw(share(spill / 36_000, 0.15 * spill / 8.1))
    flow_unit = draw(st.sampled_from(FLOWS))
    answers["largest_flow"] = typed(flow, Dimension.FLOW, flow_unit) if flow else ""
    if flow and draw(st.booleans()):
        answers["draw"] = typed(flow * draw(st.floats(0.05, 0.79)), Dimension.FLOW, flow_unit)
    if draw(st.booleans()):
        answers["shut_off_head"] = typed(draw(st.floats(5.01, 30)) * float(table.levels[-1]), Dimension.LENGTH, "ft")
    return answers


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(answered())
def test_any_valid_answers_give_a_project_without_a_stop(answers: dict[str, str]) -> None:
    assert_nothing_stops(answers)


@pytest.mark.long
@settings(max_examples=600, deadline=None, suppress_health_check=list(HealthCheck))
@given(answered())
def test_many_valid_answers_give_a_project_without_a_stop(answers: dict[str, str]) -> None:
    assert_nothing_stops(answers)


def assert_nothing_stops(answers: dict[str, str]) -> None:
    project = fresh(answers)
    assert read_project(project.text) == project
    stops = [(one.key, one.text) for one in review(assemble(project)) if one.severity is Severity.STOP]
    assert not stops, (stops, project.text)


def test_what_was_answered_stands_as_typed_and_the_rest_says_that_it_is_assumed() -> None:
    text = fresh({"title": "Dye bath", "shape": "box", "width": "11 1/2 in", "low": "2,5 gal"}).text
    assert 'title = "Dye bath"\n' in text
    assert 'width = "11 1/2 in"\n' in text
    assert 'set_point_low = "2,5 gal"\n' in text
    for name in ("length", "height", "largest_flow", "kind", "entry_step", "trips_at", "set_point_high"):
        assert re.search(rf"^{name} = .* # assumed: \w", text, re.MULTILINE), name


def test_nothing_answered_is_a_project_too() -> None:
    project = fresh({})
    assert project.title == "New tank"
    # a cylinder of 12 in × 15 in holds π/4 × 144 × 15 in³ = 1696.5 in³, of which 231 make a US gal (NIST HB 44)
    assert in_unit(strap(project.tank).volume_at(15 * 0.0254), Dimension.VOLUME, "US gal") == pytest.approx(
        math.pi / 4 * 144 * 15 / 231, rel=1e-6
    )


def test_gain_and_integral_follow_the_published_rule() -> None:
    # S. Skogestad, "Simple analytic rules for model reduction and PID controller tuning", J. Process Control 13 (2003):
    # integrating process k'e^(-θs)/s: K = 1/(k' (τc + θ)), Ti = 4 (τc + θ); τc = θ (quoted from memory).
    rig = assemble(fresh({"sensor": "plain 4-20 mA"}))
    model, tuned = loop_model(rig), settings_in(rig)
    assert tuned.gain <= 1.001 / (2 * model.slope.si * model.total_delay.si)
    assert tuned.integral_time == pytest.approx(4 / (model.slope.si * tuned.gain), rel=0.02)


@pytest.mark.parametrize(
    ("answers", "key", "reason"),
    [
        ({"diameter": "12"}, "diameter", "unit"),
        ({"height": "80 ft"}, "height", "at most"),
        ({"diameter": "1 mm"}, "diameter", "at least"),
        ({"shape": "sphere"}, "shape", "none of"),
        ({"loop": "3 1/2"}, "loop", "loop number"),
        ({"high": "7 gal"}, "high", "limits and switch"),
        ({"low": "0.1 gal"}, "low", "at least"),
        ({"low": "4 gal", "high": "3 gal"}, "low", "less than"),
        ({"low": "3.1 gal", "high": "3.4 gal", "step": "1 gal"}, "step", "No multiple"),
        ({"largest_flow": "100 gal/min"}, "largest_flow", "8 s"),
        ({"largest_flow": "1 gal/min", "draw": "1 gal/min"}, "draw", "keeps up"),
        ({"largest_flow": "0 gal/min"}, "largest_flow", "more than"),
        ({"shut_off_head": "1 ft"}, "shut_off_head", "reservoir"),
    ],
)
def test_answers_that_do_not_go_together_are_named_with_the_reason(
    answers: dict[str, str], key: str, reason: str
) -> None:
    with pytest.raises(InterviewError) as refused:
        fresh(answers)
    assert refused.value.key == key
    assert reason in str(refused.value)
