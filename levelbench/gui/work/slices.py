"""Much work for the main thread, done a little at a time, so that the window is never held.

However many do so at once (a form, a stage, the findings), they share one slice of each turn of the event loop, and
take turns step by step.
"""

import time
from collections import deque
from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, QTimer
from shiboken6 import isValid

Step = Callable[[], object]
SLICE = 0.004  # s of work between two looks at what else is to be done


class Slices(QObject):
    """Does steps in their order over several turns of the event loop. New steps take the place of those not done."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._steps: deque[Step] = deque()
        self.destroyed.connect(_turns().look)

    @property
    def busy(self) -> bool:
        """Whether there are steps that are not done yet."""
        return bool(self._steps)

    def do(self, steps: Iterable[Step]) -> None:
        """Begin with these steps; the first ones are done at once."""
        self._steps = deque(steps)
        end = time.perf_counter() + SLICE
        try:
            while self._steps and time.perf_counter() <= end:
                self.step()
        finally:
            self._go_on()

    def also(self, steps: Iterable[Step]) -> None:
        """Add steps after those that are not done yet."""
        self._steps.extend(steps)
        self._go_on()

    def step(self) -> None:
        """Do the next step."""
        self._steps.popleft()()

    def _go_on(self) -> None:
        if self._steps:
            _turns().take(self)


class _Turns(QObject):
    """What is to be done in the next turns of the event loop, by whom."""

    def __init__(self) -> None:
        super().__init__()
        self._waiting: deque[Slices] = deque()
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._turn)

    @property
    def waiting(self) -> bool:
        """Whether anybody is to go on."""
        return bool(self._waiting)

    def take(self, one: Slices) -> None:
        """Let somebody go on in the next turn."""
        if not any(other is one for other in self._waiting):
            self._waiting.append(one)
        self._next.start()

    def look(self) -> None:
        """Let go of those who have gone or have nothing to do."""
        self._waiting = deque(one for one in self._waiting if isValid(one) and one.busy)
        if not self._waiting:
            self._next.stop()

    def _turn(self) -> None:
        end = time.perf_counter() + SLICE
        try:
            while self._waiting and time.perf_counter() <= end:
                one = self._waiting.popleft()
                if isValid(one) and one.busy:
                    self._waiting.append(one)
                    one.step()
        finally:
            self._next.start()
            self.look()


def at_work() -> bool:
    """Say whether anybody still has something to do in the next turns."""
    return _turns().waiting


_the_turns: list[_Turns] = []


def _turns() -> _Turns:
    """Give the turns; they are made on the first call, which must come from the main thread."""
    if not _the_turns:
        _the_turns.append(_Turns())
    return _the_turns[0]
