"""A walk over every stage and every other window: nothing is cut, everything has a name and is reached by the keys."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import walk
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui import app
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.preferences import Preferences
from levelbench.project import sample


def test_nothing_is_cut_and_everything_is_reached(
    qapp: QApplication, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    answer_unsaved(Unsaved.LET_GO)
    said = walk_all(QSize(1280, 800), longer=True)
    assert said == [], "\n".join(said)


def walk_all(size: QSize, *, longer: bool) -> list[str]:
    """Walk one window of a size, as it is and with longer words if wanted; gives what was found."""
    window, bench = app.make_window(sample("seedling_house"), Preferences())
    window.resize(size)
    window.show()
    walk.until(lambda: bench.live is not None and bench.live.view is not None, 110)
    walk.until(lambda: not window.answers.working and not window.answers.waiting, 110)
    said = []
    for name, one in walk.places(window, bench):
        said += [f"{name}: {what}" for what in (*walk.cut(one), *walk.unreached(one))]
        if not longer:
            continue
        put_back = walk.lengthen(one)
        walk.settle()
        said += [f"{name}, longer: {what}" for what in walk.cut(one)]
        put_back()
        walk.settle()
    window.close()
    window.deleteLater()
    return said


TWICE = """
import sys
sys.path.insert(0, sys.argv[1])
from PySide6.QtWidgets import QApplication
from levelbench.gui.look import theme
application = QApplication([])
theme.apply(application, theme.LIGHT)
import test_walk
from levelbench.gui.window_layout import LEAST
print(application.devicePixelRatio())
print("\\n".join(test_walk.walk_all(LEAST, longer=False)))
"""


def test_nothing_is_cut_at_twice_the_size_in_the_smallest_window() -> None:
    around = os.environ | {"QT_SCALE_FACTOR": "2", "QT_QPA_PLATFORM": "offscreen"}
    here = str(Path(__file__).parent)
    done = subprocess.run(
        [sys.executable, "-c", TWICE, here], capture_output=True, text=True, timeout=120, check=True, env=around
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
