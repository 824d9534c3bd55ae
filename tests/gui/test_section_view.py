"""The section on the screen: drawn in the right place and colour, and dragged in whole steps."""

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from pypdfium2 import PdfDocument
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication, QFileDialog, QPushButton

from levelbench.drawing.frame import Fit
from levelbench.drawing.scene import Circle, Line, Polygon, Role, Text
from levelbench.drawing.state import start_state
from levelbench.gui import dialogs, section_output, theme
from levelbench.gui.live_pacer import LiveView
from levelbench.gui.section_canvas import MARGIN
from levelbench.gui.section_handles import handles, hint
from levelbench.gui.section_keys import drawing_of
from levelbench.gui.section_paint import distance, tag_at
from levelbench.gui.section_pane import SectionPane
from levelbench.gui.section_state import Moment
from levelbench.gui.section_take import take
from levelbench.gui.section_view import SectionView
from levelbench.gui.section_warnings import warning
from levelbench.project import edit, load, sample
from levelbench.quantity import Dimension, read
from levelbench.rig import assemble
from levelbench.rig.recording import COLUMNS

pytestmark = pytest.mark.gui

HIGH = "bands.high.limit"


@pytest.fixture(scope="module")
def rig():
    return assemble(load(sample("seedling_house")))


@pytest.fixture
def view(qtbot, rig):
    one = SectionView(lambda key, typed: one.heard.append((key, typed)) or "")
    qtbot.addWidget(one)
    one.resize(900, 560)
    one.show_rig(rig)
    one.show()
    one.grab()
    one.heard = []
    return one


def place_of(view, key):
    """Where the line of an entry can be taken hold of: just right of the tank's middle."""
    handle = view.hand.handles[key]
    frame = view.canvas.frame
    return QPoint(round(frame.middle + 60) + MARGIN, round(frame.y(handle.at(handle.value))))


