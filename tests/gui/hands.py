"""What the tests of the window work with: a rig that only remembers what was done to it, and the whole program."""

from levelbench.gui.bench.bench import Bench
from levelbench.gui.bench.live import LiveRun
from levelbench.gui.main_window import MainWindow

LONG = 110_000  # ms; the first test of a run compiles the scan
Running = tuple[MainWindow, Bench, LiveRun]


class Hands:
    def __init__(self) -> None:
        self.acts: list[tuple[str, float]] = []

    def act(self, what: str, value: float) -> None:
        self.acts.append((what, value))
