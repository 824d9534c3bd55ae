"""Much work for the main thread, done a little at a time, so that the window is never held."""

import time
from collections import deque
from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, QTimer

Step = Callable[[], object]
SLICE = 0.010  # s of work between two looks at what else is to be done


class Slices(QObject):
    """Does steps in their order over several turns of the event loop. New steps take the place of those not done."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._steps: deque[Step] = deque()
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._some)

    @property
    def busy(self) -> bool:
        """Whether there are steps that are not done yet."""
        return bool(self._steps)

    def do(self, steps: Iterable[Step]) -> None:
        """Begin with these steps; the first ones are done at once."""
        self._steps = deque(steps)
        self._some()

    def also(self, steps: Iterable[Step]) -> None:
        """Add steps after those that are not done yet."""
        self._steps.extend(steps)
        self._next.start()

    def _some(self) -> None:
        end = time.perf_counter() + SLICE
        while self._steps:
            self._steps.popleft()()
            if time.perf_counter() > end:
                break
        if self._steps:
            self._next.start()
        else:
            self._next.stop()
