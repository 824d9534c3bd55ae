"""Slips of the hand in a project file: each is named in plain words, on its line, and hides none of the others."""

import pytest
from sample_texts import SEEDLING, WASHER, changed, line, problems_of

SLIPS = [
    # old, new, key, words of the message
    (
        'title = "Seedling house nutrient day tank"',
        "title = Seedling house",
        "title",
        'in quotes: title = "Seedling house"',
    ),
    (
        'diameter = "12 in"',
        'diameter = "12 in',
        "tank.diameter",
        'closing quotation mark is missing: diameter = "12 in"',
    ),
    (
        'diameter = "12 in"',
        'diameter = 12 in"',
        "tank.diameter",
        'opening quotation mark is missing: diameter = "12 in"',
    ),
    ('diameter = "12 in"', "diameter = 12 in", "tank.diameter", 'stand in quotes: diameter = "12 in"'),
    ('diameter = "12 in"', "diameter = 12,5", "tank.diameter", 'stand in quotes: diameter = "12,5"'),
    ('diameter = "12 in"', "diameter =", "tank.diameter", "has no value yet"),
    ('diameter = "12 in"', "diameter = “12 in”", "tank.diameter", "quotation marks of a word processor"),
    ('diameter = "12 in"', 'diameter = "12 in" inside', "tank.diameter", "more behind the closing quotation mark"),
    ('diameter = "12 in"', "the diameter 12 in", "", "no “=” in this line"),
    ("check_valve = true", "check_valve = True", "pump.check_valve", "“True” is written true"),
    ("check_valve = true", "check_valve = no", "pump.check_valve", "“no” is written false"),
    ('spin_up = "0.6 s"', "spin_up = off", "pump.spin_up", 'written false, in small letters or "off" in quotes'),
]


@pytest.mark.parametrize(("old", "new", "key", "words"), SLIPS, ids=[one[1] for one in SLIPS])
def test_a_line_that_can_not_be_read_says_why(old: str, new: str, key: str, words: str) -> None:
    text = changed(old, new)
    found = [one for one in problems_of(text) if one.key == key]
    assert words in found[0].message
    assert (len(found), found[0].line) == (1, line(text, new))
    assert len(problems_of(text)) == (1 if key else 2)  # a line without a key leaves its entry missing


def test_unreadable_lines_hide_neither_each_other_nor_what_else_is_wrong() -> None:
    text = changed('diameter = "12 in"', "diameter = 12 in")
    text = changed("averaging = 20", "averaging = ", text)
    text = changed('paper = "Letter"', 'paper = "A5"', text)
    text = changed('loop = "310"', 'loop = "310"\nloop = "311"', text)
    found = problems_of(text)
    assert [one.key for one in found] == ["loop", "tank.diameter", "sensor.averaging", "sheet.paper"]
    assert "twice, first on line" in found[0].message
    assert [one.line for one in found] == sorted(one.line for one in found)


def test_a_section_that_stands_twice_says_where_it_began() -> None:
    text = f'{SEEDLING}\n[tank]\nheight = "15 in"\n'
    (found,) = problems_of(text)
    assert found.line == text.count("\n") - 1
    assert f"first on line {line(text, '[tank]')}" in found.message


def test_one_slip_is_one_problem() -> None:
    (misspelt,) = problems_of(changed('height = "15 in"                      # floor', 'hieght = "15 in"  # floor'))
    assert (misspelt.key, misspelt.nearest) == ("tank.hieght", "height")
    (swapped,) = problems_of(changed('set_point_high = "4.00 gal"', 'set_point_high = "1 gal"'))
    assert swapped.key == "loop_settings.set_point_low"
    (unit,) = problems_of(changed('diameter = "12 in"', 'diameter = "12 gal"'))
    assert unit.message.count("Nearest unit") + unit.message.count("Did you mean") <= 1


def test_another_spelling_of_a_unit_of_display_is_understood_well_enough_to_offer_it() -> None:
    for typed, meant in (("litres", "l"), ("gal", "US gal"), ("uk gallons", "imp gal")):
        (found,) = problems_of(changed('volume = "US gal"', f'volume = "{typed}"'))
        assert found.nearest == meant


def test_a_bare_number_is_offered_in_quotes_with_units() -> None:
    (found,) = problems_of(changed('diameter = "12 in"', "diameter = 12"))
    assert '"12 in" or "12 mm"' in found.message


def test_repeats_are_no_gain_per_time() -> None:
    """A parallel form integrates with Ki = K/Ti: "2 repeats/min" (1/Ti) would be another number (common practice)."""
    text = changed('form = "standard"', 'form = "parallel"', WASHER)
    (found,) = problems_of(text)
    assert found.key == "loop_settings.integral"
    assert "repeats belong to the standard and series forms" in found.message


def test_what_stands_on_no_line_comes_last() -> None:
    text = SEEDLING[: SEEDLING.index("[duty]")] + SEEDLING[SEEDLING.index("[sheet]") :]
    found = problems_of(text.replace('paper = "Letter"', 'paper = "A5"'))
    assert [one.key for one in found] == ["sheet.paper", "duty.largest_draw"]


@pytest.mark.parametrize("name", ['""', '"."', '"["', '"]"', '"a[b"', '"..."', '"high high"', '"[0].x"'])
def test_an_odd_name_of_a_key_is_told_with_its_line(name: str) -> None:
    """An empty name had the search for its line go on for ever."""
    text = changed("\nhigh = {", f'\n{name} = {{ limit = "1 gal" }}\nhigh = {{')
    (found,) = problems_of(text)
    assert found.line == line(text, f"\n{name} = ") + 1
    assert "is not known here" in found.message
