"""A run is a pure function of project, seed and journal, whichever way it is driven (invariant)."""

import gc
import os
import subprocess
import sys
import threading
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from abuse import random_actions
from rigs import GALLON, build, go, together

from levelbench.rig import Action, Cancelled, Chunk, Entry, Recording, Rig, RigError, Session, kernel, run
from levelbench.rig.panel import ENTRIES

DURATION = 900.0  # [s]


@pytest.fixture(scope="module")
def rig() -> Rig:
    return build()


@pytest.fixture(scope="module")
def actions(rig: Rig) -> list[Action]:
    return random_actions(rig, DURATION, seed=11, mean_gap=15.0)


@pytest.fixture(scope="module")
def whole(rig: Rig, actions: list[Action]) -> Recording:
    recording = go(rig, DURATION, actions, seed=5)
    assert len([one for one in recording.journal if one.kind == "event"]) > 30
    return recording


def same(one: Recording, other: Recording) -> bool:
    return np.array_equal(one.rows, other.rows) and one.journal == other.journal


def in_slices(rig: Rig, actions: list[Action], slices: Callable[[], int], every: int = 1) -> Recording:
    session = Session(rig, 5, every)
    waiting = sorted(actions, key=lambda one: round(one.time / rig.scan))
    total = round(DURATION / rig.scan)
    chunks: list[Chunk] = []
    while session.scans < total:
        while waiting and round(waiting[0].time / rig.scan) <= session.scans:
            session.act(waiting[0].what, waiting[0].value, waiting[0].who)
            waiting.pop(0)
        until = min([total, session.scans + slices(), *(round(one.time / rig.scan) for one in waiting[:1])])
        chunks.append(session.advance(until - session.scans))
    handed_out = together(session, chunks)
    assert same(session.past().recording(), handed_out)
    return handed_out


def test_ragged_slices_equal_one_go(rig: Rig, actions: list[Action], whole: Recording) -> None:
    chance = np.random.default_rng(2)
    assert same(in_slices(rig, actions, lambda: int(chance.integers(1, 200))), whole)
    assert same(in_slices(rig, actions, lambda: 1), whole)


def test_a_session_s_journal_replays_to_the_same_run(rig: Rig, actions: list[Action], whole: Recording) -> None:
    again = [Action(one.time, one.what, one.value, one.who) for one in whole.journal if one.kind == "action"]
    assert len(again) == len(actions)
    assert same(run(rig, DURATION, actions=again, seed=5), whole)


def test_the_order_of_actions_in_one_scan_is_kept(rig: Rig) -> None:
    """Set then doubled: the later of two in one scan wins, whichever way they come."""
    pair = [Action(3.0, "set point", 3.5 * GALLON), Action(3.0, "set point", 2.5 * GALLON)]
    assert run(rig, 5, actions=pair)["set_point"][-1] == pytest.approx(2.5 * GALLON)
    assert run(rig, 5, actions=pair[::-1])["set_point"][-1] == pytest.approx(3.5 * GALLON)
    unsorted = [Action(4.0, "set point", 3.2 * GALLON), *pair]
    assert run(rig, 5, actions=unsorted)["set_point"][-1] == pytest.approx(3.2 * GALLON)


def test_seeds_differ_and_repeat(rig: Rig, actions: list[Action], whole: Recording) -> None:
    other = go(rig, DURATION, actions, seed=6)
    assert not np.array_equal(other["pv"], whole["pv"])
    assert same(go(rig, DURATION, actions, seed=6), other)


@pytest.mark.parametrize("every", [2, 7, 100])
def test_every_so_many_th_row_only_thins(rig: Rig, actions: list[Action], whole: Recording, every: int) -> None:
    thin = go(rig, DURATION, actions, seed=5, every=every)
    assert np.array_equal(thin.rows, whole.rows[::every])
    assert thin.journal == whole.journal
    chance = np.random.default_rng(3)
    assert same(in_slices(rig, actions, lambda: int(chance.integers(1, 50)), every), thin)


def test_state_of_a_rig_is_not_shared_between_runs(rig: Rig) -> None:
    """A run leaves nothing behind in the rig (invariant)."""
    before = rig.panel.copy()
    first = run(rig, 60, actions=[Action(1, "gain", 10.0), Action(2, "stop", 1)], seed=1)
    run(rig, 60, seed=2)
    assert np.array_equal(rig.panel, before)
    assert same(run(rig, 60, actions=[Action(1, "gain", 10.0), Action(2, "stop", 1)], seed=1), first)


