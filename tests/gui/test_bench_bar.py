"""The bench bar: what it shows of a run, in words and marks, and what its buttons do."""

import subprocess
import sys

import numpy as np
import pytest
from PySide6.QtCore import Qt

from levelbench.gui.bench.abnormal import STOPS, TRIPS
from levelbench.gui.bench.bench_bar import PREPARING, BenchBar
from levelbench.gui.bench.live import LiveRun
from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.bench.stack_light import StackLight, StatusWord
from levelbench.gui.look import theme
from levelbench.project import load, sample
from levelbench.rig import CONDITION_NAMES, assemble
from levelbench.rig.panel import ALARM_NAMES

pytestmark = pytest.mark.gui
LONG = 110_000  # ms; the first test of a run compiles the scan


@pytest.fixture(scope="module")
def rig():
    return assemble(load(sample("seedling_house")))


@pytest.fixture
def live(qapp):
    made = LiveRun()
    yield made
    made.close()


@pytest.fixture
def bar(qtbot, live):
    one = BenchBar()
    one.take(live)
    qtbot.addWidget(one)
    one.resize(1280, 88)
    one.show()
    return one


@pytest.fixture
def ready(qtbot, bar, live, rig):
    with qtbot.waitSignal(live.advanced, timeout=LONG):
        live.begin(rig)
    return bar


def view_with(*conditions, pv=0.0):
    rows = np.zeros((1, 15))
    rows[0, 2] = pv
    rows[0, 13] = sum(1 << CONDITION_NAMES.index(name) for name in conditions)
    rows[0, 14] = sum(1 << 4 * at for at, name in enumerate(ALARM_NAMES) if name in conditions)  # unacknowledged
    return LiveView(rows, (), float("nan"), 0.3, 0.0, 1.0, (0.0,) * len(ALARM_NAMES))


def click(qtbot, button):
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def test_until_there_is_a_rig_it_says_so_and_offers_nothing(bar):
    assert bar.state.text() == PREPARING
    assert not any(one.isEnabled() for one in (bar.run_button, bar.scan_button, bar.speed, bar.stop, bar.silence))


def test_what_can_not_be_done_yet_says_why_and_then_what_it_does(qtbot, bar, live, rig):
    assert bar.width() == 1280
    assert bar.run_button.toolTip() == "Not yet: preparing the bench."
    bar.say_waiting("the bench can't be loaded")
    assert bar.stop.toolTip() == "Not yet: the bench can't be loaded."
    with qtbot.waitSignal(live.advanced, timeout=LONG):
        live.begin(rig)
    assert bar.run_button.toolTip() == "run or pause (F5)"
    assert "hard-wired" in bar.stop.toolTip()
    assert bar.silence.toolTip() == "Nothing to silence: no horn."


def test_the_bar_alone_does_not_bring_the_compiler_in():
    asked = "import sys, levelbench.gui.bench.bench_bar; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", asked], check=False).returncode == 0


def test_run_and_pause(qtbot, ready, live):
    assert ready.run_button.text() == "▶ Run"
    assert ready.state.text() == "paused"
    click(qtbot, ready.run_button)
    assert live.running
    assert "Pause" in ready.run_button.text()
    assert ready.state.text() == "running 1 ×"
    click(qtbot, ready.run_button)
    assert not live.running


def test_a_double_click_is_one_press_of_a_switch(qtbot, ready, live):
    """Two would undo each other, and nothing would seem to happen."""
    for one in (ready.run_button, ready.stop):
        for do in (qtbot.mousePress, qtbot.mouseRelease, qtbot.mouseDClick, qtbot.mouseRelease):
            do(one, Qt.MouseButton.LeftButton)
    assert live.running
    assert ready.stop.isChecked()


def test_one_scan(qtbot, ready, live, rig):
    with qtbot.waitSignal(live.advanced, timeout=LONG):
        click(qtbot, ready.scan_button)
    assert len(live.past().recording()) == 2
    assert ready.clock.text() == "0:00:00.1"  # the sample scans every 100 ms


