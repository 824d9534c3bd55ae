"""The states of the alarms: the compiled scan against the table of ISA-18.2, for any sequence of anything."""

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lamps import check_light
from lived import Lives, check_lives
from rigs import PLAIN

from levelbench.alarms.lifecycle import RULES, Event, Life, in_words
from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import Action, Entry, Recording, Rig, Session, assemble, kernel, run
from levelbench.rig.panel import ALARM_LETTERS, ALARM_NAMES, ALARM_STATES

SCANS = 50
PEOPLE = ("Ann", "Bo")
LADDER: dict[str, Value] = {
    "bands": {
        **{
            name: {"limit": limit, "dead_band": "1 l"}
            for name, limit in (("high_high", "34 l"), ("high", "32 l"), ("low", "8 l"), ("low_low", "6 l"))
        },
        "deviation": {"limit": "15 l"},
        "rate_of_change": {"limit": "5 l/min"},
        "frozen_signal": {"on_delay": "30 s"},
        "no_rise": {"limit": "1 l", "output_above": "50 %", "on_delay": "10 s"},
        **{name: {} for name in ("bad_signal", "switch", "spill")},
    }
}
QUICK: dict[str, Value] = {"loop_settings.scan": "1 s", "pump.spin_up": "0 s"}
CALM: dict[str, Value] = {
    "stack_light": [
        {"state": state, "yellow": "flashing", "horn": horn, "acknowledged": calm}
        for state, horn, calm in (
            ("switch tripped", True, "steady"),
            ("sensor failed", True, "stays"),
            ("high-high", True, "steady"),
            ("high", True, "stays"),
            ("low", False, "steady"),
            ("no rise", True, "steady"),
            ("spill", True, "steady"),
            ("waiting for start", False, "steady"),
        )
    ]
}
HANDLINGS: tuple[dict[str, Value], ...] = (
    {
        "alarm_handling.acknowledge": "by hand",
        "alarm_handling.shelve_at_most": "12 s",
        "alarm_handling.silence_at_most": "7 s",
    },
    {"alarm_handling.shelve_at_most": "30 s", "alarm_handling.silence_at_most": "20 s"},
)


def build(*changes: dict[str, Value]) -> Rig:
    every: dict[str, Value] = {}
    for one in (PLAIN, QUICK, LADDER, *changes):
        every |= one
    return assemble(edit_many(load(sample("seedling_house")), every))


RIGS = tuple(build(one, CALM) for one in HANDLINGS)


# What people do about an alarm, with the values that they choose from.
ABOUT: dict[str, tuple[float, ...]] = {
    "acknowledge": (1.0,),
    "shelve": (0.0, 0.3, 1.0, 5.0, 20.0, 100.0),
    "out of service": (0.0, 1.0),
    "suppression": (0.0, 1.0, 2.0, 3.0),
    "latching": (0.0, 1.0),
    "in use": (0.0, 1.0, 1.0),
}
# What brings each alarm's condition about or takes it away, while the signal is held and the PV stands at 20 l.
MOVERS: dict[str, tuple[float, ...]] = {
    **dict.fromkeys(("high-high limit", "high limit", "low limit", "low-low limit"), (0.010, 0.030)),
    **dict.fromkeys(("high off-delay", "low on-delay", "switch on-delay", "bad signal off-delay"), (0.0, 2.0)),
    "deviation limit": (0.0, 0.005),
    "rate of change limit": (0.0, 1.0),
    "frozen signal on-delay": (1.0, 1000.0),
    "manual output": (0.0, 1.0),
    "auto": (0.0, 1.0),
    "loop wire open": (0.0, 1.0),
    "switch wire open": (0.0, 1.0),
    "top up": (0.060,),
    "stop": (0.0, 1.0),
    "mains": (0.0, 1.0, 1.0),
    "acknowledge by hand": (0.0, 1.0),
    "silence time": (3.0, 15.0),
    "lamp test": (0.0, 1.0),
}
PRESSED = ("acknowledge", "reset", "power on", "silence")
OFTEN = ("high", "low", "deviation", "switch") * 4  # so that long lives are seen, not only short ones of many
DEED = st.sampled_from(
    [
        *((what, 1.0) for what in PRESSED * 20),
        *((f"{name} {part}", value) for name in OFTEN + ALARM_NAMES for part, of in ABOUT.items() for value in of),
        *((what, value) for what, of in MOVERS.items() for value in of * 10),
    ]
)
Deed = tuple[int, tuple[str, float], str]
DEEDS = st.lists(st.tuples(st.integers(0, SCANS - 1), DEED, st.sampled_from(PEOPLE)), min_size=30, max_size=90)


