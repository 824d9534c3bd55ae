"""Actions in words: what is understood, and what is refused with which hint."""

import math
import re

import pytest

from levelbench.project import edit_many, load, sample
from levelbench.project.records import LAMP_COLOURS, LampRow
from levelbench.records import ActionError, read_action, read_actions
from levelbench.rig import ENTRIES, Rig, assemble
from levelbench.rig.lamps import CHOICES, code_of

# Unit factors: NIST SP 811 (2008) Appendix B.8: 1 US gallon = 3.785 412 E-03 m3, 1 gallon/minute = 6.309 020 E-05 m3/s.
GALLON = 3.785412e-3
GPM = 6.309020e-5


@pytest.mark.parametrize(
    ("text", "time", "what", "value"),
    [
        ("60 s: set point 3.10 gal", 60.0, "set point", 3.10 * GALLON),
        ("1 min:  Set  Point 11,7 l", 60.0, "set point", 11.7e-3),
        ("2 min: valve opening 50 %", 120.0, "valve opening", 0.5),
        ("0.5 h: draw 0.3 gpm", 1800.0, "draw", 0.3 * GPM),
        ("90 s: prime", 90.0, "prime", 1.0),
        ("90 s: power on", 90.0, "power on", 1.0),
        ("5 min: stop", 300.0, "stop", 1.0),
        ("6 min: stop off", 360.0, "stop", 0.0),
        ("6 min: auto off", 360.0, "auto", 0.0),
        ("1 s: airlock on", 1.0, "airlock", 1.0),
        ("1 s: integral time off", 1.0, "integral time", math.inf),
        ("1 s: ramp off", 1.0, "ramp", math.inf),
        ("1 s: integral dead band 10 ml", 1.0, "integral dead band", 10e-6),
        ("1 s: high-high limit 4.3 gal", 1.0, "high-high limit", 4.3 * GALLON),
        ("1 s: high on-delay 5 s", 1.0, "high on-delay", 5.0),
        ("1 s: low in use off", 1.0, "low in use", 0.0),
        ("1 s: gain 750 %/gal", 1.0, "gain", 7.5 / GALLON),
        ("1 s: top up 1 l", 1.0, "top up", 1e-3),
    ],
)
def test_an_action_is_understood(text: str, time: float, what: str, value: float) -> None:
    action = read_action(text)
    assert (action.time, action.what) == (pytest.approx(time), what)
    assert action.value == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("set point 3.1 gal", "TIME: WHAT VALUE"),
        ("60 s:", "TIME: WHAT VALUE"),
        ("60: set point 3.1 gal", "The time can't be read. The unit is missing."),
        ("-5 s: prime", "before the start"),
        ("60 s: setpoint 3.1 gal", "The nearest name is “set point”."),
        ("60 s: flux 3", "There are: set point, auto,"),
        ("60 s: set point 3.1", "The unit is missing."),
        ("60 s: set point 3.1 in", "a volume is wanted"),
        ("60 s: set point off", "The value can't be read."),
        ("60 s: stop perhaps", "on or off after it"),
        ("60 s: reset off", "it is pressed"),
        ("60 s: gain 6", "per volume"),
        ("60 s: prime 3", "it is pressed"),
    ],
)
def test_what_is_no_action_is_refused_with_a_hint(text: str, says: str) -> None:
    with pytest.raises(ActionError) as refused:
        read_action(text)
    assert says in str(refused.value)
    assert text in str(refused.value)


def test_every_panel_entry_can_be_typed() -> None:
    examples = {"volume": "1 l", "percentage": "10 %", "flow": "1 l/min", "time": "1 s", "plain number": "0.5"}
    more = {"controller gain": "10 %/l", "percentage per time": "1 %/s"}
    for name, entry in ENTRIES.items():
        value = (examples | more)[entry.dimension.value] if entry.dimension else "".join(entry.choices[1:2])
        assert read_action(f"1 s: {name} {value}").what == name