def drag(view, place, by, release=True):
    """Press, move in two steps, and let go."""
    points = [place, place + QPoint(0, by // 2), place + QPoint(0, by)]
    kinds = [QEvent.Type.MouseButtonPress, QEvent.Type.MouseMove, QEvent.Type.MouseMove]
    if release:
        points.append(points[-1])
        kinds.append(QEvent.Type.MouseButtonRelease)
    for kind, point in zip(kinds, points, strict=True):
        at = QPointF(point)
        held = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseButtonRelease else Qt.MouseButton.LeftButton
        button = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseMove else Qt.MouseButton.LeftButton
        event = QMouseEvent(kind, at, view.mapToGlobal(at), button, held, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(view, event)


def test_dragging_a_limit_says_what_would_be_typed_in_steps_of_the_honest_resolution(view, rig):
    drag(view, place_of(view, HIGH), -20)
    ((key, typed),) = view.heard
    assert key == HIGH
    volume = read(typed, Dimension.VOLUME).si
    step = view.hand.handles[HIGH].step
    assert volume > rig.project.bands.high.limit.si
    assert volume / step == pytest.approx(round(volume / step), abs=1e-6)
    frame = view.canvas.frame
    by_pixels = rig.strapping.volume_at(rig.strapping.level_at(rig.project.bands.high.limit.si) + 20 / frame.scale)
    assert volume == pytest.approx(float(by_pixels), abs=step)


def test_what_was_dragged_can_be_typed_into_the_project(view, rig):
    drag(view, place_of(view, HIGH), -12)
    ((key, typed),) = view.heard
    after = edit(rig.project, key, typed)
    assert after.bands.high.limit.text == typed


def test_escape_puts_it_back(view, qtbot):
    drag(view, place_of(view, HIGH), -20, release=False)
    assert view.hand.value is not None
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    drag(view, place_of(view, HIGH) - QPoint(0, 150), 0)
    assert view.hand.value is None
    assert view.heard == []


def test_a_press_without_a_move_only_chooses(view):
    chosen = []
    view.selected.connect(chosen.append)
    drag(view, place_of(view, HIGH), 0)
    assert chosen == [HIGH]
    assert view.heard == []


def test_the_set_point_stays_within_the_operators_limits(view, rig):
    drag(view, place_of(view, "start.set_point"), -200)
    ((key, typed),) = view.heard
    assert key == "start.set_point"
    assert read(typed, Dimension.VOLUME).si == pytest.approx(rig.project.loop_settings.set_point_high.si, rel=1e-6)


def test_the_keyboard_does_all_of_it(view, qtbot, rig):
    view.choose(HIGH)
    qtbot.keyClick(view, Qt.Key.Key_Up)
    qtbot.keyClick(view, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    step = view.hand.handles[HIGH].step
    limit = rig.project.bands.high.limit.si
    moved = [read(typed, Dimension.VOLUME).si for _, typed in view.heard]
    assert moved == pytest.approx([limit + step, limit - 10 * step])
    chosen = []
    view.selected.connect(chosen.append)
    for _ in range(len(view.hand.handles)):
        qtbot.keyClick(view, Qt.Key.Key_Right)
    assert sorted(chosen) == sorted(view.hand.handles)


def test_the_switch_moves_in_steps_of_its_own_unit(view, rig):
    view.choose("overflow_switch.trips_at")
    view.keyPressEvent(_key(Qt.Key.Key_Up))
    ((key, typed),) = view.heard
    assert key == "overflow_switch.trips_at"
    assert typed == "12.0625 in"  # the sample's switch trips at 12 in; one step is a sixteenth


def _key(key):
    return QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier)


def test_tab_goes_through_every_handle_and_then_on(view, qtbot):
    view.setFocus()
    assert view.hand.chosen == ""
    reached = []
    for _ in view.hand.handles:
        qtbot.keyClick(view, Qt.Key.Key_Tab)
        reached.append(view.hand.chosen)
    assert reached == list(view.hand.handles)
    assert view.accessibleName().endswith(view.hand.handle.words + " " + view.hand.handle.typed(view.hand.handle.value))
    qtbot.keyClick(view, Qt.Key.Key_Backtab)
    assert view.hand.chosen == reached[-2]


def test_every_part_that_has_a_height_can_be_moved(view):
    assert {
        "sensor.face_above_floor",
        "overflow_switch.trips_at",
        "drain.inlet_above_floor",
        "bands.high_high.limit",
        "bands.high.limit",
        "bands.low.limit",
        "bands.low_low.limit",
        "bands.deviation.limit",
        "loop_settings.set_point_low",
        "loop_settings.set_point_high",
        "start.set_point",
    } == set(view.hand.handles)


@pytest.mark.parametrize(
    ("key", "one_up"),
    [("sensor.face_above_floor", "18.0625 in"), ("drain.inlet_above_floor", "1.5625 in")],
)
def test_heights_move_by_a_sixteenth_of_an_inch(view, qtbot, key, one_up):
    view.choose(key)
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.heard == [(key, one_up)]


def test_heights_in_millimetres_move_by_one(qtbot):
    heard = []
    one = SectionView(lambda key, typed: heard.append((key, typed)) or "")
    qtbot.addWidget(one)
    one.show_rig(assemble(load(sample("parts_washer"))))
    one.choose("overflow_switch.trips_at")
    qtbot.keyClick(one, Qt.Key.Key_Down)
    assert heard == [("overflow_switch.trips_at", "404 mm")]


@pytest.mark.parametrize("end", [1, -1])
def test_both_ends_of_the_deviation_bracket_widen_it(view, rig, end):
    limit = rig.project.bands.deviation.limit.si
    start = rig.project.start.set_point.si
    view.zoom(6, (view.canvas.frame.middle, view.canvas.frame.y(rig.strapping.level_at(start))))
    view.grab()
    frame = view.canvas.frame
    (x, y) = next(
        item.points[0]
        for item in view.canvas.items
        if item.tag == "bands.deviation.limit"
        and isinstance(item, Polygon)
        and (item.points[0][1] < frame.y(rig.strapping.level_at(start))) == (end > 0)
    )
    drag(view, QPoint(round(x) + 4 + MARGIN, round(y) + 4), -20 * end)
    ((key, typed),) = view.heard
    assert key == "bands.deviation.limit"
    assert read(typed, Dimension.VOLUME).si > limit


def test_a_limit_over_its_neighbour_is_warned_of_while_it_moves(view):
    place = place_of(view, HIGH)
    drag(view, place, -6, release=False)
    assert view.hand.warning == ""
    high_high = view.hand.handles["bands.high_high.limit"]
    over = view.canvas.frame.y(high_high.at(high_high.value)) - place.y() - 6
    drag(view, place, round(over), release=False)
    assert view.hand.warning.startswith("■ “high-high” at 5.000 US gal is not above “high” at 5.")
    assert view.heard == []  # it is said before anything was taken


def test_a_limit_too_close_to_its_neighbour_is_warned_of(rig):
    handle = handles(rig, lambda: rig.project.start.set_point.si)[HIGH]
    close = rig.project.bands.high_high.limit.si - 0.02 * 3.785e-3  # its dead band is 0.05 gal
    assert warning(rig, handle, close).startswith("▲ From high to high-high there are 0.020 US gal")
    assert warning(rig, handle, handle.value) == ""


def test_a_sensor_lowered_into_the_tank_is_warned_of(rig):
    handle = handles(rig, lambda: 0.0)["sensor.face_above_floor"]
    assert warning(rig, handle, handle.value) == ""
    assert warning(rig, handle, 12 * 0.0254)[0] in "■▲"


def test_enter_types_the_value_beside_it(view, qtbot, rig):
    view.setFocus()
    view.choose(HIGH)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    box = view.editor.field.boxes()[0]
    assert view.editor.isVisible()
    assert box.text() == rig.project.bands.high.limit.text
    assert view.rect().contains(view.editor.geometry())
    box.clear()
    qtbot.keyClicks(box, "16 l")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert view.heard == [(HIGH, "16 l")]
    assert not view.editor.isVisible()
    assert view.hasFocus()


def test_escape_closes_the_editor_and_changes_nothing(view, qtbot):
    view.setFocus()
    view.choose(HIGH)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    box = view.editor.field.boxes()[0]
    qtbot.keyClicks(box, "99")
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    assert not view.editor.isVisible()
    assert view.heard == []


def test_a_refused_text_stays_with_its_reason(view, qtbot):
    view.hand.take = lambda _key, _words: "too much"
    view.setFocus()
    view.choose(HIGH)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = view.editor.field
    qtbot.keyClicks(field.boxes()[0], "99 gal")
    qtbot.keyClick(field.boxes()[0], Qt.Key.Key_Return)
    assert view.editor.isVisible()
    assert field.reason.text() == "✗ too much"
    assert field.boxes()[0].text() == "99 gal"
    qtbot.keyClick(field.boxes()[0], Qt.Key.Key_Escape)


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
    return LiveView(row, (), float("nan"), 0.35, rig.project.start.set_point.si, 1.0)


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


def test_it_is_printed_on_one_page(view, tmp_path):
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "section.pdf"))
    assert section_output.print_on(printer, drawing_of(view))
    pages = PdfDocument(tmp_path / "section.pdf")
    assert len(pages) == 1
    assert "set point" in pages[0].get_textpage().get_text_bounded()
    pages.close()


def test_the_set_point_is_the_file_s_before_a_run_and_the_operator_s_from_then_on(document, rig):
    entered = []
    assert take(document, None, "start.set_point", "3.25 gal") == ""
    assert document.project.start.set_point.text == "3.25 gal"
    assert document.undo_stack.count() == 1
    assert take(document, entered.append, "start.set_point", "3.5 gal") == ""
    assert entered == [pytest.approx(3.5 * 3.785411784e-3)]  # the US gallon is 3.785411784 l exactly (NIST SP 811)
    assert document.undo_stack.count() == 1
    refusal = take(document, entered.append, "start.set_point", "6 gal")
    assert refusal == "The operator can enter 2.00 US gal to 4.00 US gal."
    assert len(entered) == 1
    assert "number" in take(document, entered.append, "start.set_point", "much").lower()
    document.undo_stack.undo()
    assert document.project == rig.project


def test_the_tooltip_tells_which_set_point_it_is(view):
    handle = view.hand.handles["start.set_point"]
    assert "kept in the file" in hint(handle, handle.value, operating=False)
    assert "operator's entry" in hint(handle, handle.value, operating=True)


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


def test_the_tooltip_says_what_it_is_and_how_it_moves(view):
    words = hint(view.hand.handles[HIGH], view.hand.handles[HIGH].value)
    assert words.startswith("high limit 4.300 US gal")
    assert "one step is 0.005 US gal" in words


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