def actions_of(deeds: list[Deed]) -> list[Action]:
    return [Action(0.0, "signal held"), *(Action(float(at), what, value, who) for at, (what, value), who in deeds)]


def as_told(rig: Rig, actions: list[Action], room: int, pieces: tuple[int, ...]) -> Recording:
    """The same run by a session that is driven in pieces, with room for so many events at a time."""
    session = Session(rig)
    session._events = session._events[:room]  # a full buffer is what is looked for
    waiting = sorted(actions, key=lambda one: one.time)
    rows: list[Any] = []
    journal: list[Entry] = []
    for piece in itertools.cycle(pieces):
        while waiting and round(waiting[0].time / rig.scan) <= session.scans:
            one = waiting.pop(0)
            session.act(one.what, one.value, one.who)
        until = min(session.scans + piece, SCANS, round(waiting[0].time / rig.scan) if waiting else SCANS)
        chunk = session.advance(until - session.scans)
        rows += list(chunk.rows)
        journal += chunk.journal
        if session.scans == SCANS:
            return Recording(rig, 0, np.array(rows), tuple(journal))
    raise AssertionError


def followed(rig: Rig, actions: list[Action]) -> Lives:
    """Run it, and compare: states, journal and who with the table; lamps, horn and silence with the oracle, every scan.

    Run, a session in pieces with hardly any room for events, and a replay of the journal are the same, bit for bit.
    """
    recording = run(rig, float(SCANS), actions=actions)
    lives = check_lives(recording)
    check_light(recording, actions)
    told = as_told(rig, actions, kernel.ROOM, (1, 7, 3))
    assert told.rows.tobytes() == recording.rows.tobytes()
    assert told.journal == recording.journal
    again = [Action(one.time, one.what, one.value, one.who) for one in recording.journal if one.kind == "action"]
    replayed = run(rig, float(SCANS), actions=again)
    assert replayed.rows.tobytes() == recording.rows.tobytes()
    assert replayed.journal == recording.journal
    return lives


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(which=st.integers(0, len(RIGS) - 1), deeds=DEEDS)
def test_whatever_happens_the_scan_follows_the_table(which: int, deeds: list[Deed]) -> None:
    followed(RIGS[which], actions_of(deeds))


_LIMITS = (("high limit", 0.010), ("high limit", 0.030), ("low limit", 0.030), ("low limit", 0.010))
_WAYS = ("acknowledge", "acknowledge", "shelve", "out of service", "suppression", "in use", "latching")


def long_life(seed: int) -> list[Action]:
    """Two alarms that come and go and about which people do everything that there is, often."""
    chance = np.random.default_rng(seed)
    latching = float(chance.integers(0, 2))
    found = [Action(0.0, "signal held"), *(Action(0.0, f"{one} latching", latching) for one in ("high", "low"))]
    for at in range(SCANS):
        dice = chance.random()
        if dice < 0.35:
            found.append(Action(float(at), *_LIMITS[chance.integers(len(_LIMITS))]))
        elif dice < 0.7:
            part = _WAYS[chance.integers(len(_WAYS))]
            most = {"shelve": 9, "suppression": 4, "in use": 4}.get(part, 2)
            value = 1.0 if part == "acknowledge" else float(chance.integers(0, most))
            name = ("high", "low")[chance.integers(2)]
            found.append(Action(float(at), f"{name} {part}", min(value, 1.0) if part == "in use" else value, "Ann"))
        elif dice < 0.9:
            what = ("reset", "power on", "auto", "stop", "acknowledge by hand")[chance.integers(5)]
            pressed = what in ("reset", "power on")
            found.append(Action(float(at), what, 1.0 if pressed else float(chance.integers(0, 2)), "Bo"))
    return found


def test_long_lives_take_every_way_of_the_table() -> None:
    """So that the property above has something to look at: no rule, from none of its states, was left out."""
    seen = {one for seed in range(160) for one in followed(RIGS[seed % 2], long_life(seed)).seen}
    for rule in RULES:
        for state in rule.states:
            taken = [
                one
                for one in seen
                if one[:2] == (state, rule.event) and rule.latching in (None, one[2]) and rule.by_hand in (None, one[3])
            ]
            assert taken, (state, rule)


# The table itself ---------------------------------------------------------------------------------------------------

