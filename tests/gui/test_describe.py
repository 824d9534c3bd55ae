"""Describe, beyond plain fields: units from the list, tables, the stack light's grid, and the pictures."""

import pytest
import walk
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QTableWidget, QWidget
from pytestqt.qtbot import QtBot

from levelbench.drawing.meaning import PICTURES, draw
from levelbench.drawing.scene import Role
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import declaration
from levelbench.gui.fields.forms import Form
from levelbench.gui.fields.lamp_grid import LampGrid
from levelbench.gui.fields.table_field import TableField
from levelbench.gui.fields.unit_menu import UnitButton, in_words_of
from levelbench.gui.stages.describe import LIGHTS, NAMES, PARTS, Describe
from levelbench.project import sample
from levelbench.quantity import Dimension, read, units_of

# Qt's offscreen platform says so whenever a menu pops up; there is no screen, and nobody to keep the keyboard from.
pops_up = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
ENTER, ALT = Qt.Key.Key_Return, Qt.KeyboardModifier.AltModifier


@pytest.fixture
def card(qtbot: QtBot, document: Document) -> Describe:
    made = Describe(document)
    qtbot.addWidget(made)
    made.resize(392, 636)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    return made


def form_of(card: Describe, part: str) -> Form:
    card.buttons.button(NAMES.index(part)).click()
    (form,) = [one for one in card.findChildren(Form) if one.isVisible()]
    walk.until(lambda: form.whole)
    return form


def box_of(form: Form, key: str) -> QLineEdit:
    box = form.fields[key].boxes()[0]
    assert isinstance(box, QLineEdit)
    return box


def button_of(form: Form, key: str) -> UnitButton:
    (found,) = form.fields[key].findChildren(UnitButton)
    return found


def choose_unit(qtbot: QtBot, form: Form, key: str, words: str) -> None:
    """Open the list from the keyboard, walk to a line of it and take it."""
    qtbot.keyClick(box_of(form, key), Qt.Key.Key_Down, ALT)
    menu = button_of(form, key).menu_of_units
    assert menu is not None
    texts = [action.text() for action in menu.actions()]
    menu.setActiveAction(menu.actions()[texts.index(words)])
    qtbot.keyClick(menu, ENTER)


@pops_up
def test_a_unit_from_the_list_says_the_same_length(qtbot: QtBot, document: Document, card: Describe) -> None:
    form = form_of(card, "Tank")
    box_of(form, "tank.diameter").setFocus()
    choose_unit(qtbot, form, "tank.diameter", "304.8 mm")  # 1 in is 25.4 mm exactly (NIST SP 811, appendix B)
    qtbot.waitUntil(lambda: document.project.tank.diameter.text == "304.8 mm")  # type: ignore[union-attr]
    assert document.undo_stack.count() == 1
    assert card.focusWidget() is box_of(form, "tank.diameter")
    document.undo_stack.undo()
    assert box_of(form, "tank.diameter").text() == "12 in"


@pops_up
def test_a_bare_number_takes_its_unit_from_the_list(qtbot: QtBot, document: Document, card: Describe) -> None:
    form = form_of(card, "Tank")
    box = box_of(form, "tank.height")
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, "38,5")
    choose_unit(qtbot, form, "tank.height", "38,5 cm")
    qtbot.waitUntil(lambda: document.project.tank.height.text == "38,5 cm")  # type: ignore[union-attr]
    assert not form.fields["tank.height"].reason.isVisible()


@pops_up
def test_a_pair_changes_its_unit_together(qtbot: QtBot, document: Document, card: Describe) -> None:
    form = form_of(card, "Sensor")
    choose_unit(qtbot, form, "sensor.signal_span", "457.2 mm and 63.5 mm")  # 18 in and 2.5 in
    qtbot.waitUntil(lambda: document.project.sensor.signal_span[1].text == "63.5 mm")
    assert document.undo_stack.count() == 1


@pops_up
def test_what_can_not_be_read_is_not_offered_in_other_units(qtbot: QtBot, card: Describe) -> None:
    form = form_of(card, "Tank")
    box = box_of(form, "tank.diameter")
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, "twelve")
    qtbot.keyClick(box, Qt.Key.Key_Down, ALT)
    menu = button_of(form, "tank.diameter").menu_of_units
    assert menu is not None
    assert [one.isEnabled() for one in menu.actions()] == [False]
    menu.close()


