"""The proof of the stack light: against every combination gone through one by one, and against the compiled scan.

The meanings of the colours are those of IEC 60073 (red emergency, yellow abnormal, green normal, blue must act).
That about 8 % of men tell red from green badly is in every textbook of ophthalmology (value from memory).
"""

import tracemalloc
from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest
from bench_rig import rig_with
from hypothesis import given, settings
from hypothesis import strategies as st
from whole_ladder import whole_rig

from levelbench.alarms.lamps import Modes, prove_lamps, prove_silence
from levelbench.project import Project, Value, edit_many
from levelbench.project.records import LAMP_COLOURS, LAMP_MODES, LAMP_STATES, LampRow
from levelbench.rig import Action, run

LATCHES = ("stop pressed", "switch tripped", "sensor failed")
ALARMS = ("high-high", "high", "low", "low-low", "deviation")
FEW: dict[str, Value] = {f"bands.{name.replace('-', '_')}": None for name in ("low-low", "deviation", "high-high")}


def by_hand(project: Project) -> Iterator[tuple[Modes, tuple[str, ...]]]:
    """Every combination one by one: which states hold, acknowledged or not, and what is lit."""
    rows = {row.state: row for row in project.stack_light}
    alarms = [one for one in ALARMS if getattr(project.bands, one.replace("-", "_")) is not None]
    for held in product((0, 1, 2), repeat=len(LATCHES) + len(alarms)):  # absent, not acknowledged, acknowledged
        names = [(one, how) for one, how in zip((*LATCHES, *alarms), held, strict=True) if how]
        latched = any(one in LATCHES for one, _ in names)
        for waiting, manual, normal in product((0, 1, 2), (0, 1, 2), (1, 2)):
            if waiting and latched:
                continue
            states = [*names, *([("waiting for start", waiting)] if waiting else [])]
            states = states or [("normal", normal)]
            states += [("manual", manual)] if manual else []
            yield lit(rows, states), tuple(one for one, _ in states)


def lit(rows: dict[str, LampRow], states: list[tuple[str, int]]) -> Modes:
    """What the light shows: rows add up, flashing over steady; "steady" calms what is acknowledged."""
    shown = []
    for colour in LAMP_COLOURS:
        modes = {"off"}
        for state, how in states:
            if state in rows:
                mode = getattr(rows[state], colour)
                modes.add(
                    "steady" if mode == "flashing" and how == 2 and rows[state].acknowledged == "steady" else mode
                )
        shown.append(max(LAMP_MODES.index(mode) for mode in modes))
    return tuple(shown)


a_row = st.fixed_dictionaries(
    {colour: st.sampled_from(LAMP_MODES) for colour in LAMP_COLOURS}
    | {"horn": st.booleans(), "acknowledged": st.sampled_from(("stays", "steady"))}
)
some_states = st.dictionaries(
    st.sampled_from((*LATCHES, "waiting for start", "high", "low", "manual", "normal")), a_row
)


@given(some_states.filter(len))
@settings(max_examples=25, deadline=None)
def test_any_table_shows_what_its_combinations_show_one_by_one(rows: dict[str, dict[str, Value]]) -> None:
    project = rig_with(FEW).project
    table = [{"state": state, **rows[state]} for state in LAMP_STATES if state in rows]
    project = edit_many(project, {"stack_light": table})
    expected = {modes for modes, _ in by_hand(project)}
    proved = prove_lamps(project)
    assert {show.modes for show in proved.shows} == expected
    assert bool(proved.dark) == ((0, 0, 0, 0) in expected)
    shapes = [tuple(sorted(modes)) for modes in expected]
    told_by_colour = {shape for shape in shapes if shapes.count(shape) > 1}
    assert {tuple(sorted(show.modes)) for group in proved.alike for show in group} == told_by_colour
    for show in proved.shows:  # its example really gives it
        states = [(one.removesuffix(", acknowledged"), 2 if one.endswith("acknowledged") else 1) for one in show.states]
        assert lit({row.state: row for row in project.stack_light}, states) == show.modes


