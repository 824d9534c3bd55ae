"""The operator station: typed, pressed and touched as an operator does; large, in strong contrast, in words."""

from collections.abc import Iterator

import numpy as np
import pytest
from hands import Hands
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.look import theme
from levelbench.gui.preferences import Preferences
from levelbench.gui.station import look as station_look
from levelbench.gui.station.arrangement import Columns
from levelbench.gui.station.station import Station
from levelbench.gui.station.window import StationWindow, screen_for
from levelbench.project import edit_many, load, sample
from levelbench.rig import CONDITION_NAMES, Entry, Rig, assemble
from levelbench.rig.panel import ALARM_NAMES

US_GAL = 3.785411784e-3  # m3 (NIST SP 811, appendix B)
NORMAL = ("mains on", "started", "pump allowed", "automatic", "green steady")


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture
def station(qtbot: QtBot, hands: Hands, rig: Rig) -> Station:
    made = Station(hands)
    qtbot.addWidget(made)
    made.begin(rig)
    made.resize(1280, 800)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    made.show_view(view_with(*NORMAL))
    return made


def view_with(*conditions: str, set_point: float = 3.0, output: float = 0.25, opening: float = 0.35) -> LiveView:
    rows = np.zeros((1, 15))
    rows[0, 1:3] = set_point * US_GAL, 3.02 * US_GAL
    rows[0, 5] = output
    rows[0, 13] = sum(1 << CONDITION_NAMES.index(name) for name in conditions)
    rows[0, 14] = sum(1 << 4 * at for at, name in enumerate(ALARM_NAMES) if name in conditions)  # unacknowledged
    return LiveView(rows, (), float("nan"), opening, set_point * US_GAL, 1.0, (0.0,) * len(ALARM_NAMES))


def keys(qtbot: QtBot, station: Station, *pressed: Qt.Key | str) -> None:
    for one in pressed:
        if isinstance(one, str):
            qtbot.keyClicks(station, one)
        else:
            qtbot.keyClick(station, one)


def press(qtbot: QtBot, *buttons: QAbstractButton) -> None:
    for one in buttons:
        qtbot.mouseClick(one, Qt.MouseButton.LeftButton)


def test_a_station_that_is_opened_late_tells_what_is_set_by_then(station: Station, rig: Rig) -> None:
    station.begin(rig)
    station.show_view(view_with(*NORMAL, set_point=3.25, output=0.4, opening=0.5))
    assert [one.text().partition("\n")[2].strip() for one in station.pad.choices] == ["3.25 US gal", "40 %", "50 %"]
    assert station.pad.allowed.text().startswith("Now 3.25.")


# The pad ------------------------------------------------------------------------------------------------------------


def test_digits_and_enter_alone_set_the_set_point(qtbot: QtBot, station: Station, hands: Hands) -> None:
    assert "2.00 to 4.00 US gal, in steps of 0.05" in station.pad.allowed.text()
    keys(qtbot, station, "3.1")
    assert station.pad.display.text() == "3.1"
    keys(qtbot, station, Qt.Key.Key_Return)
    assert hands.acts == [("set point", pytest.approx(3.10 * US_GAL))]
    assert station.pad.note.text() == "✓ set point set to 3.10 US gal"


def test_the_key_block_and_a_decimal_comma_type_as_well(qtbot: QtBot, station: Station, hands: Hands) -> None:
    for key in (Qt.Key.Key_2, Qt.Key.Key_Comma, Qt.Key.Key_9, Qt.Key.Key_5, Qt.Key.Key_Enter):
        qtbot.keyClick(station, key, Qt.KeyboardModifier.KeypadModifier)
    assert hands.acts == [("set point", pytest.approx(2.95 * US_GAL))]


