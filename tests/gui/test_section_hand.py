"""The section moved and typed on: pointer, keys, editor, warnings, and whose the set point is."""

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton
from sections import drag, open_view, place_of

from levelbench.drawing.measure import text_box
from levelbench.drawing.scene import Polygon, Text
from levelbench.gui.section.canvas import MARGIN
from levelbench.gui.section.handles import handles, hint
from levelbench.gui.section.pane import SectionPane
from levelbench.gui.section.take import take
from levelbench.gui.section.view import SectionView
from levelbench.gui.section.warnings import warning
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
    return open_view(qtbot, rig)


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


@pytest.mark.parametrize("pixels", [-30, -12, 12, 30, 60])
def test_what_is_said_at_the_hand_never_covers_the_pv(view, pixels, monkeypatch):
    drag(view, place_of(view, HIGH), pixels, release=False)
    sheets = []
    monkeypatch.setattr("levelbench.gui.section.canvas.paint", lambda _painter, items, _palette: sheets.append(items))
    view.canvas.paint_held(None, *view.hand.said(view.moment))
    boxes = [item.points for item in sheets[-1] if isinstance(item, Polygon)]
    assert boxes
    pv = [text_box(item) for item in view.canvas.items if isinstance(item, Text) and item.tag == "pv"]
    for (x1, y1), _, (x2, y2), _ in boxes:
        assert not [one for one in pv if x1 < one[2] and one[0] < x2 and y1 < one[3] and one[1] < y2]


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


@pytest.mark.parametrize(
    ("to", "said"),
    [
        ("0.26 gal", ""),
        ("0.05 gal", "▲ It would never go again: its dead band, 0.05 US gal, is as wide as the limit itself."),
        ("0.052 gal", "▲ Once it has come, it goes only when the PV is within 0.00"),
        ("2.5 gal", "▲ At ± 2.50"),
    ],
)
def test_a_deviation_limit_is_warned_of_by_its_own_rule(rig, to, said):
    handle = handles(rig, lambda: rig.project.start.set_point.si)["bands.deviation.limit"]
    found = warning(rig, handle, read(to, Dimension.VOLUME).si)
    assert found.startswith(said)
    assert bool(found) == bool(said)


def test_a_wrong_order_elsewhere_is_not_laid_to_a_part_that_is_no_rung(rig):
    wrong = assemble(edit(rig.project, HIGH, "5.2 gal"))  # above high-high
    handle = handles(wrong, lambda: 0.0)["sensor.face_above_floor"]
    assert warning(wrong, handle, handle.value) == ""


def test_every_step_of_a_drag_is_told_and_giving_up_too(view, qtbot):
    steps = []
    view.tried.connect(lambda key, words: steps.append((key, words)))
    drag(view, place_of(view, HIGH), -20, release=False)
    assert len(steps) >= 2
    assert all(key == HIGH and words.endswith("gal") for key, words in steps)
    assert view.heard == []
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert steps[-1] == (HIGH, "")


def test_what_is_tried_elsewhere_stands_here_until_it_is_given_up(view):
    view.hand.propose(HIGH, "4.8 gal")
    level, words, warned = view.hand.said(view.moment)
    assert words.startswith("high limit 4.80")
    assert level == pytest.approx(view.hand.handles[HIGH].at(4.8 * 3.785411784e-3))  # US gal: NIST SP 811
    assert warned == ""
    view.hand.propose(HIGH, "5.5 gal")
    assert view.hand.warning.startswith("■ “high-high”")
    view.hand.propose(HIGH, "")
    assert view.hand.value is None
    assert view.heard == []


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


@pytest.mark.parametrize("typed", ["", "16 l"])
def test_who_goes_elsewhere_leaves_the_editor_and_keeps_the_keyboard_there(qtbot, rig, typed):
    heard = []
    pane = SectionPane(lambda key, words: heard.append((key, words)) or "")
    qtbot.addWidget(pane)
    pane.view.show_rig(rig)
    with qtbot.waitActive(pane):
        pane.show()
        pane.activateWindow()
    pane.grab()
    pane.view.choose(HIGH)
    pane.view.setFocus()
    qtbot.keyClick(pane.view, Qt.Key.Key_Return)
    box = pane.view.editor.field.boxes()[0]
    qtbot.keyClicks(box, typed)
    elsewhere = pane.findChildren(QPushButton)[0]
    elsewhere.setFocus()
    assert not pane.view.editor.isVisible()
    assert elsewhere.hasFocus()
    assert heard == ([(HIGH, "16 l")] if typed else [])


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


@pytest.mark.parametrize("key", [HIGH, "bands.low_low.limit"])
def test_the_editor_takes_the_room_of_a_long_reason(view, qtbot, key):
    view.hand.take = lambda _key, _words: "this can't be entered there, for a reason that takes its time; " * 4
    view.setFocus()
    view.choose(key)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    editor, field = view.editor, view.editor.field
    before = editor.height()
    qtbot.keyClicks(field.boxes()[0], "99 gal")
    qtbot.keyClick(field.boxes()[0], Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: editor.height() > before)
    assert field.reason.height() >= field.reason.heightForWidth(field.reason.width())
    assert field.reason.y() >= field.boxes()[0].geometry().bottom()
    assert view.rect().contains(editor.geometry())
    qtbot.keyClick(field.boxes()[0], Qt.Key.Key_Escape)


def test_a_set_point_let_go_in_a_run_is_tried_no_more(view):
    """The operator's entry edits nothing: no other rig comes that would say how things stand now."""
    steps = []
    view.tried.connect(lambda key, words: steps.append((key, words)))
    drag(view, place_of(view, "start.set_point"), -20)
    assert len(view.heard) == 1
    assert steps[-1] == ("start.set_point", "")


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


def test_the_tooltip_says_what_it_is_and_how_it_moves(view):
    words = hint(view.hand.handles[HIGH], view.hand.handles[HIGH].value)
    assert words.startswith("high limit 4.300 US gal")
    assert "one step is 0.005 US gal" in words
