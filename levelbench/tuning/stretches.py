"""What a change of the settings did on a running rig: some minutes before it and since, measured alike.

    bench = Stretches(); bench.take(chunk.rows, chunk.journal); bench.compare(units) -> Compared | None

Two stretches of one run are two samples of noise and load, not a proof: only what differs clearly is said, and whatever
else was changed within them is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, Units
from levelbench.rig.panel import BITS, COLUMNS
from levelbench.rig.recording import Entry

D = Dimension
Floats = NDArray[np.float64]

LENGTH = 300.0  # [s] of a stretch at most
FIRST = 60.0  # [s] of a run, in which it comes to rest, that are left out
LEAST = 60.0  # [s] that both stretches must have before anything is said of them
SETTINGS = (
    "gain", "integral time", "derivative time", "derivative filter", "set point weight", "pv filter",
    "integral dead band", "output low", "output high", "output rate", "ramp",
)  # fmt: skip
_CLEARLY = 1.25  # factor by which two stretches must differ (common practice, no source)
_AT = {column.name: at for at, column in enumerate(COLUMNS)}


@dataclass(frozen=True)
class Change:
    """Settings that were changed together at a time [s]."""

    time: float
    names: tuple[str, ...]


@dataclass(frozen=True)
class Compared:
    """Figures of the stretch before a change and of the one since, and what may be said of them.

    lengths: of both [s]; said: "" while they are too short; besides: what else was changed within them.
    """

    change: Change
    lengths: tuple[float, float]
    before: tuple[Figure, ...]
    since: tuple[Figure, ...]
    said: str
    besides: tuple[str, ...]


@dataclass
class Stretches:
    """Keeps the newest minutes of a run and its last change of settings."""

    change: Change | None = None
    _before: Floats = field(default_factory=lambda: np.empty((0, len(COLUMNS))))
    _recent: list[Floats] = field(default_factory=list)
    _acts: list[Entry] = field(default_factory=list)

    def begin(self) -> None:
        """Forget everything: the run begins again."""
        self.__init__()  # type: ignore[misc]

    def take(self, rows: Floats, journal: Sequence[Entry]) -> bool:
        """Take in new rows of a run (SI, as `COLUMNS`) and new lines of its journal; tells whether settings changed."""
        self._recent.append(rows)
        changed = False
        for entry in journal:
            if entry.kind != "action":
                continue
            self._acts.append(entry)
            if entry.what in SETTINGS:
                self._note(entry)
                changed = True
        self._forget_old()
        return changed

    def compare(self, shown_in: Units) -> Compared | None:
        """Measure both stretches; None before any change."""
        if self.change is None:
            return None
        since = self._rows(self.change.time, self.change.time + LENGTH)
        both = (self._before, since)
        lengths = (_length(self._before), _length(since))
        before, after = (measured(one, shown_in) if len(one) > 1 else () for one in both)
        begin = float(self._before[0, 0]) if len(self._before) else self.change.time
        besides = [
            one.what
            for one in self._acts
            if one.what not in SETTINGS and begin <= one.time <= self.change.time + LENGTH
        ]
        said = _said(before, after) if min(lengths) >= LEAST else ""
        return Compared(self.change, lengths, before, after, said, tuple(dict.fromkeys(besides)))

    def _note(self, entry: Entry) -> None:
        """Begin a new stretch with a change, unless it belongs to the one just noted."""
        if self.change is not None and entry.time - self.change.time < 1e-6:
            self.change = Change(self.change.time, (*self.change.names, entry.what))
            return
        last = self.change.time if self.change is not None else -np.inf
        self._before = self._rows(max(entry.time - LENGTH, last, FIRST), entry.time)
        self.change = Change(entry.time, (entry.what,))

    def _rows(self, begin: float, end: float) -> Floats:
        rows = np.concatenate(self._recent) if self._recent else np.empty((0, len(COLUMNS)))
        time = rows[:, _AT["time"]]
        return rows[(time > begin) & (time <= end)]

    def _forget_old(self) -> None:
        """Let go of what no stretch can still need."""
        newest = float(self._recent[-1][-1, 0]) if len(self._recent[-1]) else 0.0
        kept = newest - LENGTH
        if self.change is not None and newest < self.change.time + LENGTH:
            kept = min(kept, self.change.time)
        while len(self._recent) > 1 and (not len(self._recent[0]) or self._recent[0][-1, 0] < kept):
            self._recent.pop(0)
        self._acts = [one for one in self._acts if one.time > newest - 3 * LENGTH]


def measured(rows: Floats, shown_in: Units) -> tuple[Figure, ...]:
    """Measure a stretch of a run (SI, as `COLUMNS`): spread and largest distance, output travel, starts per hour."""
    apart = rows[:, _AT["pv"]] - rows[:, _AT["set_point"]]
    seconds = max(_length(rows), 1e-9)
    running = (rows[:, _AT["conditions"]].astype(np.int64) >> BITS["pump running"]) & 1
    starts = int(np.count_nonzero(np.diff(running) == 1))
    travel = float(np.sum(np.abs(np.diff(rows[:, _AT["output"]]))))
    spread, largest = float(np.std(apart)), float(np.max(np.abs(apart)))
    over = (("over", shown_in.show(seconds, D.TIME, 1.0)), ("starts counted", str(starts)))
    return (
        Figure("bench.spread", "spread of PV about SP", spread, D.VOLUME,
               "standard deviation of PV − SP over every scan", over[:1], COMMON_PRACTICE, spread / 50),
        Figure("bench.largest", "largest distance from SP", largest, D.VOLUME,
               "largest |PV − SP| of any scan, noise of the PV with it", over[:1], COMMON_PRACTICE, largest / 50),
        Figure("bench.travel", "output travel", travel / seconds, D.PERCENT_RATE,
               "sum of all changes of the output by the time", over[:1], COMMON_PRACTICE),
        Figure("bench.starts", "pump starts", starts / seconds, D.START_RATE,
               "starts by the time; few minutes tell it coarsely", over, COMMON_PRACTICE),
    )  # fmt: skip


def _length(rows: Floats) -> float:
    return float(rows[-1, 0] - rows[0, 0]) if len(rows) > 1 else 0.0


def _said(before: Sequence[Figure], since: Sequence[Figure]) -> str:
    """Say what differs clearly."""
    then = {one.key: one.si for one in before}
    now = {one.key: one.si for one in since}
    spread = _way(then["bench.spread"], now["bench.spread"], ("steadier", "less steady"))
    travel = _way(then["bench.travel"], now["bench.travel"], ("moves less", "moves more"))
    volume = f"The volume is {spread}" if spread else "The volume is about as steady"
    return f"{volume}, the output {travel or 'moves about as much'}."


def _way(before: float, since: float, ways: tuple[str, str]) -> str:
    if since * _CLEARLY < before:
        return ways[0]
    return ways[1] if since > before * _CLEARLY else ""
