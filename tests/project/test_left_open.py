"""Brackets and quotes left open, headings half written, the first line left out: named, and nothing else is hidden."""

import pytest
from sample_texts import SEEDLING, WASHER, changed, line, problems_of

SAMPLES = {"US": SEEDLING, "metric": WASHER}
FIRST = "levelbench = 1\n"


def opened(text: str) -> list[tuple[int, str]]:
    """Every way to leave out the last mark of a line: the line's number, and the text without that mark."""
    lines = text.split("\n")
    found = []
    for number, one in enumerate(lines, start=1):
        body = one.partition("#")[0].rstrip()
        if body.endswith(("]", "}", '"')):
            for less in {body[:-1], body.rstrip("]}"), body.rstrip('"]} ')} - {body}:
                found.append((number, "\n".join([*lines[: number - 1], less, *lines[number:]])))
    return found


@pytest.mark.parametrize("text", SAMPLES.values(), ids=SAMPLES)
def test_whatever_is_left_open_is_one_problem_on_its_line(text: str) -> None:
    ways = opened(text)
    assert len(ways) > 80
    found = [(number, problems_of(one)) for number, one in ways]
    assert [(number, those) for number, those in found if [one.line for one in those] != [number]] == []


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        (
            '["18 in", "2.5 in"]',
            '["18 in", "2.5 in"',
            "sensor.signal_span",
            "The closing bracket ] of “signal_span” is",
        ),
        ('signal_span = ["18 in", "2.5 in"]', "signal_span = [", "sensor.signal_span", "The closing bracket ]"),
        ('["18 in", "2.5 in"]', '["18 in",\n  "2.5 in"', "sensor.signal_span", "The closing bracket ]"),
        ('["18 in", "2.5 in"]', '["18 in", 2.5 in]', "sensor.signal_span", "can't be read as TOML"),
        ("[sensor]", "[sensor", "", "missing on the closing side of this heading: [sensor]"),
        ("[sensor]", "sensor]", "", "missing on the opening side of this heading: [sensor]"),
        ('title = "Seedling house nutrient day tank"', 'title = """Seedling', "title", 'marks """ of “title”'),
    ],
)
def test_what_was_left_open_is_said_in_words(old: str, new: str, key: str, words: str) -> None:
    text = changed(old, new)
    (found,) = problems_of(text)
    assert (found.key, found.line) == (key, line(text, new))
    assert words in found.message


def test_the_last_entry_of_a_file_may_be_left_open_too() -> None:
    (found,) = problems_of(f'{SEEDLING.rstrip()}\nnote_of_mine = ["a",\n')
    assert found.key.endswith("note_of_mine")
    assert "closing bracket" in found.message


def test_everything_else_is_still_checked() -> None:
    text = changed('signal_span = ["18 in", "2.5 in"]', 'signal_span = ["18 in", "2.5 in"')
    text = changed("[drain]", "[drain", text)
    text = changed('diameter = "12 in"', 'diameter = "12 gal"', text)
    text = changed("averaging = 20", 'averaging = "twenty"', text)
    text = changed('paper = "Letter"', 'paper = "A5"', text).replace(FIRST, "")
    keys = ["tank.diameter", "", "sensor.signal_span", "sensor.averaging", "sheet.paper", "levelbench"]
    assert [one.key for one in problems_of(text)] == keys


def test_a_section_that_is_there_twice_hides_nothing_above_or_below() -> None:
    text = changed("[drain]", '[tank]\nheight = "15 in"\n\n[drain]')
    text = changed('paper = "Letter"', 'paper = "A5"', text)
    twice, paper = problems_of(text)
    assert "is there twice" in twice.message
    assert paper.key == "sheet.paper"


@pytest.mark.parametrize(
    ("instead", "words"),
    [
        ("", "begins with levelbench = 1"),
        ("levelbnch = 1\n", "begins with levelbench = 1"),
        ('levelbench = "1"\n', "whole number"),
        ("levelbench = -3\n", "whole number"),
        ("levelbench = \n", "has no value yet"),
    ],
)
def test_without_its_first_line_the_rest_is_checked(instead: str, words: str) -> None:
    assert FIRST in SEEDLING
    text = SEEDLING.replace(FIRST, instead)
    (alone,) = problems_of(text)
    assert alone.key == "levelbench"
    assert words in alone.message
    more = problems_of(changed('diameter = "12 in"', 'diameter = "12 gal"', text))
    assert {one.key for one in more} == {"levelbench", "tank.diameter"}


def test_a_file_of_another_kind_is_not_checked_as_a_project() -> None:
    (found,) = problems_of('[tool]\nname = "x"\n\n[tool.lint]\nlength = 120\n')
    assert found.key == "levelbench"


def test_a_file_of_a_newer_format_is_not_judged_by_the_rules_of_this_one() -> None:
    text = changed('diameter = "12 in"', 'diameter = "12 gal"').replace(FIRST, "levelbench = 2\n")
    (found,) = problems_of(text)
    assert "newer LevelBench" in found.message


def test_what_an_unreadable_entry_leaves_unknown_is_not_held_against_others() -> None:
    """The kind of sensor decides which way its span runs, and a pump's start its stall: no verdict without them."""
    for old in ('kind = "ultrasonic"', 'starts_moving_at = "9 %"'):
        (found,) = problems_of(changed(old, old[:-1]))
        assert "closing quotation mark" in found.message