@pytest.mark.parametrize(
    ("text", "what", "value"),
    [
        ("5 min: acknowledge", "acknowledge", 1.0),
        ("5 min: acknowledge by hand", "acknowledge by hand", 1.0),
        ("5 min: high acknowledge", "high acknowledge", 1.0),
        ("5 min: high-high shelve 30 min", "high-high shelve", 1800.0),
        ("5 min: high shelve 0 s", "high shelve", 0.0),
        ("5 min: low-low out of service", "low-low out of service", 1.0),
        ("5 min: low-low out of service off", "low-low out of service", 0.0),
        ("5 min: no rise suppression not started or manual", "no rise suppression", 3.0),
        ("5 min: rate of change limit 60 l/min", "rate of change limit", 0.001),
    ],
)
def test_what_people_do_about_alarms_can_be_typed(text: str, what: str, value: float) -> None:
    action = read_action(text)
    assert (action.what, action.value) == (what, pytest.approx(value))


def test_a_suppression_that_there_is_none_of_is_refused_with_those_there_are() -> None:
    with pytest.raises(ActionError, match="never, not started, manual, not started or manual"):
        read_action("5 min: high suppression at night")


def rig(**changes: str) -> Rig:
    """The seedling house's rig, whose panel takes 2.00 to 4.00 US gal, with some entries set otherwise."""
    return assemble(
        edit_many(load(sample("seedling_house")), {key.replace("__", "."): one for key, one in changes.items()})
    )


@pytest.mark.parametrize(
    ("changes", "text", "says"),
    [
        ({}, "60 s: stop", "it lasts 60 s"),
        ({}, "2 min: stop", "it lasts 60 s"),
        ({}, "1 s: set point 9 gal", "takes 2.00 US gal to 4.00 US gal"),
        ({}, "1 s: set point 1.9 gal", "takes 2.00 US gal to 4.00 US gal"),
        ({}, "1 s: manual output 50 %", "Put “1 s: auto off” before it"),
        ({}, "1 s: draw 1 gpm", "set by “valve opening”"),
        ({"drain__kind": "forced draw"}, "1 s: valve opening 5 %", "set by “draw”"),
        ({"drain__kind": "bottom outlet"}, "1 s: prime", "“prime” does nothing"),
        ({"drain__kind": "none"}, "1 s: draw 1 gpm", "has no drain"),
    ],
)
def test_an_action_that_would_do_nothing_is_refused(changes: dict[str, str], text: str, says: str) -> None:
    with pytest.raises(ActionError, match=re.escape(says)):
        read_actions([text], rig(**changes), 60.0)


def test_actions_that_the_rig_takes_are_read() -> None:
    texts = ["1 s: set point 4.00 gal", "2 s: valve opening 50 %", "3 s: prime"]
    assert [one.what for one in read_actions(texts, rig(), 60.0)] == ["set point", "valve opening", "prime"]
    beyond = ["1 s: set point high 4.5 gal", "2 s: set point 4.5 gal"]
    assert len(read_actions(beyond, rig(), 60.0)) == 2
    by_hand = ["5 s: manual output 50 %", "5 s: auto on", "1 s: auto off"]
    assert len(read_actions(by_hand, rig(), 60.0)) == 3
    assert read_actions(by_hand[:1], rig(start__mode="manual"), 60.0)[0].value == 0.5
    assert read_actions(["1 s: draw 1 gpm"], rig(drain__kind="forced draw"), 60.0)[0].what == "draw"


def test_lamps_are_set_in_words() -> None:
    """What a row of the truth table shows is typed as the journal tells it."""
    action = read_action("7 min: lamps high yellow steady, blue flashing, horn")
    assert action.what == "lamps high"
    assert CHOICES[int(action.value)] == "yellow steady, blue flashing, horn"
    assert CHOICES[0] == "dark"
    assert len(set(CHOICES)) == 3**4 * 2 * 2
    with pytest.raises(ActionError, match="for example"):
        read_action("7 min: lamps high purple")


@pytest.mark.parametrize("code", range(0, 3**4 * 4, 7))
def test_the_number_of_a_row_of_lamps_says_what_its_words_say(code: int) -> None:
    words = CHOICES[code].split(", ")
    lit = dict(one.split(" ") for one in words if one.endswith((" steady", " flashing")))
    row = LampRow(
        "high",
        *(lit.get(colour, "off") for colour in LAMP_COLOURS),
        horn="horn" in words,
        acknowledged="steady" if "steady once acknowledged" in words else "stays",
    )
    assert code_of(row) == code
