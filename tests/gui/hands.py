"""What the tests of the window work with: a rig that only remembers what was done to it, and the whole program."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.bench import Bench
from levelbench.gui.bench.live import LiveRun
from levelbench.gui.main_window import MainWindow
from levelbench.gui.ways.way import Way

LONG = 110_000  # ms; the first test of a run compiles the scan
Running = tuple[MainWindow, Bench, LiveRun]


class Hands:
    def __init__(self) -> None:
        self.acts: list[tuple[str, float]] = []

    def act(self, what: str, value: float) -> None:
        self.acts.append((what, value))


def show_way(qtbot: QtBot, way: Way) -> None:
    """Show a way as on its card, and what it has for the wide place, as in a window of 1280 × 800."""
    assert way.wide is not None
    for shown, size in ((way, (380, 700)), (way.wide, (655, 640))):
        qtbot.addWidget(shown)
        shown.resize(*size)
        with qtbot.waitExposed(shown):
            shown.show()


def show_stage(qtbot: QtBot, stage: QWidget, height: int) -> None:
    """Show a stage as wide as its card, with the keys."""
    qtbot.addWidget(stage)
    stage.resize(408, height)
    with qtbot.waitActive(stage):
        stage.show()
        stage.activateWindow()


def types(qtbot: QtBot, box: QLineEdit, words: str, *, enter: bool = False) -> None:
    """Type into a box in place of what stands there."""
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, words)
    if enter:
        qtbot.keyClick(box, Qt.Key.Key_Return)