@pytest.mark.parametrize("text", ["12 in", "1/16 in", "2,4 l", "0.9 gal", "750 %/US gal", "68 °F", "-12 in", "1e3 mm"])
def test_every_unit_on_the_list_means_the_same_value(text: str) -> None:
    dimension = next(one for one in Dimension if _reads(text, one))
    value = read(text, dimension)
    for unit in units_of(dimension):
        if dimension is Dimension.GAIN and unit == "%/%":
            continue  # a share of the span is no amount of volume
        assert read(in_words_of(value, unit), dimension).si == pytest.approx(value.si, rel=1e-13), unit


def _reads(text: str, dimension: Dimension) -> bool:
    try:
        return bool(read(text, dimension))
    except ValueError:
        return False


def table_of(form: Form, key: str) -> TableField:
    found = form.fields[key]
    assert isinstance(found, TableField)
    return found


def type_cell(qtbot: QtBot, field: TableField, at: int, cell: int, words: str) -> None:
    field.box.setCurrentCell(at, cell)
    field.box.edit(field.box.model().index(at, cell))
    (editor,) = [one for one in field.box.findChildren(QLineEdit) if one.isVisible()]
    editor.selectAll()
    qtbot.keyClicks(editor, words)
    qtbot.keyClick(editor, ENTER)
    qtbot.waitUntil(lambda: field.box.state() == QTableWidget.State.NoState)


def test_a_row_is_added_cell_by_cell_and_taken_up_when_complete(
    qtbot: QtBot, document: Document, card: Describe
) -> None:
    field = table_of(form_of(card, "Tank"), "tank.dead_wood")
    field.add.click()
    type_cell(qtbot, field, 1, 0, "heater")
    type_cell(qtbot, field, 1, 1, "1 in")
    assert document.undo_stack.count() == 0
    assert "row 2: to" in field.unfinished.text()
    type_cell(qtbot, field, 1, 3, "9 in")
    assert not field.unfinished.isVisible()
    assert [(one.name, one.bottom.text, one.top.text) for one in document.project.tank.dead_wood][1] == (
        "heater",
        "0 mm",
        "9 in",
    )
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == "set tank fittings in the liquid to 2 rows"
    field.box.setCurrentCell(1, 0)
    field.remove.click()
    assert [one.name for one in document.project.tank.dead_wood] == ["siphon's dip tube"]
    document.undo_stack.undo()
    assert field.box.rowCount() == 2


def test_a_refused_cell_stays_with_the_reason(qtbot: QtBot, document: Document, card: Describe) -> None:
    field = table_of(form_of(card, "Tank"), "tank.dead_wood")
    before = document.project
    type_cell(qtbot, field, 0, 1, "2 gal")
    assert field.reason.isVisible()
    assert field.reason.text().startswith("✗ ")
    assert field.box.item(0, 1).text() == "2 gal"
    assert document.project == before


