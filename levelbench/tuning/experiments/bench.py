"""A person at the panel during an experiment: acts, watches scan by scan, and stops when a limit is near."""

from collections import deque
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import LevelBenchError
from levelbench.rig import Action, Cancelled, Entry, Recording, Session, kernel
from levelbench.tuning.experiments.guard import REACTION, Seen, pv_noise, reason_to_stop
from levelbench.tuning.experiments.planned import Plan

Progress = Callable[[float], bool]
_TIME, _PV, _OUTPUT, _RESERVOIR, _BITS = 0, 2, 5, 8, 13
_BALANCED = 0.005  # of the output, to which the balance is found
_LOOK = 20  # waits between two looks at progress


class Stopped(LevelBenchError):  # noqa: N818 (what a person does in time, no mistake)
    """The experiment was stopped at one of its limits; `high` when that was above."""

    def __init__(self, reason: str, *, high: bool) -> None:
        self.high = high
        super().__init__(reason)


class Bench:
    """One rig being run by hand; keeps every row, so that a recording can be made of it."""

    def __init__(self, plan: Plan, seed: int, others: Sequence[Action], progress: Progress | None) -> None:
        self.plan = plan
        self.session = Session(plan.rig, seed)
        self.begun = 0.0  # [s] when the experiment itself began
        self._others = deque(sorted(others, key=lambda one: one.time))
        self._progress = progress
        self._rows: list[NDArray[np.float64]] = []
        self._journal: list[Entry] = []
        self._before = 0
        self._looks = 0
        self._guarded = False

    @property
    def time(self) -> float:
        """Time of the next scan [s]."""
        return self.session.time

    def act(self, what: str, value: float = 1.0) -> None:
        """Set or press something on the panel."""
        self.session.act(what, value)

    def watch(self) -> None:
        """Begin to watch the limits; alarms that are there now are known."""
        self._before, self._guarded = int(self._rows[-1][-1, _BITS]), True

    def leave(self) -> None:
        """Watch no longer."""
        self._guarded = False

    def scan(self, count: int = 1) -> tuple[float, float]:
        """Run some scans, and give the last one's PV [m3] and output [1]. Raises Stopped at a limit, Cancelled."""
        while self._others and self._others[0].time <= self.time + 1e-9:
            other = self._others.popleft()
            self.session.act(other.what, other.value)
        self._looks += 1
        if self._progress is not None and self._looks % _LOOK == 0 and not self._progress(self._share()):
            raise Cancelled
        chunk = self.session.advance(count)
        self._rows.append(chunk.rows)
        self._journal += chunk.journal
        row = chunk.rows[-1]
        if self._guarded:
            self._look(row)
        return float(row[_PV]), float(row[_OUTPUT])

    def wait(self, seconds: float) -> None:
        """Let time pass [s], with a look at the limits every half second."""
        left, most = round(seconds / self.plan.rig.scan), max(round(REACTION / self.plan.rig.scan), 1)
        while left > 0:
            count = min(left, most)
            self.scan(count)
            left -= count

    def last(self, seconds: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Give PV [m3] and output [1] of the last seconds."""
        count = max(round(seconds / self.plan.rig.scan), 2)
        rows = np.concatenate(self._rows[-count:])[-count:]
        return rows[:, _PV], rows[:, _OUTPUT]

    def recording(self, since: float) -> Recording:
        """Give what was recorded since a time [s]."""
        rows = np.concatenate(self._rows)
        kept = rows[rows[:, _TIME] >= since - 1e-9]
        journal = tuple(one for one in self._journal if one.time >= since - 1e-9)
        return Recording(self.plan.rig, self.session.seed, kept, journal)

    def _share(self) -> float:
        return min(self.time / self.plan.guard.longest, 1.0)

    def _look(self, row: NDArray[np.float64]) -> None:
        guard = self.plan.guard
        pv, bits = float(row[_PV]), int(row[_BITS])
        seen = Seen(pv, float(row[_RESERVOIR]), bits)
        reason = reason_to_stop(guard, self.plan.rig, seen, self._before)
        if not reason and self.time > guard.longest:
            reason = "it took longer than it may"
        if reason:
            raise Stopped(reason, high=pv > self.plan.volume)


def start(bench: Bench) -> None:
    """Bring the rig to where an experiment begins: running, primed, in automatic, the drain as planned."""
    plan = bench.plan
    project = plan.rig.project
    if not project.start.running:
        bench.act("power on")
    if plan.rig.params.drain.kind == 2 and not project.start.siphon_primed:
        bench.act("prime")
    if plan.drain is not None:
        bench.act(*plan.drain)
    bench.act("auto", 1.0)
    bench.scan()


def settle(bench: Bench) -> tuple[float, bool]:
    """Wait until the loop holds still; give its mean output, the balance [1], and whether it did."""
    plan = bench.plan
    window = max(6 * plan.model.dead_time, 20.0)
    noise = pv_noise(plan.rig)
    near = max(float(plan.rig.panel[kernel.P_SP_STEP]), 3 * noise)
    still = _BALANCED * plan.model.slope * window / 2 + noise
    bench.wait(max(plan.settling / 3, window))
    bench.watch()
    while bench.time < 1.5 * plan.settling:
        bench.wait(window / 4)
        pv, output = bench.last(window)
        first, second = np.array_split(pv, 2)
        drift = abs(float(np.mean(second) - np.mean(first)))
        if abs(float(np.mean(pv)) - plan.volume) < near and drift < still:
            return float(np.mean(output)), True
    return float(np.mean(bench.last(0.75 * plan.settling)[1])), False


def restore(bench: Bench, stopped: Stopped | None) -> str:
    """Put mode, set point, output and drain back as they were, and watch what comes of it; say what was done."""
    panel, bench_settings = bench.plan.rig.project.start, bench.plan.rig.panel
    bench.leave()
    back = []
    if stopped is not None and stopped.high:
        bench.act("auto", 0.0)
        bench.scan()
        bench.act("manual output", 0.0)
        bench.scan()
        back.append("output to 0 %")
    if bench.plan.kind == "step":
        bench.act("set point", float(bench_settings[kernel.P_SET_POINT]))
        back.append("set point as before")
    if panel.mode == "auto":
        bench.act("auto", 1.0)
        back.append("mode auto as before")
    else:
        bench.act("auto", 0.0)
        bench.scan()
        if stopped is None or not stopped.high:
            bench.act("manual output", panel.output.si)
        back.append("mode manual as before")
    if bench.plan.drain is not None:
        entry = bench.plan.drain[0]
        bench.act(entry, before_drain(bench.plan, entry))
        back.append(f"{entry} as before")
    bench.wait(max(4 * bench.plan.model.dead_time, 5.0))
    return ", ".join(back)


def before_drain(plan: Plan, entry: str) -> float:
    """Give what the drain was set to before the experiment: opening [1] or draw [m3/s]."""
    drain = plan.rig.project.drain
    typed = drain.draw if entry == "draw" else drain.opening
    return typed.si if typed is not None else 0.0