# ANSI/ISA-18.2-2016 and IEC 62682:2014, quoted from memory: state, what happens, state after it; by hand.
STANDARD = [
    ("A", Event.COMES, "B", False),
    ("B", Event.ACKNOWLEDGED, "C", False),
    ("B", Event.GOES, "D", False),
    ("C", Event.GOES, "A", False),
    ("D", Event.ACKNOWLEDGED, "A", False),
    ("D", Event.COMES, "B", False),
    ("B", Event.GOES, "E", True),
    ("C", Event.GOES, "F", True),
    ("E", Event.ACKNOWLEDGED, "F", True),
    ("E", Event.COMES, "B", True),
    ("F", Event.COMES, "B", True),
    ("F", Event.RESET, "A", True),
    *((letter, Event.SHELVED, "G", False) for letter in "ABCDEF"),
    *((letter, Event.SUPPRESSED, "H", False) for letter in "ABCDEF"),
    *((letter, Event.OUT_OF_SERVICE, "I", False) for letter in "ABCDEF"),
]


@pytest.mark.parametrize(("state", "event", "after", "latching"), STANDARD, ids=str)
def test_the_table_has_the_transitions_of_the_standard(state: str, event: Event, after: str, latching: bool) -> None:
    assert Life(latching=latching, by_hand=True, letter=state).happen(event) == after


def test_the_table_never_says_two_things_about_one_case() -> None:
    for state, event, latching, by_hand in itertools.product(ALARM_LETTERS, Event, (False, True), (False, True)):
        fitting = [one for one in RULES if one.fits(state, event, latching=latching, by_hand=by_hand)]
        assert len(fitting) <= 1, (state, event, latching, by_hand)


@pytest.mark.parametrize("letter", "DE")
def test_an_alarm_that_needs_nobody_is_never_found_waiting_for_somebody(letter: str) -> None:
    """Acknowledged by itself: no event leads into D or E, whatever the alarm is like."""
    for state, event, latching, present in itertools.product("ABCFGHI", Event, (False, True), (False, True)):
        assert Life(latching, by_hand=False, letter=state, present=present).happen(event) != letter


def test_what_is_kept_apart_comes_back_to_where_it_belongs() -> None:
    """Out of service before suppressed before shelved; then by the condition, which was followed all the time."""
    life = Life()
    for event in (Event.SHELVED, Event.SUPPRESSED, Event.OUT_OF_SERVICE, Event.COMES):
        life.happen(event)
    assert [life.letter, life.happen(Event.IN_SERVICE), life.happen(Event.UNSUPPRESSED)] == ["I", "H", "G"]
    assert life.happen(Event.UNSHELVED) == "B"
    gone = Life(letter="I")
    assert gone.happen(Event.IN_SERVICE) == "A"


def test_names_letters_and_codes_are_those_of_the_scan() -> None:
    """ISA-18.2-2016 names the states A to I in this order."""
    assert len(ALARM_STATES) == len(ALARM_LETTERS) == 9
    codes = (kernel.NORMAL, kernel.UNACKNOWLEDGED, kernel.ACKNOWLEDGED, kernel.RETURNED)
    codes += (kernel.LATCHED_UNACKNOWLEDGED, kernel.LATCHED_ACKNOWLEDGED)
    codes += (kernel.SHELVED, kernel.SUPPRESSED, kernel.OUT_OF_SERVICE)
    assert codes == tuple(range(9))
    assert ALARM_STATES[kernel.LATCHED_UNACKNOWLEDGED] == "latched unacknowledged"
    assert ALARM_LETTERS[kernel.OUT_OF_SERVICE] == "I"
    assert len(ALARM_NAMES) == kernel.ALARMS == 11
    words = list(in_words())
    assert len(words) == len(RULES)
    told = "D returned unacknowledged"
    assert ("B unacknowledged", "the condition goes (not latching, acknowledged by hand)", told) in words


# Living with alarms, as a person does -------------------------------------------------------------------------------


def lines(recording: Recording, alarm: str) -> list[tuple[float, str, str]]:
    """When an alarm came into which state, by whom."""
    told = [one for one in recording.journal if one.kind == "alarm" and one.what == alarm]
    return [(one.time, ALARM_LETTERS[int(one.value)], one.who) for one in told]


HELD = Action(0.0, "signal held")


def test_a_shelf_is_no_longer_than_the_house_allows_and_leaves_its_trace() -> None:
    """12 s are allowed; the alarm is quiet on the shelf, is seen to be there, and comes back by the clock."""
    recording = run(RIGS[0], 40, actions=[HELD, Action(5, "high limit", 0.01), Action(8, "high shelve", 3600.0, "Ann")])
    assert lines(recording, "high") == [(5.0, "B", "process"), (8.0, "G", "Ann"), (20.0, "B", "clock")]
    assert set(recording.alarm("high")[8:20]) == {kernel.SHELVED}
    assert recording.condition("high")[5:].all()
    assert recording.condition("horn")[5:8].all()
    assert not recording.condition("horn")[8:20].any()
    assert recording.condition("horn")[20:].all()


