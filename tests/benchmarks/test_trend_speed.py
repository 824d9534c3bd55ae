"""How fast the trend redraws a day at 10 Hz, as a ratio taken in one run: against plain curves of the plotting library.

Both draw four lines, in the same width and the same pens, and both paint into the same off-screen window system.
"""

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pyqtgraph as pg
import pytest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.look import theme
from levelbench.gui.look.closing import delete_windows
from levelbench.gui.preferences import Preferences
from levelbench.gui.trend.pens import CURVES, pen_of
from levelbench.gui.trend.pyramid import Pyramid
from levelbench.gui.trend.scales import scales
from levelbench.gui.trend.trend import Trend
from levelbench.project import load, sample
from levelbench.rig import assemble

sys.path.insert(0, str(Path(__file__).parents[1] / "gui"))

pytestmark = [pytest.mark.benchmark, pytest.mark.gui, pytest.mark.qt_log_ignore("propagateSizeHints", extend=True)]

DAY, WEEK = 864_000, 6_048_000  # rows at 10 Hz
PENS = ("pv", "set_point", "output", "pump_flow")
WIDTH, HEIGHT, POINTS = 1000, 420, 2400


@pytest.fixture(autouse=True)
def windows_go_with_their_test(qapp: QApplication) -> Iterator[None]:
    yield
    delete_windows(qapp)


def day(rows: int) -> np.ndarray:
    """Rows at 10 Hz that cross their whole pane all the time, with noise: the worst for a painter."""
    dice = np.random.default_rng(7)
    made = np.zeros((rows, 14))
    made[:, 0] = np.arange(rows) * 0.1
    for at in (1, 2, 3, 5, 6, 7):
        made[:, at] = 0.5 + 0.3 * np.sin(made[:, 0] / (900 + 100 * at)) + 0.02 * dice.normal(size=rows)
    made[:, (1, 2, 3)] *= 0.02  # m3
    made[:, (6, 7)] *= 1e-4  # m3/s
    return made


def median(work: Callable[[], object], rounds: int = 41) -> float:
    """Time of a piece of work [s], the middle one of several."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return sorted(times)[rounds // 2]


def painted(widget: QWidget) -> None:
    """Let everything that is due be laid out and painted, now; each plot is painted at least once."""
    for view in widget.findChildren(pg.GraphicsView):
        view.viewport().update()
    QApplication.processEvents()


@pytest.fixture
def trend(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> Trend:
    theme.apply(qapp, theme.LIGHT)
    made = Trend(Preferences(tmp_path / "window.ini"))
    qtbot.addWidget(made)
    made.resize(WIDTH, HEIGHT)
    made.begin(scales(assemble(load(sample("seedling_house")))))
    for curve in CURVES:
        made.choice.put(curve.column, on=curve.column in PENS)
    made.show()
    return made


@pytest.fixture
def plain(qtbot: QtBot) -> pg.PlotWidget:
    """A bare plot of the library with four plain lines of 2400 points in all, over two panes' worth of values."""
    made = pg.PlotWidget()
    qtbot.addWidget(made)
    made.resize(WIDTH, HEIGHT)
    made.show()
    return made


def test_a_day_of_four_pens_redraws_in_the_time_of_2400_plain_points(trend: Trend, plain: pg.PlotWidget) -> None:
    rows = day(DAY)
    trend.append(rows)
    trend.show_last(86400.0)
    x = np.linspace(0, 86400, POINTS // len(PENS))
    every = DAY // x.size
    pens = [pen_of(curve, theme.LIGHT) for curve in CURVES if curve.column in PENS]
    lines = [plain.plot(pen=pen) for pen in pens]
    values = [rows[::every, at][: x.size] / rows[:, at].max() for at in (2, 1, 5, 6)]
    turn = iter(range(10_000))

    def ours() -> None:
        trend.show_last(86400.0 + next(turn) % 2)  # never the same picture twice
        trend.redraw()
        painted(trend)

    def theirs() -> None:
        shift = next(turn) % 2
        for line, y in zip(lines, values, strict=True):
            line.setData(x + shift, y)
        plain.setXRange(shift, 86400 + shift, padding=0)
        painted(plain)

    ours(), theirs()
    ours_takes, theirs_takes = median(ours), median(theirs)
    print(
        f"\ntrend, 24 h at 10 Hz, 4 pens: {1e3 * ours_takes:.1f} ms a frame ({1 / ours_takes:.0f} a second); "
        f"{POINTS} plain points: {1e3 * theirs_takes:.1f} ms; ratio {ours_takes / theirs_takes:.2f}"
    )
    assert ours_takes <= 3.0 * theirs_takes
    assert ours_takes <= 1 / 30


def test_thirty_frames_a_second_while_a_day_comes_in_at_two_hundred_times(trend: Trend) -> None:
    """Each frame brings 67 rows more, as at 200 ×, on top of a day."""
    trend.append(day(DAY))
    trend.show_last(86400.0)
    more, at = day(67), DAY

    def frame() -> None:
        nonlocal at
        more[:, 0] = (at + np.arange(67)) * 0.1
        at += 67
        trend.append(more)
        trend.redraw()
        painted(trend)

    frame()
    takes = median(frame, 121)
    print(f"\na frame at 200 x on top of 24 h: {1e3 * takes:.1f} ms, {1 / takes:.0f} a second")
    assert takes <= 1 / 30


def test_a_week_stays_within_its_memory_and_is_drawn_as_quickly_as_an_hour() -> None:
    """Nine columns at 10 Hz for 168 h, taken in as they come at 200 ×."""
    week, rows = Pyramid(len(CURVES)), np.random.default_rng(1).random((len(CURVES), 6720))
    worst = 0.0
    for begin in range(0, WEEK, 6720):
        times = (begin + np.arange(6720)) * 0.1
        started = time.perf_counter()
        week.append(times, rows)
        worst = max(worst, time.perf_counter() - started)
    hour = median(lambda: week.drawn(0, 600_000.0, 603_600.0, WIDTH))
    whole = median(lambda: week.drawn(0, 0.0, 604_800.0, WIDTH))
    print(
        f"\na week of {len(CURVES)} columns: {week.bytes / 1e6:.0f} MB, {WEEK * 8 * 14 / 1e6:.0f} MB as plain rows; "
        f"drawn in {1e3 * whole:.2f} ms, an hour in {1e3 * hour:.2f} ms; longest append {1e3 * worst:.1f} ms"
    )
    assert week.bytes <= 150e6
    assert whole <= 5 * hour + 1e-3
