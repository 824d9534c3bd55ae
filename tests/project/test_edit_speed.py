"""Editing takes a few lines apart, not the page; what comes out is what taking the whole page apart gives."""

import time
from collections.abc import Callable
from itertools import count
from typing import Any

import pytest
import tomlkit
from sample_texts import SEEDLING, WASHER, problems_of

from levelbench.project import edit, edit_many, read_project
from levelbench.project.lines import places
from levelbench.project.page import Page, steps

TEXTS = pytest.mark.parametrize("text", [SEEDLING, WASHER], ids=["seedling house", "parts washer"])


def whole(text: str, key: str) -> tuple[tomlkit.TOMLDocument, Any, Any]:
    """Take the whole page apart (tomlkit is the reference); gives it, what holds a key, and the key's last step."""
    document = tomlkit.parse(text)
    *outer, last = steps(key)
    holder: Any = document
    for step in outer:
        holder = holder[step]
    return document, holder, last


@TEXTS
def test_a_changed_value_stands_as_if_the_whole_page_had_been_taken_apart(text: str) -> None:
    keys = [key for key, place in places(text).items() if not place.heading]
    assert len(keys) > 70
    for key in keys:
        document, holder, last = whole(text, key)
        holder[last] = "set anew"
        page = Page(text)
        page.put(key, "set anew")
        assert page.text == document.as_string(), key


@TEXTS
def test_an_entry_is_taken_out_as_if_the_whole_page_had_been_taken_apart(text: str) -> None:
    for key in [key for key, place in places(text).items() if not place.heading]:
        document, holder, last = whole(text, key)
        del holder[last]
        page = Page(text)
        page.take_out(key)
        assert page.text == document.as_string(), key


def test_a_section_read_before_is_read_anew_when_it_is_written_otherwise() -> None:
    before = read_project(SEEDLING)
    after = edit(before, "tank.diameter", "13 in")
    assert (before.tank.diameter.text, after.tank.diameter.text) == ("12 in", "13 in")
    assert after.pump is before.pump
    assert edit(after, "tank.diameter", "12 in").tank == before.tank


def test_what_sections_must_agree_on_is_looked_at_also_when_each_was_read_before() -> None:
    """Both sections are sound, and known, in projects of their own; together they contradict each other."""
    lower = SEEDLING.replace('\ncharge = "', '\ncharge = "0.1 gal" # was "')
    assert lower != SEEDLING
    for _ in range(2):
        assert [one.key for one in problems_of(lower)] == ["start.tank_volume"]


def test_every_problem_is_told_each_time() -> None:
    bad = SEEDLING.replace('diameter = "12 in"', 'diameter = "12"').replace('paper = "', 'papre = "')
    first = problems_of(bad)
    assert {one.key for one in first} >= {"tank.diameter", "sheet.papre"}
    assert problems_of(bad) == first


def best(work: Callable[[], object]) -> float:
    """The least time of the processor that some work takes [s], of five."""
    times = []
    for _ in range(5):
        begin = time.thread_time()
        work()
        times.append(time.thread_time() - begin)
    return min(times)


def test_an_edit_takes_less_than_taking_one_page_apart() -> None:
    """A ratio, so that it holds on any machine: both are plain Python on the same text."""
    project, number = read_project(SEEDLING), count(100)
    page = best(lambda: tomlkit.parse(SEEDLING))
    assert best(lambda: edit(project, "tank.diameter", f"12.{next(number)} in")) < page

    def four() -> None:
        edit_many(
            project,
            {
                "tank.diameter": f"12.{next(number)} in",
                "title": f"rig {next(number)}",
                "pump.check_valve": None,
                "loop_settings.gain": f"3.{next(number)} %/%",
            },
        )

    assert best(four) < 2 * page
