"""The program ends with its exit code, and not with a segmentation fault in a plot."""

import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = """
import sys
from PySide6.QtCore import QTimer
from levelbench.gui import app
from levelbench.gui.main_window import MainWindow
from PySide6.QtWidgets import QApplication, QGraphicsView

program = QApplication(["levelbench"])
looks = 0

def look():
    global looks
    looks += 1
    window = next((one for one in program.topLevelWidgets() if isinstance(one, MainWindow)), None)
    ready = window is not None and window.bar.isVisible() and window.findChildren(QGraphicsView)
    if ready or looks > 900:
        timer.stop()
        print("ready" if ready else "never ready", flush=True)
        QTimer.singleShot(300, program.closeAllWindows)

timer = QTimer(interval=100)
timer.timeout.connect(look)
timer.start()
raise SystemExit(app.open_window(None))
"""


@pytest.mark.timeout(110)
def test_the_program_closes_cleanly_with_a_trend_on_its_bench(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.stdout.split() == ["ready"], done.stderr
    assert done.returncode == 0, done.stderr
