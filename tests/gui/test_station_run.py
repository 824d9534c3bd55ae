"""The operator station on the real bench: from the menu to the rig, and hours of a run with the window open."""

import sys
import time
from dataclasses import dataclass
from itertools import cycle

import numpy as np
import pytest
from hands import Running
from heap import allocated, resident
from pulse import tell
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.bench import Bench
from levelbench.gui.bench.live import LiveRun, LiveView
from levelbench.gui.station.station import Station

US_GAL = 3.785411784e-3  # m3 (NIST SP 811, appendix B)
HOURS, WARM = 8.0, 2.0  # of the rig: how long the soak lasts, and after what time it is looked at
SPEED, SCAN = 200, 0.1  # times the clock on the wall; s
ACT_EVERY = 10.0  # s of the rig: somebody tries everything
ACTS = (
    *(("stop", 1.0), ("stop", 0.0), ("reset", 1.0), ("power on", 1.0)),
    *(("echo lost", 1.0), ("echo lost", 0.0), ("set point", 0.010), ("reset", 1.0), ("power on", 1.0)),
    *(("set point", 0.012), ("auto", 0.0), ("manual output", 0.3), ("auto", 1.0), ("silence", 1.0)),
)


def opened(qtbot: QtBot, running: Running) -> Station:
    """Open the station as a person does, by its key in the main window."""
    window, bench, _ = running
    assert window.menus.station_action.isEnabled()
    qtbot.keyClick(window, Qt.Key.Key_F11)
    assert bench.station is not None
    assert bench.station.window is not None
    made = bench.station.window
    qtbot.waitUntil(lambda: made.isVisible() and made.isActiveWindow())
    return made.station


def test_who_comes_late_reads_what_was_said_and_has_to_acknowledge_it(qtbot: QtBot, running: Running) -> None:
    _, bench, live = running
    live.set_speed(50)
    live.run()
    bench.act("stop", 1.0)
    qtbot.waitUntil(lambda: live.view is not None and live.view.has("stop latched"))
    live.pause()
    station = opened(qtbot, running)
    assert any("▲ new" in one.line and "stop" in one.line for one in station.messages.list.said)
    assert station.messages.acknowledge.isEnabled()
    said = [one.line for one in station.messages.list.said]
    assert len(said) == len(set(said))


def test_from_the_menu_to_the_rig_and_back(qtbot: QtBot, running: Running) -> None:
    window, bench, live = running
    live.set_speed(10)
    live.run()
    station = opened(qtbot, running)
    assert station.title.text().startswith(window.document.project.title)
    qtbot.keyClicks(station, "3.1")
    qtbot.keyClick(station, Qt.Key.Key_Return)
    wanted = pytest.approx(3.1 * US_GAL)
    qtbot.waitUntil(lambda: live.view is not None and live.view.set_point_wanted == wanted)
    qtbot.keyClick(station, Qt.Key.Key_S)
    qtbot.waitUntil(lambda: station.figures.pump.text() == "■ pump blocked: the emergency stop is pressed")
    qtbot.waitUntil(window.bar.stop.isChecked)
    assert "▲ new" in "".join(one.line for one in station.messages.list.said)
    for key in (Qt.Key.Key_F9, Qt.Key.Key_S, Qt.Key.Key_F10, Qt.Key.Key_F12):
        qtbot.keyClick(station, key)
    qtbot.waitUntil(lambda: station.figures.pump.text() == "✓ pump released")
    assert "rig  emergency stop tripped" in "\n".join(
        window.rehearse.messages.item(at).text() for at in range(window.rehearse.messages.count())
    )
    qtbot.keyClick(station, Qt.Key.Key_Escape)
    assert bench.station is not None
    assert bench.station.window is not None
    assert not bench.station.window.isVisible()
    qtbot.waitUntil(window.isActiveWindow)
    opened(qtbot, running)


def test_closing_the_main_window_takes_the_station_with_it(qtbot: QtBot, running: Running) -> None:
    window, bench, _ = running
    opened(qtbot, running)
    window.close()
    assert bench.station is not None
    assert bench.station.window is None