def test_the_large_keys_type_take_back_and_clear(qtbot: QtBot, station: Station, hands: Hands) -> None:
    pad = station.pad
    press(qtbot, pad.keys["3"], pad.keys["."], pad.keys["."], pad.keys["9"], pad.back, pad.keys["1"], pad.keys["5"])
    assert pad.display.text() == "3.15"
    press(qtbot, pad.clear)
    assert pad.display.text() == "3.00"  # what is set
    press(qtbot, pad.keys["3"], pad.keys["."], pad.keys["2"], pad.enter)
    assert hands.acts == [("set point", pytest.approx(3.2 * US_GAL))]


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("5", "✗ 5 US gal is outside its limits. It takes 2.00 to 4.00 US gal, in steps of 0.05."),
        ("1.95", "✗ 1.95 US gal is outside its limits. It takes 2.00 to 4.00 US gal, in steps of 0.05."),
        ("3.12", "✗ 3.12 is between two steps of 0.05 US gal. Type 3.10 or 3.15."),
        ("", "✗ Nothing is typed yet. It takes 2.00 to 4.00 US gal, in steps of 0.05."),
    ],
)
def test_what_it_does_not_take_is_refused_with_the_reason(
    qtbot: QtBot, station: Station, hands: Hands, typed: str, reason: str
) -> None:
    keys(qtbot, station, typed, Qt.Key.Key_Return)
    assert station.pad.note.text() == reason
    assert station.pad.typed == typed  # to be mended, not typed again
    assert hands.acts == []


def test_a_large_change_is_read_back_and_enter_is_the_yes(qtbot: QtBot, station: Station, hands: Hands) -> None:
    keys(qtbot, station, "3.25", Qt.Key.Key_Return)  # 0.25 of a range of 2.00
    assert hands.acts == []
    assert station.pad.question.isVisible()
    assert station.pad.question.text() == "Set point 3.00 → 3.25 US gal?"
    assert "0.20 US gal, a tenth of the range" in station.pad.why_asked.text()
    keys(qtbot, station, "9", Qt.Key.Key_Return)  # a digit on a question is nothing
    assert hands.acts == [("set point", pytest.approx(3.25 * US_GAL))]
    assert station.pad.keys["1"].isVisible()


def test_esc_keeps_the_value_first_and_only_then_leaves(qtbot: QtBot, station: Station, hands: Hands) -> None:
    left: list[int] = []
    station.left.connect(lambda: left.append(1))
    keys(qtbot, station, "4", Qt.Key.Key_Return, Qt.Key.Key_Escape)
    assert (left, hands.acts) == ([], [])
    assert station.pad.note.text() == "✗ Kept at 3.00 US gal."
    keys(qtbot, station, "4", Qt.Key.Key_Return)
    press(qtbot, station.pad.no)
    keys(qtbot, station, Qt.Key.Key_Escape)
    assert (left, hands.acts) == ([1], [])


def test_steps_go_up_and_down_and_end_at_the_limit(qtbot: QtBot, station: Station, hands: Hands) -> None:
    keys(qtbot, station, Qt.Key.Key_Up, Qt.Key.Key_Up)
    press(qtbot, station.pad.down)
    assert [value / US_GAL for _, value in hands.acts] == pytest.approx([3.05, 3.10, 3.05])
    station.show_view(view_with(*NORMAL, set_point=4.0))  # set elsewhere
    press(qtbot, station.pad.up)
    assert station.pad.note.text() == "✗ 4.00 US gal is the highest that it takes."
    assert len(hands.acts) == 3


def test_valve_and_output_are_typed_on_the_same_pad(qtbot: QtBot, station: Station, hands: Hands) -> None:
    keys(qtbot, station, Qt.Key.Key_F4, "60", Qt.Key.Key_Return, Qt.Key.Key_Up)
    keys(qtbot, station, Qt.Key.Key_F3, "45", Qt.Key.Key_Return)
    assert station.pad.note.text() == "✗ The controller moves the output in auto. Press Manual first."
    keys(qtbot, station, Qt.Key.Key_F7, Qt.Key.Key_Return, "145", Qt.Key.Key_Return)
    assert station.pad.note.text() == "✗ 145 % is outside its limits. It takes 0 to 100 %."
    keys(qtbot, station, Qt.Key.Key_F6)
    assert hands.acts == [
        ("valve opening", pytest.approx(0.6)),
        ("valve opening", pytest.approx(0.65)),
        ("auto", 0.0),
        ("manual output", pytest.approx(0.45)),
        ("auto", 1.0),
    ]


