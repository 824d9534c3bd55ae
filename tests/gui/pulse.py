"""A heartbeat on the event loop: how long was it held at worst?"""

import time
from dataclasses import dataclass, field

from PySide6.QtCore import QTimer


def tell(measured: str) -> None:
    """Write a measurement; it is seen with `pytest -s`."""
    print(measured)  # noqa: T201


@dataclass
class Heartbeat:
    """Beats every 2 ms while entered; `worst` is the longest time [s] between two beats."""

    worst: float = 0.0
    count: int = 0
    over: list[float] = field(default_factory=list)  # every gap above 30 ms [s]

    def __enter__(self) -> "Heartbeat":
        self._timer = QTimer(interval=2)
        self._timer.timeout.connect(self._beat)
        self._last = time.perf_counter()
        self._timer.start()
        return self

    def _beat(self) -> None:
        now = time.perf_counter()
        gap, self._last = now - self._last, now
        self.worst = max(self.worst, gap)
        self.count += 1
        if gap > 0.030:
            self.over.append(gap)

    def __exit__(self, *what: object) -> None:
        self._timer.stop()
        tell(f"worst gap {1e3 * self.worst:.1f} ms in {self.count} beats")
