"""Limits with dead band and delays, the status word, the stack light's truth table and the horn.

The PV stands still (signal held) and the limits are moved past it, so that every delay can be counted in scans.
Dead band and delays are those of ISA-18.2 (terms); meanings of colours after IEC 60073.
"""

import itertools

import numpy as np
import pytest
from lamps import COLOURS, expected, horn_wanted, shown, states
from rigs import LITRE, PLAIN, build, go, times_of, together

from levelbench.project import Value
from levelbench.rig import CONDITION_NAMES, Action, Rig, Session, has, status_word
from levelbench.rig.lamps import CHOICES
from levelbench.rig.panel import BITS

FAR = 30 * LITRE  # away from a PV of 20 l, on the safe side of either kind of limit
BANDS: dict[str, Value] = {
    "bands": {
        name: {"limit": limit, "dead_band": "1 l", "on_delay": "2 s", "off_delay": "3 s"}
        for name, limit in (("high_high", "34 l"), ("high", "32 l"), ("low", "8 l"), ("low_low", "6 l"))
    }
    | {"deviation": {"limit": "15 l", "dead_band": "1 l", "on_delay": "2 s", "off_delay": "3 s"}},
    "alarm_handling.acknowledge": "by itself",
}
HELD = Action(0, "signal held", 1)
UP = ("high-high", "high")
DOWN = ("low", "low-low")


def moved(band: str, past: float) -> Action:
    """Move a limit so that a PV of 20 l stands so many litres past it (negative: on the safe side)."""
    litres = 20 - past if band in UP else 20 + past
    return Action(5, f"{band} limit", litres * LITRE)


@pytest.mark.parametrize("band", UP + DOWN)
class TestOneLimit:
    def test_comes_after_its_on_delay_to_the_scan(self, band: str) -> None:
        recording = go(build(PLAIN, BANDS), 20, HELD, moved(band, 0.5))
        assert times_of(recording, band) == [pytest.approx(7.0, abs=1e-9)]
        assert not recording.condition(band)[:70].any()
        assert recording.condition(band)[70:].all()

    def test_goes_after_its_off_delay_beyond_the_dead_band(self, band: str) -> None:
        inside = Action(10, f"{band} limit", moved(band, -0.9).value)
        outside = Action(15, f"{band} limit", moved(band, -1.1).value)
        recording = go(build(PLAIN, BANDS), 25, HELD, moved(band, 0.5), inside, outside)
        assert recording.condition(band)[70:180].all()
        assert times_of(recording, band, 0.0) == [pytest.approx(18.0, abs=1e-9)]

    def test_without_delays_it_acts_in_the_same_scan(self, band: str) -> None:
        at_once = [Action(0, f"{band} on-delay", 0.0), Action(0, f"{band} off-delay", 0.0)]
        gone = Action(10, f"{band} limit", moved(band, -1.1).value)
        recording = go(build(PLAIN, BANDS), 15, HELD, at_once, moved(band, 0.001), gone)
        assert times_of(recording, band) == [5.0]
        assert times_of(recording, band, 0.0) == [10.0]

    def test_an_interrupted_delay_begins_anew(self, band: str) -> None:
        away = Action(6.9, f"{band} limit", moved(band, -0.1).value)
        again = Action(7.0, f"{band} limit", moved(band, 0.1).value)
        recording = go(build(PLAIN, BANDS), 15, HELD, moved(band, 0.1), away, again)
        assert times_of(recording, band) == [pytest.approx(9.0, abs=1e-9)]

    def test_a_limit_out_of_use_is_silent(self, band: str) -> None:
        off = Action(10, f"{band} in use", 0)
        recording = go(build(PLAIN, BANDS), 15, HELD, moved(band, 0.5), off)
        assert times_of(recording, band, 0.0) == [10.0]
        assert not go(build(PLAIN), 15, HELD, moved(band, 0.5)).condition(band).any()

    def test_other_limits_do_not_care(self, band: str) -> None:
        recording = go(build(PLAIN, BANDS), 15, HELD, moved(band, 0.5))
        assert not any(recording.condition(other).any() for other in (*UP, *DOWN, "deviation") if other != band)


def test_limit_comes_where_the_pv_passes_it() -> None:
    """A falling PV meets the low limit and, refilled, leaves it at limit and dead band."""
    falling = {"drain.kind": "forced draw", "drain.draw": "6 l/min", "start.mode": "manual", "start.output": "0 %"}
    rig = build(PLAIN, BANDS, falling)
    recording = go(rig, 300, Action(0, "low on-delay", 0), Action(0, "low off-delay", 0), Action(150, "draw", 0))
    more = go(rig, 300, Action(0, "low on-delay", 0), Action(150, "draw", 0), Action(150, "manual output", 1.0))
    came = round(times_of(recording, "low")[0] / 0.1)
    assert recording["pv"][came] == pytest.approx(8 * LITRE, abs=0.02 * LITRE)
    went = round((times_of(more, "low", 0.0)[0] - 3.0) / 0.1)
    assert more["pv"][went] == pytest.approx(9 * LITRE, abs=0.03 * LITRE)


