"""The trend in a person's hands: pens, limits, flags by keyboard and pointer, copies, axes at every span."""

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from levelbench.gui import app
from levelbench.gui.dialogs import Unsaved
from levelbench.gui.look import theme
from levelbench.gui.preferences import Preferences
from levelbench.gui.trend.copy import STRIP
from levelbench.gui.trend.limits import limits_of
from levelbench.gui.trend.scales import scales
from levelbench.gui.trend.trend import Trend
from levelbench.project import load, sample
from levelbench.records import read_csv
from levelbench.rig import Action, Past, Recording, Rig, assemble
from levelbench.rig.panel import goes_without_saying

pytestmark = pytest.mark.gui


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="module")
def past(rig: Rig) -> Past:
    """Ten minutes in which the echo is lost from 200 s to 260 s."""
    return Past(rig, 3, 1, 6000, (Action(200.0, "echo lost", 1.0), Action(260.0, "echo lost", 0.0)))


@pytest.fixture(scope="module")
def recording(past: Past) -> Recording:
    return past.recording()


@pytest.fixture
def trend(qtbot: QtBot, rig: Rig, past: Past, recording: Recording) -> Iterator[Trend]:
    made = Trend(Preferences())
    qtbot.addWidget(made)
    made.resize(656, 256)
    made.begin(scales(rig))
    made.show_limits(limits_of(rig.project))
    made.copies.past = lambda: past
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    made.setFocus()
    made.append(recording.rows, recording.journal)
    made.show_last(600.0)
    made.redraw()
    yield made
    QGuiApplication.clipboard().clear()


# Where it looks ------------------------------------------------------------------------------------------------------


def test_the_span_is_chosen_by_its_name(qtbot: QtBot, trend: Trend) -> None:
    trend.head.span.setFocus()
    qtbot.keyClick(trend.head.span, Qt.Key.Key_End)
    assert trend.head.span.currentText() == "whole run"
    trend.redraw()
    assert trend.panes.span()[0] == pytest.approx(0.0)
    assert trend.panes.span()[1] > trend.now
    trend.setFocus()
    qtbot.keyClick(trend, Qt.Key.Key_Plus)
    trend.redraw()
    assert trend.head.span.currentIndex() == -1
    assert trend.head.span.placeholderText() == "5.15 min"


# Flags ---------------------------------------------------------------------------------------------------------------