@dataclass(frozen=True)
class Look:
    """What is held at one time of the run."""

    hour: float
    held: float  # [MB] of the machine's memory
    rows: float  # [MB] of that, the trend's rows
    beyond: float  # [MB] allocated by C and C++ code beyond the trend's rows
    blocks: int  # Python's own pieces of memory
    kept: int  # flags and actions, which are kept

    @property
    def line(self) -> str:
        """All of it in words."""
        return (
            f"{self.hour:5.2f} h: {self.held:6.2f} MB held, {self.rows:5.2f} MB of it the trend's rows, the rest "
            f"{self.held - self.rows:6.2f} MB; {self.beyond:6.2f} MB allocated beyond; {self.blocks} pieces of Python, "
            f"{self.kept} flags and actions"
        )


class Watched:
    """A long run with the window open: somebody acts on it, every scan is counted, memory is looked at now and then."""

    def __init__(self, bench: Bench, live: LiveRun) -> None:
        self._bench, self._live = bench, live
        self.scans = self.gaps = self.frames = 0
        self.looks: list[Look] = []
        self._acts = cycle(ACTS)
        self._next_act = self._next_look = 0.0
        self._done = 0
        live.advanced.connect(self.take)

    def take(self, view: LiveView) -> None:
        """Count the scans that are delivered, and act as somebody who tries everything."""
        numbers = np.round(view.rows[:, 0] / SCAN).astype(np.int64)
        self.gaps += int((np.diff(numbers, prepend=self.scans - 1) != 1).sum()) if self.frames else 0
        self.scans = int(numbers[-1]) + 1
        self.frames += 1
        if view["time"] >= self._next_act:
            self._live.act(*next(self._acts))
            self._done += 1
            self._next_act = view["time"] + ACT_EVERY
        if view["time"] >= self._next_look:
            self.looks.append(self._look(view["time"] / 3600))
            self._next_look = view["time"] + HOURS * 3600 / 32

    def _look(self, hour: float) -> Look:
        history, megabyte = self._bench.trend._history, 1e6
        taken = allocated() - history._rows.bytes  # blocks are allocated whole, and held as they are filled
        kept = len(history._flags) + self._done
        return Look(
            hour, resident() / megabyte, history.used / megabyte, taken / megabyte, sys.getallocatedblocks(), kept
        )


@pytest.mark.long
@pytest.mark.timeout(900)
def test_eight_hours_at_200_times_miss_no_scan_and_memory_stays_flat(qtbot: QtBot, running: Running) -> None:
    """Nothing may grow but what the trend draws from, known to the byte, and what people did.

    The trend keeps 70 bytes of a scan, 2.5 MB an hour, until it lets the oldest go. The first two hours fill the lists
    that have an end. From then on

    - the memory held beyond the rows stays flat to 1.5 MB in six hours: flags and actions take 1 MB in that time, the
      trend's blocks begin some 40 pages of 4 kB anew, and the allocator keeps some tenths for later;
    - what C and C++ code has allocated stays flat to 0.3 MB: some 90 bytes for each of the frames that are drawn;
    - Python holds at most three pieces for each flag or action, and not one more for every tenth frame.
    """
    _, bench, live = running
    opened(qtbot, running)
    assert live.rig is not None
    assert live.rig.scan == SCAN
    watched = Watched(bench, live)
    live.set_speed(SPEED)
    begin = time.monotonic()
    live.run()
    qtbot.waitUntil(lambda: live.view is not None and live.view["time"] >= HOURS * 3600, timeout=600_000)
    took = time.monotonic() - begin
    live.pause()
    tell(f"\n{watched.scans} scans in {took:.1f} s, {watched.frames} frames, at {live.speed} x at the end")
    tell("\n".join(look.line for look in watched.looks))
    assert watched.gaps == 0
    assert live.speed == SPEED
    assert watched.scans == pytest.approx(took * SPEED / SCAN, abs=SPEED / SCAN)  # a second of the clock
    assert bench.trend._history.rows == watched.scans
    later = [look for look in watched.looks if look.hour >= WARM]
    rest = [look.held - look.rows for look in later]
    beyond = [look.beyond for look in later]
    pieces = [look.blocks - 3 * look.kept for look in later]
    assert max(rest) - rest[0] <= 1.5
    assert max(beyond) - beyond[0] <= 0.3
    assert max(pieces) - pieces[0] <= watched.frames / 10
