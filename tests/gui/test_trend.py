"""The trend: nothing lost in thinning, follows until moved by hand, reads values, and survives thousands of redraws."""

import sys
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pulse import tell
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication

from levelbench.gui.look import theme
from levelbench.gui.preferences import Preferences
from levelbench.gui.trend.clock import clock
from levelbench.gui.trend.history import FLAGS
from levelbench.gui.trend.pyramid import Pyramid
from levelbench.gui.trend.scales import Scales
from levelbench.gui.trend.trend import Trend
from levelbench.quantity import Dimension, Units
from levelbench.rig.recording import Entry

pytestmark = pytest.mark.gui

GALLON = 231 * 0.0254**3  # m3; a US gallon is 231 cubic inches (NIST Handbook 44, appendix C)
STEPS = {Dimension.VOLUME: 0.01 * GALLON, Dimension.FLOW: 1e-7, Dimension.PERCENT: 0.001, Dimension.CURRENT: 1e-5}
SCALES = Scales(Units("US gal", "in", "US gal/min"), STEPS, 7.34 * GALLON)


def rows_of(count, begin=0.0):
    """Rows at 10 Hz: SP 4 gal, PV 3 gal rising by 1 gal in 1000 s, OP 46 %."""
    rows = np.zeros((count, 14))
    rows[:, 0] = begin + np.arange(count) * 0.1
    rows[:, 1] = 4.0 * GALLON
    rows[:, 2] = (3.0 + rows[:, 0] / 1000) * GALLON
    rows[:, 3] = rows[:, 2]
    rows[:, 5] = 0.46
    return rows


@pytest.fixture
def trend(qtbot):
    one = Trend(Preferences())
    qtbot.addWidget(one)
    one.resize(1000, 400)
    one.begin(SCALES)
    one.show()
    return one


@given(st.integers(1, 60_000), st.floats(0, 1), st.floats(0, 1), st.integers(100, 4000), st.integers(0, 9999))
@settings(max_examples=40, deadline=None)
def test_thinning_keeps_every_extreme_and_bounds_the_points(rows, one, other, points, seed):
    """Against the plain minimum and maximum of the same stretch."""
    values = np.random.default_rng(seed).normal(size=(2, rows)).astype(np.float32)
    times = np.arange(rows) * 0.1
    pyramid = Pyramid(2)
    for part in np.array_split(np.arange(rows), 7):
        pyramid.append(times[part], values[:, part])
    start, end = sorted((one * times[-1], other * times[-1]))
    _, drawn = pyramid.drawn(1, start, end, points)
    inside = values[1, (times >= start) & (times <= end)]
    if inside.size:
        assert drawn.min() <= inside.min()
        assert drawn.max() >= inside.max()
    assert drawn.size <= points + 40
    assert set(drawn) <= set(values[1])


def test_the_value_at_a_time_is_that_of_the_last_row(trend):
    pyramid = Pyramid(1)
    pyramid.append(np.array([1.0, 2.0]), np.array([[10.0, 20.0]]))
    assert [pyramid.value(0, at) for at in (1.0, 1.9, 2.0, 99.0)] == [10, 10, 20, 20]
    assert np.isnan(pyramid.value(0, 0.5))


@pytest.mark.parametrize(
    ("time_", "text"), [(0, "0:00:00"), (872.04, "0:14:32"), (86399.99, "24:00:00"), (-5, "−0:00:05")]
)
def test_the_clock(time_, text):
    assert clock(time_) == text


def test_a_cursor_that_the_present_left_behind_reads_the_present_again(trend):
    trend.append(rows_of(6000))
    trend.show_last(120.0)
    trend.point(trend.now - 100.0)
    trend.redraw()
    assert trend.head.at.text().startswith("at ")
    trend.append(rows_of(400, 600.0))
    trend.redraw()
    assert trend.pointed_at is None
    assert trend.head.at.text() == "now 0:10:39"
    trend.span.look(0.0, 60.0)
    trend.point(10.0)  # whoever looks at the past keeps the cursor, wherever the present is
    trend.redraw()
    assert trend.pointed_at == 10.0


def test_a_cursor_moved_by_keys_stays_in_view(trend, qtbot):
    trend.append(rows_of(6000))
    trend.show_last(10.0)
    trend.redraw()
    trend.point(trend.panes.span()[0] + 0.02)
    qtbot.keyClick(trend, Qt.Key.Key_Left)
    trend.redraw()
    start, end = trend.panes.span()
    assert trend.pointed_at is not None
    assert start < trend.pointed_at < end


def test_where_nothing_flows_nought_stands_at_the_foot_of_the_scale(trend):
    trend.append(rows_of(500))  # no pump, no drain
    trend.redraw()
    _, (bottom, top) = trend.panes.panes["flow"].left_box.viewRange()
    assert 0.0 < -bottom < 0.2 * (top - bottom)