@pytest.mark.parametrize("distance", [16, -16])
def test_deviation_counts_both_ways(distance: float) -> None:
    recording = go(build(PLAIN, BANDS), 20, HELD, Action(5, "deviation limit", 5 * LITRE), _step(distance / 2))
    assert times_of(recording, "deviation") == [pytest.approx(8.0, abs=1e-9)]


def _step(litres: float) -> Action:
    return Action(6, "set point", (20 + litres) * LITRE)


def test_deviation_is_watched_in_automatic_and_started_only() -> None:
    """A person at the wheel, or a rig that is stopped, is no deviation (common practice, no source)."""
    near = Action(5, "deviation limit", 5 * LITRE)
    for stopping in (Action(12, "auto", 0), Action(12, "stop", 1), Action(12, "mains", 0)):
        recording = go(build(PLAIN, BANDS), 30, HELD, near, _step(8))
        stopped = go(build(PLAIN, BANDS), 30, HELD, near, _step(8), stopping)
        assert recording.condition("deviation")[-1]
        assert times_of(stopped, "deviation", 0.0) == [12.0]
    assert not go(build(PLAIN, BANDS), 30, HELD, near, _step(8), Action(4, "auto", 0)).condition("deviation").any()


def test_limits_wait_while_the_sensor_has_failed() -> None:
    """A PV that is known to be wrong moves no limit."""
    fails = [Action(5, "signal held", 0), Action(5, "echo lost", 1)]
    late = Action(15, "high limit", 10 * LITRE)
    recording = go(build(PLAIN, BANDS), 30, fails, late)
    assert recording.condition("sensor failed")[-1]
    assert not recording.condition("high").any()


def test_status_word() -> None:
    """HIGH for high or high-high, LOW for low or low-low, else OK; deviation has no word of its own."""
    for names in itertools.chain.from_iterable(
        itertools.combinations(("high-high", "high", "deviation"), n) for n in range(4)
    ):
        word = "HIGH" if {"high-high", "high"} & set(names) else "OK"
        assert status_word(sum(1 << BITS[name] for name in names)) == word
    assert status_word(1 << BITS["low"]) == "LOW"
    assert status_word(1 << BITS["low-low"]) == "LOW"
    assert status_word(0) == "OK"


# Stack light --------------------------------------------------------------------------------------------------------

# What brings each row of the table about, from a rig that runs in automatic.
BRINGS: dict[str, list[tuple[str, float]]] = {
    "stop pressed": [("stop", 1)],
    "switch tripped": [("switch wire open", 1)],
    "sensor failed": [("echo lost", 1)],
    "waiting for start": [("mains", 0), ("mains", 1)],
    "high-high": [("high-high limit", 10 * LITRE)],
    "high": [("high limit", 10 * LITRE)],
    "low": [("low limit", FAR)],
    "low-low": [("low-low limit", FAR)],
    "deviation": [("set point", 28 * LITRE), ("deviation limit", 5 * LITRE), ("airlock", 1)],
    "manual": [("auto", 0)],
    "normal": [],
}


def after(rig: Rig, *names: str) -> tuple[Session, int]:
    session = Session(rig)
    session.advance(10)
    for name in names:
        for what, value in BRINGS[name]:
            session.act(what, value)
    session.advance(60)
    return session, conditions(session)


def conditions(session: Session) -> int:
    return int(together(session, [session.advance(1)])["conditions"][-1])


@pytest.mark.parametrize("state", BRINGS)
def test_each_row_of_the_truth_table(state: str) -> None:
    """Table of the sample project: red emergency, yellow abnormal, green normal, blue act (IEC 60073)."""
    rig = build(PLAIN, BANDS)
    _, found = after(rig, state)
    assert state in states(found)
    assert shown(found) == expected(rig.project, found)
    (row,) = (row for row in rig.project.stack_light if row.state == state)
    if state not in ("manual", "deviation"):  # alone, the lamps are the row's own
        assert shown(found) == {colour: getattr(row, colour) for colour in COLOURS}
        assert has(found, "horn") == row.horn


@pytest.mark.parametrize("pair", list(itertools.combinations([one for one in BRINGS if one != "normal"], 2)))
def test_two_rows_add_up(pair: tuple[str, str]) -> None:
    rig = build(PLAIN, BANDS)
    _, found = after(rig, *pair)
    assert shown(found) == expected(rig.project, found)
    assert has(found, "horn") == horn_wanted(rig.project, found)


