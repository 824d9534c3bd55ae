"""Numbers in the person's marks: written through one door, read back as the same value, in force where asked only.

What is expected follows ISO 80000-1:2009, 7.3.1 (groups of three by a small space) and 7.3.2 (comma or point).
"""

import threading

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelbench.project import ProjectProblems, edit, load, read_project, sample
from levelbench.quantity import (
    Dimension,
    NumberFormat,
    QuantityError,
    in_marks,
    in_prose,
    number_format,
    numbers_shown_as,
    read,
    show,
    units_of,
    without_doubt,
    written,
)
from levelbench.quantity.notation import COMMA, POINT, THIN_SPACE

D = Dimension
FORMATS = tuple(NumberFormat(mark, group) for mark in (".", ",") for group in ("", THIN_SPACE))
SPACED = NumberFormat(",", THIN_SPACE)


@given(
    value=st.floats(-1e9, 1e9, allow_subnormal=False),
    form=st.sampled_from(FORMATS),
    dimension=st.sampled_from(list(Dimension)),
    places=st.integers(-2, 6),
    data=st.data(),
)
@settings(max_examples=600, deadline=None)
def test_a_shown_number_copied_into_a_field_is_the_same_value(
    value: float, form: NumberFormat, dimension: Dimension, places: int, data: st.DataObject
) -> None:
    """What is shown with any marks is read as what is shown with a point and no groups."""
    unit = data.draw(st.sampled_from(units_of(dimension)))
    step = data.draw(st.sampled_from((0.0, 10.0**-places)))
    value = abs(value) + 1000 if dimension is D.TEMPERATURE else value  # none below absolute zero
    plain = show(value, dimension, unit, step)
    with numbers_shown_as(form):
        shown = show(value, dimension, unit, step)
        assert read(without_doubt(shown), dimension).si == read(plain, dimension).si
    assert shown.replace(THIN_SPACE, "").replace(",", ".") == plain


@pytest.mark.parametrize(
    ("value", "how", "form", "shown"),
    [
        (1234.5, ".1f", COMMA, "1234,5"),
        (12345.5, ".1f", SPACED, "12\u2009345,5"),
        (-1234567.0, ".0f", SPACED, "−1\u2009234\u2009567"),
        (0.000012, ".2g", SPACED, "1,2e−05"),
        (12345.5, ".1f", NumberFormat(".", THIN_SPACE), "12\u2009345.5"),
        (-0.25, ".2f", POINT, "−0.25"),
    ],
)
def test_marks_and_groups(value: float, how: str, form: NumberFormat, shown: str) -> None:
    with numbers_shown_as(form):
        assert written(value, how) == shown


def test_a_text_of_the_program_has_its_numbers_marked_and_nothing_else() -> None:
    with numbers_shown_as(SPACED):
        assert in_marks("3.8 mA and 20.5 mA") == "3,8 mA and 20,5 mA"
        assert in_marks("version 1.2.3, 2.50, 10000 l") == "version 1.2.3, 2,50, 10\u2009000 l"
    assert in_marks("3.8 mA") == "3.8 mA"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Ms of 1.4 is calm, PID 0.45/(k'·θ), 13.4·θ", "Ms of 1,4 is calm, PID 0,45/(k'·θ), 13,4·θ"),
        ("18.9 % too low (99.7 % of 12000)", "18,9 % too low (99,7 % of 12\u2009000)"),
        ("ANSI/ISA-5.1-2009 Table 4.1, ISA-18.2, HI 9.8, ISO 80000-1:2009, 7.3.1", None),
        ("IEC 60534-2-4; IEC 62682:2014; section 16.6; DOI 10.4121/12960104", None),
        ("Type `30.5 cm`, or [see](page#2.5).", None),
        ("In code:\n\n    levelbench search P --overshoot '0.02 gal'\n", None),
    ],
)
def test_prose_takes_the_marks_but_where_it_names_something(text: str, shown: str | None) -> None:
    with numbers_shown_as(SPACED):
        assert in_prose(text) == (text if shown is None else shown)
    assert in_prose(text) == text


def test_a_comma_that_could_be_thousands_is_meant_as_decimal_by_who_prefers_it() -> None:
    with pytest.raises(QuantityError, match="could be"):
        read(without_doubt("1,234 l"), D.VOLUME)
    with numbers_shown_as(COMMA):
        assert without_doubt("1,234 l") == "1.234 l"
        assert without_doubt("−1,234 l") == "−1.234 l"
        assert without_doubt("1,23 l") == "1,23 l"  # not open to doubt: it stays as it was typed
        with pytest.raises(QuantityError, match="more than one decimal sign"):
            read(without_doubt("1,234,567 l"), D.VOLUME)


def test_what_is_in_force_ends_with_its_block_and_stays_in_its_thread() -> None:
    heard: list[NumberFormat] = []
    with numbers_shown_as(COMMA):
        elsewhere = threading.Thread(target=lambda: heard.append(number_format()))
        elsewhere.start()
        elsewhere.join()
        assert show(0.0025, D.VOLUME, "l", 1e-5) == "2,50 l"
    assert heard == [POINT]
    assert show(0.0025, D.VOLUME, "l", 1e-5) == "2.50 l"


def test_a_file_is_read_alike_whatever_is_in_force() -> None:
    house = load(sample("seedling_house"))
    with numbers_shown_as(COMMA):
        edited = edit(house, "start.tank_volume", "2,125 gal")
        assert 'tank_volume = "2.125 gal"' in edited.text
        assert edit(house, "start.tank_volume", "2,5 gal").start.tank_volume.text == "2,5 gal"
        assert edit(house, "title", "1,234 litre rig").title == "1,234 litre rig"
        with pytest.raises(ProjectProblems, match="could be"):
            read_project(edited.text.replace("2.125 gal", "2,125 gal"))
    assert read_project(edited.text).start.tank_volume.si == edited.start.tank_volume.si