def test_the_key_reads_the_present_and_the_cursor_in_the_persons_units(trend):
    trend.append(rows_of(5001))
    trend.show_last(600.0)
    trend.redraw()
    assert trend.keys["pv"].shown == "3.50 US gal"
    assert trend.keys["output"].shown == "46.0 %"
    assert trend.head.at.text() == "now 0:08:20"
    trend.point(100.0)
    trend.redraw()
    assert trend.keys["pv"].shown == "3.10 US gal"
    assert trend.head.at.text() == "at 0:01:40"
    trend.point(600.0)
    trend.redraw()
    assert trend.keys["pv"].shown == "– US gal"


def test_it_follows_until_the_person_moves_the_view(trend, qtbot):
    trend.append(rows_of(6000))
    trend.redraw()
    before = trend.panes.span()
    trend.append(rows_of(100, 600.0))
    trend.redraw()
    assert trend.panes.span()[1] == pytest.approx(before[1] + 10, abs=0.2)
    drag(qtbot, trend, 200)
    assert not trend.span.following
    trend.redraw()
    moved = trend.panes.span()
    trend.append(rows_of(1000, 610.0))
    trend.redraw()
    assert trend.panes.span() == pytest.approx(moved)
    assert not trend.head.follow_button.isChecked()
    qtbot.mouseClick(trend.head.follow_button, Qt.MouseButton.LeftButton)
    trend.redraw()
    assert trend.span.following
    assert trend.head.follow_button.isChecked()
    assert trend.panes.span()[0] < trend.now < trend.panes.span()[1]


