"""What somebody is led to is in sight: a field, and what is said of it."""

import pytest
import walk
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot
from test_describe import form_of, table_of, type_cell

from levelbench.gui.document.document import Document
from levelbench.gui.fields.forms import Form
from levelbench.gui.look.parts import scroller_of
from levelbench.gui.stages.describe import PARTS, Describe


@pytest.fixture
def card(qtbot: QtBot, document: Document) -> Describe:
    made = Describe(document)
    qtbot.addWidget(made)
    made.resize(392, 560)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    return made


def in_sight(words: QWidget) -> bool:
    """Whether all of a line of text is seen in what it scrolls in."""
    area = scroller_of(words)
    assert area is not None
    whole = QRect(words.mapTo(area.viewport(), QPoint()), words.size())
    return words.isVisible() and area.viewport().rect().contains(whole)


def test_what_is_said_of_a_field_is_in_sight_while_somebody_is_in_it(qtbot: QtBot, card: Describe) -> None:
    field = table_of(form_of(card, "Tank"), "tank.dead_wood")
    qtbot.mouseClick(field.add, Qt.MouseButton.LeftButton)
    type_cell(qtbot, field, 1, 0, "heater")
    qtbot.waitUntil(lambda: in_sight(field.unfinished))
    type_cell(qtbot, field, 1, 1, "20")
    type_cell(qtbot, field, 1, 3, "9 in")
    assert "The unit is missing" in field.reason.text()
    qtbot.waitUntil(lambda: in_sight(field.reason))


def test_whoever_is_led_to_an_entry_sees_its_field(qtbot: QtBot, card: Describe) -> None:
    """Also in a part that nobody has looked at yet, whose fields have no places before it is shown."""
    walk.until(lambda: len(card.findChildren(Form)) == len(PARTS) and all(one.whole for one in card.findChildren(Form)))
    for key in (key for keys in PARTS.values() for key in keys[::-1]):
        assert card.go_to(key)
        (form,) = (one for one in card.findChildren(Form) if key in one.fields)
        box = form.fields[key].boxes()[0]
        if box.isVisibleTo(form):
            qtbot.waitUntil(lambda box=box: in_sight(box))


def test_another_part_begins_at_its_top(qtbot: QtBot, card: Describe) -> None:
    walk.until(lambda: len(card.findChildren(Form)) == len(PARTS))
    assert card.go_to("drain.goes_to")
    qtbot.waitUntil(lambda: card.area.verticalScrollBar().value() > 0)
    shape = form_of(card, "Tank").fields["tank.shape"]
    qtbot.waitUntil(lambda: in_sight(shape.boxes()[0]))
