"""Is the window ever held? A heartbeat on the event loop, and the turns of the loop that each action of a person takes.

A turn is what the program does between two looks at mouse and keyboard; whoever types or drags waits for the longest.
"""

import contextlib
import cProfile
import io
import os
import pstats
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QTimer

CALM = 3  # turns in a row with nothing in them, after which an action is over
NOTHING = 0.0005  # s of a turn with nothing in it
AT_ONCE = 0.0005  # s


def tell(measured: str) -> None:
    """Write a measurement; it is seen with `pytest -s`."""
    print(measured)  # noqa: T201


@dataclass(frozen=True)
class Look:
    """Clocks [s] at one moment, and how long threads that could go on were kept waiting for the processor until then.

    The system keeps that: it is the second number in a thread's schedstat, in ns.
    """

    wall: float
    process: float  # the processor's time of all threads
    main: float  # and of the main thread
    main_waited: float
    waited: dict[str, float]  # by other threads

    @classmethod
    def now(cls) -> "Look":
        """Look, again where it took so long that the clocks and the waiting are not of one moment."""
        for _ in range(5):
            wall = time.perf_counter()
            waited = _waited("self")
            clocks = wall, time.process_time(), time.thread_time(), waited
            if time.perf_counter() - wall < AT_ONCE:
                break
        others = (one for one in os.listdir("/proc/self/task") if int(one) != os.getpid())  # noqa: PTH208  names only
        return cls(*clocks, {one: _waited(f"self/task/{one}") for one in others})

    def held_since(self, before: "Look") -> float:
        """Give for how long [s] the program held its main thread: working, or waiting for what it does elsewhere.

        Not while other programs had the processor that the main thread wanted, or that another thread wanted which it
        waited for. Where the latter were at work too, their work counts.
        """
        main = self.main - before.main
        blocked = self.wall - before.wall - main - (self.main_waited - before.main_waited)
        others = self.process - before.process - main
        starved = sum(wait - before.waited.get(thread, 0.0) for thread, wait in self.waited.items())
        return main + max(min(blocked, others), blocked - starved)


def _waited(thread: str) -> float:
    with contextlib.suppress(OSError):  # it has just ended
        return int(Path(f"/proc/{thread}/schedstat").read_bytes().split()[1]) / 1e9
    return 0.0


@dataclass
class Heartbeat:
    """Beats every 2 ms while entered; `worst` is the longest that the program held its window [s] between two beats."""

    worst: float = 0.0
    count: int = 0
    over: list[float] = field(default_factory=list)  # every hold above 30 ms [s]

    def __enter__(self) -> "Heartbeat":
        self._timer = QTimer(interval=2)
        self._timer.timeout.connect(self._beat)
        self._last = Look.now()
        self._timer.start()
        return self

    def _beat(self) -> None:
        before, self._last = self._last, Look.now()
        held = self._last.held_since(before)
        self.worst = max(self.worst, held)
        self.count += 1
        if held > 0.030:
            self.over.append(held)

    def __exit__(self, *what: object) -> None:
        self._timer.stop()
        self._beat()
        tell(f"worst hold {1e3 * self.worst:.1f} ms in {self.count} beats")


@dataclass(frozen=True)
class Hold:
    """The longest turn of an action: time on the wall [s], and of the processor on the main thread [s]."""

    action: str
    wall: float
    cpu: float

    def __str__(self) -> str:
        return f"{1e3 * self.wall:7.1f} ms wall {1e3 * self.cpu:7.1f} ms CPU   {self.action}"


@dataclass
class Pulse:
    """Does actions and keeps how long each held the loop; `holds` has one a name, the longest of those of that name.

    `look_into`: of actions whose name begins so, the longest turn is told call by call.
    """

    look_into: str = ""
    holds: dict[str, Hold] = field(default_factory=dict)
    _longest: tuple[float, str] = (0.0, "")

    def act(self, name: str, do: Callable[[], object], until: Callable[[], bool] | None = None) -> None:
        """Do something as a person does, and turn the loop until all is calm, and until something is so if asked."""
        self._turn(name, do)
        self.turn(name, until)

    def turn(self, name: str, until: Callable[[], bool] | None = None, longest: float = 60.0) -> None:
        """Turn the loop until all is calm, and until something is so if asked, at most `longest` [s]."""
        calm, end = 0, time.monotonic() + longest
        while calm < CALM or (until is not None and not until()):
            assert time.monotonic() < end, f"{name}: it never came"
            took = self._turn(name, _one_turn)
            calm = calm + 1 if took < NOTHING else 0
            if took < NOTHING:
                time.sleep(0.001)

    def _turn(self, name: str, work: Callable[[], object]) -> float:
        profile = cProfile.Profile() if self.look_into and name.startswith(self.look_into) else None
        cpu, wall = time.thread_time(), time.perf_counter()
        if profile is not None:
            profile.runcall(work)
        else:
            work()
        wall, cpu = time.perf_counter() - wall, time.thread_time() - cpu
        known = self.holds.get(name, Hold(name, 0.0, 0.0))
        self.holds[name] = Hold(name, max(wall, known.wall), max(cpu, known.cpu))
        if profile is not None and cpu > self._longest[0]:
            self._longest = (cpu, _calls(profile))
        return cpu

    def worst(self, count: int) -> list[Hold]:
        """Give the actions that held longest, on the processor, the worst first."""
        return sorted(self.holds.values(), key=lambda hold: -hold.cpu)[:count]

    def tell(self, count: int = 25) -> None:
        """Write the worst actions."""
        tell("\n".join(["", f"{len(self.holds)} actions", *map(str, self.worst(count)), self._longest[1]]))


def _one_turn() -> None:
    QCoreApplication.processEvents()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)  # as the loop does that `exec` runs


def _calls(profile: cProfile.Profile) -> str:
    out = io.StringIO()
    pstats.Stats(profile, stream=out).sort_stats("cumtime").print_stats(45)
    return out.getvalue()
