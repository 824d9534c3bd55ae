"""Equations as set type: what stands over what, and that a wide one is set smaller instead of being cut."""

import pytest
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from levelbench.drawing.scene import Role
from levelbench.gui.tuning.equation import EquationView, Fraction, Integral, Round, Row, Symbol, Word
from levelbench.gui.tuning.loop_equation import in_symbols


def inked(image: QImage, x: int, y: int) -> bool:
    """Tell whether a pixel is nearer to the ink than to the card."""
    return QColor(image.pixel(x, y)).lightness() < 128


def pictured(qtbot: QtBot, row: Row, width: int, size: float = 24.0) -> QImage:
    view = EquationView(size)
    qtbot.addWidget(view)
    view.setStyleSheet("background: white")
    view.show_rows([(row, Role.INK)], "an equation")
    view.resize(width, view.height())
    view.show()
    qtbot.waitExposed(view)
    return view.grab().toImage()


def test_a_fraction_has_a_bar_between_its_two_rows(qtbot: QtBot) -> None:
    image = pictured(qtbot, Row((Fraction((Word("1"),), (Word("T"),)),)), 60)
    filled = [sum(inked(image, x, y) for x in range(image.width())) for y in range(image.height())]
    bar = filled.index(max(filled))
    assert max(filled) >= 12  # the bar is the longest run of ink, wider than either letter's strokes
    assert any(filled[:bar])
    assert any(filled[bar + 3 :])


@pytest.mark.parametrize("size", [10.0, 24.0])
def test_pieces_are_as_large_as_what_they_hold(qapp: object, size: float) -> None:
    word, symbol = Word("K").set(size), Symbol("T", "i").set(size)
    fraction = Fraction((Word("1"),), (Symbol("T", "i"),)).set(size)
    assert symbol.below > word.below  # the subscript hangs under the line
    assert fraction.above > word.above
    assert fraction.below > word.below
    assert Integral().set(size).above > word.above
    round_ = Round((Fraction((Word("1"),), (Word("2"),)),)).set(size)
    assert round_.above >= Fraction((Word("1"),), (Word("2"),)).set(size).above
    both = Row((Word("K"), Word("K"))).set(size)
    assert both.width == pytest.approx(2 * word.width + 0.1 * size)


@pytest.mark.parametrize("form", ["standard", "parallel", "series"])
def test_an_equation_that_is_too_wide_is_set_smaller(qtbot: QtBot, form: str) -> None:
    full = in_symbols(form).set(24.0).width
    image = pictured(qtbot, in_symbols(form), round(full * 0.7))
    last = image.width() - 1
    assert not any(inked(image, last, y) for y in range(image.height()))
    assert any(inked(image, x, y) for x in range(last - 20, last) for y in range(image.height()))