def test_limits_edited_during_the_run_hold_from_then_on(qtbot: QtBot, station: Station, hands: Hands, rig: Rig) -> None:
    keys(qtbot, station, "4")
    station.take(assemble(edit_many(rig.project, {"loop_settings.set_point_high": "3.20 gal"})))
    assert station.pad.typed == "4"
    keys(qtbot, station, Qt.Key.Key_Return)
    assert "It takes 2.00 to 3.20 US gal" in station.pad.note.text()
    assert hands.acts == []


# Everything else that an operator has -------------------------------------------------------------------------------


def test_every_command_has_its_key(qtbot: QtBot, station: Station, hands: Hands) -> None:
    keys(qtbot, station, Qt.Key.Key_P, Qt.Key.Key_F10, Qt.Key.Key_F12, Qt.Key.Key_S, Qt.Key.Key_S)
    assert hands.acts == [("prime", 1.0), ("reset", 1.0), ("power on", 1.0), ("stop", 1.0), ("stop", 0.0)]


def test_the_emergency_stop_says_pressed_and_released(qtbot: QtBot, station: Station, hands: Hands) -> None:
    assert station.stop.text().endswith("○ released")
    press(qtbot, station.stop)
    assert station.stop.text().endswith("■ PRESSED: press to release")
    assert station.stop.accessibleName() == "emergency stop, pressed"
    station.show_view(view_with(*NORMAL))  # a report from before the press
    assert station.stop.isChecked()
    station.show_view(view_with("mains on", "stop pressed", "stop latched"))
    assert station.figures.pump.text() == "■ pump blocked: the emergency stop is pressed"
    station.show_view(view_with("mains on", "stop latched"))  # released on the bench bar
    assert station.stop.text().endswith("○ released")
    assert station.figures.pump.text() == "■ pump blocked: press Reset"
    station.show_view(view_with("mains on"))
    assert station.figures.pump.text() == "■ pump stands: press Power on"
    assert hands.acts == [("stop", 1.0)]


def test_acknowledge_marks_messages_seen_and_silences_the_horn(qtbot: QtBot, station: Station, hands: Hands) -> None:
    messages = station.messages
    station.messages.tell(
        (
            Entry(61.0, "event", "high", 1.0),
            Entry(61.0, "alarm", "high", 1.0, "process"),
            Entry(62.0, "action", "set point", 0.01),
            Entry(63.0, "event", "pump allowed", 0.0),
        )
    )
    station.show_view(view_with(*NORMAL, "high", "horn", "yellow flashing"))
    lines = [messages.list.item(at).text() for at in range(messages.list.count())]
    assert lines == ["·  0:01:03  pump blocked", "▲ new  0:01:01  high alarm"]
    assert messages.acknowledge.text() == "Acknowledge 1  F9"
    keys(qtbot, station, Qt.Key.Key_F9)
    assert hands.acts == [("acknowledge", 1.0)]
    assert messages.acknowledge.isEnabled()  # until the scan has taken it
    messages.tell((Entry(64.0, "alarm", "high", 2.0, "Ann"),))
    assert messages.list.item(0).text() == "·  0:01:04  high alarm acknowledged by Ann"
    assert messages.list.item(2).text() == "✓ seen  0:01:01  high alarm"
    assert not messages.acknowledge.isEnabled()
    station.show_view(view_with(*NORMAL, "high", "silenced"))
    press(qtbot, station.figures.silence)  # no horn: nothing to silence
    assert hands.acts == [("acknowledge", 1.0)]


