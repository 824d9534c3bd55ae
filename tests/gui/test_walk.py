"""A walk over every stage and every other window: nothing is cut, everything has a name and is reached by the keys."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import boxes
import painted
import pytest
import walk
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from levelbench.gui import app
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.look.parts import Sheet
from levelbench.gui.main_window import MainWindow
from levelbench.gui.preferences import Preferences
from levelbench.project import sample

FULL, SMALL, TINY = QSize(1280, 800), QSize(1100, 700), QSize(640, 400)
FAST = 200  # times the clock on the wall


def walk_all(size: QSize, *, name: str = "seedling_house", every: bool = True) -> list[str]:
    """Walk one window of a size, as it is and with longer words; gives what was found.

    The rig has run, its sensor has failed and it has said so, so that everything that can be said stands there.
    """
    window, bench = app.make_window(sample(name), Preferences())
    window.resize(size)
    window.show()
    walk.until(lambda: bench.live is not None and bench.live.view is not None, 110)
    walk.until(lambda: not window.answers.working and not window.answers.waiting, 110)
    live = bench.live
    assert live is not None
    live.set_speed(FAST)
    live.run()
    walk.until(lambda: live.view is not None and live.view["time"] > 60)
    bench.act("loop wire open", 1.0)
    walk.until(lambda: live.view is not None and live.view["time"] > 90)
    live.pause()
    said = []
    for place, one in walk.places(window, bench, every=every):
        said += [f"{place}: {what}" for what in (*found_in(one), *walk.unreached(one))]
        said += [f"{place}: the window scrolls" for _ in range(size == FULL and scrolls(window))]
        said += [f"{place}, longer: {what}" for what in found_longer_in(one)]
    window.close()
    window.deleteLater()
    return said


def scrolls(window: MainWindow) -> bool:
    """Tell whether a window has too little room for everything at once."""
    sheet = window.centralWidget()
    assert isinstance(sheet, Sheet)
    return sheet.horizontalScrollBar().maximum() > 0 or sheet.verticalScrollBar().maximum() > 0


def found_in(one: QWidget) -> list[str]:
    """Say everything in a window whose words have too little room."""
    return [*walk.cut(one), *boxes.short_boxes(one), *painted.cut_or_mixed(one)]


def found_longer_in(one: QWidget) -> list[str]:
    """Say the same of words that are 30 % longer: those of widgets, then those that are painted by hand."""
    put_back = walk.lengthen(one)
    walk.lay_out(one)
    said = [*walk.cut(one), *boxes.short_boxes(one)]
    if isinstance(one, MainWindow) and one.width() >= FULL.width() and scrolls(one):
        said.append("the window scrolls")
    put_back()
    with painted.longer_letters():
        walk.lay_out(one)
        said += painted.cut_or_mixed(one, longer=True)
    walk.lay_out(one)
    return said


def test_nothing_is_cut_and_everything_is_reached(
    qapp: QApplication, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    answer_unsaved(Unsaved.LET_GO)
    said = walk_all(FULL, every=False)
    assert said == [], "\n".join(said)


@pytest.mark.long
@pytest.mark.parametrize(
    ("size", "name"),
    [(FULL, "seedling_house"), (FULL, "parts_washer"), (SMALL, "seedling_house"), (TINY, "seedling_house")],
    ids=str,
)
def test_a_small_window_scrolls_and_cuts_nothing(
    qapp: QApplication, answer_unsaved: Callable[[Unsaved], list[str]], size: QSize, name: str
) -> None:
    """640 × 400 points are a screen of 1280 × 800 on which everything is shown at 200 %."""
    answer_unsaved(Unsaved.LET_GO)
    said = walk_all(size, name=name)
    assert said == [], "\n".join(said)


TWICE = """
import sys
sys.path.insert(0, sys.argv[1])
from PySide6.QtWidgets import QApplication
from levelbench.gui.look import theme
application = QApplication([])
theme.apply(application, theme.LIGHT)
import test_walk
print(application.devicePixelRatio())
print("\\n".join(test_walk.walk_all(test_walk.FULL)))
"""


@pytest.mark.long
def test_nothing_is_cut_at_twice_the_size() -> None:
    around = os.environ | {"QT_SCALE_FACTOR": "2", "QT_QPA_PLATFORM": "offscreen"}
    here = str(Path(__file__).parent)
    done = subprocess.run(
        [sys.executable, "-c", TWICE, here], capture_output=True, text=True, timeout=240, check=True, env=around
    )
    ratio, *said = done.stdout.strip().split("\n")
    assert ratio == "2.0"
    assert said == [], done.stdout


def test_the_walk_sees_what_is_cut_and_what_is_not_reached(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    layout = QVBoxLayout(window)
    short, wrapped, narrow = QLabel("cannot be read to its end"), QLabel("three words here"), QPushButton("press me")
    short.setFixedWidth(40)
    wrapped.setWordWrap(True)
    wrapped.setFixedSize(40, 12)
    narrow.setFixedWidth(20)
    box, tick = QLineEdit(), QCheckBox("good")
    tick.setAccessibleName("good")
    box.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    for one in (short, wrapped, narrow, box, tick):
        layout.addWidget(one)
    with qtbot.waitExposed(window):
        window.show()
    assert [line.partition("”")[0][1:] for line in walk.cut(window)] == [one.text() for one in (short, wrapped, narrow)]
    told = walk.unreached(window)
    assert told == ["QPushButton “press me” has no name", "QLineEdit “” has no name", ": the tab key doesn't reach it"]


def test_the_walk_sees_into_boxes_and_tables(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    layout = QVBoxLayout(window)
    box, choice, table = QLineEdit("longer than its box"), QComboBox(), QTableWidget(1, 1)
    choice.addItems(["short", "an entry that is far too long"])
    table.setHorizontalHeaderLabels(["a head of many words"])
    table.setColumnWidth(0, 40)
    table.model().setData(table.model().index(0, 0), "a cell of many words")
    for one in (box, choice):
        one.setFixedWidth(80)
    for one in (choice, table, box):
        layout.addWidget(one)
    with qtbot.waitExposed(window):
        window.show()
    assert [line.partition("”")[0] for line in boxes.short_boxes(window)] == [
        "box “longer than its box",
        "entry “an entry that is far too long",
        "cell “a cell of many words",
        "head “a head of many words",
    ]


class ByHand(QWidget):
    """Paints words that run into one another, and words that the edge cuts; longer ones do so earlier."""

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        painter = QPainter(self)
        painter.drawText(10, 20, "one on")
        painter.drawText(20, 22, "another")
        painter.drawText(10, 60, "good as it is")
        painter.drawText(self.width() - 20, 90, "beyond")
        painter.drawText(10, 120, 40, 20, 0, "cut by its box")


def test_the_walk_sees_what_is_painted(qtbot: QtBot) -> None:
    window = ByHand()
    window.resize(97, 160)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    found = [line.split("”")[0] for line in painted.cut_or_mixed(window)]
    assert found == ["ByHand: “beyond", "ByHand: “cut by its box", "ByHand: “one on"]
    longer = [line.split("”")[0] for line in painted.cut_or_mixed(window, longer=True)]
    assert longer[:1] == ["ByHand: “good as it is"]
