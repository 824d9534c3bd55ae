"""A broken wire of the current loop, for every kind of sensor; and a word for whatever comes and goes."""

import pytest
from rigs import BY_HAND, PLAIN, at, build, go, times_of

from levelbench.project import Value
from levelbench.rig import CONDITION_NAMES, Action
from levelbench.rig.panel import event_words

HAND = PLAIN | BY_HAND
KINDS: dict[str, dict[str, Value]] = {
    "ultrasonic": {},
    "hydrostatic": {
        "sensor.kind": "hydrostatic",
        "sensor.face_above_floor": "0 m",
        "sensor.signal_span": ["0 m", "0.5 m"],
    },
    "plain 4-20 mA": {"sensor.kind": "plain 4-20 mA", "sensor.signal_span": ["0 m", "0.5 m"]},
}


@pytest.mark.parametrize("kind", KINDS)
def test_an_open_loop_carries_no_current_and_fails_every_sensor(kind: str) -> None:
    """A live zero shows a broken wire: no current is none of 4 to 20 mA (IEC 60381-1), and below 3.6 mA it is a failure
    (NAMUR NE 43)."""
    rig = build(HAND, KINDS[kind], {"sensor.failure_delay": "2 s", "sensor.converter_range": ["0 mA", "20 mA"]})
    before_it = go(rig, 10)
    recording = go(rig, 60, Action(10, "loop wire open", 1), Action(40, "loop wire open", 0), Action(50, "reset"))
    assert at(recording, 9, "signal") >= 0.0038
    assert at(recording, 20, "signal") == 0.0
    assert times_of(recording, "sensor failed") == pytest.approx([12.0], abs=2 * rig.scan)
    assert times_of(recording, "pump allowed", 0) == times_of(recording, "sensor latched")
    assert at(recording, 20, "pv") == pytest.approx(float(before_it["pv"][-1]), rel=1e-12)  # the last good one
    assert times_of(recording, "sensor failed", 0) == pytest.approx([40.0], abs=2 * rig.scan)
    assert times_of(recording, "sensor latched", 0) == pytest.approx([50.0], abs=2 * rig.scan)
    assert at(recording, 59, "signal") == pytest.approx(at(recording, 9, "signal"), rel=1e-9)


def test_a_converter_that_begins_at_4_ma_cannot_see_the_wire_break() -> None:
    """Its lowest count stands for 4 mA, whatever less flows; common practice, no source."""
    rig = build(HAND, {"sensor.converter_range": ["4 mA", "20 mA"]})
    recording = go(rig, 30, Action(10, "loop wire open", 1))
    assert at(recording, 20, "signal") == 0.0
    assert not recording.condition("sensor failed").any()


def test_every_condition_comes_and_goes_in_two_words_of_its_own() -> None:
    words = [event_words(name, value) for name in CONDITION_NAMES for value in (1.0, 0.0)]
    assert len(set(words)) == 2 * len(CONDITION_NAMES)
    assert event_words("pump allowed", 1.0) == "pump released"
    assert event_words("switch open", 1.0) == "overflow switch opened"
    assert not any(word.endswith((" came", " went")) for word in words)