def test_the_keyboard_steps_from_flag_to_flag(qtbot: QtBot, trend: Trend, recording: Recording) -> None:
    words = []
    flags = [one for one in recording.journal if not goes_without_saying(one.kind, one.value, one.who)]
    for _ in flags:
        qtbot.keyClick(trend, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
        trend.redraw()
        words.append(trend.head.said.text())
        assert trend.panes.strip.words.isVisible()
        assert trend.panes.strip.words.toPlainText() == words[-1]
    assert [one.partition("  ")[0] for one in words] == [
        f"0:{int(entry.time) // 60:02d}:{entry.time % 60:04.1f}" for entry in reversed(flags)
    ]
    assert "0:03:20.0  echo lost on by hand" in words
    assert "0:04:20.0  echo lost off by hand" in words
    assert any("sensor" in one for one in words)
    qtbot.keyClick(trend, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    trend.redraw()
    assert trend.head.said.text() == words[-2]


def test_a_flag_out_of_view_is_brought_into_view(qtbot: QtBot, trend: Trend) -> None:
    trend.show_last(30.0)
    trend.redraw()
    qtbot.keyClick(trend, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    trend.redraw()
    assert not trend.span.following
    start, end = trend.panes.span()
    assert trend.pointed_at is not None
    assert start < trend.pointed_at < end


def test_the_pointer_on_a_flag_reads_its_words_and_the_values_there(qtbot: QtBot, trend: Trend) -> None:
    strip = trend.panes.strip
    place = strip.plot.vb.mapViewToScene(QPointF(259.0, 0.5))
    qtbot.mouseMove(strip.view.viewport(), QPoint(0, 0))
    strip.view.scene().sigMouseMoved.emit(place)
    trend.redraw()
    assert trend.head.at.text() == "at 0:04:19"
    assert trend.head.said.text() == "0:04:20.0  sensor signal good again"
    assert trend.keys["pv"].shown.endswith("US gal")
    qtbot.keyClick(trend, Qt.Key.Key_Escape)
    trend.redraw()
    assert trend.head.at.text() == "now 0:09:59"
    assert not strip.words.isVisible()


# Pens and limits -----------------------------------------------------------------------------------------------------


# Qt's offscreen platform says so whenever a menu comes up; it has no keyboard to hold.
@pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
def test_pens_are_chosen_in_their_menu_and_kept(qtbot: QtBot, trend: Trend, rig: Rig) -> None:
    assert not trend.panes.panes["rest"].isVisible()
    menu = trend.choice.menu
    menu.popup(trend.mapToGlobal(QPoint(0, 0)))
    reservoir = next(one for one in menu.actions() if one.text().startswith("reservoir –"))
    qtbot.mouseClick(menu, Qt.MouseButton.LeftButton, pos=menu.actionGeometry(reservoir).center())
    assert menu.isVisible(), "the menu stays open, to tick more"
    qtbot.keyClick(menu, Qt.Key.Key_Down)
    qtbot.keyClick(menu, Qt.Key.Key_Space)
    assert {"reservoir", "spilled"} <= trend.choice.pens
    qtbot.keyClick(menu, Qt.Key.Key_Escape)
    assert not menu.isVisible()
    qtbot.mouseClick(trend.keys["volume"], Qt.MouseButton.LeftButton)
    trend.redraw()
    assert trend.panes.panes["rest"].isVisible()
    assert trend.keys["reservoir"].shown == f"{scales(rig).units.show(trend_value(trend, 'reservoir'), *VOLUME(rig))}"
    assert not trend.keys["volume"].isVisible()
    again = Trend(Preferences())
    qtbot.addWidget(again)
    assert again.choice.pens == trend.choice.pens
    assert "volume" not in again.choice.pens


def VOLUME(rig: Rig) -> tuple[object, float]:  # noqa: N802
    one = scales(rig)
    dimension = next(iter(one.steps))
    return dimension, one.steps[dimension]


def trend_value(trend: Trend, column: str) -> float:
    past = trend.copies.past()
    assert past is not None
    return float(past.recording()[column][-1])


def test_a_pane_without_pens_leaves_its_room_to_the_others(trend: Trend) -> None:
    for pen in ("output", "pump_flow", "drain_flow"):
        trend.choice.put(pen, on=False)
    trend.redraw()
    assert not trend.panes.panes["flow"].isVisible()
    assert trend.panes.panes["tank"].isVisible()


def test_limits_are_drawn_on_request_and_are_in_view(trend: Trend, rig: Rig) -> None:
    box = trend.panes.panes["tank"].left_box
    assert lines_of(trend) == {}
    trend.choice.put("limits", on=True)
    trend.redraw()
    gallon = 231 * 0.0254**3  # m3; a US gallon is 231 cubic inches (NIST Handbook 44, appendix C)
    bands = rig.project.bands
    assert bands.high is not None
    assert bands.low_low is not None
    found = lines_of(trend)
    assert list(found) == ["high-high", "high", "low", "low-low"]
    assert found["high"] == pytest.approx(bands.high.limit.si / gallon)
    _, (bottom, top) = box.viewRange()
    assert bottom < found["low-low"] < found["high-high"] < top
    trend.choice.put("limits", on=False)
    assert lines_of(trend) == {}


def lines_of(trend: Trend) -> dict[str, float]:
    lines = trend.panes.panes["tank"]._limits
    return {line.label.format: float(line.value()) for line in lines}


def test_nothing_run_yet_shows_a_hint_and_no_axes(qtbot: QtBot, rig: Rig) -> None:
    empty = Trend(Preferences())
    qtbot.addWidget(empty)
    empty.begin(scales(rig))
    empty.show()
    empty.redraw()
    assert empty.hint.isVisible()
    assert not empty.panes.isVisible()


@pytest.mark.parametrize("width", [320, 480, 656, 980])
@pytest.mark.parametrize("longer", [1.0, 1.3])
def test_no_key_is_cut_off_or_lies_on_another(trend: Trend, width: int, longer: float) -> None:
    """At the width that the trend has at 1280 × 800 and less, with texts as they are and 30 % longer."""
    font = trend.font()
    font.setPixelSize(round(font.pixelSize() * longer))
    for key in trend.keys.values():
        key.setFont(font)
        trend.choice.put(key.curve.column, on=True)
    trend.panes.resize(width, 400)
    trend.panes.layout().activate()
    for pane in trend.panes.panes.values():
        pane.head.layout().activate()
        pane.layout().activate()
        pane.head.layout().setGeometry(pane.head.rect())
        places = [key.geometry() for key in pane.keys.values()]
        for at, place in enumerate(places):
            assert pane.head.rect().contains(place)
            assert place.width() >= pane.keys[pane.pens[at].column].sizeHint().width()
            assert not any(place.intersects(other) for other in places[:at])


def test_in_the_window_the_trend_has_the_limits_the_run_and_its_place_in_the_edit_menu(
    qtbot: QtBot, answer_unsaved: Callable[[Unsaved], list[str]]
) -> None:
    answer_unsaved(Unsaved.LET_GO)
    window, bench = app.make_window(sample("seedling_house"), Preferences())
    qtbot.addWidget(window)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    qtbot.waitUntil(lambda: bench.live is not None and bench.live.view is not None, timeout=110_000)
    qtbot.waitUntil(lambda: not window.answers.working, timeout=110_000)
    assert bench.live is not None
    trend, live = bench.trend, bench.live
    assert trend.hint.isVisible()
    live.set_speed(10)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    qtbot.waitUntil(lambda: trend.now > 2.0 and trend.panes.isVisible(), timeout=20_000)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert not live.running
    trend.choice.put("limits", on=True)
    assert lines_of(trend)["high"] == pytest.approx(4.30)  # as the sample says, in US gal
    window.document.edit("bands.high.limit", "4.40 gal")
    qtbot.waitUntil(lambda: lines_of(trend)["high"] == pytest.approx(4.40), timeout=20_000)
    words = [action.text().replace("&", "") for action in window.menus.edit_menu.actions()]
    assert words.index("Copy the values that are shown (CSV)") > words.index(
        "Copy the trend as a picture (PNG and SVG)"
    )
    with qtbot.waitSignal(trend.copies.told):
        next(one for one in window.menus.edit_menu.actions() if "CSV)" in one.text()).trigger()
    assert QGuiApplication.clipboard().text().startswith("time,set_point,pv,")
    QGuiApplication.clipboard().clear()
    window.close()


# Copies --------------------------------------------------------------------------------------------------------------


def test_the_values_in_view_are_copied_as_csv(qtbot: QtBot, trend: Trend, recording: Recording, tmp_path: Path) -> None:
    trend.span.look(100.0, 50.0)
    trend.redraw()
    with qtbot.waitSignal(trend.copies.told) as told:
        qtbot.keyClick(trend, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert told.args == ["✓ 501 rows are on the clipboard as CSV."]
    file = tmp_path / "pasted.csv"
    file.write_text(QGuiApplication.clipboard().text(), encoding="utf-8")
    table = read_csv(file)
    assert table.columns[0][0] == pytest.approx(100.0)
    assert table.columns[0][-1] == pytest.approx(150.0)
    assert len(table.names) > 10


def test_too_many_rows_for_the_clipboard_are_refused_in_words(
    qtbot: QtBot, trend: Trend, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("levelbench.gui.trend.copy.CLIPBOARD_ROWS", 100)
    QGuiApplication.clipboard().setText("what was there")
    with qtbot.waitSignal(trend.copies.told) as told:
        trend.copies.actions[1].trigger()
    assert "too many for the clipboard: save them, or zoom in" in told.args[0]
    assert QGuiApplication.clipboard().text() == "what was there"


def test_the_picture_goes_as_png_and_as_svg_in_the_colours_of_paper(qtbot: QtBot, trend: Trend) -> None:
    with qtbot.waitSignal(trend.copies.told):
        qtbot.keyClick(trend, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    held = QGuiApplication.clipboard().mimeData()
    image = QGuiApplication.clipboard().image()
    assert image.width() == 2 * trend.panes.width()
    assert image.pixelColor(1, 1) == QColor(theme.LIGHT.colour(theme.Role.CARD))
    root = ET.fromstring(held.data("image/svg+xml").data())
    words = {text.text for text in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"tank, US gal", "PV", "OP", "100 %", "2 min"} <= words
    title = "Seedling house nutrient day tank · loop L-310 · 0:00:00 to 0:10:00 of the run (h:min:s)"
    assert title in words
    assert root.findtext("{http://www.w3.org/2000/svg}title") == title
    assert not list(root.iter("{http://www.w3.org/2000/svg}image")), "lines, no pixels"


@pytest.mark.parametrize("kind", ["png", "svg", "csv"])
def test_what_is_shown_is_saved_in_the_form_that_the_name_asks_for(
    qtbot: QtBot, trend: Trend, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    file = tmp_path / f"shown.{kind}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(file), ""))
    with qtbot.waitSignal(trend.copies.told) as told:
        trend.copies.actions[2].trigger()
    assert told.args == [f"✓ Saved as shown.{kind}."]
    if kind == "png":
        assert QImage(str(file)).height() == 2 * (trend.panes.height() + STRIP)
    elif kind == "svg":
        assert ET.parse(file).getroot().tag == "{http://www.w3.org/2000/svg}svg"
    else:
        assert len(read_csv(file)) == 6000


def test_a_place_that_is_not_there_is_named(qtbot: QtBot, trend: Trend, tmp_path: Path) -> None:
    with qtbot.waitSignal(trend.copies.told) as told:
        trend.copies.save(tmp_path / "nowhere" / "shown.png")
    assert told.args[0].startswith("■ ")
    assert "nowhere" in told.args[0]


def test_a_long_save_shows_how_far_it_is_and_can_be_cancelled(
    qtbot: QtBot, trend: Trend, rig: Rig, tmp_path: Path
) -> None:
    """A day is run again and then written, some ten seconds in all; cancelled while it is written."""
    told: list[str] = []
    trend.copies.told.connect(told.append)
    trend.copies.past = lambda: Past(rig, 3, 1, 864_000, ())
    trend.span.look(0.0, 86_400.0)
    trend.redraw()
    file, line = tmp_path / "day.csv", trend.copies.line
    file.write_text("what was there", encoding="utf-8")
    trend.copies.save(file)
    assert not line.isVisible()
    qtbot.waitUntil(lambda: line.isVisible() and "writing" in line.words.text(), timeout=30_000)
    assert line.words.text() == "Saving day.csv: writing"
    assert 0 < line.bar.value() < line.bar.maximum()
    qtbot.mouseClick(line.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not line.isVisible())
    assert told == []
    assert [one.name for one in tmp_path.glob("*day*")] == ["day.csv"]
    assert list(tmp_path.glob(".*")) == []
    assert file.read_text(encoding="utf-8") == "what was there"


def test_a_save_is_of_the_run_that_was_shown_when_it_was_asked_for(
    qtbot: QtBot, trend: Trend, rig: Rig, recording: Recording, tmp_path: Path
) -> None:
    file = tmp_path / "before.csv"
    with qtbot.waitSignal(trend.copies.told) as told:
        trend.copies.save(file)
        trend.copies.past = lambda: Past(rig, 4, 1, 100, ())  # begun again before the job comes to work
    assert told.args == ["✓ Saved as before.csv."]
    table = read_csv(file)
    assert table["output"] == pytest.approx(100 * recording["output"])  # in %


def test_before_the_first_scan_there_is_nothing_to_copy(qtbot: QtBot, trend: Trend, rig: Rig) -> None:
    for nothing in (None, Past(rig, 0, 1, 0, ())):
        trend.copies.past = lambda nothing=nothing: nothing
        with qtbot.waitSignal(trend.copies.told) as told:
            trend.copies.copy_values()
        assert "Nothing has run yet" in told.args[0]
