"""The section on the screen: drawn in the right place and colour, seen from near and far, taken out of the window."""

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pypdfium2 import PdfDocument
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QWheelEvent
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication, QFileDialog, QPushButton
from sections import drag, open_view

from levelbench.drawing.frame import Fit
from levelbench.drawing.scene import Circle, Line, Polygon, Role, Text
from levelbench.drawing.state import start_state
from levelbench.gui import dialogs
from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.look import theme
from levelbench.gui.section import output as section_output
from levelbench.gui.section.canvas import MARGIN
from levelbench.gui.section.keys import drawing_of
from levelbench.gui.section.paint import distance, tag_at
from levelbench.gui.section.pane import SectionPane
from levelbench.gui.section.state import Moment
from levelbench.project import load, sample
from levelbench.rig import assemble
from levelbench.rig.panel import ALARM_NAMES
from levelbench.rig.recording import COLUMNS

pytestmark = pytest.mark.gui

HIGH = "bands.high.limit"


@pytest.fixture(scope="module")
def rig():
    return assemble(load(sample("seedling_house")))


@pytest.fixture
def view(qtbot, rig):
    return open_view(qtbot, rig)


def framed(view):
    """The corners of the frame about what the keys act on: the box of what keyboard focus alone paints."""
    view.setFocus()
    there = view.grab().toImage()
    view.clearFocus()
    gone = view.grab().toImage()  # held as long as its bits are read
    bits = [np.frombuffer(one.constBits(), np.uint32) for one in (there, gone)]
    y, x = np.nonzero((bits[0] != bits[1]).reshape(there.height(), there.width()))
    return x.min(), y.min(), x.max(), y.max()


@pytest.mark.parametrize("key", [HIGH, "start.set_point", ""])
def test_what_the_keys_act_on_is_seen(view, key):
    view.choose(key)
    left, top, right, low = framed(view)
    if not key:  # nothing is chosen yet: the keys act on the whole drawing
        assert (right - left, low - top) > (0.9 * view.width(), 0.9 * view.height())
        return
    place = view.canvas.place_of(key)
    assert left < place.x() < right < left + 200
    assert top < place.y() < low < top + 30


def test_keys_zoom_move_and_fit_again(view, qtbot):
    fitted = view.canvas.frame
    qtbot.keyClick(view, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    view.grab()
    assert view.canvas.frame.scale == pytest.approx(1.25 * fitted.scale)
    middle = fitted.profile.rim / 2  # what it is zoomed about stays
    assert view.canvas.frame.y(middle) == pytest.approx(fitted.y(middle))
    qtbot.keyClick(view, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    view.grab()
    assert view.canvas.frame.y(middle) == pytest.approx(fitted.y(middle) - 40)
    qtbot.keyClick(view, Qt.Key.Key_0, Qt.KeyboardModifier.ControlModifier)
    view.grab()
    assert view.canvas.frame == fitted


def test_the_wheel_zooms_about_the_pointer(view):
    frame = view.canvas.frame
    at = QPointF(frame.middle + MARGIN, frame.y(0.1))
    wheel = QWheelEvent(
        at, view.mapToGlobal(at), QPoint(), QPoint(0, 240), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(view, wheel)
    view.grab()
    assert view.canvas.frame.scale == pytest.approx(1.25**2 * frame.scale)
    assert view.canvas.frame.y(0.1) == pytest.approx(frame.y(0.1))


def test_dragging_empty_ground_moves_the_drawing(view):
    frame = view.canvas.frame
    drag(view, QPoint(view.width() - 60, view.height() - 20), -60)
    view.grab()
    assert view.canvas.frame.floor == pytest.approx(frame.floor - 60)
    drag(view, QPoint(view.width() - 60, view.height() - 20), -5000)
    view.grab()
    assert view.canvas.frame.basin.floor > 0  # something of the rig stays in sight


def test_all_is_fitted_with_the_reservoir_or_the_tank_alone(view):
    view.fit(Fit.ALL)
    view.grab()
    whole = view.canvas.frame
    assert whole.basin.floor < view.height()
    assert "true height" in view.sight.words
    view.fit(Fit.TANK)
    view.grab()
    assert view.canvas.frame.scale > whole.scale
    assert "reservoir further down" in view.sight.words


def seen(rig, time, pump_flow):
    """One moment as a live run hands it over."""
    names = [column.name for column in COLUMNS]
    row = np.zeros((1, len(names)))
    row[0, names.index("time")], row[0, names.index("pump_flow")] = time, pump_flow
    return LiveView(row, (), float("nan"), 0.35, rig.project.start.set_point.si, 1.0, (0.0,) * len(ALARM_NAMES))


def test_marks_travel_while_it_flows_and_stand_while_it_is_paused_or_dry(rig):
    moment = Moment()
    moment.start(start_state(rig), rig.scan)
    flow = rig.project.pump.largest_flow.si
    ways, begun = [], []
    for time, pump_flow in ((rig.scan, flow), (1.0, flow), (1.0, flow), (1.1, flow / 2), (1.2, 0.0)):
        moment.follow(seen(rig, time, pump_flow))
        ways.append(moment.state.fill_way)
        begun.append(moment.begun)
    steps = np.diff([0.0, *ways])
    assert steps[0] > 0
    assert steps[2] == steps[4] == 0.0
    assert steps[3] == pytest.approx(steps[1] / 2)
    assert begun == [False, True, True, True, True]  # the first scan only shows how things stand


def test_the_marks_are_drawn_where_it_flows(view, rig):
    view.moment.follow(seen(rig, 1.0, rig.project.pump.largest_flow.si))
    view.grab()
    drawn = [item for item in view.canvas.items if isinstance(item, Polygon) and item.fill is Role.WATER_LINE]
    assert {item.tag for item in drawn} >= {"pump"}
    assert "drain.inlet_above_floor" not in {item.tag for item in drawn}  # nothing drains at this moment


def test_a_scene_goes_to_the_clipboard_as_svg_and_png(view, qtbot, rig):
    with qtbot.waitSignal(view.seen):
        qtbot.keyClick(view, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    data = QApplication.clipboard().mimeData()
    svg = bytes(data.data("image/svg+xml").data()).decode()
    assert "reservoir" in svg
    assert ET.fromstring(svg).tag.endswith("svg")
    image = QImage.fromData(data.data("image/png"))
    assert image.width() == round(section_output.FINE * section_output.WIDE)
    assert data.hasImage()
    QApplication.clipboard().clear()


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_it_is_saved_as_what_its_name_says(view, qtbot, tmp_path, monkeypatch, kind):
    name, begins = f"tank.{kind}", {"svg": b"<?xml", "png": b"\x89PNG"}[kind]
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / name), ""))
    saved = []
    section_output.ask_save(drawing_of(view), view, lambda: saved.append(name))
    qtbot.waitUntil(lambda: saved == [name])
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_a_place_that_can_t_be_written_is_told(view, qtbot, tmp_path, monkeypatch):
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "none" / "tank.svg"), ""))
    told = []
    monkeypatch.setattr(dialogs, "show_trouble", lambda _parent, what, error: told.append((what, str(error))))
    section_output.ask_save(drawing_of(view), view, lambda: told.append("saved"))
    qtbot.waitUntil(lambda: bool(told))
    ((what, why),) = told
    assert what == "Not saved"
    assert "tank.svg" in why or "none" in why


