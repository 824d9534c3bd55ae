"""Every rule on a rig that breaks it: it fires, it says what to change, and the change makes it better."""

import pytest
from bench_rig import bench_rig, rig_with

from levelbench.project import Value, edit_many
from levelbench.review import RULES, Severity
from levelbench.rig import Rig, assemble

STOP, ATTEND = Severity.STOP, Severity.ATTEND
Changes = dict[str, Value]

SWINGING: Changes = {
    "loop_settings.gain": "10 %/gal",
    "loop_settings.integral": "2 s",
    "start.set_point": "6.74 gal",
    "bands.high.limit": "6.85 gal",
}
HYDROSTATIC: Changes = {
    "sensor.kind": "hydrostatic",
    "sensor.face_above_floor": "0 in",
    "sensor.signal_span": ["0 in", "20 in"],
}
WIDE_INPUT: Changes = {"sensor.converter_range": ["0 mA", "24 mA"]}
SMALL_RESERVOIR: Changes = {"reservoir.capacity": "7.4 gal", "reservoir.height": "6 in"}
DROWNED_END: Changes = {"pump.fill_end_above_floor": "1 in"}
TWO_POINTS: Changes = {"sensor.scaled_by": "two points", "sensor.volume_at_ends": ["1.96 gal", "9.8 gal"]}
RELIED_ON: Changes = {"alarm_handling.protection": "operator may act"}
NO_BANDS: Changes = {"bands.high": None, "bands.low": None}
LONELY_LAMP = [{"state": "normal", "green": "steady"}, {"state": "low", "yellow": "steady"}]
COMPLETE_LAMPS = [
    {"state": "stop pressed", "red": "steady", "horn": True},
    {"state": "switch tripped", "red": "steady", "horn": True},
    {"state": "sensor failed", "yellow": "flashing", "horn": True},
    {"state": "waiting for start", "blue": "flashing"},
    {"state": "high", "yellow": "steady"},
    {"state": "low", "yellow": "flashing"},
    {"state": "normal", "green": "steady"},
]