def test_the_speed_is_chosen_and_shown(qtbot, ready, live):
    ready.speed.setFocus()
    qtbot.keyClick(ready.speed, Qt.Key.Key_End)
    assert live.speed == 200
    click(qtbot, ready.run_button)
    assert ready.state.text() == "running 200 ×"


def test_figures_carry_the_units_and_digits_of_the_project(ready):
    assert ready.pv.value.text() == "3.00"
    assert ready.pv.unit.text() == "US gal"
    assert ready.sp.value.text() == "3.00"
    assert ready.op.unit.text() == "%"


@pytest.mark.parametrize(
    ("conditions", "shown"),
    [((), "● OK"), (("high",), "▲ HIGH"), (("high-high",), "▲ HIGH"), (("low",), "▼ LOW"), (("low-low",), "▼ LOW")],
)
def test_the_status_word_has_a_mark_as_well(ready, conditions, shown):
    ready.show_view(view_with(*conditions))
    assert ready.status.shown == shown
    assert shown.split()[1] in ready.status.accessibleName()


def test_of_a_pv_without_a_signal_no_status_is_claimed(ready):
    ready.show_view(view_with("sensor failed"))
    assert ready.status.shown == "■ NO SIGNAL"
    assert ready.pv.label.text() == "▲ last good PV"
    ready.show_view(view_with())
    assert ready.pv.label.text() == "volume PV"


def test_the_run_button_has_room_for_its_words(qtbot, ready):
    click(qtbot, ready.run_button)
    room = ready.run_button.width() - 2 * 12 - 2
    assert ready.run_button.fontMetrics().horizontalAdvance(ready.run_button.text()) <= room


def test_alarms_and_horn_are_words(ready, live):
    ready.show_view(view_with("high", "deviation", "horn", "yellow flashing"))
    assert ready.alarm.text() == "▲ high, deviation"
    assert ready.horn.text() == "♪ horn sounds"
    assert ready.silence.isEnabled()
    assert ready.lamps.words == "yellow flashing"
    ready.show_view(view_with("high", "silenced", "yellow steady"))
    assert ready.horn.text() == "horn silenced"
    assert ready.lamps.words == "yellow steady"
    ready.show_view(view_with("green steady"))
    assert ready.alarm.text() == "no alarms"
    assert not ready.silence.isEnabled()


def test_stop_is_pressed_and_released_on_the_rig(qtbot, ready, live):
    click(qtbot, ready.run_button)
    click(qtbot, ready.stop)
    assert ready.stop.text() == "STOP\npressed"
    qtbot.waitUntil(lambda: live.view.has("stop pressed"))
    qtbot.waitUntil(lambda: "emergency stop" in ready.alarm.text())
    assert ready.stop.isChecked()
    click(qtbot, ready.stop)
    qtbot.waitUntil(lambda: not live.view.has("stop pressed"))
    assert ready.stop.text() == "STOP"
    assert live.view.has("stop latched")  # released is not yet running again


def test_stop_pressed_elsewhere_shows_here_too(ready):
    ready.show_view(view_with("stop pressed"))
    assert ready.stop.isChecked()
    ready.show_view(view_with())
    assert not ready.stop.isChecked()


def test_silence_goes_to_the_rig(qtbot, ready, live):
    click(qtbot, ready.run_button)
    click(qtbot, ready.stop)
    qtbot.waitUntil(ready.silence.isEnabled)
    click(qtbot, ready.silence)
    qtbot.waitUntil(lambda: ready.horn.text() == "horn silenced")


def test_every_control_is_reached_by_tab(ready):
    for one in (ready.run_button, ready.scan_button, ready.speed, ready.stop):
        assert one.focusPolicy() & Qt.FocusPolicy.TabFocus


