"""The section on the screen: drawn in the right place and colour, and dragged in whole steps."""

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication

from levelbench.drawing.scene import Circle, Line, Polygon, Role, Text
from levelbench.gui import theme
from levelbench.gui.section_canvas import MARGIN
from levelbench.gui.section_handles import hint
from levelbench.gui.section_paint import distance, tag_at
from levelbench.gui.section_view import SectionView
from levelbench.project import edit, load, sample
from levelbench.quantity import Dimension, read
from levelbench.rig import assemble

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
