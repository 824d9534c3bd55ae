"""Tuning by hand with sight: two columns, the margins as a picture, what a change did on the running bench."""

import pytest
from hands import LONG, Running
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.stages.staged import TUNE
from levelbench.gui.tuning.side_by_side import SideBySide
from levelbench.gui.tuning.way_hand import Hand
from levelbench.quantity import Dimension, Figure, Units
from levelbench.tuning.loop_reading import reading

Keys = Qt.Key
ALT_SHIFT = Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.ShiftModifier
SHOWN_IN = Units("l", "mm", "l/min")


def figure(key: str, value: float) -> Figure:
    return Figure(key, key.upper(), value, Dimension.NUMBER, f"formula of {key}", (("x", str(value)),), "a book")


def seen_in(part: QWidget) -> set[str]:
    return {one.text() for one in part.findChildren(QLabel) if one.isVisible()}


def try_gain(qtbot: QtBot, hand: Hand, key: Qt.Key = Keys.Key_Left) -> None:
    cell = hand.grid.cells["standard", "gain"]
    cell.setFocus()
    for _ in range(5):
        qtbot.keyClick(cell, key, ALT_SHIFT)
    qtbot.waitUntil(lambda: hand.does.table.comparing, timeout=LONG)


@pytest.fixture
def hand(qtbot: QtBot, running: Running) -> Hand:
    window, _, _ = running
    window.rail.choose(TUNE)
    made = window.tune.hand
    qtbot.waitUntil(lambda: len(made.does.table.words()) > 15, timeout=LONG)
    return made


def test_two_columns_say_what_is_and_what_would_be(qtbot: QtBot) -> None:
    table = SideBySide("as it is", "if taken")
    qtbot.addWidget(table)
    table.show()
    table.show_figures([figure("a", 1.0), figure("b", 2.0)], SHOWN_IN)
    qtbot.waitUntil(lambda: len(table.words()) == 2)
    assert table.words() == [("A", "1.00", ""), ("B", "2.00", "")]
    table.compare([figure("a", 1.5), figure("b", 2.0)])
    assert table.words() == [("A", "1.00", "1.50"), ("B", "2.00", "same")]
    why = table.findChildren(QPushButton)[0]
    qtbot.waitUntil(why.isVisible)
    qtbot.mouseClick(why, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: {"formula of a", "1.5"} <= seen_in(table))  # the inputs of what is tried
    table.compare(None)
    assert table.words() == [("A", "1.00", ""), ("B", "2.00", "")]


def test_a_try_stands_beside_what_is_and_goes_again(qtbot: QtBot, hand: Hand) -> None:
    try_gain(qtbot, hand)
    words = {name: (first, second) for name, first, second in hand.does.table.words()}
    for name in ("settling time", "gain margin", "output travel while holding", "pump starts while holding"):
        assert words[name][1]
    assert words["gain margin"][0] != words["gain margin"][1]
    assert "Gain lowered alone: now k'·K·Ti = " in hand.does.sentence.text()
    assert hand.does.why.isVisible()
    qtbot.keyClick(hand.grid.cells["standard", "gain"], Keys.Key_Escape)
    assert not hand.does.table.comparing


def test_the_picture_takes_the_room_and_is_read_by_keys_and_mouse(qtbot: QtBot, running: Running, hand: Hand) -> None:
    window, _, _ = running
    qtbot.mouseClick(hand.does.large, Qt.MouseButton.LeftButton)
    picture = hand.does.picture
    assert window.room.currentWidget() is picture
    tuned = window.answers.tuned
    assert tuned is not None
    canvas = picture.canvas
    canvas.setFocus()
    qtbot.keyClick(canvas, Keys.Key_Home)
    assert canvas.period == pytest.approx(tuned.margins.crossover.si, rel=1e-6)
    assert picture.table.words()[0][1] == "1.00"  # |L| at the crossover, by definition
    qtbot.keyClick(canvas, Keys.Key_Left)
    assert canvas.period > tuned.margins.crossover.si
    for _ in range(3):
        qtbot.keyClick(canvas, Keys.Key_PageDown)
    assert canvas.period == pytest.approx(tuned.margins.ultimate_period.si, rel=0.2)
    gain, _, nyquist = canvas._panes()
    qtbot.mouseMove(canvas, QPoint(round(gain.box.center().x()), round(gain.box.center().y())))
    seen = reading(tuned.loop, canvas.period, tuned.units)
    assert picture.table.words()[0][1] == tuned.units.tell(seen[0])
    qtbot.mouseMove(canvas, nyquist.box.center().toPoint())
    assert f"{tuned.units.tell(reading(tuned.loop, canvas.period, tuned.units)[0])}" in canvas.accessibleDescription()
    try_gain(qtbot, hand)
    assert picture.table.comparing
    qtbot.mouseClick(picture.back, Qt.MouseButton.LeftButton)
    assert window.room.currentWidget() is window.centre
    assert not hand.does.large.isChecked()


def test_a_change_on_the_running_bench_is_flagged_journalled_and_measured(
    qtbot: QtBot, running: Running, hand: Hand
) -> None:
    window, bench, live = running
    live.set_speed(200)
    live.run()
    qtbot.waitUntil(lambda: live.view is not None and live.view["time"] > 150, timeout=LONG)
    assert not hand.bench.isVisible()
    window.document.edit("loop_settings.gain", "300 %/gal")
    qtbot.waitUntil(lambda: any(one.what == "gain" for one in live.heard), timeout=LONG)
    changed = next(one.time for one in live.heard if one.what == "gain")
    qtbot.waitUntil(lambda: live.view is not None and live.view["time"] > changed + 130, timeout=LONG)
    live.pause()
    qtbot.waitUntil(lambda: "the output moves less" in hand.bench.sentence.text(), timeout=LONG)
    assert hand.bench.sentence.text().partition(" ")[2].startswith("gain changed on the bench.")
    names = [name for name, _, _ in hand.bench.table.words()]
    assert names == ["spread of PV about SP", "largest distance from SP", "output travel", "pump starts"]
    assert all(second for _, _, second in hand.bench.table.words())
    assert any("gain" in flag.words for flag in bench.trend._history.flags(0.0, 1e9, 0.1))
    assert not hand.bench.besides.isVisible()
    bench.act("set point", 0.011)
    live.run()
    qtbot.waitUntil(hand.bench.besides.isVisible, timeout=LONG)
    assert "set point" in hand.bench.besides.text()
    live.pause()


def test_right_gains_look_large_is_said_where_the_band_is_narrow(qtbot: QtBot, running: Running, hand: Hand) -> None:
    window, _, _ = running
    assert hand.does.narrow.isVisible()
    assert "1.21 %" in hand.does.narrow.words.text()
    window.document.edit("loop_settings.gain", "100 %/gal")
    qtbot.waitUntil(lambda: window.answers.tuned is None, timeout=LONG)
    qtbot.waitUntil(lambda: not window.answers.working and not hand.does.narrow.isVisible(), timeout=LONG)
