"""How long the window takes to stand there and work, against an empty window of the same libraries, in one run."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark

EMPTY = """
import pyqtgraph as pg
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication([])
window = QMainWindow()
window.setCentralWidget(pg.PlotWidget())
window.show()
app.processEvents()
"""
OURS = """
from PySide6.QtWidgets import QApplication
app = QApplication([])
from levelbench.gui.look import theme
from levelbench.gui.app import make_window
from levelbench.gui.preferences import Preferences
theme.apply(app, theme.LIGHT)
window, bench = make_window(None, Preferences())
window.show()
app.processEvents()
"""
END = "\nimport os\nprint('there', flush=True)\nos._exit(0)\n"


def best_start(program: str, home: Path) -> float:
    """The shortest of seven starts [s], from the process's beginning until its window has been drawn."""
    place = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    times = []
    for _ in range(7):
        begin = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-c", program + END], env=place, capture_output=True, text=True, check=True
        )
        times.append(time.perf_counter() - begin)
        assert "there" in done.stdout
    return min(times)


@pytest.mark.xfail(strict=True, reason="open: imports, the unit library and six stages built at once take 3 to 4 times")
def test_start_takes_at_most_1_5_times_an_empty_window(tmp_path: Path) -> None:
    empty, ours = best_start(EMPTY, tmp_path), best_start(OURS, tmp_path)
    print(f"\nempty window {empty:.2f} s, ours {ours:.2f} s, ratio {ours / empty:.2f}")
    assert ours <= 1.5 * empty