def test_every_state_is_a_word_and_a_shape(station: Station) -> None:
    figures = station.figures
    assert (figures.pv.text(), figures.sp.text(), figures.op.text()) == ("3.02", "3.00 US gal", "25 %")
    assert (figures.status.text(), figures.alarm.text(), figures.pump.text()) == (
        "● OK",
        "✓ no alarms",
        "✓ pump released",
    )
    station.show_view(view_with(*NORMAL, "high"))
    assert figures.status.text() == "▲ HIGH"
    station.show_view(view_with("mains on", "started", "high", "sensor failed", "red flashing", "blue steady", "horn"))
    assert figures.status.text() == "■ NO SIGNAL"
    assert figures.alarm.text() == "▲ sensor failed\n▲ high: unacknowledged"
    assert figures.horn.text() == "♪ horn sounds"
    assert figures.pv_name.text() == "▲ volume PV: the last good value"
    words = [figures.lamps.words[one].text() for one in ("red", "yellow", "green", "blue")]
    assert words == ["red\nflashes", "yellow\noff", "green\noff", "blue\non"]
    assert (station.auto.text(), station.manual.text()) == ("○ Auto  F6", "● Manual  F7")


def test_only_what_this_rig_has_is_there(station: Station) -> None:
    assert station.prime.isVisible()
    station.begin(assemble(load(sample("parts_washer"))))
    assert not station.prime.isVisible()
    assert station.title.text().startswith(load(sample("parts_washer")).title)


# Size, contrast, touch ----------------------------------------------------------------------------------------------


def test_everything_that_is_pressed_is_large_enough_for_a_glove(qtbot: QtBot, station: Station) -> None:
    for asking in (False, True):
        if asking:
            keys(qtbot, station, "4", Qt.Key.Key_Return)
        shown = [one for one in station.findChildren(QAbstractButton) if one.isVisible()]
        assert len(shown) > 12
        small = [(one.text(), one.size()) for one in shown if min(one.width(), one.height()) < station_look.TARGET]
        assert small == []
        squeezed = [one.text() for one in shown if one.width() < one.sizeHint().width()]
        assert squeezed == []
    assert station.findChildren(QLineEdit) == station.findChildren(QComboBox) == []
    assert station.minimumSizeHint().width() <= 1280
    assert station.minimumSizeHint().height() <= 800


@pytest.mark.parametrize(
    ("width", "height", "columns"), [(1280, 800, 3), (1024, 768, 3), (800, 600, 2), (640, 400, 1)]
)  # 1: at 200 %
def test_on_a_small_screen_it_scrolls_between_its_head_and_the_stop(
    station: Station, width: int, height: int, columns: int
) -> None:
    station.resize(width, height)
    QApplication.processEvents()
    layout = station.middle.widget().layout()
    assert isinstance(layout, Columns)
    assert layout.columns(station.middle.viewport().width()) == columns
    for one in (station.stop, station.start, station.reset, station.leave):
        assert station.rect().contains(QRect(one.mapTo(station, QPoint(0, 0)), one.size()))
    bars = station.middle.verticalScrollBar().maximum() > 0, station.middle.horizontalScrollBar().maximum() > 0
    assert bars == (columns < 3, False)
    buttons = [one for one in station.findChildren(QAbstractButton) if one.isVisible()]
    assert [one.text() for one in buttons if min(one.width(), one.height()) < station_look.TARGET] == []
    for one in (*buttons, *(one for one in station.findChildren(QLabel) if one.isVisible())):
        around = one.parentWidget()
        assert around is not None
        assert around.rect().contains(one.geometry()), one.text()
    station.middle.ensureWidgetVisible(station.messages.acknowledge)
    assert not station.messages.acknowledge.visibleRegion().isEmpty()


def test_every_control_has_a_name_and_says_what_it_does(station: Station) -> None:
    shown = [one for one in station.findChildren(QAbstractButton) if one.isVisible()]
    assert [one.text() for one in shown if not one.accessibleName() or not one.toolTip()] == []


