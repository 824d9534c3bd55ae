"""Fields and forms as a person uses them: type, press Enter, read what stands there."""

import time
from collections.abc import Callable

import pytest
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.field import Field
from levelbench.gui.fields.forms import LATER, Form
from levelbench.gui.fields.understood import NO_BREAK
from levelbench.gui.stages import describe
from levelbench.gui.stages.describe import PARTS
from levelbench.project import Value, sample

ENTER, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Escape
LOOP = ("loop_settings.form", "loop_settings.gain", "loop_settings.integral", "loop_settings.derivative")
MakeForm = Callable[..., Form]


@pytest.fixture
def form_of(qtbot: QtBot, document: Document) -> MakeForm:
    def make(keys: tuple[str, ...]) -> Form:
        made = Form(document, keys)
        qtbot.addWidget(made)
        made.resize(390, 600)
        with qtbot.waitActive(made):
            made.show()
            made.activateWindow()
        return made

    return make


def box_of(form: Form, key: str, at: int = 0) -> QLineEdit:
    box = form.fields[key].boxes()[at]
    assert isinstance(box, QLineEdit)
    return box


def type_into(qtbot: QtBot, box: QLineEdit, words: str, *, enter: bool = True) -> None:
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, words)
    if enter:
        qtbot.keyClick(box, ENTER)


def choose(qtbot: QtBot, box: QWidget, words: str) -> None:
    assert isinstance(box, QComboBox)
    box.setFocus()
    while box.currentText() != words:
        before = box.currentText()
        qtbot.keyClick(box, Qt.Key.Key_Down)
        assert box.currentText() != before, f"there is no {words}"


def said(field: Field) -> str:
    return field.reason.text() if field.reason.isVisible() else ""


