"""What a person chose to see on the trend, kept between two starts: pens, limits as lines, the scale of the tank."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QMenu, QWidget

from levelbench.gui.preferences import Preferences
from levelbench.gui.trend.pens import CURVES, PANES, USUAL

LIMITS, WHOLE_TANK = "limits", "whole tank"


class StayingMenu(QMenu):
    """A menu that stays open while things are ticked in it; Enter, Esc or a press elsewhere closes it."""

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Tick what was pressed on."""
        action = self.actionAt(event.position().toPoint())
        if action is not None and action.isCheckable():
            action.trigger()
        else:
            super().mouseReleaseEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Tick with the space bar."""
        action = self.activeAction()
        if event.key() == Qt.Key.Key_Space and action is not None and action.isCheckable():
            action.trigger()
        else:
            super().keyPressEvent(event)


class Choice(QObject):
    """The pens that are drawn, and how; every change is kept in the preferences."""

    changed = Signal()

    def __init__(self, preferences: Preferences, parent: QWidget) -> None:
        super().__init__(parent)
        self._preferences = preferences
        self._chosen = set(USUAL if preferences.trend is None else preferences.trend)
        self.menu = StayingMenu(parent)
        self.menu.setAccessibleName("pens of the trend")
        self.menu.setToolTipsVisible(True)
        self._actions: dict[str, QAction] = {}
        for kind in PANES:
            self.menu.addSection(kind.heading)
            for curve in CURVES:
                if curve.pane == kind.name:
                    self._add(curve.column, f"{curve.name} – {curve.means}")
        self.menu.addSection("scale of the tank")
        self._add(LIMITS, "Limits as thin lines")
        self._add(WHOLE_TANK, "Whole tank, from empty to the spill")

    def _add(self, what: str, words: str) -> None:
        action = self.menu.addAction(words)
        action.setCheckable(True)
        action.setChecked(what in self._chosen)
        action.toggled.connect(self._setter(what))
        self._actions[what] = action

    def _setter(self, what: str) -> Callable[[bool], None]:
        return lambda on: self.put(what, on=on)

    @property
    def pens(self) -> set[str]:
        """The columns that are drawn."""
        return {curve.column for curve in CURVES if curve.column in self._chosen}

    @property
    def limits(self) -> bool:
        """Whether limits are drawn as lines."""
        return LIMITS in self._chosen

    @property
    def whole_tank(self) -> bool:
        """Whether volumes are shown from empty to the spill."""
        return WHOLE_TANK in self._chosen

    def put(self, what: str, *, on: bool) -> None:
        """Choose a pen, the limits or the whole tank, or put it away."""
        if (what in self._chosen) == on:
            return
        self._chosen ^= {what}
        self._preferences.trend = sorted(self._chosen)
        self._actions[what].setChecked(on)
        self.changed.emit()
