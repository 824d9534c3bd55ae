"""Runs of a rig: in one go, or scan by scan while a person watches. Both call the same compiled function.

A Session keeps no rows, however long it goes on: they follow from its rig, its seed and what people did, bit for bit.
Whoever wants them asks for its Past, which runs that again, a week in some seconds.
"""

import math
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled, RigError
from levelbench.rig.panel import CONDITION_NAMES, ENTRIES, WHO, alarm_of
from levelbench.rig.recording import Action, Entry, Recording

_EVENT_ROOM = 4096
_MOST_ROWS = 10_000_000  # 1.1 GB; eleven days of a scan of 100 ms
_ORDER = {"action": 0, "event": 1, "alarm": 2}  # in the journal, of what happened in one scan
_SLICE = 20_000  # scans between two looks at progress: some ten milliseconds


@dataclass(frozen=True)
class Chunk:
    """What happened in some scans of a live run: rows[n, columns] and the journal's new lines."""

    rows: NDArray[np.float64]
    journal: tuple[Entry, ...]


class _Deed(NamedTuple):
    """Something that somebody did, as the scan takes it."""

    scan: float
    entry: int
    value: float
    who: str


class Session:
    """A rig that runs scan by scan. It hands its rows out and keeps none; its Past gives them again, bit for bit."""

    def __init__(self, rig: Rig, seed: int = 0, every: int = 1) -> None:
        self.rig = rig
        self.seed = seed
        self._every = every
        self._state = rig.start()
        self._events = np.zeros((_EVENT_ROOM, 3), dtype=np.int64)
        self._waiting: list[_Deed] = []
        self._done: list[_Deed] = []  # what people did in scans before

    @property
    def scans(self) -> int:
        """How many scans have been run."""
        return int(self._state.scan)

    @property
    def time(self) -> float:
        """Time of the next scan [s]."""
        return self.scans * self.rig.scan

    @property
    def starts(self) -> int:
        """How often the pump has started."""
        return int(self._state.starts)

    def panel(self, what: str) -> float:
        """Give what a panel entry is set to now."""
        return float(self._state.panel[ENTRIES[what].index])

    def shelves(self) -> tuple[float, ...]:
        """Give how long each alarm stays on the shelf yet [s], in the order of their names; 0 for the others."""
        state = self._state
        return tuple(float(left) if state.shelved >> at & 1 else 0.0 for at, left in enumerate(state.shelf_left))

    def act(self, what: str, value: float = 1.0, who: str = "operator") -> None:
        """Set a panel entry, or press a button; it takes effect at the next scan and lands in the journal."""
        self._waiting.append(_Deed(float(self.scans), checked_entry(what, value), float(value), who))

    def advance(self, scans: int) -> Chunk:
        """Run so many scans."""
        if scans <= 0:
            return Chunk(np.zeros((0, kernel.COLUMNS)), ())
        deeds = tuple(self._waiting)
        self._done += deeds  # before the scan is counted, so that `past` never misses one
        self._waiting.clear()
        return self._run(scans, deeds)

    def _run(self, scans: int, deeds: tuple[_Deed, ...]) -> Chunk:
        actions = np.array([one[:3] for one in deeds], dtype=np.float64).reshape(-1, 3)
        log = kernel.Log(
            np.zeros((scans // self._every + 1, kernel.COLUMNS)), self._events, np.zeros(3, dtype=np.int64)
        )
        events: list[Entry] = []
        left = scans
        while left > 0:
            left -= kernel.run_scans(
                self.rig.params, self._state, actions, log, kernel.Job(left, self._every, self.seed)
            )
            events += self._read_events(log, deeds)
        done = [
            Entry(one.scan * self.rig.scan, "action", _NAME_OF[one.entry], one.value, one.who)
            for one in deeds[: log.used[2]]
        ]
        journal = tuple(sorted(done + events, key=lambda line: (line.time, _ORDER[line.kind])))
        return Chunk(log.rows[: log.used[0]], journal)

    def _read_events(self, log: kernel.Log, deeds: tuple[_Deed, ...]) -> list[Entry]:
        found = []
        for scan, what, value in log.events[: log.used[1]].tolist():
            alarm, time = alarm_of(what), scan * self.rig.scan
            if alarm:
                by = value >> 4
                who = WHO[by] if by < kernel.PEOPLE else deeds[by - kernel.PEOPLE].who
                found.append(Entry(time, "alarm", alarm, float(value & 15), who))
            else:
                found.append(Entry(time, "event", CONDITION_NAMES[what], float(value)))
        log.used[1] = 0
        return found

    def past(self) -> "Past":
        """Give what has been run so far. It may be asked for on any thread, also while scans are being run."""
        scans = self.scans
        actions = (
            Action(one.scan * self.rig.scan, _NAME_OF[one.entry], one.value, one.who) for one in tuple(self._done)
        )
        return Past(
            self.rig, self.seed, self._every, scans, tuple(one for one in actions if _at(self.rig, one) < scans)
        )


@dataclass(frozen=True)
class Past:
    """All that the rows of a session follow from: so many scans of a rig, with a seed and the actions of people."""

    rig: Rig
    seed: int
    every: int
    scans: int
    actions: tuple[Action, ...]

    def rows(self, start: float = 0.0, end: float = math.inf) -> int:
        """Give how many rows lie between two times [s]."""
        scans = self._until(end)
        return _kept(min(_first(self.rig, start), scans), scans, self.every)

    def recording(
        self, start: float = 0.0, end: float = math.inf, *, progress: Callable[[float], bool] | None = None
    ) -> Recording:
        """Run it again, and give the rows and the journal between two times [s]; `progress` and errors as of `run`.

        It takes some 0.8 s for each day before `end`, so a window asks for it in a job.
        """
        rows = np.empty((self._held(start, end), kernel.COLUMNS))
        journal: list[Entry] = []
        filled = 0
        for piece in self.pieces(start, end, progress=progress):
            rows[filled : filled + len(piece)] = piece.rows
            filled += len(piece)
            journal += piece.journal
        return Recording(self.rig, self.seed, rows, tuple(journal))

    def _held(self, start: float, end: float) -> int:
        """Give how many rows are to be held. Raises RigError for more than a machine can be trusted to hold."""
        if (rows := self.rows(start, end)) > _MOST_ROWS:
            lasts, most = (scans * self.rig.scan / 3600 for scans in (self.scans, _MOST_ROWS * self.every))
            advice = f"Keep at most {most:.0f} h, or every so many-th scan only (“every”)."
            raise RigError(f"A run of {lasts:.0f} h would keep {rows} rows.", "duration", advice)
        return rows

    def pieces(
        self, start: float = 0.0, end: float = math.inf, *, progress: Callable[[float], bool] | None = None
    ) -> Iterator[Recording]:
        """Give what `recording` gives in pieces, one after another, so that a week needs no more room than an hour.

        There is always one at least, maybe without rows. `progress` is told the share that has been run.
        """
        scans = self._until(end)
        yield Recording(self.rig, self.seed, np.zeros((0, kernel.COLUMNS)), ())
        session = Session(self.rig, self.seed, self.every)
        for chunk in _chunks(session, self.actions, (min(_first(self.rig, start), scans), scans), progress):
            yield Recording(self.rig, self.seed, chunk.rows, chunk.journal)

    def _until(self, end: float) -> int:
        """Give how many scans there were up to a time [s]."""
        return self.scans if end >= self.scans * self.rig.scan else max(math.floor(end / self.rig.scan + 1e-6) + 1, 0)


_NAME_OF = {one.index: one.name for one in ENTRIES.values()}


def checked_entry(what: str, value: float) -> int:
    """Give the index of a panel entry; raises RigError for an unknown name or a value that it can't take."""
    if what not in ENTRIES:
        raise RigError(f"There is no {what!r} on the panel.", "action", f"There are: {', '.join(ENTRIES)}.")
    if np.isnan(value):
        raise RigError(f"{what!r} was set to something that is not a number.", "action", "Give a number.")
    entry = ENTRIES[what]
    if not entry.least <= value <= entry.most:
        raise RigError(
            f"{what!r} can't be set to {value:g}.", "action", f"It takes {entry.least:g} to {entry.most:g} (SI units)."
        )
    return entry.index


def _at(rig: Rig, action: Action) -> int:
    """Give the scan in which an action takes effect."""
    return max(round(action.time / rig.scan), 0)


def _first(rig: Rig, since: float) -> int:
    """Give the first scan at or after a time [s]."""
    return max(math.ceil(since / rig.scan - 1e-6), 0)


def _kept(first: int, total: int, every: int) -> int:
    """Give how many rows the scans from `first` to before `total` leave."""
    return -(-total // every) - -(-first // every)


def planned(rig: Rig, duration: float, *, actions: Sequence[Action] = (), seed: int = 0, every: int = 1) -> Past:
    """Give what a run of a duration [s] will have been: its rows come in pieces, and need not be held all at once.

    Raises RigError for a duration that is no time.
    """
    if not (math.isfinite(duration) and duration > 0):
        raise RigError(f"A run can't last {duration:g} s.", "duration", "Give a time above zero.")
    return Past(rig, seed, every, max(round(duration / rig.scan), 1), tuple(actions))


def run(
    rig: Rig,
    duration: float,
    *,
    actions: Sequence[Action] = (),
    seed: int = 0,
    every: int = 1,
    since: float = 0.0,
    progress: Callable[[float], bool] | None = None,
) -> Recording:
    """Run a rig for a duration [s] with the actions of people, and give the recording of every so many-th scan.

    What comes before `since` [s] is run, but not kept. `progress` is told the share done and answers whether to go on;
    Cancelled is raised when it says no. Equal rig, seed and actions give an equal recording, bit for bit. Raises
    RigError for a duration that is no time, and for more rows than a machine can be trusted to hold.
    """
    if not math.isfinite(since):
        raise RigError(f"Rows can't be kept since {since:g} s.", "since", "Give a time within the run.")
    return planned(rig, duration, actions=actions, seed=seed, every=every).recording(since, progress=progress)


def _chunks(
    session: Session,
    actions: Sequence[Action],
    scans: tuple[int, int],
    progress: Callable[[float], bool] | None,
) -> Iterator[Chunk]:
    """Run a fresh session with the actions, and give what happened from the first of two scans to before the second."""
    rig, (first, total) = session.rig, scans
    queue = deque(sorted(actions, key=lambda one: _at(rig, one)))  # stable: in one scan, as they were given
    while session.scans < total:
        if progress is not None and not progress(session.scans / total):
            raise Cancelled
        while queue and _at(rig, queue[0]) <= session.scans:
            action = queue.popleft()
            session.act(action.what, action.value, action.who)
        kept = session.scans >= first
        until = min(total if kept else first, session.scans + _SLICE, _at(rig, queue[0]) if queue else total)
        chunk = session.advance(until - session.scans)
        if kept:
            yield chunk
