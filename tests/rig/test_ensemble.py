"""Many runs on several threads are the very runs that `run` makes, in their order, and stop when asked."""

import numpy as np
import pytest
from numpy.typing import NDArray

from levelbench.project import load, sample
from levelbench.rig import Action, Cancelled, Rig, RigError, assemble, kernel, run
from levelbench.rig.ensemble import Member, Runner, actions_of, ensemble, spread, whole_scans

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
