"""The one way to do long work: a pure function on a thread of ours, its answer on the main thread.

    Job(self, lambda progress: review(rig, progress), self.show_findings, self.show_error, key="review")

The work gets plain data and never touches a widget. It may call `progress.report(0.4, "second of five")` and should
look at `progress.cancelled` between slices of 20 to 50 ms. A newer job of the same owner and key makes the older one
stale: it is told to stop, and whatever it still brings is dropped. So is everything of a destroyed owner.
"""

import itertools
import os
import sys
import time
import weakref
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextvars import copy_context
from typing import Any, Generic, TypeVar, cast

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot
from shiboken6 import isValid

T = TypeVar("T")

LONG = 500  # ms after which a job is shown
REPORT_EVERY = 0.05  # s between two progress reports that reach the main thread
# s; a working thread hands the interpreter back to the window this often. A frame lets go of it some fifty times, and
# waits so long for it each time: with 1 ms the window was held 56 to 80 ms beside a busy job, with 0.2 ms 24 ms.
SWITCH_INTERVAL = 0.0002


class Progress:
    """What the work sees of its job: a place to report to, and whether it should stop. Used on the working thread."""

    def __init__(self, tell: Callable[[float, str], None]) -> None:
        self._tell = tell
        self._last = -1.0
        self._cancelled = False

    @property
    def cancelled(self) -> bool:
        """Whether the answer is no longer wanted."""
        return self._cancelled

    def cancel(self) -> None:
        """Ask the work to stop at its next look."""
        self._cancelled = True

    def report(self, fraction: float, text: str = "") -> bool:
        """Tell how far the work is, 0 to 1 (below 0: not known). Gives False when the work should stop."""
        now = time.monotonic()
        if now - self._last >= REPORT_EVERY or fraction >= 1.0:
            self._last = now
            self._tell(fraction, text)
        return not self._cancelled

    def __call__(self, fraction: float) -> bool:
        """Stand in where a plain function of the fraction done is wanted, as by `levelbench.rig.run`."""
        return self.report(fraction)


class Job(QObject, Generic[T]):
    """One piece of long work, started when made. One of `on_done`, `on_error` is called, or neither if dropped."""

    progressed = Signal(float, str)
    running_longer_than_half_a_second = Signal()
    ended = Signal()  # the thread has let go, whatever became of the answer

    def __init__(
        self,
        owner: QObject,
        work: Callable[[Progress], T],
        on_done: Callable[[T], None],
        on_error: Callable[[Exception], None],
        *,
        key: str = "",
        title: str = "",
    ) -> None:
        super().__init__()
        self.place = (id(owner), key)  # a newer job in the same place makes this one stale
        self.title = title
        self.started = time.monotonic()
        self.running = True
        self._work: Callable[[Progress], T] | None = work
        self._answer: tuple[Callable[[T], None], Callable[[Exception], None]] | None = (on_done, on_error)
        self._long = QTimer(self, singleShot=True, interval=LONG)
        self._long.timeout.connect(self.running_longer_than_half_a_second)
        self._long.start()
        self._owner = weakref.ref(owner)  # an owner is never held, so that it can go
        owner.destroyed.connect(self.cancel)
        self._progress = crew().take(self)

    @property
    def cancelled(self) -> bool:
        """Whether the answer will be dropped."""
        return self._progress.cancelled

    def belongs_to(self, whole: QObject) -> bool:
        """Whether the owner is `whole`, or a part of it at any depth, or no more."""
        at: QObject | None = self._owner()
        if at is None or not isValid(at):
            return self.cancelled
        while at is not None and at is not whole:
            at = at.parent()
        return at is whole

    @Slot()
    def cancel(self) -> None:
        """Drop the answer and ask the work to stop; `ended` follows when it has."""
        self._progress.cancel()
        self._long.stop()

    def run(self, progress: Progress) -> tuple[str, object]:
        """Do the work and give what became of it. Called by the crew on a working thread."""
        if progress.cancelled or self._work is None:
            return "dropped", None
        try:
            return "done", self._work(progress)
        except Exception as error:  # noqa: BLE001  whatever the work raises belongs to `on_error`
            return "error", error

    def hear(self, kind: str, what: object) -> None:
        """Take what came from the working thread. Called by the crew on the main thread."""
        if kind == "progress":
            if not self.cancelled:
                self.progressed.emit(*cast("tuple[float, str]", what))
            return
        self._long.stop()
        self.running = False
        answer, self._answer, self._work = self._answer, None, None
        try:
            if answer is not None and not self.cancelled:
                if kind == "error":
                    answer[1](cast("Exception", what))
                else:
                    answer[0](cast("T", what))
        finally:
            self.ended.emit()


class _Crew(QObject):
    """The threads, and the bell through which they reach the main thread."""

    rang = Signal(int, str, object)

    def __init__(self) -> None:
        super().__init__()
        sys.setswitchinterval(SWITCH_INTERVAL)
        self._pool = ThreadPoolExecutor(max(2, (os.cpu_count() or 2) - 1), thread_name_prefix="levelbench-job")
        self._numbers = itertools.count(1)
        self._jobs: dict[int, tuple[Job[Any], Progress, Future[None]]] = {}
        self.rang.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    def take(self, job: Job[Any]) -> Progress:
        for older, _, _ in self._jobs.values():
            if older.place == job.place:
                older.cancel()
        number = next(self._numbers)
        progress = Progress(lambda fraction, text: self.rang.emit(number, "progress", (fraction, text)))
        self._jobs[number] = (job, progress, self._pool.submit(copy_context().run, self._work, number, job, progress))
        return progress

    def _work(self, number: int, job: Job[Any], progress: Progress) -> None:
        self.rang.emit(number, *job.run(progress))

    @Slot(int, str, object)
    def _hear(self, number: int, kind: str, what: object) -> None:
        job = self._jobs[number][0] if kind == "progress" else self._jobs.pop(number)[0]
        job.hear(kind, what)

    def stop(self, seconds: float, whole: QObject | None = None) -> bool:
        meant = [one for one in self._jobs.values() if whole is None or one[0].belongs_to(whole)]
        for _, progress, _ in meant:
            progress.cancel()
        return not wait([future for _, _, future in meant], seconds).not_done

    def busy(self) -> int:
        return len(self._jobs)


_the_crew: list[_Crew] = []


def crew() -> _Crew:
    """Give the crew; it is made on the first call, which must come from the main thread."""
    if not _the_crew:
        _the_crew.append(_Crew())
    return _the_crew[0]


def stop_all(seconds: float = 10.0) -> bool:
    """Cancel every job and wait up to `seconds` [s] for the threads to let go. Gives whether all of them did."""
    return crew().stop(seconds)


def stop_those_of(whole: QObject, seconds: float = 10.0) -> bool:
    """Cancel every job of a window and its parts and wait as `stop_all` does; those of other windows go on."""
    return crew().stop(seconds, whole)


def busy() -> int:
    """Give how many jobs have not ended."""
    return crew().busy()