def test_digits_keep_their_places(qtbot, ready):
    places = {}
    for share in (0.0, 0.09, 0.9, 1.0):
        view = view_with()
        view.rows[0, 5] = share
        ready.show_view(view)
        qtbot.waitUntil(lambda: ready.op.value.geometry().isValid())
        places[ready.op.value.text()] = (ready.op.unit.x(), ready.op.x(), ready.pv.x(), ready.status.x())
    assert set(places) == {"0", "9", "90", "100"}
    assert len(set(places.values())) == 1


def test_many_alarms_are_counted_and_all_named_on_asking(ready):
    ready.show_view(view_with("stop latched", "high-high", "high", "deviation"))
    assert ready.alarm.text() == "▲ emergency stop, high\u2011high and 2 more"
    assert ready.alarm.toolTip() == (
        "▲ emergency stop\n▲ high-high: unacknowledged\n▲ high: unacknowledged\n▲ deviation: unacknowledged"
    )
    assert ready.alarm.heightForWidth(ready.alarm.width()) + ready.horn.height() <= ready.height()


def test_acknowledge_acts_on_the_scan_and_the_state_of_each_alarm_is_told(qtbot, ready, live):
    assert not ready.acknowledge.isEnabled()
    live.act("high limit", 0.001)
    live.act("high on-delay", 0.0)
    live.act("acknowledge by hand", 1.0)
    live.scan_once()
    qtbot.waitUntil(ready.acknowledge.isEnabled)
    assert "high" in ready.alarm.text()
    click(qtbot, ready.acknowledge)
    live.scan_once()
    qtbot.waitUntil(lambda: "● high" in ready.alarm.text())
    assert "● high: acknowledged" in ready.alarm.toolTip()
    assert not ready.acknowledge.isEnabled()
    live.act("high shelve", 60.0)
    live.scan_once()
    qtbot.waitUntil(lambda: "kept apart" in ready.alarm.text())
    assert "high: ◷ shelved (G)" in ready.alarm.toolTip()


def test_every_trip_of_the_bar_is_a_condition_of_the_rig():
    assert set(TRIPS) <= set(CONDITION_NAMES)
    assert set(STOPS) <= {*TRIPS, *ALARM_NAMES}


def test_it_fits_1100_and_never_changes_its_height(ready):
    ready.show_view(view_with("high", "deviation", "horn"))
    ready.run_button.setText("❚❚ Pause")
    assert ready.minimumSizeHint().width() <= 1100
    assert ready.height() == 88
    ready.show_view(view_with("high-high", "high", "deviation", "spilling", "horn"))
    assert ready.height() == 88


@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=lambda look: look.name)
def test_a_lit_lamp_is_filled_and_a_dark_one_is_not(qtbot, qapp, look):
    theme.apply(qapp, look)
    try:
        lamps = StackLight()
        qtbot.addWidget(lamps)
        lamps.resize(lamps.sizeHint())
        lamps.show_modes({"red": "off", "yellow": "off", "green": "steady", "blue": "off"})
        image = lamps.grab().toImage()
        ratio = image.devicePixelRatio()
        right = round((lamps.width() - 8) * ratio)
        seen = [image.pixelColor(right, round((at + 0.5) * lamps.height() / 4 * ratio)).name() for at in range(4)]
        assert seen[2] == look.lamp_green
        assert seen[0] == seen[1] == seen[3] == look.colour(theme.Role.CARD)
    finally:
        theme.apply(qapp, theme.LIGHT)


def test_a_flashing_lamp_keeps_its_word_while_it_is_dark(qtbot):
    lamps = StackLight()
    qtbot.addWidget(lamps)
    lamps.show_modes({"red": "flashing", "yellow": "off", "green": "off", "blue": "off"})
    lamps._turn()
    assert lamps.words == "red flashing"
    lamps.show_modes({"red": "off", "yellow": "off", "green": "off", "blue": "off"})
    assert lamps.words == "all lamps off"


def test_an_unknown_status_is_a_dash(qtbot):
    word = StatusWord()
    qtbot.addWidget(word)
    assert word.shown == "–"
