"""The review as a whole: order, progress, what is told of each number, and what no rule may do."""

import re

import pytest
from bench_rig import bench_rig, rig_with
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from levelbench.project import ProjectProblems, Value, edit_many, load, samples
from levelbench.quantity import Figure, LevelBenchError
from levelbench.review import RULES, Finding, Severity, ladder, review, scaling_table, worst
from levelbench.rig import Cancelled, Rig, RigError, assemble

RIGS = {
    "bench rig": bench_rig(),
    **{path.stem: assemble(load(path)) for path in samples()},
    "far too much": rig_with(
        {
            "overflow_switch.fitted": False,
            "loop_settings.action": "direct",
            "sensor.near_dead_zone": "10 in",
            "bands.high": None,
            "reservoir.charge": "32 gal",
        }
    ),
}
EVERY_RIG = pytest.mark.parametrize("name", RIGS)


@EVERY_RIG
def test_worst_first_and_nothing_left_out(name: str) -> None:
    findings = review(RIGS[name])
    assert {one.key for one in findings} == set(RULES)
    ranks = [(not one.applies, one.severity.rank) for one in findings]
    assert ranks == sorted(ranks)
    assert worst(findings) is findings[0].severity
    assert worst([]) is Severity.GOOD


def test_equal_severity_keeps_the_order_of_the_rules() -> None:
    good = [one.key for one in review(RIGS["bench rig"]) if one.severity is Severity.GOOD and one.applies]
    assert good == [key for key in RULES if key in good]


def test_it_gives_the_same_twice() -> None:
    assert review(RIGS["bench rig"]) == review(RIGS["bench rig"])


def test_progress_rises_and_can_stop_it() -> None:
    seen: list[float] = []
    review(RIGS["bench rig"], lambda share: not seen.append(share))  # type: ignore[func-returns-value]
    assert seen == sorted(seen)
    assert seen[0] == 0.0
    assert len(seen) == len(RULES)
    with pytest.raises(Cancelled):
        review(RIGS["bench rig"], lambda share: share < 0.5)


@pytest.mark.parametrize("path", samples(), ids=lambda path: path.stem)
def test_a_sample_has_nothing_that_stops(path: object) -> None:
    findings = review(RIGS[getattr(path, "stem", "")])
    assert [one.key for one in findings if one.severity is Severity.STOP] == []


@EVERY_RIG
def test_every_figure_says_where_it_comes_from(name: str) -> None:
    for finding in review(RIGS[name]):
        assert len({figure.key for figure in finding.figures}) == len(finding.figures)
        for figure in finding.figures:
            assert figure.formula
            assert figure.source
            assert figure.name
            assert figure.si == figure.si  # not nan


@EVERY_RIG
def test_texts_are_sentences_in_the_persons_units(name: str) -> None:
    metric = name == "parts_washer"
    foreign = r"\d (in|US gal|US gal/min)\b" if metric else r"\d (mm|l|l/min|m3)\b"
    for finding in review(RIGS[name]):
        assert finding.text.endswith((".", "”", ")"))
        assert "e-0" not in finding.text + finding.change
        assert "nan" not in finding.text.split()
        assert not re.search(foreign, finding.text + finding.change), finding


@EVERY_RIG
def test_a_figure_that_two_rules_give_is_the_same_figure(name: str) -> None:
    seen: dict[str, Figure] = {}
    for finding in review(RIGS[name]):
        for figure in finding.figures:
            assert seen.setdefault(figure.key, figure) == figure


def test_each_severity_has_a_word_and_a_mark_of_its_own() -> None:
    assert len({one.word for one in Severity}) == len({one.mark for one in Severity}) == 3


def test_a_refusal_becomes_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(rig: Rig) -> Finding:
        raise RigError("The pump gives no flow.", "pump.shut_off_head", "Take another.")

    monkeypatch.setitem(RULES, "loop.delay", refuse)
    found = next(one for one in review(RIGS["bench rig"]) if one.key == "loop.delay")
    assert found.severity is Severity.ATTEND
    assert found.go_to == "pump.shut_off_head"
    assert "no flow" in found.text


def test_the_ladder_of_the_bench_rig() -> None:
    rungs = ladder(RIGS["bench rig"])
    assert [(rung.name, rung.tag) for rung in rungs] == [
        ("drain takes air", ""),
        ("low", "LAL-101"),
        ("set point, lowest", "LIC-101"),
        ("set point, highest", "LIC-101"),
        ("high", "LAH-101"),
        ("switch", "LSHH-101"),
        ("spill", ""),
        ("rim", ""),
        ("highest readable", "LT-101"),
    ]
    assert [rung.level for rung in rungs] == sorted(rung.level for rung in rungs)
    assert rungs[-1].seconds_to_next is None


