"""Many runs of rigs on several threads: the compiled scan lets go of the interpreter, so cores share the work.

A run leaves its rows in a buffer that the next one writes over: what is wanted of it is measured at once and the rest
is gone. Answers come in the order of the tasks and follow from rig, actions and seed alone, however many threads work.

In some runs nobody does anything but what was settled before. In others somebody answers what happens (`Runner.live`):
the scan stops where something comes into the journal, and goes on with what that person will do.
"""

import math
from bisect import bisect_left, insort
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event, local
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from levelbench.project.systems import stand_back
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled
from levelbench.rig.recording import Action
from levelbench.rig.run import checked_entry

T = TypeVar("T")
R = TypeVar("R")

THREADS = 2
_EVENT_ROOM = 4096
Turn = tuple[int, int, float]  # in this scan, this entry of the panel is set to this value
LOOK = -1  # in the place of an entry: nothing is set, but somebody looks at the rig


@dataclass(frozen=True)
class Member:
    """One run to be made: a rig with the state that it starts from, so many scans, a seed, and the actions of people.

    actions[n, (scan, panel entry, value)] rise in time, as `actions_of` gives them; some may be a LOOK (`Runner.live`).
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


class People(Protocol):
    """Those who answer what happens while a rig runs."""

    def answer(self, scan: int, events: NDArray[np.int64], state: kernel.State) -> Sequence[Turn]:
        """Say what will be done, from `scan` on; events[n, 3] as the scan writes them, empty at a LOOK."""


@dataclass(frozen=True)
class Lived:
    """A run that somebody lived in: its rows hold until the next run; its events and what was done are its own."""

    rows: NDArray[np.float64]  # [n, kernel.COLUMNS]
    events: NDArray[np.int64]  # [n, (scan, condition, 0 or 1)]
    done: tuple[Turn, ...]


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

    def live(self, member: Member, people: People, *, every: int = 1, heed: int = 1) -> Lived:
        """Run one while people answer what happens, and keep every so many-th row. Raises Cancelled.

        Nobody answers sooner than `heed` scans after what happened: so many are run before they are asked, which saves
        asking in every scan of an alarm that chatters. Raises ValueError for an answer that comes too late for that.
        """
        if len(self._rows) < (room := member.scans // every + 2):
            self._rows = np.empty((room, kernel.COLUMNS))
        _copy(member.start, self._state)
        life = _Life(member, every, kernel.Log(self._rows, self._events, np.zeros(3, dtype=np.int64)), self._state)
        while life.scan < member.scans:
            if self._stop.is_set():
                raise Cancelled
            life.until_something_happens(people, heed)
        return life.lived()


class _Life:
    """A run in pieces, with what is still to be done in it."""

    def __init__(self, member: Member, every: int, log: kernel.Log, state: kernel.State) -> None:
        self._member, self._every, self._log, self._state = member, every, log, state
        self._quiet = log._replace(events=log.events[: kernel.ROOM])  # full with the first event
        turns = sorted((int(scan), int(entry), float(value)) for scan, entry, value in member.actions.tolist())
        self._todo: list[Turn] = [one for one in turns if one[1] != LOOK]
        self._looks: list[int] = [one[0] for one in turns if one[1] == LOOK]
        self._done: list[Turn] = []
        self._events: list[NDArray[np.int64]] = []

    @property
    def scan(self) -> int:
        """The scan that comes next."""
        return int(self._state.scan)

    def until_something_happens(self, people: People, heed: int) -> None:
        """Run on until something comes into the journal or somebody looks, and ask people what they will do."""
        look = self._looks[0] if self._looks else self._member.scans
        until = min(look, self._member.scans)
        found = self._run(until, self._quiet)
        if len(found):
            rest = self._run(min(int(found[0, 0]) + heed, until), self._log)
            found = np.concatenate((found, rest))
            self._events.append(found)
            self._ask(people, found)
        if self._looks and self._looks[0] <= self.scan < self._member.scans:
            self._looks.pop(0)
            self._ask(people, found[:0])

    def _ask(self, people: People, events: NDArray[np.int64]) -> None:
        """Put down what people will do."""
        for turn in people.answer(self.scan, events, self._state):
            if turn[0] < self.scan:
                raise ValueError(f"somebody answers in scan {turn[0]}, which is over in scan {self.scan}")
            if turn[1] == LOOK:
                insort(self._looks, turn[0])
            else:
                self._todo.insert(bisect_left(self._todo, turn[0] + 1, key=lambda one: one[0]), turn)

    def _run(self, until: int, log: kernel.Log) -> NDArray[np.int64]:
        """Run until a scan, or until the log is full, and give the events."""
        found: list[NDArray[np.int64]] = []
        quiet = log is self._quiet
        while self.scan < until and not (quiet and found):
            actions = np.array(self._todo, dtype=np.float64).reshape(-1, 3)
            job = kernel.Job(until - self.scan, self._every, self._member.seed)
            kernel.run_scans(self._member.rig.params, self._state, actions, log, job)
            if log.used[1]:
                found.append(log.events[: log.used[1]].copy())
                log.used[1] = 0
            self._done += self._todo[: log.used[2]]
            del self._todo[: log.used[2]]
            log.used[2] = 0
        return np.concatenate(found) if found else np.zeros((0, 3), dtype=np.int64)

    def lived(self) -> Lived:
        """Give what has been run."""
        events = np.concatenate(self._events) if self._events else np.zeros((0, 3), dtype=np.int64)
        return Lived(self._log.rows[: self._log.used[0]], events, tuple(self._done))


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
    with ThreadPoolExecutor(max(threads, 1), thread_name_prefix="ensemble", initializer=stand_back) as pool:
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