def test_buttons_pressed_within_one_scan_all_count_in_their_order() -> None:
    """Off the shelf, on to it, off, acknowledged: four presses in one scan, four lines in the journal."""
    names = ("high shelve", "high shelve", "high shelve", "high acknowledge")
    at_once = [Action(9, what, value, who) for what, value, who in zip(names, (4, 0, 4, 1), "abcd", strict=True)]
    recording = run(RIGS[0], 12, actions=[HELD, Action(5, "high limit", 0.01), *at_once])
    assert lines(recording, "high") == [(5.0, "B", "process"), (9.0, "G", "a"), (9.0, "B", "b"), (9.0, "G", "c")]
    other = [*at_once[:2], at_once[3], at_once[2]]
    recording = run(RIGS[0], 12, actions=[HELD, Action(5, "high limit", 0.01), *other])
    assert [line[1:] for line in lines(recording, "high")[1:]] == [("G", "a"), ("B", "b"), ("C", "d"), ("G", "c")]


def test_out_of_service_is_silent_is_seen_and_says_who() -> None:
    away = [Action(4, "high out of service", 1.0, "Ann"), Action(20, "high out of service", 0.0, "Bo")]
    recording = run(RIGS[0], 30, actions=[HELD, Action(8, "high limit", 0.01), *away])
    assert lines(recording, "high") == [(4.0, "I", "Ann"), (20.0, "B", "Bo")]
    assert recording.condition("high")[8:].all()  # its condition is followed all the same
    assert recording.condition("horn").tolist() == [False] * 20 + [True] * 10


def test_a_latched_alarm_wants_both_acknowledge_and_reset() -> None:
    limits = [Action(2, "high limit", 0.01), Action(6, "high limit", 0.03)]
    acts = [Action(9, "reset", who="Ann"), Action(12, "acknowledge", who="Bo"), Action(15, "reset", who="Cy")]
    recording = run(RIGS[0], 20, actions=[HELD, Action(0, "high latching"), *limits, *acts])
    wanted = [(2.0, "B", "process"), (6.0, "E", "process"), (12.0, "F", "Bo"), (15.0, "A", "Cy")]
    assert lines(recording, "high") == wanted


def test_a_silenced_horn_sounds_again_after_its_time_and_for_a_new_cause() -> None:
    """7 s are allowed. Acknowledged, it stays quiet for as long as nothing new comes."""
    cause, press = Action(2, "high limit", 0.01), Action(4, "silence")
    horn = run(RIGS[0], 20, actions=[HELD, cause, press]).condition("horn")
    assert horn.tolist() == [False] * 2 + [True] * 2 + [False] * 7 + [True] * 9
    new = Action(7, "high-high limit", 0.01)
    assert run(RIGS[0], 20, actions=[HELD, cause, press, new]).condition("horn")[7:].all()
    answered = run(RIGS[0], 40, actions=[HELD, cause, Action(4, "acknowledge")]).condition("horn")
    assert answered.tolist() == [False] * 2 + [True] * 2 + [False] * 36


def test_flashing_becomes_steady_where_the_table_says_so() -> None:
    """ISA-18.1, sequence A (from memory): flashing until acknowledged, steady until normal. “High” goes on."""
    for what, calm in (("high-high", True), ("high", False)):
        cause = Action(2, f"{what} limit", 0.01)
        recording = run(RIGS[0], 10, actions=[HELD, cause, Action(5, f"{what} acknowledge")])
        flashes, steady = recording.condition("yellow flashing"), recording.condition("yellow steady")
        assert flashes.tolist() == [False] * 2 + [True] * 3 + [not calm] * 5
        assert steady.tolist() == [False] * 5 + [calm] * 5


def test_a_hundred_presses_in_one_scan_fit_into_hardly_any_room() -> None:
    """Each moves the alarm; the scan stops between two of them, and goes on in the same scan when there is room."""
    presses = [Action(9, "high shelve", float(at % 2 == 0), who=f"p{at}") for at in range(100)]
    actions = [HELD, Action(5, "high limit", 0.01), *presses]
    whole = run(RIGS[0], float(SCANS), actions=actions)
    assert [line[2] for line in lines(whole, "high")[1:101]] == [f"p{at}" for at in range(100)]
    told = as_told(RIGS[0], actions, kernel.ROOM, (7,))
    assert told.journal == whole.journal
    assert told.rows.tobytes() == whole.rows.tobytes()