def test_the_table_that_is_assumed_needs_no_colours_and_means_what_the_standard_says() -> None:
    """IEC 60073: red for an emergency, yellow for abnormal, green for normal, blue for what somebody must do."""
    project = edit_many(whole_rig().project, {"stack_light": None})
    proved = prove_lamps(project)
    assert proved.combinations == 2 * (2**11 + 2**9 * 2**2 + 7 * 2**9)
    assert not proved.dark
    assert not proved.alike
    assert not proved.against_meaning
    for row in project.stack_light:
        emergency = row.state in ("stop pressed", "switch tripped", "high-high", "spill")
        assert (row.red != "off") == emergency
        assert (row.green != "off") == (row.state == "normal")
        assert (row.blue != "off") == (row.state != "normal")
        assert (row.yellow != "off") == (not emergency and row.state not in ("normal", "manual", "waiting for start"))


def test_a_stop_with_its_horn_silenced_must_not_look_like_normal_without_colours() -> None:
    table: list[dict[str, Value]] = [dict(vars(row)) for row in rig_with({}).project.stack_light]
    for row in table:
        if row["state"] == "stop pressed":
            row |= {"red": "steady", "blue": "off", "horn": True}
    proved = prove_lamps(edit_many(rig_with({}).project, {"stack_light": table}))
    told = [{show.states for show in group} for group in proved.alike]
    assert any({("stop pressed",), ("normal",)} <= states for states in told)


def test_colours_against_their_meaning_are_named() -> None:
    table: list[dict[str, Value]] = [
        {"state": "stop pressed", "yellow": "steady"},
        {"state": "low", "red": "flashing"},
        {"state": "high", "yellow": "steady", "green": "steady"},
        {"state": "normal", "green": "steady"},
    ]
    assert prove_lamps(edit_many(rig_with({}).project, {"stack_light": table})).against_meaning == (
        "stop pressed", "high", "low",
    )  # fmt: skip


@pytest.mark.parametrize("most", ["20 s", "3 min"])
def test_a_silenced_horn_sounds_again_after_its_time(most: str) -> None:
    rig = rig_with({"alarm_handling.silence_at_most": most})
    found = prove_silence(rig)
    assert [one.state for one in found] == list(LATCHES)
    assert all(one.holds for one in found)
    assert all(
        one.seconds == pytest.approx(rig.project.alarm_handling.silence_at_most.si, abs=rig.scan) for one in found
    )


def test_a_silence_of_any_length_is_told_with_few_rows_kept() -> None:
    """A silence shorter than a scan is over at the next; one of three days kept a row of each scan, 0.4 GB."""
    short = rig_with({"alarm_handling.silence_at_most": "1 ms"})
    assert [one.seconds for one in prove_silence(short)] == pytest.approx([short.scan] * len(prove_silence(short)))
    long = rig_with({"alarm_handling.silence_at_most": "9 h"})
    tracemalloc.start()
    found = {one.state: one for one in prove_silence(long)}
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found["sensor failed"].seconds == pytest.approx(9 * 3600, abs=2 * long.scan)
    assert most < 20e6  # every row of it: 50 MB


def test_a_horn_that_never_comes_back_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The proof looks at a run of the rig; on a rig whose panel has an endless silence it fails."""
    rig = rig_with({"alarm_handling.silence_at_most": "20 s"})

    def endless(rig_: object, seconds: float, *, actions: list[Action], every: int, progress: object) -> object:
        assert progress is None
        return run(rig, seconds, actions=[*actions, Action(0.0, "silence time", 1e6)], every=every)

    monkeypatch.setattr("levelbench.alarms.lamps.run", endless)
    assert not any(one.holds for one in prove_silence(rig))


def test_the_displays_of_a_run_are_among_the_proved_ones() -> None:
    """A run with stops, alarms and hands in it shows nothing that the proof did not foresee."""
    rig = whole_rig()
    acts = [
        Action(5.0, "stop", 1.0),
        Action(8.0, "stop", 0.0),
        Action(9.0, "reset", 1.0),
        Action(12.0, "power on", 1.0),
    ]
    acts += [Action(20.0, "auto", 0.0), Action(20.0, "manual output", 1.0), Action(400.0, "reset", 1.0)]
    made = run(rig, 900.0, actions=acts)
    colours = [
        made.condition(f"{colour} steady") * 1 + made.condition(f"{colour} flashing") * 2 for colour in LAMP_COLOURS
    ]
    shown = {tuple(int(mode) for mode in one) for one in np.unique(np.array(colours), axis=1).T}
    proved = {show.modes for show in prove_lamps(rig.project).shows}
    assert len(shown) >= 4
    assert shown <= proved