def test_tags_follow_the_persons_own_letter() -> None:
    """ANSI/ISA-5.1-2009 Table 4.1 leaves some first letters to the user."""
    own = rig_with({"first_letter": "N", "first_letter_means": "volume"})
    assert {"NAH-101", "NSHH-101", "NAL-101"} <= {rung.tag for rung in ladder(own)}


LENGTHS = st.floats(0.0, 40.0).map(lambda inches: f"{inches:.2f} in")
VOLUMES = st.floats(0.01, 40.0).map(lambda gallons: f"{gallons:.2f} gal")
FLOWS = st.floats(0.0, 20.0).map(lambda gpm: f"{gpm:.3f} gal/min")
SHARES = st.floats(0.0, 0.9).map(lambda share: f"{share * 100:.0f} %")
TIMES = st.floats(0.1, 60.0).map(lambda seconds: f"{seconds:.1f} s")
ENTRIES: dict[str, st.SearchStrategy[Value]] = {
    "tank.rim_to_spill": LENGTHS,
    "tank.height": LENGTHS,
    "reservoir.charge": VOLUMES,
    "reservoir.capacity": VOLUMES,
    "reservoir.floor_below_tank_floor": st.floats(-60, 60).map(lambda inches: f"{inches:.1f} in"),
    "pump.drive": st.sampled_from(["variable speed", "on/off"]),
    "pump.largest_flow": FLOWS,
    "pump.slowest_flow": FLOWS,
    "pump.shut_off_head": LENGTHS,
    "pump.wear": SHARES,
    "pump.fill_end_above_floor": LENGTHS,
    "pump.stalls_at": SHARES,
    "pump.spin_up": TIMES,
    "pump.tube_volume": VOLUMES,
    "drain.kind": st.sampled_from(["bottom outlet", "siphon over the rim", "forced draw", "none"]),
    "drain.outlet_above_floor": st.floats(-60, 60).map(lambda inches: f"{inches:.1f} in"),
    "drain.inlet_above_floor": LENGTHS,
    "drain.goes_to": st.sampled_from(["reservoir", "away"]),
    "sensor.kind": st.sampled_from(["ultrasonic", "radar"]),
    "sensor.near_dead_zone": LENGTHS,
    "sensor.noise": LENGTHS,
    "sensor.averaging": st.integers(1, 1000),
    "sensor.resolution": LENGTHS,
    "overflow_switch.fitted": st.booleans(),
    "overflow_switch.trips_at": LENGTHS,
    "overflow_switch.delay": TIMES,
    "loop_settings.gain": st.floats(0.1, 50_000).map(lambda gain: f"{gain:.1f} %/gal"),
    "loop_settings.integral": st.one_of(TIMES, st.just("off")),
    "loop_settings.derivative": TIMES,
    "loop_settings.pv_filter": TIMES,
    "loop_settings.action": st.sampled_from(["reverse", "direct"]),
    "loop_settings.set_point_high": VOLUMES,
    "loop_settings.set_point_low": VOLUMES,
    "bands.high.limit": VOLUMES,
    "bands.low.limit": VOLUMES,
    "bands.high_high.limit": VOLUMES,
    "bands.low_low.limit": VOLUMES,
    "bands.high.on_delay": TIMES,
    "bands.high.priority": st.sampled_from(["high", "medium", "low"]),
    "bands.high.operator_action": st.sampled_from(["", "close drain, check reservoir", "=1+1"]),
    "bands.high.time_available": TIMES,
    "bands.low.on_delay": TIMES,
    "bands.rate_of_change.limit": FLOWS,
    "bands.no_rise.limit": VOLUMES,
    "bands.switch.latching": st.booleans(),
    "bands.spill.priority": st.sampled_from(["high", "medium", "low"]),
    "alarm_handling.protection": st.sampled_from(["operator may act", "hardware must trip"]),
    "duty.time_to_act": st.floats(0.0, 600.0).map(lambda seconds: f"{seconds:.1f} s"),
    "duty.largest_draw": FLOWS,
    "start.tank_volume": VOLUMES,
}


SOME_ENTRIES = st.lists(st.sampled_from(sorted(ENTRIES)), min_size=1, max_size=4, unique=True).flatmap(
    lambda keys: st.fixed_dictionaries({key: ENTRIES[key] for key in keys})
)


@given(SOME_ENTRIES)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_rule_raises_and_no_change_makes_its_own_rule_worse(changes: dict[str, Value]) -> None:
    """Any project that can be read and built is reviewed to the end, and every offered change can be read and built."""
    try:
        rig = assemble(edit_many(RIGS["bench rig"].project, changes))
    except (ProjectProblems, LevelBenchError):
        return
    assert scaling_table(rig)
    for finding in review(rig):
        if not finding.what_if:
            continue
        after = assemble(edit_many(rig.project, dict(finding.what_if)))
        assert RULES[finding.key](after).severity.rank >= finding.severity.rank, (finding, RULES[finding.key](after))