# rule, what makes the bench rig break it, the verdict, whether an edit can mend it
BROKEN: list[tuple[str, Changes, Severity, bool]] = [
    ("switch.fitted", {"overflow_switch.fitted": False}, STOP, True),
    ("switch.coast_down", {"overflow_switch.trips_at": "18.95 in"}, STOP, True),
    ("switch.coast_down", {"overflow_switch.trips_at": "18.80 in"}, ATTEND, True),
    ("switch.clear_of_set_point", {"overflow_switch.trips_at": "13.9 in"}, ATTEND, True),
    ("ladder.order", {"bands.high.limit": "8.9 gal"}, STOP, True),
    ("ladder.order", {"bands.high.limit": "6.5 gal"}, ATTEND, True),
    ("ladder.order", {"overflow_switch.trips_at": "19.5 in"}, STOP, True),
    ("ladder.order", {"bands.low.limit": "0.3 gal"}, ATTEND, True),
    ("ladder.spacing", {"bands.high.limit": "6.78 gal"}, ATTEND, True),
    ("ladder.time_to_act", {"overflow_switch.fitted": False}, STOP, True),
    ("ladder.time_to_act", {"bands.high": None}, ATTEND, True),
    ("ladder.time_to_act", {**RELIED_ON}, ATTEND, True),
    ("ladder.time_to_act", {**RELIED_ON, "duty.time_to_act": "2 min"}, ATTEND, True),
    ("ladder.time_to_act", {**RELIED_ON, "duty.time_to_act": "103 s"}, ATTEND, True),
    ("ladder.time_to_air", {**RELIED_ON}, ATTEND, True),
    ("ladder.time_to_air", {**RELIED_ON, "duty.time_to_act": "50 s"}, ATTEND, True),
    ("ladder.time_to_air", {**RELIED_ON, "duty.time_to_act": "38 s"}, ATTEND, True),
    ("sensor.dead_zone", {"sensor.near_dead_zone": "10 in"}, STOP, True),
    ("sensor.dead_zone", {"sensor.near_dead_zone": "6 in"}, ATTEND, True),
    ("sensor.drowning", {"sensor.face_above_floor": "18.5 in", "sensor.signal_span": ["18.5 in", "0 in"]}, STOP, True),
    ("sensor.span", {"sensor.signal_span": ["24.5 in", "14.5 in"]}, STOP, True),
    ("sensor.span", {"sensor.signal_span": ["24.5 in", "6.5 in"]}, ATTEND, True),
    ("sensor.span", {"sensor.signal_span": ["20 in", "4.5 in"]}, ATTEND, True),
    ("sensor.two_points", {**TWO_POINTS}, STOP, True),
    ("sensor.two_points", {**TWO_POINTS, "sensor.volume_at_ends": ["0.2 gal", "9.8 gal"]}, ATTEND, True),
    ("sensor.failure_levels", {"sensor.converter_range": ["4 mA", "20 mA"]}, STOP, True),
    ("sensor.failure_levels", {}, ATTEND, True),
    ("sensor.failure_levels", {"sensor.fails_beyond": ["3.8 mA", "20.5 mA"], **WIDE_INPUT}, ATTEND, True),
    ("sensor.air", {"sensor.air_temperature": "40 °C"}, ATTEND, True),
    ("sensor.air", {"duty.air_swing": "10 K"}, ATTEND, False),
    ("sensor.own_error", {"sensor.zero_error": "0.4 in"}, ATTEND, False),
    ("sensor.own_error", {"sensor.span_error": "-12 %"}, STOP, False),
    ("tank.leak", {"tank.leak": "0.05 gal/min"}, ATTEND, False),
    ("tank.leak", {"tank.leak": "1.6 gal/min"}, STOP, False),
    ("resolution.entry_step", {"sensor.resolution": "1 mm", "loop_settings.entry_step": "0.01 gal"}, ATTEND, True),
    ("pump.capacity", {"duty.largest_draw": "1.2 gal/min"}, STOP, True),
    ("pump.capacity", {"duty.largest_draw": "0.8 gal/min"}, ATTEND, True),
    ("pump.capacity", {"duty.largest_draw": "0.1 gal/min"}, ATTEND, True),
    ("pump.capacity", {"pump.shut_off_head": "3 ft", "pump.measured_at_lift": "1 ft"}, STOP, False),
    ("pump.slowest_flow", {"pump.slowest_flow": "0.3 gal/min"}, ATTEND, True),
    ("pump.starts", {"pump.most_starts": "60 1/h"}, ATTEND, True),
    ("pump.starts", {"pump.most_starts": None}, ATTEND, False),
    ("pump.starts", {"pump.drive": "on/off", "pump.most_starts": "60 1/h"}, ATTEND, True),
    ("reservoir.room", {"reservoir.charge": "32 gal"}, STOP, True),
    ("reservoir.room", {"reservoir.charge": "30 gal"}, ATTEND, True),
    ("reservoir.stock", {"reservoir.charge": "7.5 gal"}, STOP, True),
    ("reservoir.stock", {"reservoir.charge": "8.1 gal"}, ATTEND, True),
    ("reservoir.stock", {"reservoir.charge": "7.2 gal", **SMALL_RESERVOIR}, STOP, True),
    ("reservoir.lasts", {"drain.goes_to": "away"}, ATTEND, False),
    ("circuit.back_siphon", DROWNED_END, ATTEND, True),
    ("circuit.back_siphon", {**DROWNED_END, "reservoir.charge": "32 gal"}, STOP, True),
    ("circuit.back_siphon", {**DROWNED_END, "reservoir.charge": "32 gal", "pump.check_valve": True}, ATTEND, True),
    ("circuit.forward_siphon", {"reservoir.floor_below_tank_floor": "-20 in"}, STOP, True),
    (
        "circuit.forward_siphon",
        {"reservoir.floor_below_tank_floor": "-13 in", "pump.fill_end_above_floor": "16 in"},
        ATTEND,
        True,
    ),
    ("drain.capacity", {"drain.valve_cv": "0.3"}, ATTEND, True),
    ("drain.capacity", {"drain.outlet_above_floor": "6 in"}, STOP, False),
    ("drain.runaway", {"drain.valve_cv": "3"}, ATTEND, True),
    ("drain.air_draw", {"bands.low.limit": "1.0 gal"}, ATTEND, True),
    ("drain.air_draw", {"bands.low": None, "drain.inlet_above_floor": "3.5 in"}, ATTEND, True),
    ("drain.crest", {"drain.crest_above_floor": "26 ft"}, ATTEND, True),
    ("drain.crest", {"drain.crest_above_floor": "40 ft"}, STOP, True),
    ("drain.crest", {"drain.crest_above_floor": "15 in"}, ATTEND, True),
    ("drain.after_stop", {"drain.goes_to": "away"}, ATTEND, False),
    ("loop.action", {"loop_settings.action": "direct"}, STOP, True),
    ("loop.delay", {"sensor.averaging": 300}, ATTEND, True),
    ("loop.scan", {"loop_settings.scan": "10 s"}, ATTEND, True),
    ("loop.slow_cycling", {"loop_settings.gain": "67.5 %/gal"}, STOP, True),
    ("loop.slow_cycling", {"loop_settings.integral": "20 s"}, ATTEND, True),
    ("loop.slow_cycling", {"loop_settings.form": "parallel", "loop_settings.integral": "2000 1/min"}, ATTEND, True),
    ("loop.slow_cycling", {"loop_settings.form": "series", "loop_settings.integral": "3 repeats/min"}, ATTEND, True),
    ("loop.gain_ceiling", {"sensor.averaging": 300}, STOP, True),
    ("loop.gain_ceiling", {"loop_settings.gain": "1300 %/gal"}, ATTEND, True),
    ("loop.gain_ceiling", {"loop_settings.gain": None, "loop_settings.proportional_band": "0.3 %"}, STOP, True),
    ("loop.gain_ceiling", {"loop_settings.gain": "250 %/%"}, STOP, True),
    ("loop.set_point_weight", {"loop_settings.set_point_weight": "1"}, ATTEND, True),
    ("loop.noise", {"sensor.averaging": 1}, ATTEND, True),
    ("loop.noise", {"sensor.noise": "2 in"}, ATTEND, False),
    ("loop.derivative", {"loop_settings.derivative": "5 s"}, ATTEND, True),
    ("loop.wind_up", SWINGING, ATTEND, False),
    ("loop.wind_up", {**SWINGING, "overflow_switch.trips_at": "14.2 in"}, STOP, False),
    ("bands.missing", {"bands.high": None}, ATTEND, True),
    ("bands.missing", {"bands.high": None, "bands.low": None}, ATTEND, True),
    ("bands.dead_band", {"bands.high.dead_band": "0 gal"}, ATTEND, True),
    ("bands.on_delay", {"bands.high.on_delay": "60 s"}, ATTEND, True),
    ("bands.on_delay", {"bands.high.on_delay": "120 s", "overflow_switch.fitted": False}, STOP, True),
    ("bands.on_delay", {"bands.low.on_delay": "3 min"}, ATTEND, True),
    ("bands.deviation", {"bands.deviation.limit": "0.03 gal", "bands.deviation.dead_band": "0.05 gal"}, ATTEND, True),
    ("bands.deviation", {"bands.deviation.limit": "0.0501 gal", "bands.deviation.dead_band": "0.05 gal"}, ATTEND, True),
    ("bands.deviation", {"bands.deviation.limit": "3.6 gal"}, ATTEND, True),
    ("bands.deviation", {"bands.deviation.limit": "1 gal", "bands.deviation.dead_band": "4 gal"}, ATTEND, False),
    ("alarms.action", {"bands.high.operator_action": None}, ATTEND, True),
    ("alarms.priority", {"bands.high.priority": "low"}, ATTEND, True),
    ("alarms.same", {"bands.high_high.limit": "7.50 gal"}, ATTEND, False),
    ("alarms.same", {"bands.high.operator_action": "Close drain,  check reservoir"}, ATTEND, False),
    ("alarms.time_available", {"bands.high.time_available": "5 min"}, ATTEND, True),
    ("light.truth_table", {"stack_light": LONELY_LAMP}, STOP, True),
    ("light.truth_table", {"stack_light": COMPLETE_LAMPS}, ATTEND, True),
    ("light.silence", {"alarm_handling.silence_at_most": "30 min"}, ATTEND, True),
]  # fmt: skip