@pytest.mark.parametrize("name", theme.THEMES)
def test_words_stand_out_seven_to_one(name: str) -> None:
    """W3C, Web Content Accessibility Guidelines 2.2, success criterion 1.4.6 (7:1), and 1.4.11 for outlines (3:1)."""
    look = station_look.LOOKS[name]
    for words, ground in station_look.PAIRS:
        assert theme.contrast(getattr(look, words), getattr(look, ground)) >= 7.0, (words, ground)
    assert theme.contrast(look.edge, look.card) >= 3.0
    assert theme.contrast(look.edge, look.ground) >= 3.0


@pytest.mark.parametrize("name", theme.THEMES)
def test_no_words_are_drawn_in_any_other_colours(qtbot: QtBot, qapp: QApplication, station: Station, name: str) -> None:
    theme.apply(qapp, theme.THEMES[name])
    try:
        look = station_look.LOOKS[name]
        station.show_view(view_with("mains on", "high", "stop pressed", "stop latched", "horn"))
        strong = {getattr(look, words) for words, _ in station_look.PAIRS}
        shown = [one for one in station.findChildren(QLabel) if one.isVisible() and one.text()]
        drawn = {one.palette().windowText().color().name() for one in shown}
        assert drawn <= strong
        assert len(drawn) >= 4
        edge = station.grab().toImage().pixelColor(2, 2).name()
        assert edge == look.ground
    finally:
        theme.apply(qapp, theme.LIGHT)


def test_a_finger_is_enough(qtbot: QtBot, station: Station, hands: Hands) -> None:
    finger = QTest.createTouchDevice()
    pad = station.pad
    for key in (pad.keys["3"], pad.keys["."], pad.keys["1"], pad.enter):
        at = key.mapTo(station, QPoint(key.width() // 2, key.height() // 2))
        QTest.touchEvent(station, finger).press(0, at, station).commit()
        QTest.touchEvent(station, finger).release(0, at, station).commit()
    assert hands.acts == [("set point", pytest.approx(3.1 * US_GAL))]


# Its window ---------------------------------------------------------------------------------------------------------


class Named:
    """A screen, as far as choosing one needs it."""

    def __init__(self, name: str) -> None:
        self._name = name

    def name(self) -> str:
        return self._name


def test_the_second_screen_is_used_unless_another_is_remembered() -> None:
    own, second, third = Named("desk"), Named("wall"), Named("pulpit")
    screens = [own, second, third]
    assert screen_for("", own, screens) is second  # type: ignore[arg-type, comparison-overlap]
    assert screen_for("pulpit", own, screens) is third  # type: ignore[arg-type, comparison-overlap]
    assert screen_for("gone", own, screens) is second  # type: ignore[arg-type, comparison-overlap]
    assert screen_for("", own, [own]) is own  # type: ignore[arg-type, comparison-overlap, list-item]


@pytest.fixture
def framed(qtbot: QtBot, hands: Hands, rig: Rig) -> Iterator[StationWindow]:
    made = StationWindow(Station(hands), Preferences())
    qtbot.addWidget(made)
    made.station.begin(rig)
    yield made
    made.close()


def test_it_fills_the_screen_f11_frames_it_and_esc_leaves(qtbot: QtBot, framed: StationWindow) -> None:
    with qtbot.waitActive(framed):
        framed.open(framed)
    assert framed.windowTitle() == f"{load(sample('seedling_house')).title} – operator station"
    assert framed.isFullScreen()
    qtbot.keyClick(framed.station, Qt.Key.Key_F11)
    assert not framed.isFullScreen()
    qtbot.keyClick(framed.station, Qt.Key.Key_F11)
    assert framed.isFullScreen()
    qtbot.keyClick(framed.station, Qt.Key.Key_Escape)
    assert not framed.isVisible()
    kept = Preferences().layout("station screen")
    assert kept is not None
    assert bytes(kept.data()).decode() == framed.screen().name()
