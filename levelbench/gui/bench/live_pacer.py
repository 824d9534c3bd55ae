"""The thread behind a live run: how many scans are due by the clock, run in slices, laid ready for the main thread."""

import math
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.rig import Chunk, Entry, Past, Rig, Session, has, status_word
from levelbench.rig.panel import ALARM_NAMES, COLUMNS
from levelbench.rig.run import checked_entry

FRAME = 1 / 30  # s between two deliveries at least
SLICE = 0.005  # s that one slice of scans should take
BEHIND = 0.5  # s of the wall's clock that a run may lag before its speed is questioned
LOST = 5.0  # s of the wall's clock after which a lag is a sleep of the machine, not work to catch up with
SPREAD_ROWS = 300  # rows from which the spread of the PV is taken
SPEEDS_DOWN = (100, 50, 20, 10, 5, 2, 1)

_AT = {column.name: at for at, column in enumerate(COLUMNS)}


@dataclass(frozen=True)
class LiveView:
    """What is new since the last view: rows[n, columns] (SI), lines of the journal, and how things stand now."""

    rows: NDArray[np.float64]
    journal: tuple[Entry, ...]
    spread: float  # [m3] standard deviation of PV less true volume over the last rows; nan before there are enough
    opening: float  # of the hand valve, fraction
    set_point_wanted: float  # [m3] what the set point was set to; the working one may still ramp
    rate: float  # how many times faster than the wall's clock it really ran over the last second
    shelves: tuple[float, ...]  # [s] that each alarm stays on the shelf yet; 0: it is on none

    def __getitem__(self, column: str) -> float:
        """Give the latest value of a column (SI)."""
        return float(self.rows[-1, _AT[column]])

    @property
    def conditions(self) -> int:
        """The conditions that hold, as bits."""
        return int(self["conditions"])

    def has(self, condition: str) -> bool:
        """Tell whether a condition holds."""
        return has(self.conditions, condition)

    @property
    def alarms(self) -> dict[str, int]:
        """The state of each alarm by its name, as a place in `ALARM_STATES`."""
        packed = int(self["alarms"])
        return {name: packed >> 4 * at & 15 for at, name in enumerate(ALARM_NAMES)}

    @property
    def status(self) -> str:
        """HIGH, OK or LOW."""
        return status_word(self.conditions)


