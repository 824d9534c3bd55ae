"""Many short runs of rigs on several threads: the compiled scan lets go of the interpreter, so cores share the work.

A run leaves its rows in a buffer that the next one writes over: what is wanted of it is measured at once and the rest
is gone. Answers come in the order of the tasks and follow from rig, actions and seed alone, however many threads work.
"""

import math
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event, local
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled
from levelbench.rig.recording import Action
from levelbench.rig.run import checked_entry

T = TypeVar("T")
R = TypeVar("R")

THREADS = 2
_EVENT_ROOM = 4096


@dataclass(frozen=True)
class Member:
    """One run to be made: a rig with the state that it starts from, so many scans, a seed, and the actions of people.

    actions[n, (scan, panel entry, value)] rise in time, as `actions_of` gives them.
    """

    rig: Rig
    start: kernel.State
    scans: int
    seed: int
    actions: NDArray[np.float64]


def actions_of(rig: Rig, actions: Sequence[Action]) -> NDArray[np.float64]:
    """Give actions as a run takes them; raises RigError for an entry or a value that there is none of."""
    rows = [(max(round(one.time / rig.scan), 0), checked_entry(one.what, one.value), one.value) for one in actions]
    return np.array(sorted(rows, key=lambda row: row[0]), dtype=np.float64).reshape(-1, 3)


class Runner:
    """Makes runs one after the other in one buffer; every thread has its own."""

    def __init__(self, stop: Event) -> None:
        self._stop = stop
        self._rows = np.empty((0, kernel.COLUMNS))
        self._events = np.zeros((_EVENT_ROOM, 3), dtype=np.int64)
        self._state = kernel.blank_state()

    def run(self, member: Member) -> NDArray[np.float64]:
        """Run one, and give its rows[scans, kernel.COLUMNS]: they hold until the next run. Raises Cancelled."""
        if self._stop.is_set():
            raise Cancelled
        if len(self._rows) < member.scans + 1:
            self._rows = np.empty((member.scans + 1, kernel.COLUMNS))
        _copy(member.start, self._state)
        log = kernel.Log(self._rows, self._events, np.zeros(3, dtype=np.int64))
        left = member.scans
        while left > 0:
            job = kernel.Job(left, 1, member.seed)
            left -= kernel.run_scans(member.rig.params, self._state, member.actions, log, job)
            log.used[1] = 0  # the journal is not kept
        return self._rows[: member.scans]


def spread(
    tasks: Sequence[T],
    work: Callable[[Runner, T], R],
    *,
    threads: int = THREADS,
    progress: Callable[[float], bool] | None = None,
) -> list[R]:
    """Do a piece of work for each task on several threads, and give the answers in the order of the tasks.

    `progress` is told the share done and answers whether to go on; raises Cancelled when it says no.
    """
    stop, mine = Event(), local()

    def one(task: T) -> R:
        if not hasattr(mine, "runner"):
            mine.runner = Runner(stop)
        return work(mine.runner, task)

    found: list[R] = []
    with ThreadPoolExecutor(max(threads, 1), thread_name_prefix="ensemble") as pool:
        waiting: list[Future[R]] = [pool.submit(one, task) for task in tasks]
        try:
            for at, future in enumerate(waiting):
                if progress is not None and not progress(at / len(tasks)):
                    raise Cancelled
                found.append(future.result())
        finally:
            stop.set()
            for future in waiting:
                future.cancel()
    return found


def ensemble(
    members: Sequence[Member],
    measure: Callable[[NDArray[np.float64]], R],
    *,
    threads: int = THREADS,
    progress: Callable[[float], bool] | None = None,
) -> list[R]:
    """Make many runs and give what is measured of the rows of each, in their order; `progress` as of `spread`."""
    return spread(members, lambda runner, one: measure(runner.run(one)), threads=threads, progress=progress)


def _copy(state: kernel.State, into: kernel.State) -> None:
    """Copy one state over another."""
    np.copyto(np.asarray(into), np.asarray(state))


def whole_scans(rig: Rig, seconds: float) -> int:
    """Give the scans that last at least so long [s]."""
    return max(math.ceil(seconds / rig.scan - 1e-9), 1)
