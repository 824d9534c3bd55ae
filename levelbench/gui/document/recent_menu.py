"""The files opened last: the missing ones said to be missing and shut, and a way to empty the list."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QMenu

from levelbench.gui.preferences import Preferences


class RecentMenu(QMenu):
    """Filled anew each time it opens."""

    def __init__(self, parent: QMenu, opened: Callable[[Path], object], preferences: Preferences) -> None:
        super().__init__("Open &recent", parent)
        self.setAccessibleName("Open recent")
        self.setToolTipsVisible(True)
        self._opened = opened
        self._preferences = preferences
        self.aboutToShow.connect(self._fill)

    def _fill(self) -> None:
        self.clear()
        paths = self._preferences.recent
        for at, path in enumerate(paths):
            there = path.is_file()
            words = str(path).replace("&", "&&")
            action = self.addAction(f"&{at + 1}  {words}" if there else f"     {words}  (missing)")
            action.setToolTip(f"open {path.name}" if there else "There is no such file now: moved, renamed or deleted.")
            action.setEnabled(there)
            action.triggered.connect(partial(self._open, path))
        if not paths:
            self.addAction("none yet").setEnabled(False)
            return
        self.addSeparator()
        clear = self.addAction("&Clear this list")
        clear.setToolTip("forget these names; the files stay")
        clear.triggered.connect(lambda _checked=False: self._preferences.forget_recent())

    def _open(self, path: Path, _checked: bool = False) -> None:
        self._opened(path)