def test_every_rule_is_broken_by_some_rig() -> None:
    assert {key for key, *_ in BROKEN} == set(RULES)


@pytest.mark.parametrize(
    ("key", "changes", "severity", "mends"), BROKEN, ids=[f"{row[0]} {row[2].word}" for row in BROKEN]
)
def test_it_fires_and_its_change_mends_it(key: str, changes: Changes, severity: Severity, mends: bool) -> None:
    rig = rig_with(changes)
    finding = RULES[key](rig)
    assert finding.key == key
    assert finding.severity is severity, finding.text
    assert finding.change.endswith(".")
    assert finding.go_to
    assert bool(finding.what_if) == mends
    if mends:
        after = RULES[key](mended(rig, finding.what_if))
        assert after.severity.rank > finding.severity.rank, after.text


def mended(rig: Rig, what_if: object) -> Rig:
    assert isinstance(what_if, dict)
    return assemble(edit_many(rig.project, what_if))


@pytest.mark.parametrize("key", [key for key in RULES if key not in ("sensor.failure_levels",)])
def test_the_bench_rig_itself_is_good(key: str) -> None:
    """Its own converter ends at 20 mA, which is the one thing that was said against it when it was worked out."""
    finding = RULES[key](bench_rig(start__set_point="6.74 gal"))
    assert finding.severity is Severity.GOOD, finding.text


