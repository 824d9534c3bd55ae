"""The program ends with its exit code, and a window goes for itself, not with a segmentation fault in a plot."""

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox, QWidget
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

from levelbench.gui.bench.bench import Bench
from levelbench.gui.look.closing import take_apart
from levelbench.gui.main_window import MainWindow
from levelbench.project import Project
from levelbench.rig import assemble

PROGRAM = """
from PySide6.QtCore import QTimer
from levelbench.gui import app
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from PySide6.QtWidgets import QApplication, QGraphicsView
from shiboken6 import isValid

program = QApplication(["levelbench"])

def stands(window):
    return window is not None and window.bar.isVisible() and len(window.findChildren(QGraphicsView)) > 2

def job():
    found = None
    while not stands(found):
        yield
        found = next((one for one in program.topLevelWidgets() if isinstance(one, MainWindow)), None)
    print("ready", flush=True)
    other = app.show_another(Preferences(), None)
    while not stands(other):
        yield
    other.menus.switch_theme()
    for _ in range(5):
        yield
    other.close()
    while isValid(other):
        yield
    print("gone", flush=True)
    QTimer.singleShot(300, program.closeAllWindows)

going = job()
timer = QTimer(interval=100)
timer.timeout.connect(lambda: next(going, None))
timer.start()
QTimer.singleShot(100_000, lambda: program.exit(3))
code = app.open_window(None)
timer.stop()
raise SystemExit(code)
"""


@pytest.mark.timeout(110)
def test_the_program_closes_cleanly_with_a_trend_on_its_bench(tmp_path: Path) -> None:
    """Another window, in whose trend everything was dressed anew, is closed before."""
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.stdout.split() == ["ready", "gone"], done.stderr
    assert done.returncode == 0, done.stderr


def test_a_question_that_stands_open_is_left_before_its_window_goes(qtbot: QtBot) -> None:
    window = QWidget()
    QTimer.singleShot(0, window, lambda: take_apart(window, ()))
    answer = QMessageBox.question(window, "Keep it?", "The window that asks is closed by something else.")
    assert answer is not QMessageBox.StandardButton.Yes
    assert isValid(window)  # as long as somebody waits in it
    qtbot.waitUntil(lambda: not isValid(window))


def test_a_bench_that_is_being_made_is_not_made_in_a_closed_window(
    window: MainWindow, house: Project, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("levelbench.gui.bench.warm.Warm.start", lambda _self: None)
    bench = Bench(window.document, window.answers)
    bench.join(window)
    window.answers.rig_changed.emit(assemble(house))
    assert bench.live is None  # its parts come in turns
    window.close()
    for _ in range(200):
        QApplication.processEvents()
    assert bench.live is None
