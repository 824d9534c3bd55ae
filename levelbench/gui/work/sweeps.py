"""The garbage collector's full sweeps, each in a turn of the event loop in which nothing else is to be made.

Such a sweep takes 6 to 22 ms in a window in which everything is open. Left to itself it comes where most is made, in
the very turns that are long already.
"""

import gc

from PySide6.QtCore import QObject, QTimer

from levelbench.gui.work.slices import at_work

EVERY = 2000  # ms between two looks
_OFTEN = 10  # sweeps of the younger ones before a full one, as the collector itself has it
_NEVER = 1_000_000_000


class Sweeps(QObject):
    """Takes the full sweeps over from the collector, for as long as the program runs."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        young, middle, _ = gc.get_threshold()
        gc.set_threshold(young, middle, _NEVER)
        self._timer = QTimer(self, interval=EVERY)
        self._timer.timeout.connect(self._sweep)
        self._timer.start()

    def _sweep(self) -> None:
        """Sweep when enough has come together; another time while something is being made, or the collector rests."""
        if gc.isenabled() and gc.get_count()[2] > _OFTEN and not at_work():
            gc.collect()