class Pacer:
    """Owns a Session. Orders come from the main thread; `ring` is called when something lies ready for it.

    `_lock` guards orders and what lies ready, and is held for moments only. The Session is run on the thread alone;
    what the main thread reads of it may be a slice old.
    """

    def __init__(self, rig: Rig, seed: int, ring: Callable[[], None]) -> None:
        self._session = Session(rig, seed)
        self._ring = ring
        self._lock = threading.Condition()
        self._thread = threading.Thread(target=self._work, name="levelbench-live", daemon=True)
        self._running = False
        self._closing = False
        self._single = 0
        self._speed = 1.0
        self._orders: deque[tuple[str, float, str]] = deque()
        self._ready: list[Chunk] = []
        self._words = ""
        self._rung = False
        self._rung_at = -math.inf
        self._recent = np.zeros(SPREAD_ROWS)
        self._counted = 0
        self._slice = 50
        self._anchor = (0.0, 0)  # wall's time and scan from which the due scans are counted
        self._rates: deque[tuple[float, int]] = deque(maxlen=40)

    # Orders, from the main thread ----------------------------------------------------------------------------------

    def start(self) -> None:
        """Start the thread; time does not pass yet."""
        self._thread.start()

    @property
    def running(self) -> bool:
        """Whether time passes."""
        return self._running

    def run(self) -> None:
        """Let time pass."""
        with self._lock:
            self._running = True
            self._single = 0  # a scan that was still wanted is the first of the run
            self._drop_anchor()

    def pause(self) -> None:
        """Hold the time."""
        with self._lock:
            self._running = False
            self._lock.notify()

    def scan_once(self) -> None:
        """Hold the time and run one scan."""
        with self._lock:
            self._running = False
            self._single += 1
            self._lock.notify()

    def set_speed(self, speed: float) -> None:
        """Run so many times faster than the wall's clock."""
        with self._lock:
            self._speed = speed
            self._drop_anchor()

    def act(self, what: str, value: float, who: str) -> None:
        """Let somebody set a panel entry at the next scan. Raises RigError for what is not on the panel."""
        checked_entry(what, value)
        with self._lock:
            self._orders.append((what, value, who))

    def close(self) -> None:
        """Stop the thread and wait for it."""
        with self._lock:
            self._closing = True
            self._running = False
            self._lock.notify()
        if self._thread.is_alive():
            self._thread.join()

    def collect(self) -> tuple[LiveView | None, str, int]:
        """Take what lies ready: a view (None: nothing new), words for the person, and the speed now asked for."""
        with self._lock:
            chunks, self._ready = self._ready, []
            words, self._words = self._words, ""
            self._rung = False
            return self._view(chunks), words, int(self._speed)

    def past(self) -> Past:
        """Give what everything that has run so far follows from."""
        return self._session.past()

    def _drop_anchor(self) -> None:
        """Count the due scans from here and now."""
        self._anchor = (time.monotonic(), self._session.scans)
        self._rates.clear()
        self._lock.notify()

    def _view(self, chunks: list[Chunk]) -> LiveView | None:
        rows = [chunk.rows for chunk in chunks if len(chunk.rows)]
        if not rows:
            return None
        journal = tuple(line for chunk in chunks for line in chunk.journal)
        known = min(self._counted, SPREAD_ROWS)
        return LiveView(
            rows=np.concatenate(rows),
            journal=journal,
            spread=float(self._recent[:known].std()) if known >= 30 else math.nan,
            opening=self._session.panel("valve opening"),
            set_point_wanted=self._session.panel("set point"),
            rate=self._rate(),
            shelves=self._session.shelves(),
        )

    def _rate(self) -> float:
        if len(self._rates) < 2:
            return 0.0
        (first, from_scan), (last, to_scan) = self._rates[0], self._rates[-1]
        return (to_scan - from_scan) * self._session.rig.scan / max(last - first, 1e-9)

    # Work, on the thread -------------------------------------------------------------------------------------------

    def _work(self) -> None:
        while True:
            with self._lock:
                if self._closing:
                    return
                begin = time.monotonic()
                due = self._due(begin)
            left = self._advance(due, begin)
            with self._lock:
                if self._running:
                    self._rates.append((time.monotonic(), self._session.scans))
                    self._judge(left)
                if self._ready and not self._rung:
                    self._rung, self._rung_at = True, time.monotonic()
                    self._ring()
                self._lock.wait(self._pause_length())

    def _pause_length(self) -> float | None:
        """Give how long nothing will be due [s]; None: until there is an order."""
        if self._single or self._closing:
            return 0.0
        if not self._running:
            return None
        since, scan = self._anchor
        next_due = since + (self._session.scans + 1 - scan) * self._session.rig.scan / self._speed
        return max(max(next_due, self._rung_at + FRAME) - time.monotonic(), 0.001)

    def _due(self, now: float) -> int:
        """Give how many scans the wall's clock, or a person, asks for."""
        if not self._running:
            single, self._single = self._single, 0
            return single
        since, scan = self._anchor
        due = max(int((now - since) * self._speed / self._session.rig.scan) + scan - self._session.scans, 0)
        lag = due * self._session.rig.scan / self._speed
        if lag > LOST:
            self._words = f"The computer was held up for {lag:.0f} s; the run goes on from where it stood."
            self._drop_anchor()
            return 1
        return due

    def _advance(self, due: int, begin: float) -> int:
        """Run scans in slices for at most a part of a frame, and give how many are left."""
        while due > 0 and time.monotonic() - begin < FRAME / 2:
            count = min(due, self._slice)
            self._run_slice(count)
            due -= count
        return due

    def _run_slice(self, count: int) -> None:
        with self._lock:
            orders = list(self._orders)
            self._orders.clear()
        begin = time.monotonic()
        for what, value, who in orders:
            self._session.act(what, value, who)
        chunk = self._session.advance(count)
        took = max(time.monotonic() - begin, 1e-6)
        self._slice = int(min(max(count * SLICE / took, 20), 20_000, 2 * self._slice + 20))
        errors = (chunk.rows[:, _AT["pv"]] - chunk.rows[:, _AT["volume"]])[-SPREAD_ROWS:]
        with self._lock:
            self._ready.append(chunk)
            self._recent[(self._counted + np.arange(errors.size)) % SPREAD_ROWS] = errors
            self._counted += errors.size

    def _judge(self, left: int) -> None:
        """Slow down, and say so, where the machine can't keep up."""
        if left * self._session.rig.scan / self._speed > BEHIND:
            asked, rate = self._speed, self._rate()
            self._speed = next((one for one in SPEEDS_DOWN if one < asked and one <= rate), 1)
            if self._speed < asked:
                self._words = f"This computer can't run this rig at {asked:.0f} ×; it now runs at {self._speed:.0f} ×."
            self._drop_anchor()
