"""A part of the whole job: every command of every menu is pressed, and what it opens is closed."""

import itertools
from collections.abc import Iterator
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QMenu

from levelbench.gui.main_window import MainWindow
from levelbench.gui.work import jobs

if TYPE_CHECKING:
    from whole_job import Act, Job

NOT_PRESSED = ("Quit", "Close this window", "Open in a new window …", "New window")  # ends or doubles the job


def commands(job: "Job") -> "Iterator[Act]":
    """Press every command of every menu, and close what it opens."""
    window = job.window
    for number in itertools.count():
        found = [one for one in _actions(window) if one.isEnabled() and _plain(one) not in NOT_PRESSED]
        if number == len(found):
            break
        name = _plain(found[number])
        before = set(QApplication.topLevelWidgets())
        yield f"command {name}", found[number].trigger, lambda: jobs.busy() == 0
        for one in [one for one in QApplication.topLevelWidgets() if one not in before and one.isVisible()]:
            yield f"close what “{name}” opened", one.close
        yield f"the answers after “{name}”", lambda: None, job.calm


def _actions(window: MainWindow) -> list[QAction]:
    def inside(menu: QMenu) -> Iterator[QAction]:
        for one in menu.actions():
            inner = one.menu()
            if isinstance(inner, QMenu):
                yield from inside(inner)
            elif not one.isSeparator():
                yield one

    menus = [one.menu() for one in window.menuBar().actions()]
    return [one for menu in menus if isinstance(menu, QMenu) for one in inside(menu)]


def _plain(action: QAction) -> str:
    return action.text().replace("&", "")
