"""Runs of a rig: in one go, or scan by scan while a person watches. Both call the same compiled function."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled, RigError
from levelbench.rig.panel import CONDITION_NAMES, ENTRIES
from levelbench.rig.recording import Action, Entry, Recording

_EVENT_ROOM = 4096
_MOST_ROWS = 10_000_000  # 1.1 GB; eleven days of a scan of 100 ms
_SLICE = 20_000  # scans between two looks at progress: some ten milliseconds


@dataclass(frozen=True)
class Chunk:
    """What happened in some scans of a live run: rows[n, columns] and the journal's new lines."""

    rows: NDArray[np.float64]
    journal: tuple[Entry, ...]


class Session:
    """A rig that runs scan by scan. Replaying its journal with `run` gives the same rows, bit for bit."""

    def __init__(self, rig: Rig, seed: int = 0, every: int = 1) -> None:
        self.rig = rig
        self.seed = seed
        self._every = every
        self._state = rig.start()
        self._events = np.zeros((_EVENT_ROOM, 3), dtype=np.int64)
        self._waiting: list[tuple[float, int, float]] = []
        self._chunks: list[Chunk] = []

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

    def act(self, what: str, value: float = 1.0) -> None:
        """Set a panel entry, or press a button; it takes effect at the next scan and lands in the journal."""
        self._waiting.append((float(self.scans), checked_entry(what, value), float(value)))

    def advance(self, scans: int) -> Chunk:
        """Run so many scans."""
        if scans <= 0:
            return Chunk(np.zeros((0, kernel.COLUMNS)), ())
        actions = np.array(self._waiting, dtype=np.float64).reshape(-1, 3)
        self._waiting.clear()
        chunk = self._run(scans, actions)
        _keep(self._chunks, chunk)
        return chunk

    def _run(self, scans: int, actions: NDArray[np.float64]) -> Chunk:
        log = kernel.Log(
            np.zeros((scans // self._every + 1, kernel.COLUMNS)), self._events, np.zeros(3, dtype=np.int64)
        )
        events: list[Entry] = []
        left = scans
        while left > 0:
            left -= kernel.run_scans(
                self.rig.params, self._state, actions, log, kernel.Job(left, self._every, self.seed)
            )
            events += self._read_events(log)
        done = [
            Entry(scan * self.rig.scan, "action", _NAME_OF[int(entry)], value)
            for scan, entry, value in actions[: log.used[2]].tolist()
        ]
        journal = tuple(sorted(done + events, key=lambda line: line.time))
        return Chunk(log.rows[: log.used[0]], journal)

    def _read_events(self, log: kernel.Log) -> list[Entry]:
        found = [
            Entry(scan * self.rig.scan, "event", CONDITION_NAMES[condition], float(value))
            for scan, condition, value in log.events[: log.used[1]].tolist()
        ]
        log.used[1] = 0
        return found

    def recording(self) -> Recording:
        """Give everything that has been run so far."""
        rows = [chunk.rows for chunk in self._chunks] or [np.zeros((0, kernel.COLUMNS))]
        journal = tuple(line for chunk in self._chunks for line in chunk.journal)
        return Recording(self.rig, self.seed, np.concatenate(rows), journal)


def _keep(chunks: list[Chunk], chunk: Chunk) -> None:
    """Add a chunk, joining it to the one before while that is at most twice as long, so that chunks stay few."""
    chunks.append(chunk)
    while len(chunks) > 1 and len(chunks[-2].rows) <= 2 * len(chunks[-1].rows):
        newer, older = chunks.pop(), chunks.pop()
        chunks.append(Chunk(np.concatenate((older.rows, newer.rows)), older.journal + newer.journal))


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


def _scans(rig: Rig, duration: float, every: int) -> int:
    if not (math.isfinite(duration) and duration > 0):
        raise RigError(f"A run can't last {duration:g} s.", "duration", "Give a time above zero.")
    total = max(round(duration / rig.scan), 1)
    if total // every > _MOST_ROWS:
        hours = _MOST_ROWS * every * rig.scan / 3600
        advice = f"Run it for at most {hours:.0f} h, or keep every so many-th scan only (“every”)."
        raise RigError(f"A run of {duration / 3600:.0f} h would keep {total // every} rows.", "duration", advice)
    return total


def run(
    rig: Rig,
    duration: float,
    *,
    actions: Sequence[Action] = (),
    seed: int = 0,
    every: int = 1,
    progress: Callable[[float], bool] | None = None,
) -> Recording:
    """Run a rig for a duration [s] with the actions of people, and give the recording of every so many-th scan.

    `progress` is told the share done and answers whether to go on; Cancelled is raised when it says no. Equal rig, seed
    and actions give an equal recording, bit for bit. Raises RigError for a duration that is no time, and for more rows
    than a machine can be trusted to hold.
    """
    total = _scans(rig, duration, every)
    session = Session(rig, seed, every)
    due = sorted((max(round(one.time / rig.scan), 0), at) for at, one in enumerate(actions))
    queue = [(scan, actions[at]) for scan, at in due]
    while session.scans < total:
        if progress is not None and not progress(session.scans / total):
            raise Cancelled
        while queue and queue[0][0] <= session.scans:
            session.act(queue[0][1].what, queue[0][1].value)
            queue.pop(0)
        until = min(total, session.scans + _SLICE, queue[0][0] if queue else total)
        session.advance(until - session.scans)
    return session.recording()
