"""Every field that takes a quantity takes every unit of its dimension, says it back, and keeps what was typed."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit, QMenu
from pytestqt.qtbot import QtBot

from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import applies, declaration, typed
from levelbench.gui.fields.field import Field
from levelbench.gui.fields.fields import PairField, QuantityField
from levelbench.gui.fields.forms import Form
from levelbench.gui.fields.understood import in_other_unit
from levelbench.gui.fields.unit_menu import UnitButton, in_words_of
from levelbench.gui.stages.describe import PARTS, keys_of
from levelbench.project import load, sample
from levelbench.quantity import Dimension, Quantity, QuantityError, read, units_of

KEYS = (
    *(key for keys in PARTS.values() for key in keys),
    *keys_of("loop_settings"),
    *(f"bands.{band}.{one}" for band in ("high_high", "high", "low", "low_low", "deviation")
      for one in ("limit", "dead_band", "on_delay", "off_delay")),
)  # fmt: skip
SAMPLES = ("seedling_house", "parts_washer")
NO_OTHER = (Dimension.PERCENT, Dimension.NUMBER, Dimension.GAIN, Dimension.VISCOSITY, Dimension.CURRENT)
WRONG = {Dimension.TEMPERATURE: "3 gal"}  # what is no quantity of a dimension; of all others: a temperature


@pytest.fixture(params=SAMPLES)
def form(request: pytest.FixtureRequest, qtbot: QtBot, document: Document) -> Form:
    document.replace(load(sample(request.param)), None)
    keys = [key for key in KEYS if declaration(key).dimensions]
    made = Form(document, keys)
    qtbot.addWidget(made)
    with qtbot.waitActive(made):
        made.show()
        made.activateWindow()
    return made


def in_use(form: Form) -> list[Field]:
    """Give the fields of quantities that apply to the rig and have a value, typed or assumed, that has a size."""

    def value_of(key: str) -> object:
        value = typed(form._document.project, key)
        return declaration(key).default if value is None else value

    fields = [one for one in form.fields.values() if isinstance(one, QuantityField | PairField)]
    return [one for one in fields if applies(one.key, value_of) and readable(one)]


def texts_of(field: Field) -> list[str]:
    boxes = [box for box in field.boxes() if isinstance(box, QLineEdit)]
    return [box.text() or box.placeholderText() for box in boxes]


def readable(field: Field) -> list[Quantity]:
    """Give what stands in the boxes of a field; nothing when it is off, left out or zero."""
    found = []
    for words in texts_of(field):
        for dimension in declaration(field.key).dimensions:
            try:
                found.append(read(words, dimension))
                break
            except QuantityError:
                continue
    return found if len(found) == len(field.boxes()) and all(one.si for one in found) else []


def put(field: Field, words: list[str]) -> None:
    for box, text in zip(field.boxes(), words, strict=True):
        assert isinstance(box, QLineEdit)
        box.setText(text)
        box.textEdited.emit(text)


def test_every_field_takes_every_unit_and_says_it_in_the_other_system(form: Form) -> None:
    document, walked, units_taken = form._document, 0, 0
    for field in in_use(form):
        was = readable(field)
        dimension = was[0].dimension
        for unit in units_of(dimension) if document.project.display.volume != "l" else units_of(dimension)[:2]:
            if dimension is Dimension.GAIN and (unit == "%/%") is was[0].per_volume:
                continue  # the one can't be said as the other without the span
            words = [in_words_of(one, unit) if unit else one.text for one in was]
            put(field, words)
            said = field.beside.text()
            if dimension not in NO_OTHER:
                small = dimension is Dimension.TIME and unit == "s" and was[0].si < 60
                alone = (dimension is Dimension.START_RATE and unit == "starts/h") or unit == "1/h"
                assert said.startswith("=") or small or alone or " = " in said, (field.key, words, said)
                assert "…" not in said, (field.key, words, said)
            field.hand_in()
            assert not field.reason.isVisible(), (field.key, words, field.reason.text())
            now = typed(document.project, field.key)
            assert (list(now) if isinstance(field, PairField) else [now]) == words
            again = readable(field)
            assert [one.si for one in again] == pytest.approx([one.si for one in was], rel=1e-12)
            units_taken += 1
        walked += 1
    assert walked > 45
    assert units_taken > 1.5 * walked


def test_every_field_explains_a_refusal_beside_itself_and_escape_takes_it_back(qtbot: QtBot, form: Form) -> None:
    for field in in_use(form):
        project, before = form._document.project, texts_of(field)
        dimension = readable(field)[0].dimension
        words = [WRONG.get(dimension, "20 °C")] * len(before)
        if dimension is Dimension.TEMPERATURE_DIFFERENCE:
            words = ["3 gal"]
        put(field, words)
        field.hand_in()
        assert field.reason.text().startswith("✗ "), field.key
        assert len(field.reason.text()) > 12
        assert not field.reason.isHidden()
        assert texts_of(field) == words  # it stays, to be mended
        assert form._document.project is project
        box = field.boxes()[0]
        box.setFocus()
        qtbot.keyClick(box, Qt.Key.Key_Escape)
        assert texts_of(field) == before, field.key
        assert field.reason.isHidden()


def test_every_field_with_a_choice_of_units_lists_them_all(form: Form) -> None:
    for field in in_use(form):
        buttons = field.findChildren(UnitButton)
        dimensions = declaration(field.key).dimensions
        units = [unit for one in dimensions for unit in units_of(one) if unit]
        assert bool(buttons) == (len(units) > 1), field.key
        for button in buttons:
            menu = QMenu(form)
            button._fill(menu)  # as it is when the button is pressed; a hundred open menus would take their time
            listed = [action.text() for action in menu.actions()]
            menu.deleteLater()
            own = readable(field)[0]
            wanted = [one for one in units_of(own.dimension) if one and own.dimension is not Dimension.GAIN]
            for unit in wanted:
                assert any(one.endswith(f" {unit}") for one in listed), (field.key, unit, listed)


# the other system, from the definitions: in = 25.4 mm, US gal = 231 in3, lb = 0.45359237 kg (NIST SP 811, appendix B)
@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("1 in", Dimension.LENGTH, "= 25.40 mm"),
        ("100 thou", Dimension.LENGTH, "= 2.540 mm"),
        ("2 US qt", Dimension.VOLUME, "= 1.893 l"),
        ("231 in3", Dimension.VOLUME, "= 3785 ml"),
        ("1 ft3", Dimension.VOLUME, "= 28.32 l"),
        ("1 m3", Dimension.VOLUME, "= 264.2 US gal"),
        ("1 US gal/h", Dimension.FLOW, "= 3.785 l/h"),
        ("1 imp gal/min", Dimension.FLOW, "= 4.546 l/min"),
        ("1 m3/h", Dimension.FLOW, "= 4.403 US gal/min"),
        ("1000 kg/m3", Dimension.DENSITY, "= 8.345 lb/US gal"),
        ("62.43 lb/ft3", Dimension.DENSITY, "= 1000 kg/m3"),
        ("2 d", Dimension.TIME, "= 48.00 h"),
        ("0.5 repeats/min", Dimension.REPEAT_RATE, "= 0.00833"),
    ],
)
def test_the_other_system_is_really_the_other(text: str, dimension: Dimension, said: str) -> None:
    assert in_other_unit(read(text, dimension)).startswith(said)
