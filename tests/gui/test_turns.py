"""The turn of the Tab key over a window whose parts come late; asking for it ties nothing to anything."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot
from shiboken6 import dump, isValid

import levelbench
from levelbench.gui.look.parts import clear
from levelbench.gui.look.turns import in_turn, put_in_turn
from levelbench.gui.main_window import MainWindow
from levelbench.gui.stages.staged import TUNE


def test_a_late_part_is_reached_after_its_neighbour(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    layout = QVBoxLayout(window)
    first, last, late = QLineEdit(), QLineEdit(), QWidget()
    inside = QVBoxLayout(late)
    one, two = QLineEdit(), QLineEdit()
    for box in (one, QLabel("no box"), two):
        inside.addWidget(box)
    for part in (first, last, late):
        layout.addWidget(part)
    assert in_turn(late) == [one, two]
    put_in_turn(late, first)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    first.setFocus()
    for box in (one, two, last):
        qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
        assert box.hasFocus()


def test_what_goes_takes_neither_the_window_nor_its_menus_along(qtbot: QtBot, window: MainWindow) -> None:
    window.rail.choose(TUNE)
    actions = [window.menus.save_action, window.menus.revert_action, window.menus.run_action]
    for offer in window.tune.buttons:
        window.tune.choose(offer)
    assert not [row for row in dump(window).splitlines() if row.startswith("parent")]
    clear(window.tune.hand.body)
    qtbot.waitUntil(lambda: not isValid(window.tune.hand.does))
    assert isValid(window)
    assert all(isValid(one) for one in actions)


def test_nobody_asks_the_binding_for_the_next_in_its_chain() -> None:
    files = Path(levelbench.__file__).parent.rglob("*.py")
    asking = [one.name for one in files if "InFocusChain(" in one.read_text(encoding="utf-8")]
    assert asking == []
