"""Many runs on several threads are the very runs that `run` makes, in their order, and stop when asked."""

import os
import sys
import threading
from threading import Event

import numpy as np
import pytest
from numpy.typing import NDArray

from levelbench.project import edit_many, load, sample
from levelbench.rig import CONDITION_NAMES, ENTRIES, Action, Cancelled, Rig, RigError, assemble, kernel, run
from levelbench.rig.ensemble import LOOK, Member, Runner, Turn, actions_of, ensemble, spread, whole_scans

SCANS = 1500


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="module")
def members(rig: Rig) -> list[Member]:
    start, up = rig.start(), float(rig.panel[kernel.P_SET_POINT]) * 1.1
    actions = actions_of(rig, [Action(40.0, "set point", up), Action(0.0, "gain", 2000.0)])
    return [Member(rig, start, SCANS, seed, actions) for seed in range(12)]


def told(rows: NDArray[np.float64]) -> tuple[float, ...]:
    return (*rows[-1].tolist(), float(rows[:, 2].sum()))


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_each_member_is_the_run_that_run_makes(rig: Rig, members: list[Member], threads: int) -> None:
    found = ensemble(members, told, threads=threads)
    for member, one in zip(members, found, strict=True):
        up = float(rig.panel[kernel.P_SET_POINT]) * 1.1
        actions = [Action(40.0, "set point", up), Action(0.0, "gain", 2000.0)]
        recording = run(rig, SCANS * rig.scan, actions=actions, seed=member.seed)
        rows = np.column_stack([recording[column.name] for column in recording.columns])
        assert one == told(rows)  # bit for bit
    assert len(set(found)) == len(found)  # another seed, another run


def test_a_start_is_not_used_up(rig: Rig, members: list[Member]) -> None:
    before = np.asarray(members[0].start).copy()
    assert ensemble(members[:1] * 2, told) == ensemble(members[:1], told) * 2
    assert np.asarray(members[0].start).tobytes() == before.tobytes()


def test_it_stops_when_progress_says_no(members: list[Member]) -> None:
    heard: list[float] = []

    def progress(share: float) -> bool:
        heard.append(share)
        return len(heard) < 3

    with pytest.raises(Cancelled):
        ensemble(members * 20, told, progress=progress)
    assert heard == sorted(heard)
    assert heard[-1] < 0.1


def test_what_goes_wrong_in_one_comes_out(members: list[Member]) -> None:
    def work(runner: Runner, member: Member) -> float:
        if member.seed == 7:
            raise RigError("no", "here", "stop")
        return float(runner.run(member)[-1, 2])

    with pytest.raises(RigError, match="no"):
        spread(members, work)


def test_actions_are_checked_and_come_in_time(rig: Rig) -> None:
    rows = actions_of(rig, [Action(2.0, "set point", 0.01), Action(1.0, "gain", 5.0)])
    assert rows[:, 0].tolist() == [10, 20]
    with pytest.raises(RigError):
        actions_of(rig, [Action(0.0, "no such entry", 1.0)])


def test_whole_scans_are_never_too_few(rig: Rig) -> None:
    assert whole_scans(rig, 1.0) == 10
    assert whole_scans(rig, 1.01) == 11
    assert whole_scans(rig, 0.0) == 1


class Presser:
    """Presses silence two seconds after each event, and looks at the rig once in every minute."""

    def __init__(self, wait: int) -> None:
        self.wait = wait
        self.asked: list[tuple[int, int]] = []
        self.seen: list[int] = []

    def answer(self, scan: int, events: NDArray[np.int64], state: kernel.State) -> list[Turn]:
        self.asked.append((scan, len(events)))
        if len(events):
            return [(int(at) + self.wait, kernel.P_SILENCE, 1.0) for at in events[:, 0]]
        self.seen.append(int(state.scan))
        return [(scan + 600, LOOK, 0.0)]


@pytest.fixture(scope="module")
def restless() -> Rig:
    tight = {
        "bands.deviation.limit": "0.01 gal",
        "bands.deviation.dead_band": "0 gal",
        "bands.deviation.on_delay": "0 s",
    }
    return assemble(edit_many(load(sample("seedling_house")), tight))


@pytest.mark.parametrize("heed", [1, 7, 20])
def test_people_who_answer_change_nothing_but_what_they_do(restless: Rig, heed: int) -> None:
    """The answers known from the beginning give the same rows; how many scans go between two looks makes no odds."""
    steps = [(0, LOOK, 0.0), (900, kernel.P_SET_POINT, 0.0125), (1500, kernel.P_VALVE, 0.6)]
    people = Presser(20)
    member = Member(restless, restless.start(), 3000, 3, np.array(steps, dtype=np.float64))
    lived = Runner(Event()).live(member, people, every=10, heed=heed)
    names = {one.index: one.name for one in ENTRIES.values()}
    actions = [Action(scan * restless.scan, names[entry], value) for scan, entry, value in lived.done]
    again = run(restless, 3000 * restless.scan, actions=actions, seed=3, every=10)
    assert lived.rows.tobytes() == again.rows.tobytes()
    pressed = [scan for scan, entry, _ in lived.done if entry == kernel.P_SILENCE]
    assert len(pressed) > 10
    assert pressed == [int(scan) + 20 for scan in lived.events[:, 0] if scan + 20 < 3000]  # no sooner, no later
    assert people.seen == [0, 600, 1200, 1800, 2400]
    told = [(round(one.time / restless.scan), one.what) for one in again.journal if one.kind == "event"]
    conditions = lived.events[lived.events[:, 1] < kernel.CONDITIONS_USED]
    assert [(scan, CONDITION_NAMES[what]) for scan, what, _ in conditions.tolist()] == told


def test_an_answer_that_comes_too_late_is_an_error(restless: Rig) -> None:
    member = Member(restless, restless.start(), 3000, 3, np.zeros((0, 3)))
    with pytest.raises(ValueError, match="which is over"):
        Runner(Event()).live(member, Presser(20), heed=21)


def test_a_run_that_is_lived_in_stops_when_asked(restless: Rig) -> None:
    stop = Event()

    class Stops(Presser):
        def answer(self, scan: int, events: NDArray[np.int64], state: kernel.State) -> list[Turn]:
            stop.set()
            return super().answer(scan, events, state)

    people = Stops(20)
    with pytest.raises(Cancelled):
        Runner(stop).live(Member(restless, restless.start(), 30_000, 3, np.zeros((0, 3))), people)
    assert len(people.asked) == 1


@pytest.mark.skipif(sys.platform != "linux", reason="other systems favour the window in front by themselves")
def test_its_threads_stand_behind_the_one_that_somebody_waits_for() -> None:
    def priority(_runner: Runner, _task: int) -> int:
        return os.getpriority(os.PRIO_PROCESS, threading.get_native_id())

    mine = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    assert set(spread(range(4), priority)) == {min(mine + 5, 19)}