def test_flashing_goes_over_steady() -> None:
    """Red steady for the stop and red flashing for high-high give red flashing."""
    rig = build(PLAIN, BANDS)
    _, found = after(rig, "stop pressed", "high-high")
    assert shown(found)["red"] == "flashing"


def test_a_table_of_ones_own_is_followed() -> None:
    rows = [{"state": "normal", "blue": "flashing", "horn": True}, {"state": "manual", "green": "flashing"}]
    rig = build(PLAIN, BANDS, {"stack_light": rows})
    _, found = after(rig, "normal")
    assert shown(found) == {"red": "off", "yellow": "off", "green": "off", "blue": "flashing"}
    assert has(found, "horn")
    _, by_hand = after(rig, "manual")
    assert shown(by_hand)["green"] == "flashing"


def test_lamp_test_lights_all_and_nothing_without_mains() -> None:
    rig = build(PLAIN, BANDS)
    session, _ = after(rig, "high")  # its blue goes on flashing
    session.act("lamp test", 1)
    found = conditions(session)
    assert shown(found) == dict.fromkeys(COLOURS, "steady") | {"blue": "flashing"}
    session.act("mains", 0)
    assert shown(conditions(session)) == dict.fromkeys(COLOURS, "off")
    session.act("mains", 1)
    session.act("lamp test", 0)
    assert shown(conditions(session)) == expected(rig.project, conditions(session))


@pytest.mark.parametrize("state", BRINGS)
def test_everything_is_dark_and_silent_without_mains(state: str) -> None:
    session, _ = after(build(PLAIN, BANDS), state)
    session.act("mains", 0)
    found = conditions(session)
    assert shown(found) == dict.fromkeys(COLOURS, "off")
    assert not has(found, "horn")


# Horn ---------------------------------------------------------------------------------------------------------------


def horn(session: Session, *acts: tuple[str, float], scans: int = 60) -> bool:
    for what, value in acts:
        session.act(what, value)
    session.advance(scans)
    return has(conditions(session), "horn")


def test_horn_is_silenced_and_sounds_again_for_a_new_cause() -> None:
    """A silence holds for the causes that were there; a new one sounds again (common practice, no source)."""
    session, _ = after(build(PLAIN, BANDS), "high")
    assert horn(session)
    assert not horn(session, ("silence", 1))
    assert horn(session, ("high-high limit", 10 * LITRE))
    assert not horn(session, ("silence", 1))
    assert not horn(session, ("high-high limit", FAR))  # a cause that goes is no new one
    assert horn(session, ("high-high limit", 10 * LITRE))
    assert has(conditions(session), "high")


def test_an_alarm_that_comes_again_before_somebody_has_acknowledged_it_ends_a_silence() -> None:
    """A returned alarm that comes again is a new one (ANSI/ISA-18.2-2016, from D to B; quoted from memory)."""
    session, _ = after(build(PLAIN, BANDS, {"alarm_handling.acknowledge": "by hand"}), "high")
    assert not horn(session, ("silence", 1))
    assert not horn(session, ("high limit", FAR))
    assert has(conditions(session), "silenced")
    assert horn(session, ("high limit", 10 * LITRE))


def test_the_lamps_table_is_changed_while_it_runs() -> None:
    session, _ = after(build(PLAIN, BANDS), "high")
    assert horn(session)
    words = "red flashing, green steady"
    session.act("lamps high", CHOICES.index(words))
    assert not horn(session, scans=1)
    assert shown(conditions(session)) == {"red": "flashing", "yellow": "off", "green": "steady", "blue": "off"}


def test_silence_ends_when_every_cause_is_gone() -> None:
    session, _ = after(build(PLAIN, BANDS), "high")
    assert not horn(session, ("silence", 1))
    assert has(conditions(session), "silenced")
    assert not horn(session, ("high limit", FAR))
    assert not has(conditions(session), "silenced")
    assert horn(session, ("high limit", 10 * LITRE))


def test_silence_beforehand_silences_nothing() -> None:
    session, _ = after(build(PLAIN, BANDS), "normal")
    assert not horn(session, ("silence", 1), scans=0)
    assert horn(session, ("stop", 1), scans=0)


def test_horn_sounds_again_when_power_returns_to_its_cause() -> None:
    session, _ = after(build(PLAIN, BANDS), "high")
    assert not horn(session, ("silence", 1))
    assert not horn(session, ("mains", 0))
    assert horn(session, ("mains", 1))


def test_names_of_the_conditions_are_the_kernel_s() -> None:
    """Every name has its bit and the lamps stand together (invariant)."""
    assert len(set(CONDITION_NAMES)) == len(CONDITION_NAMES) == 37
    assert np.diff([BITS[f"{colour} steady"] for colour in COLOURS]).tolist() == [1, 1, 1]
    assert np.diff([BITS[f"{colour} flashing"] for colour in COLOURS]).tolist() == [1, 1, 1]