# What a session keeps -----------------------------------------------------------------------------------------------


def test_a_session_keeps_nothing_but_what_people_did(rig: Rig) -> None:
    """Ten hours in pieces of a second: 360 000 rows of 112 bytes would be 40 MB; what is held stays under 0.2 MB."""
    session = Session(rig)
    session.advance(10)
    tracemalloc.start()
    try:
        for _ in range(36_000):
            session.advance(10)
        gc.collect()
        held, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert held < 200_000


@pytest.mark.parametrize("every", [1, 7])
def test_a_stretch_of_the_past_is_cut_from_the_whole(rig: Rig, actions: list[Action], every: int) -> None:
    session = Session(rig, 5, every)
    for action in sorted(actions, key=lambda one: round(one.time / rig.scan)):
        session.advance(round(action.time / rig.scan) - session.scans)
        session.act(action.what, action.value, action.who)
    session.act("set point", 3.3 * GALLON)  # waits for a scan that has not come: no part of the past
    past = session.past()
    assert past.scans == session.scans
    assert past.actions[-1].time < session.time
    whole = past.recording()
    assert past.rows() == len(whole) == -(-past.scans // every)
    for start, end in ((100.0, 150.0), (99.97, 250.04), (-10.0, 3.0), (session.time - 1.0, 1e9)):
        part = past.recording(start, end)
        inside = (whole["time"] >= start) & (whole["time"] <= end)
        assert past.rows(start, end) == len(part) == inside.sum() > 0
        pieces = list(past.pieces(start, end))
        assert np.array_equal(np.concatenate([one.rows for one in pieces]), part.rows)
        assert tuple(line for one in pieces for line in one.journal) == part.journal
        assert np.array_equal(part.rows, whole.rows[inside])
        assert part.journal == tuple(line for line in whole.journal if start <= line.time <= end)
    for start, end in ((-10.0, -1.0), (1e9, 2e9), (200.0, 100.0)):
        assert past.rows(start, end) == len(past.recording(start, end)) == 0
    assert len(Session(rig).past().recording()) == 0


def test_the_past_is_told_rightly_while_another_thread_runs_the_session(rig: Rig) -> None:
    """Whenever it is asked for, replaying it gives the beginning of the run, with every action up to there."""
    session = Session(rig, 5)
    chunks: list[Chunk] = []

    def work() -> None:
        for at in range(200):
            session.act("set point", (3.0 + 0.001 * at) * GALLON)
            chunks.append(session.advance(250))

    thread = threading.Thread(target=work)
    thread.start()
    pasts = []
    while thread.is_alive():
        pasts.append(session.past())
    whole = together(session, chunks)
    some = {past.scans: past for past in pasts}
    assert len(some) > 5
    for past in list(some.values())[:: max(len(some) // 5, 1)]:
        assert np.array_equal(past.recording().rows, whole.rows[: past.scans])


# A journal that is full ---------------------------------------------------------------------------------------------


def chatter() -> tuple[Rig, list[Action]]:
    """A limit within the noise, without dead band or delay: an event almost every scan."""
    rig = build({"bands.high.limit": "3.00 gal", "bands.high.dead_band": "0 gal", "bands.high.on_delay": "0 s"})
    moves = [Action(float(time), "high limit", (2.99 + 0.02 * (time % 2)) * GALLON) for time in range(10, 600)]
    return rig, moves


def test_a_full_event_buffer_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Room for little more than one scan's events, or for all of them: the same rows and the same journal."""
    rig, moves = chatter()
    roomy = run(rig, 600, actions=moves)
    events = [one for one in roomy.journal if one.kind == "event"]
    assert len(events) > 500
    monkeypatch.setattr(sys.modules["levelbench.rig.run"], "_EVENT_ROOM", kernel.ROOM + 1)
    for every in (1, 7):
        cramped, chunks = Session(rig, 0, every), []
        for move in moves:
            chunks.append(cramped.advance(round(move.time / rig.scan) - cramped.scans))
            cramped.act(move.what, move.value, move.who)
        chunks.append(cramped.advance(6000 - cramped.scans))
        handed_out = together(cramped, chunks)
        assert handed_out.journal == roomy.journal
        assert np.array_equal(handed_out.rows, roomy.rows[::every])


def test_events_of_the_journal_are_the_changes_of_the_rows(rig: Rig, whole: Recording) -> None:
    """Each condition's events, added up from its start, give its column (both are written apart)."""
    for name in ("started", "stop latched", "sensor failed", "high", "low", "automatic", "mains on"):
        column = whole.condition(name).astype(int)
        changes = np.flatnonzero(np.diff(column)) + 1
        times = [round(one.time / rig.scan) for one in whole.journal if (one.kind, one.what) == ("event", name)]
        # the first row is written after its scan's decisions, so a change in scan 0 is no difference of rows
        assert set(changes.tolist()) <= set(times) | {at + 1 for at in times}, name


# Without the compiler -----------------------------------------------------------------------------------------------

_BARE = """
import sys
import numpy as np
sys.path.insert(0, sys.argv[1])
from abuse import random_actions
from rigs import build, go
from levelbench.rig import kernel
assert not hasattr(kernel.run_scans, "py_func"), "the compiler is on"
rig = build(base=sys.argv[2])
np.save(sys.argv[3], go(rig, 120, random_actions(rig, 120, seed=4, mean_gap=4.0), seed=9).rows)
"""


@pytest.mark.parametrize("base", ["seedling_house", "parts_washer"])
def test_the_same_run_with_the_compiler_switched_off(base: str, tmp_path: Path) -> None:
    """Plain Python gives the same rows: exactly where only sums are, within 1e-12 where the two reckon powers apart."""
    kept = tmp_path / "rows.npy"
    environment = os.environ | {"NUMBA_DISABLE_JIT": "1"}
    command = [sys.executable, "-W", "error", "-c", _BARE, str(Path(__file__).parent), base, str(kept)]
    subprocess.run(command, env=environment, check=True, timeout=110)
    rig = build(base=base)
    ours = go(rig, 120, random_actions(rig, 120, seed=4, mean_gap=4.0), seed=9)
    bare = np.load(kept)
    assert np.array_equal(bare[:, 13], ours.rows[:, 13])  # every condition, in every scan
    np.testing.assert_allclose(bare, ours.rows, rtol=1e-12, atol=1e-15)


# What is refused ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("no such thing", 1.0),
        ("gain", float("nan")),
        ("gain", 0.0),
        ("gain", float("inf")),
        ("derivative filter", 0.0),
        ("entry step", 0.0),
        ("integral time", 0.0),
        ("valve opening", 1.1),
        ("manual output", -0.1),
        ("draw", -1e-3),
        ("draw", float("inf")),
        ("top up", -1e-3),
        ("set point weight", 2.0),
        ("ramp", 0.0),
        ("high on-delay", -1.0),
    ],
)
def test_a_slip_on_the_panel_is_refused(rig: Rig, what: str, value: float) -> None:
    """Nothing that could take the run out of the numbers gets in, and the refusal names what was set."""
    with pytest.raises(RigError, match=what):
        Session(rig).act(what, value)


def test_every_panel_entry_takes_its_own_limits(rig: Rig) -> None:
    """A run stays within the numbers whichever entry is set to its least or its most (invariant)."""
    for entry in ENTRIES.values():
        for value in (entry.least, entry.most):
            recording = run(rig, 20, actions=[Action(5, entry.name, value), Action(10, "set point", 3.2 * GALLON)])
            assert np.isfinite(recording.rows).all(), (entry.name, value)


def test_a_run_is_cancelled_between_slices(rig: Rig) -> None:
    told: list[float] = []

    def progress(share: float) -> bool:
        told.append(share)
        return len(told) < 3

    with pytest.raises(Cancelled):
        run(rig, 36_000, progress=progress)
    assert len(told) == 3
    assert told == sorted(told)
    assert told[-1] < 1.0


def test_a_time_that_is_none_is_refused(rig: Rig) -> None:
    with pytest.raises(RigError, match="can't be kept since nan"):
        run(rig, 10, since=float("nan"))


def test_journal_says_who_and_what(rig: Rig) -> None:
    journal = run(rig, 5, actions=[Action(1.0, "stop"), Action(2.0, "stop", 0)]).journal
    assert Entry(1.0, "action", "stop", 1.0, "operator") in journal
    assert Entry(1.0, "event", "stop latched", 1.0) in journal
    assert [one.time for one in journal] == sorted(one.time for one in journal)