def drag(qtbot, trend, pixels):
    """Take hold of the curves and draw them to the right."""
    view = pane_of(trend).view.viewport()
    at = QPoint(view.width() // 2, view.height() // 2)
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=at)
    for part in range(1, 6):
        to = QPointF(at + QPoint(pixels * part // 5, 0))
        move = QMouseEvent(
            QEvent.Type.MouseMove,
            to,
            view.mapToGlobal(to),
            Qt.MouseButton.NoButton,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
        QApplication.sendEvent(view, move)
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=at + QPoint(pixels, 0))


def test_zooming_near_the_present_goes_on_following_it(trend):
    trend.append(rows_of(6000))
    trend.redraw()
    start, end = trend.panes.span()
    turn_the_wheel(trend, share=0.9)
    trend.redraw()
    near = trend.panes.span()
    assert near[1] - near[0] < end - start
    assert trend.span.following
    trend.append(rows_of(100, 600.0))
    trend.redraw()
    assert trend.panes.span()[1] == pytest.approx(near[1] + 10, abs=0.2)
    turn_the_wheel(trend, share=0.2, notches=12)
    trend.redraw()
    assert not trend.span.following
    assert trend.panes.span()[1] < trend.now


def pane_of(trend, name="tank"):
    return trend.panes.panes[name]


def turn_the_wheel(trend, share=0.5, notches=1):
    view = pane_of(trend).view
    middle = QPointF(view.width() * share, view.height() / 2)
    wheel = QWheelEvent(
        middle,
        view.mapToGlobal(middle),
        QPoint(),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view.viewport(), wheel)


def test_the_keyboard_moves_the_cursor_and_goes_home(trend, qtbot):
    trend.append(rows_of(6000))
    trend.redraw()
    qtbot.keyClick(trend, Qt.Key.Key_Left)
    trend.redraw()
    assert trend.head.at.text().startswith("at ")
    qtbot.keyClick(trend, Qt.Key.Key_Escape)
    qtbot.keyClick(trend, Qt.Key.Key_Home)
    trend.redraw()
    assert trend.head.at.text().startswith("now ")
    assert trend.panes.span()[0] == pytest.approx(0)
    qtbot.keyClick(trend, Qt.Key.Key_End)
    assert trend.span.following


def test_flags_name_what_happened(trend):
    trend.append(rows_of(6000), [Entry(500.0, "action", "set point", 0.01), Entry(550.0, "event", "high", 1.0)])
    trend.redraw()
    assert trend.head.said.text() == "0:09:10.0  high alarm"
    assert len(trend.panes.strip.marks.data) == 2
    trend.point(500.1)
    trend.redraw()
    assert trend.head.said.text() == "0:08:20.0  set point 2.642 US gal by hand"


def test_a_thousand_flags_at_once_stay_readable_and_alarms_win(trend):
    entries = [Entry(500 + n / 100, "event", "automatic", n % 2) for n in range(5000)]
    entries[2500] = Entry(525.0, "event", "high", 1.0)
    trend.append(rows_of(6000), entries)
    trend.redraw()
    assert len(trend.panes.strip.marks.data) < 100
    trend.point(525.0)
    trend.redraw()
    assert trend.head.said.text().endswith("high alarm")


def test_the_oldest_flags_go_and_the_one_that_is_chosen_stays_chosen(trend):
    """Of 25 000 the newest stay, no more than 20 000; more of them while the keyboard stands on one change nothing."""

    def flags(begin, count):
        return [Entry(begin + n / 100, "event", "automatic", n % 2) for n in range(count)]

    trend.append(rows_of(6000), flags(0.0, 18_000))
    trend.point(150.0)
    trend.step_to_flag(back=False)
    trend.redraw()
    assert trend.pointed_at == pytest.approx(150.01)
    trend.append(rows_of(1), flags(180.0, 7000))
    assert len(trend._history._flags) <= FLAGS
    trend.redraw()
    assert trend.head.said.text().startswith("0:02:30.0")
    trend.step_to_flag(back=True)
    assert trend.pointed_at == pytest.approx(150.0)
    assert trend._history.last_flag().time == pytest.approx(249.99)
    trend.point(30.0)
    trend.step_to_flag(back=False)
    assert trend.pointed_at == pytest.approx(trend._history._flags[0].time)
    trend.step_to_flag(back=True)  # there is none before it
    assert trend.pointed_at == pytest.approx(trend._history._flags[0].time)


def test_a_hidden_curve_is_not_drawn(trend, qtbot):
    trend.append(rows_of(600))
    qtbot.mouseClick(trend.keys["pv"], Qt.MouseButton.LeftButton)
    trend.redraw()
    x, _ = pane_of(trend).curves["pv"].getData()
    assert x is None or len(x) == 0


def test_the_cost_of_a_redraw_does_not_grow_with_the_run(trend):
    """A day at 10 Hz against two minutes of it; the day may cost no more than a few times as much."""

    def cost():
        found = []
        for _ in range(15):
            begin = time.thread_time()
            trend.redraw()
            pane_of(trend).view.viewport().repaint()
            found.append(time.thread_time() - begin)
        return sorted(found)[7]

    trend.append(rows_of(1200))
    short = cost()
    trend.append(rows_of(862_800, 120.0))
    trend.show_last(86400.0)
    long = cost()
    tell(f"redraw {1e3 * short:.1f} ms of 2 min, {1e3 * long:.1f} ms of 24 h")
    assert long < 4 * short + 0.005
    assert long < 0.033


def test_three_thousand_redraws_leave_the_counts_of_true_and_false_alone(trend):
    """PySide6 6.12.0 on Python 3.11 lost one reference to True with every emit from Python, and aborted in the end."""
    trend.append(rows_of(100))
    trend.redraw()
    before = sys.getrefcount(True), sys.getrefcount(False), sys.getrefcount(None)
    for frame in range(3000):
        trend.append(rows_of(3, 10.0 + 0.3 * frame))
        trend.redraw()
        if frame % 100 == 0:
            pane_of(trend).view.viewport().repaint()
    after = sys.getrefcount(True), sys.getrefcount(False), sys.getrefcount(None)
    assert all(then - now < 300 for then, now in zip(before, after, strict=True)), (before, after)
    assert pane_of(trend).curves["pv"].getData()[0].size > 10


@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=lambda look: look.name)
def test_the_pv_is_seen_in_its_own_colour(trend, qapp, look):
    """Some pixel of the plot has the very colour of the PV, and the ground is the card's."""
    old_sheet, old_palette = qapp.styleSheet(), qapp.palette()
    try:
        theme.apply(qapp, look)
        trend.append(rows_of(3000))
        trend.redraw()
        image = pane_of(trend).view.grab().toImage()
        colours = {image.pixelColor(x, y).name() for x in range(200, 900, 7) for y in range(image.height())}
        assert theme.Role.WATER_LINE in look.palette.colours
        assert look.colour(theme.Role.WATER_LINE) in colours
        assert look.colour(theme.Role.CARD) in colours
    finally:
        qapp.setStyleSheet(old_sheet)
        qapp.setPalette(old_palette)
        qapp.setProperty("theme", None)


def test_the_values_never_stick_to_the_edge_of_the_pane(trend):
    """A range that still holds the data is kept only while there is air above and below them."""
    for part in range(30):
        trend.append(rows_of(600, 60.0 * part))
        trend.redraw()
        _, (bottom, top) = pane_of(trend).left_box.viewRange()
        _, shown = pane_of(trend).curves["pv"].getData()
        assert bottom < shown.min() - 0.03 * (top - bottom)
        assert shown.max() + 0.03 * (top - bottom) < top
