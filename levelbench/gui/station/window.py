"""The window of the operator station: on a second screen when there is one, full screen, and back where it was."""

from PySide6.QtCore import QByteArray, QObject
from PySide6.QtGui import QCloseEvent, QGuiApplication, QScreen
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.bench.live import LiveRun
from levelbench.gui.bench.speeds import speed_words
from levelbench.gui.help.anywhere import explain
from levelbench.gui.look.theme import GRID
from levelbench.gui.preferences import Preferences
from levelbench.gui.stages.operator import Rehearsed
from levelbench.gui.station.station import Station
from levelbench.gui.trend.clock import clock
from levelbench.rig import Rig

_SCREEN = "station screen"


def screen_for(kept: str, own: QScreen, screens: list[QScreen]) -> QScreen:
    """Give the screen for the station: the remembered one, else the first that is not the main window's, else that."""
    by_name = {one.name(): one for one in screens}
    others = [one for one in screens if one is not own]
    return by_name.get(kept) or (others[0] if others else own)


class StationWindow(QWidget):
    """Holds a station."""

    def __init__(self, station: Station, preferences: Preferences) -> None:
        super().__init__()
        self._preferences = preferences
        self.station = station
        station.windowTitleChanged.connect(self.setWindowTitle)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(station)
        station.left.connect(self.close)
        station.full_screen_wanted.connect(self.toggle_full_screen)

    def open(self, beside: QWidget) -> None:
        """Show the station full screen, on its screen; if it is open already, bring it forward."""
        if not self.isVisible():
            kept = self._preferences.layout(_SCREEN)
            name = bytes(kept.data()).decode() if kept is not None else ""
            screen = screen_for(name, beside.screen(), QGuiApplication.screens())
            self.setScreen(screen)
            self.setGeometry(screen.availableGeometry().adjusted(4 * GRID, 4 * GRID, -4 * GRID, -4 * GRID))
            self.showFullScreen()
            self.station.setFocus()
        self.activateWindow()

    def toggle_full_screen(self) -> None:
        """Fill the screen, or be a window on it."""
        self.showNormal() if self.isFullScreen() else self.showFullScreen()

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802  Qt's name
        """Remember the screen."""
        self._preferences.remember_layout(_SCREEN, QByteArray(self.screen().name().encode()))
        super().closeEvent(event)


def _say_help(window: StationWindow, owner: QWidget) -> None:
    """Let F1 open the page of the station, at the part that is in hand."""
    station = window.station
    places: dict[str, tuple[QWidget, ...]] = {
        "the-figures": (station.figures,),
        "the-pad": (station.pad,),
        "mode-and-siphon": (station.auto, station.manual, station.prime),
        "messages": (station.messages,),
        "reset-power-on-stop": (station.reset, station.start, station.stop),
    }
    for heading, parts in places.items():
        for part in parts:
            part.setProperty("help", f"station#{heading}")
    explain(window, "station", owner)


class StationDoor(QObject):
    """Opens the station of a window and joins it to the run; there is none until it is first asked for."""

    def __init__(self, parent: QWidget, live: LiveRun, rehearsed: Rehearsed, preferences: Preferences) -> None:
        super().__init__(parent)
        self._beside, self._live, self._rehearsed = parent, live, rehearsed
        self._preferences = preferences
        self.window: StationWindow | None = None

    def open(self) -> None:
        """Show the station."""
        if self.window is None:
            self.window = StationWindow(Station(self._rehearsed), self._preferences)
            self.window.station.left.connect(self._beside.activateWindow)
            self._join(self.window.station)
            _say_help(self.window, self._beside)
        self.window.open(self._beside)

    def take(self, rig: Rig) -> None:
        """Let the station go by an edited project, where the run goes on."""
        if self.window is not None:
            self.window.station.take(rig)
            if self._live.view is not None:
                self.window.station.show_view(self._live.view)

    def close(self) -> None:
        """Take the station away with its window."""
        if self.window is not None:
            self.window.close()
            self.window.deleteLater()
            self.window = None

    def _join(self, station: Station) -> None:
        live = self._live
        if live.rig is not None:
            station.begin(live.rig)
            station.messages.tell(live.heard)
        if live.newest is not None:
            station.take(live.newest)
        live.started_again.connect(station.begin)
        live.advanced.connect(station.show_view)
        live.happened.connect(station.messages.tell)
        live.advanced.connect(self._say_run)
        live.state_changed.connect(self._say_run)
        if live.view is not None:
            station.show_view(live.view)
        self._say_run()

    def _say_run(self) -> None:
        if self.window is None:
            return
        live = self._live
        state = f"▶ bench runs, {speed_words(live.speed)}" if live.running else "❚❚ bench is paused"
        time = clock(live.view["time"]) if live.view is not None else clock(0.0)
        self.window.station.say_run(f"{state}   {time}", running=live.running)
