"""`levelbench search`: its lines, its JSON, its exit codes, and what it refuses."""

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from levelbench.cli import search
from levelbench.project import edit_many, load, sample, save

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]
NUMBER = {"value", "unit", "source"}


@pytest.fixture(autouse=True)
def soon_done(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "search", partial(search.search, budget=1_500_000))
    for name, few in (("_TRIED", 8), ("_COUNTED", 8), ("_PICK_COUNTED", 16)):
        monkeypatch.setattr(sys.modules["levelbench.tuning.search.search"], name, few)


def test_it_prints_the_curve_and_what_is_proposed(told: Told, said: Said, tmp_path: Path) -> None:
    file = sample("seedling_house")
    code, document = told("search", file, "--overshoot", "0.02 gal", "--ms", "1.8")
    assert code == 0
    assert len(document["front"]) > 2
    assert 0 <= document["picked"] < len(document["front"])
    assert {one["key"] for one in document["box"]} == {"flow", "wear", "draw", "spin_up", "noise", "averaging"}
    assert all(set(one["from"]) == NUMBER and one["from"]["source"] for one in document["box"])
    for one in document["front"]:
        figures = {each["key"]: each for each in one["figures"]}
        assert figures["search.overshoot"]["value"] < 0.02
        assert figures["search.overshoot"]["unit"] == "US gal"
        assert figures["search.sensitivity"]["value"] <= 1.8
        assert all(set(each) >= NUMBER and each["source"] for each in figures.values())
    edited = edit_many(load(file), document["front"][document["picked"]]["edits"])  # they can be typed
    save(edited, tmp_path / "edited.toml")
    code, out, err = said("search", file, "--overshoot", "0.02 gal", "--ms", "1.8")
    assert (code, err) == (0, "")
    assert out.count("proposed") >= 2
    assert document["front"][0]["settings"]["gain"] in out


def test_it_says_when_nothing_holds(told: Told, said: Said) -> None:
    code, document = told("search", sample("parts_washer"), "--ms", "1.03")
    assert code == 1
    assert document["front"] == []
    assert document["picked"] is None
    assert "No settings keep the limits" in document["why"]
    assert document["nearest"]["settings"]


@pytest.mark.parametrize("words", [("--overshoot", "5"), ("--ms", "1"), ("--digits", "9"), ("--overshoot", "-1 l")])
def test_it_refuses_what_it_can_not_read(said: Said, words: tuple[str, str]) -> None:
    code, out, err = said("search", sample("parts_washer"), *words)
    assert code == 2
    assert out == ""
    assert len(err.strip().splitlines()) >= 1