def test_a_spreadsheet_is_pasted_with_decimal_commas_and_units_in_its_head(
    qtbot: QtBot, document: Document, card: Describe
) -> None:
    form = form_of(card, "Tank")
    shape = form.fields["tank.shape"].boxes()[0]
    shape.setFocus()
    while shape.currentText() != "own table":  # type: ignore[attr-defined]
        qtbot.keyClick(shape, Qt.Key.Key_Down)
    field = table_of(form, "tank.table")
    QGuiApplication.clipboard().setText("level (mm)\tvolume (l)\n0\t0\n100\t7,3\n250,5\t18,9\n400\t31\n")
    field.box.setFocus()
    qtbot.keyClick(field.box, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    table = document.project.tank.table
    assert [(level.text, volume.text) for level, volume in table][2] == ("250,5 mm", "18,9 l")
    assert table[2][0].si == pytest.approx(0.2505)
    assert document.project.tank.shape == "own table"
    assert document.undo_stack.count() == 1
    field.box.selectAll()
    qtbot.keyClick(field.box, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text().splitlines()[1] == "100 mm\t7,3 l"


def grid_of(card: Describe) -> LampGrid:
    assert card.go_to("stack_light")
    (grid,) = card.findChildren(LampGrid)
    return grid


def test_a_lamp_goes_on_with_space_one_undo_step_each(qtbot: QtBot, document: Document, card: Describe) -> None:
    grid, before = grid_of(card), document.project
    assert grid.grid.hasFocus()
    grid.grid.setCurrentCell(6, 1)  # low, yellow: steady
    assert grid.grid.item(6, 1).text() == "● on"
    qtbot.keyClick(grid.grid, Qt.Key.Key_Space)
    assert next(one for one in document.project.stack_light if one.state == "low").yellow == "flashing"
    assert grid.grid.item(6, 1).text() == "◐ flash"
    qtbot.keyClick(grid.grid, Qt.Key.Key_Space)
    assert next(one for one in document.project.stack_light if one.state == "low").yellow == "off"
    assert document.undo_stack.count() == 2
    assert document.undo_stack.undoText() == "set stack light, low: yellow to off"
    assert (grid.grid.currentRow(), grid.grid.currentColumn()) == (6, 1)
    grid.grid.setCurrentCell(6, 4)
    qtbot.keyClick(grid.grid, Qt.Key.Key_Space)
    assert next(one for one in document.project.stack_light if one.state == "low").horn
    for _ in range(3):
        document.undo_stack.undo()
    assert document.project == before


def test_the_stack_light_goes_back_to_what_is_assumed(qtbot: QtBot, document: Document, card: Describe) -> None:
    document.new_from(sample("parts_washer"))
    grid, written = grid_of(card), document.project.stack_light
    assert grid.back.isVisible()
    qtbot.mouseClick(grid.back, Qt.MouseButton.LeftButton)
    assert not grid.back.isVisible()
    assert "stack_light" not in document.project.text
    assert document.project.stack_light == written  # the sample writes out what is assumed anyway


def test_a_state_without_a_row_gets_one_when_a_lamp_is_lit(qtbot: QtBot, document: Document, card: Describe) -> None:
    document.adopt({"stack_light": [{"state": "normal", "green": "steady"}]}, "one state")
    grid = grid_of(card)
    qtbot.mouseClick(
        grid.grid.viewport(), Qt.MouseButton.LeftButton, pos=grid.grid.visualItemRect(grid.grid.item(5, 1)).center()
    )
    assert [(one.state, one.yellow) for one in document.project.stack_light] == [("high", "steady"), ("normal", "off")]


def test_the_picture_lights_the_entry_in_hand(qtbot: QtBot, document: Document, card: Describe) -> None:
    form = form_of(card, "Tank")
    assert card.picture.isVisible()
    box_of(form, "tank.rim_to_spill").setFocus()
    assert card.picture.lit == "tank.rim_to_spill"
    assert "spill below the rim" in card.picture.accessibleDescription()
    document.edit_several({"tank.shape": "box", "tank.length": "12 in", "tank.width": "11 in", "tank.diameter": None})
    assert card.picture.picture is not None
    assert card.picture.picture.title.startswith("box")
    form_of(card, "Job")
    assert not card.picture.isVisible()


@pytest.mark.parametrize("picture", PICTURES, ids=lambda one: one.title)
def test_every_mark_is_lit_within_its_picture(picture: object) -> None:
    one = next(found for found in PICTURES if found is picture)
    plain = draw(one, "", "", 300.0, 11.0)
    assert not any(getattr(item, "role", None) is Role.SELECTION for item in plain.items)
    for key in one.marks:
        scene = draw(one, key, declaration(key).label, 300.0, 11.0)
        lit = [item for item in scene.items if getattr(item, "role", None) is Role.SELECTION]
        assert len(lit) >= 2, key  # the name, and what it names
        for item in scene.items:
            points = getattr(item, "points", ()) or (getattr(item, "start", (0, 0)), getattr(item, "end", (0, 0)))
            assert all(-8 <= x <= 308 and -8 <= y <= scene.height + 1 for x, y in points), (key, item)


def test_every_length_of_a_part_has_its_picture() -> None:
    pictured = {key for picture in PICTURES for key in picture.marks}
    lengths = {
        key
        for part in ("Tank", "Reservoir", "Pump", "Drain", "Sensor", "Switch")
        for key in PARTS[part]
        if declaration(key).dimension is Dimension.LENGTH
    }
    assert lengths <= pictured


# Made a few fields at a time ----------------------------------------------------------------------------------------


def test_a_part_that_was_pressed_comes_field_by_field_and_an_entry_at_once(card: Describe) -> None:
    card.buttons.button(NAMES.index("Sensor")).click()
    (form,) = [one for one in card.findChildren(Form) if one.isVisible()]
    assert card.go_to("sensor.update")
    assert form.fields["sensor.update"].isVisible()
    walk.until(lambda: form.whole)
    assert list(form.fields) == list(PARTS["Sensor"])


def test_parts_that_nobody_asked_for_are_made_when_it_is_quiet(card: Describe) -> None:
    walk.until(lambda: set(card.findChildren(LampGrid)) != set() and len(card.findChildren(Form)) == len(PARTS))
    walk.until(lambda: all(form.whole for form in card.findChildren(Form)))
    assert [one for one in card.findChildren(Form) if one.isVisible()] == [form_of(card, "Tank")]


def test_the_tab_key_goes_down_a_form_that_was_made_a_few_fields_at_a_time(card: Describe) -> None:
    form = form_of(card, "Reservoir")
    boxes = [box for field in form.fields.values() for box in field.boxes()]
    boxes[0].setFocus()
    reached = [one for one in tabbed(card, boxes[-1]) if one in boxes]
    assert [boxes[0], *reached] == boxes


def test_the_tab_key_reaches_each_unit_button_after_its_box(card: Describe) -> None:
    form = form_of(card, "Tank")
    for key in ("tank.diameter", "tank.height"):
        box = box_of(form, key)
        box.setFocus()
        assert tabbed(card, button_of(form, key)) == [button_of(form, key)]
        QTest.keyClick(button_of(form, key), Qt.Key.Key_Backtab)
        assert card.focusWidget() is box


@pops_up
@pytest.mark.parametrize("key", [Qt.Key.Key_Space, ENTER, Qt.Key.Key_Down])
def test_a_unit_is_chosen_from_its_button_with_the_keys_alone(
    qtbot: QtBot, document: Document, card: Describe, key: Qt.Key
) -> None:
    form = form_of(card, "Tank")
    box = box_of(form, "tank.height")
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, "38,5")
    qtbot.keyClick(box, Qt.Key.Key_Tab)
    assert form.fields["tank.height"].reason.isVisible()  # a number alone is refused, and stays
    unit = button_of(form, "tank.height")
    assert unit.hasFocus()
    qtbot.keyClick(unit, key)
    menu = unit.menu_of_units
    assert menu is not None
    assert menu.isVisible()
    texts = [action.text() for action in menu.actions()]
    for _ in range(texts.index("38,5 cm")):
        qtbot.keyClick(menu, Qt.Key.Key_Down)
    qtbot.keyClick(menu, ENTER)
    qtbot.waitUntil(lambda: document.project.tank.height.text == "38,5 cm")  # type: ignore[union-attr]
    assert not form.fields["tank.height"].reason.isVisible()
    assert card.focusWidget() is box


def tabbed(window: QWidget, last: QWidget) -> list[QWidget]:
    """Press Tab until it reaches a widget, and give all that it reached."""
    reached: list[QWidget] = []
    while last not in reached and len(reached) < 300:
        before = QApplication.focusWidget()
        assert before is not None
        QTest.keyClick(before, Qt.Key.Key_Tab)
        now = QApplication.focusWidget()
        assert now is not None
        reached.append(now)
    return reached


@pytest.mark.parametrize("part", ["Sensor", LIGHTS])
def test_the_tab_key_reaches_a_part_after_the_names_and_before_the_neighbour(
    qtbot: QtBot, document: Document, part: str
) -> None:
    """However late the part is made: the neighbour stands for all that comes after the card in the window."""
    host, neighbour = QWidget(), QLineEdit()
    card = Describe(document)
    layout = QHBoxLayout(host)
    layout.addWidget(card)
    layout.addWidget(neighbour)
    qtbot.addWidget(host)
    host.show()
    card.buttons.button(NAMES.index(part)).click()
    walk.until(lambda: all(form.whole for form in card.findChildren(Form) if form.isVisible()))
    with qtbot.waitActive(host):
        host.activateWindow()
    card.buttons.button(NAMES.index(part)).setFocus()
    reached = tabbed(card, neighbour)[:-1]
    (shown,) = [one for one in (*card.findChildren(Form), *card.findChildren(LampGrid)) if one.isVisible()]
    assert reached
    assert all(shown.isAncestorOf(one) for one in reached)