@pytest.mark.parametrize(("paper", "size"), [("A4", (842, 595)), ("Letter", (792, 612))])  # pt; ISO 216, ANSI Y14.1
def test_it_is_printed_on_one_page_of_the_sheets_paper_with_its_title(view, tmp_path, paper, size):
    scene = drawing_of(view)
    assert scene.width > scene.height
    printer = section_output.printer_for(scene, paper)
    assert ":" not in printer.docName()  # a file is called so, on any system
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "section.pdf"))
    assert section_output.print_on(printer, scene)
    pages = PdfDocument(tmp_path / "section.pdf")
    assert len(pages) == 1
    page = pages[0]
    assert page.get_size() == pytest.approx(size, abs=1)
    words = page.get_textpage()
    assert "set point" in words.get_text_bounded()
    assert words.get_text_bounded(0, 0, size[0], 60).strip() == scene.title  # at the foot, under the drawing
    boxes = [words.get_charbox(at) for at in range(words.count_chars())]
    least = 11.5 * 72 / 25.4  # a printer's own edge is some 4 mm
    assert min(min(box[0], box[1]) for box in boxes) > least
    assert max(box[2] for box in boxes) < size[0] - least
    pages.close()


def test_the_buttons_over_the_drawing_do_what_they_say(qtbot, rig):
    pane = SectionPane(lambda _key, _words: "")
    qtbot.addWidget(pane)
    pane.resize(700, 460)
    pane.view.show_rig(rig)
    pane.show()
    pane.grab()
    before = pane.view.canvas.frame.scale
    buttons = {one.text(): one for one in pane.findChildren(QPushButton)}
    assert all(one.toolTip() and one.accessibleName() for one in buttons.values())
    buttons["+"].click()
    pane.grab()
    assert pane.view.canvas.frame.scale > before
    assert pane.seen.text().startswith("1.2 ×")
    buttons["Fit all"].click()
    pane.grab()
    assert pane.seen.text() == "all at true height and width"
    buttons["Copy"].click()
    qtbot.waitUntil(lambda: pane.seen.text() == "✓ copied whole")
    assert QApplication.clipboard().mimeData().hasFormat("image/svg+xml")
    QApplication.clipboard().clear()
    assert pane.quiet.remainingTime() > 1000
    pane.quiet.start(1)  # the wait cut short
    qtbot.waitUntil(lambda: pane.seen.text() == "all at true height and width")
    assert not pane.quiet.isActive()


@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=lambda look: look.name)
def test_liquid_stands_as_high_as_its_level_in_both_themes(view, qapp, look):
    theme.apply(qapp, look)
    try:
        image = view.grab().toImage()
        frame, level = view.canvas.frame, view.moment.state.level
        x = round(frame.left + 20) + MARGIN
        ratio = image.devicePixelRatio()
        wet = image.pixelColor(round(x * ratio), round((frame.y(level) + 12) * ratio)).name()
        dry = image.pixelColor(round(x * ratio), round((frame.y(level) - 8) * ratio)).name()
        assert wet == look.colour(Role.LIQUID)
        assert dry == look.colour(Role.PAPER)
    finally:
        theme.apply(qapp, theme.LIGHT)


def test_the_nearest_shape_is_found_the_upper_one_first():
    items = [
        Line((0, 10), (100, 10), tag="line"),
        Polygon(((40, 0), (60, 0), (60, 20), (40, 20)), tag="box"),
        Circle((200, 10), 5, tag="circle"),
        Text((300, 10), "words", 10, tag="text"),
    ]
    assert tag_at(items, (10, 13), 5) == "line"
    assert tag_at(items, (50, 10), 5) == "box"
    assert tag_at(items, (207, 10), 5) == "circle"
    assert tag_at(items, (305, 8), 5) == "text"
    assert tag_at(items, (10, 30), 5) == ""
    assert distance(items[0], (103, 14)) == pytest.approx(5)  # 3-4-5