@pytest.mark.parametrize(
    ("key", "changes"),
    [
        ("sensor.dead_zone", HYDROSTATIC),
        ("sensor.air", {"sensor.kind": "radar"}),
        ("sensor.two_points", {}),
        ("sensor.own_error", {}),
        ("tank.leak", {}),
        ("switch.coast_down", {"overflow_switch.fitted": False}),
        ("switch.clear_of_set_point", {"overflow_switch.fitted": False}),
        ("pump.capacity", {"duty.largest_draw": "0 gal/min"}),
        ("pump.slowest_flow", {"pump.drive": "on/off"}),
        ("reservoir.lasts", {}),
        ("reservoir.lasts", {"drain.goes_to": "away", "duty.largest_draw": "0 gal/min"}),
        ("circuit.back_siphon", {"pump.vented": True}),
        ("circuit.forward_siphon", {"pump.vented": True}),
        ("drain.capacity", {"drain.kind": "none"}),
        ("drain.crest", {"drain.kind": "bottom outlet"}),
        ("drain.air_draw", {"drain.kind": "forced draw"}),
        ("drain.after_stop", {"drain.kind": "none"}),
        ("drain.runaway", {"drain.kind": "none"}),
        ("loop.derivative", {}),
        ("loop.slow_cycling", {"loop_settings.integral": "off"}),
        ("loop.gain_ceiling", {"loop_settings.action": "direct"}),
        ("loop.wind_up", {"start.mode": "manual"}),
        ("bands.dead_band", NO_BANDS),
        ("bands.on_delay", NO_BANDS),
        ("bands.deviation", {}),
        ("ladder.time_to_air", {"bands.low": None}),
        ("alarms.action", NO_BANDS),
        ("alarms.priority", NO_BANDS),
        ("alarms.same", {"bands.low": None}),
        ("alarms.time_available", {}),
        ("light.silence", {"duty.time_to_act": "0 s"}),
    ],
)  # fmt: skip
def test_a_rule_with_nothing_to_judge_says_so(key: str, changes: Changes) -> None:
    finding = RULES[key](rig_with(changes))
    assert not finding.applies
    assert finding.severity is Severity.GOOD
    assert finding.text.startswith("Not judged: ")


@pytest.mark.parametrize(("key", "wide"), [("high", "9 gal"), ("low", "30 gal"), ("rate_of_change", "1.3 gal/min")])
def test_a_dead_band_that_never_lets_an_alarm_go_is_told(key: str, wide: str) -> None:
    """Wider than the whole tank, or than the rate itself: the alarm stands for ever. Logic, no source."""
    edits = {"bands.rate_of_change.limit": "1.3 gal/min", f"bands.{key}.dead_band": wide}
    found = RULES["bands.dead_band"](rig_with(edits))
    assert found.severity is Severity.ATTEND
    assert "never" in found.text
    assert key.replace("_", " ") in found.text
