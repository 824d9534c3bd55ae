"""The operator station on the real bench: from the menu to the rig, and hours of a run with the window open."""

import gc
import time
from pathlib import Path

import numpy as np
import pytest
from hands import Running
from pulse import tell
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from levelbench.gui.station.station import Station
from levelbench.gui.trend.pyramid import FAN

US_GAL = 3.785411784e-3  # m3 (NIST SP 811, appendix B)
HOURS = 8.0
SPEED = 200


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


def memory() -> float:
    """What this process holds in memory now [MB]."""
    return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * 4096 / 1e6


def drawn_bytes(columns: int) -> float:
    """What the trend keeps of a scan [bytes]: time and values, and on each floor above the minima and maxima of FAN."""
    return 8 + 4 * columns + (8 + 2 * 4 * columns) / (FAN - 1)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_eight_hours_at_200_times_miss_no_scan_and_memory_stays_flat(qtbot: QtBot, running: Running) -> None:
    """Only what ran may grow: the recording, 112 bytes a scan, and the trend's copy of it; nothing else is held."""
    _, bench, live = running
    opened(qtbot, running)
    assert live.rig is not None
    scan, total = live.rig.scan, HOURS * 3600
    live.set_speed(SPEED)
    live.run()
    begin = time.monotonic()
    held: list[tuple[float, float]] = []

    def arrived() -> bool:
        now = live.view["time"] if live.view is not None else 0.0
        if not held or now - held[-1][0] >= total / 32:
            gc.collect()
            held.append((now, memory()))
        return now >= total

    qtbot.waitUntil(arrived, timeout=600_000)
    took = time.monotonic() - begin
    live.pause()
    recording = live.past().recording()
    assert recording is not None
    steps = np.diff(np.round(recording["time"] / scan).astype(np.int64))
    own = recording.rows.nbytes / recording["time"][-1] / 1e6  # MB a simulated second, of the recording itself
    drawn = drawn_bytes(bench.trend._history._rows.columns) / scan / 1e6  # and of the trend
    times, megabytes = np.array(held).T
    rest, later = megabytes - (own + drawn) * times, times >= total / 4
    slope = np.polyfit(times[later], rest[later], 1)[0] * 3600  # MB an hour
    tell(f"\n{len(recording)} scans in {took:.0f} s, at {live.speed} x at the end; memory {megabytes[0]:.0f} MB first,")
    tell(f"{megabytes[-1]:.0f} MB last, {own * total:.0f} MB of it the recording, {drawn * total:.0f} MB the trend;")
    tell(f"the rest {slope:+.2f} MB an hour: {', '.join(f'{one:.0f}' for one in rest)}")
    assert steps.min() == steps.max() == 1
    assert live.speed == SPEED
    assert slope <= 1.5