def test_enter_makes_one_undo_step(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(LOOP)
    type_into(qtbot, box_of(form, "loop_settings.gain"), "5.5")
    assert document.project.loop_settings.gain.text == "5.5"  # type: ignore[union-attr]
    assert document.undo_stack.undoText() == "set gain to 5.5"
    assert document.undo_stack.count() == 1
    document.undo_stack.undo()
    assert box_of(form, "loop_settings.gain").text() != "5.5"


def test_leaving_the_box_hands_it_in_once(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(LOOP)
    box = box_of(form, "loop_settings.gain")
    type_into(qtbot, box, "5.5", enter=False)
    assert document.undo_stack.count() == 0
    qtbot.keyClick(box, Qt.Key.Key_Tab)
    assert document.undo_stack.count() == 1
    type_into(qtbot, box, "5.6")
    qtbot.keyClick(box, Qt.Key.Key_Tab)
    assert document.undo_stack.count() == 2


@pytest.mark.parametrize(
    ("words", "other"),
    [
        ("12 in", "= 304.8 mm"),  # 1 in is 25.4 mm exactly (NIST SP 811, appendix B)
        ("304,8 mm", "= 12.00 in"),  # a decimal comma
        ("1 ft", "= 304.8 mm"),  # 1 ft is 0.3048 m exactly (NIST SP 811, appendix B)
    ],
)
def test_any_unit_is_taken_and_said_in_the_other_system(
    qtbot: QtBot, document: Document, form_of: MakeForm, words: str, other: str
) -> None:
    form = form_of(("tank.diameter",))
    type_into(qtbot, box_of(form, "tank.diameter"), words)
    assert form.fields["tank.diameter"].beside.text() == other
    assert document.project.tank.diameter.text == words  # type: ignore[union-attr]
    assert document.project.tank.diameter.si == pytest.approx(0.3048)  # type: ignore[union-attr]


def test_a_gallon_is_said_to_be_the_us_gallon(qtbot: QtBot, form_of: MakeForm) -> None:
    form = form_of(("reservoir.capacity",))
    type_into(qtbot, box_of(form, "reservoir.capacity"), "10 gal")
    # 1 US gal is 3.785412 l (NIST SP 811, appendix B)
    assert form.fields["reservoir.capacity"].beside.text() == f"US gal, 37.85{NO_BREAK}l"


@pytest.mark.parametrize("words", ["12", "12 gal", "-3 in", "0 in", "99 ft", "twelve"])
def test_a_refused_text_stays_with_the_reason_beside_it(
    qtbot: QtBot, document: Document, form_of: MakeForm, words: str
) -> None:
    form = form_of(("tank.diameter", "tank.height"))
    before = document.project
    type_into(qtbot, box_of(form, "tank.diameter"), words)
    assert said(form.fields["tank.diameter"]).startswith("✗ ")
    assert box_of(form, "tank.diameter").text() == words
    assert document.project == before
    type_into(qtbot, box_of(form, "tank.height"), "16 in")  # another edit, and its undoing, do not wipe it away
    document.undo_stack.undo()
    assert box_of(form, "tank.diameter").text() == words
    type_into(qtbot, box_of(form, "tank.diameter"), "13 in")
    assert said(form.fields["tank.diameter"]) == ""
    assert document.project.tank.diameter.text == "13 in"  # type: ignore[union-attr]


def test_escape_brings_back_what_the_project_says(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(("tank.diameter",))
    box = box_of(form, "tank.diameter")
    type_into(qtbot, box, "12 furlongs")
    qtbot.keyClick(box, ESCAPE)
    assert box.text() == document.project.tank.diameter.text  # type: ignore[union-attr]
    assert said(form.fields["tank.diameter"]) == ""
    assert document.undo_stack.count() == 0


def test_half_typed_text_survives_a_change_elsewhere(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(LOOP)
    type_into(qtbot, box_of(form, "loop_settings.gain"), "7.", enter=False)
    document.edit("loop_settings.derivative", "1 s")
    assert box_of(form, "loop_settings.gain").text() == "7."


def test_emptying_a_box_leaves_the_entry_out(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(("loop_settings.derivative_filter", "loop_settings.set_point_weight"))
    document.edit("loop_settings.set_point_weight", "0.4")
    box = box_of(form, "loop_settings.set_point_weight")
    box.setFocus()
    box.selectAll()
    qtbot.keyClick(box, Qt.Key.Key_Delete)
    qtbot.keyClick(box, ENTER)
    assert document.undo_stack.undoText() == "leave out set point weight"
    assert box.placeholderText() == "1"
    assert form.fields["loop_settings.set_point_weight"].beside.text() == "assumed"


def test_an_entry_that_must_be_given_is_not_left_out(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(("tank.height",))
    box = box_of(form, "tank.height")
    box.setFocus()
    box.selectAll()
    qtbot.keyClick(box, Qt.Key.Key_Delete)
    qtbot.keyClick(box, ENTER)
    assert "missing" in said(form.fields["tank.height"])
    assert document.undo_stack.count() == 0


def test_both_of_a_pair_go_in_together(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(("sensor.signal_span",))
    first, second = box_of(form, "sensor.signal_span", 0), box_of(form, "sensor.signal_span", 1)
    type_into(qtbot, first, "16,5 in", enter=False)
    qtbot.keyClick(first, Qt.Key.Key_Tab)
    assert second.hasFocus()
    assert document.undo_stack.count() == 0
    qtbot.keyClick(second, ENTER)
    assert document.project.sensor.signal_span[0].text == "16,5 in"
    assert document.undo_stack.count() == 1


def test_a_band_takes_the_place_of_the_gain(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of((*LOOP, "loop_settings.proportional_band"))
    before = document.project
    type_into(qtbot, box_of(form, "loop_settings.proportional_band"), "20 %")
    assert document.project.loop_settings.gain is None
    assert box_of(form, "loop_settings.gain").text() == ""
    type_into(qtbot, box_of(form, "loop_settings.gain"), "5")
    assert document.project.loop_settings.proportional_band is None
    document.undo_stack.undo()
    document.undo_stack.undo()
    assert document.project == before


def test_a_lying_tank_may_leave_its_height_out(document: Document, form_of: MakeForm) -> None:
    document.new_from(sample("parts_washer"))
    form = form_of(PARTS["Tank"])
    assert document.project.tank.height is None
    assert form.fields["tank.height"].isVisible()
    assert box_of(form, "tank.height").placeholderText() == "left out"
    given, asked = describe.given(document)
    assert given == asked


def test_a_whole_number_is_a_whole_number(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(("sensor.averaging",))
    type_into(qtbot, box_of(form, "sensor.averaging"), "2.5")
    assert "whole" in said(form.fields["sensor.averaging"])
    type_into(qtbot, box_of(form, "sensor.averaging"), "12")
    assert document.project.sensor.averaging == 12


def test_a_choice_that_asks_for_more_waits_until_it_is_complete(
    qtbot: QtBot, document: Document, form_of: MakeForm
) -> None:
    form = form_of(PARTS["Tank"])
    before = document.project
    assert not form.fields["tank.width"].isVisible()
    choose(qtbot, form.fields["tank.shape"].boxes()[0], "box")
    assert document.project == before
    assert form.fields["tank.width"].isVisible()
    assert "inside length, inside width" in form.note.words.text()
    type_into(qtbot, box_of(form, "tank.length"), "12 in")
    assert document.project == before
    type_into(qtbot, box_of(form, "tank.width"), "11 in")
    assert document.project.tank.shape == "box"
    assert document.undo_stack.undoText() == "set tank shape to box (and 2 more)"
    assert not form.note.isVisible()
    document.undo_stack.undo()
    assert document.project == before
    assert not form.fields["tank.width"].isVisible()


def test_a_choice_that_waits_can_be_let_go(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(PARTS["Tank"])
    choose(qtbot, form.fields["tank.shape"].boxes()[0], "box")
    qtbot.mouseClick(form.note.buttons[0], Qt.MouseButton.LeftButton)
    assert not form.note.isVisible()
    assert document.undo_stack.count() == 0
    assert form.fields["tank.shape"].value() == "upright cylinder"


def test_yes_and_no(qtbot: QtBot, document: Document, form_of: MakeForm) -> None:
    form = form_of(PARTS["Pump"])
    box = form.fields["pump.vented"].boxes()[0]
    before = document.project.pump.vented
    qtbot.keyClick(box, Qt.Key.Key_Space)
    assert document.project.pump.vented is not before
    assert document.undo_stack.count() == 1


@pytest.mark.parametrize("part", PARTS)
def test_every_part_has_its_form(document: Document, form_of: MakeForm, part: str) -> None:
    form = form_of(PARTS[part])
    assert set(form.fields) == set(PARTS[part])
    shown = [field for field in form.fields.values() if field.isVisible()]
    assert shown
    for field in shown:
        for box in field.boxes():
            assert box.accessibleName()


def test_forms_out_of_sight_follow_together_without_holding_the_window(
    qtbot: QtBot, document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An opened file asks it of every form at once; one that comes into sight meanwhile takes up the rest at once."""
    forms = [Form(document, tuple(PARTS[part])) for part in ("Tank", "Reservoir", "Pump", "Sensor")]
    for form in forms:
        qtbot.addWidget(form)
    refresh, taken = Field.refresh, list[str]()

    def slow(field: Field, value: Value) -> None:
        time.sleep(0.004)
        taken.append(field.key)
        refresh(field, value)

    monkeypatch.setattr(Field, "refresh", slow)
    document.edit("tank.height", "30 in")
    wait = time.monotonic() + LATER / 1000 + 5
    while not taken and time.monotonic() < wait:
        QCoreApplication.processEvents()
    assert 0 < len(taken) <= 2, "one slice, whoever else has work to do"
    last = forms[-1]
    last.show()
    assert set(last.fields) <= set(taken)
    qtbot.waitUntil(lambda: len(taken) == sum(len(form.fields) for form in forms))
    assert box_of(forms[0], "tank.height").text() == "30 in"
