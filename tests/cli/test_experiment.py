"""`levelbench experiment`: its lines, its JSON, the sheet by hand, the record, and what it refuses."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.project import edit_many, load, sample, save
from levelbench.records import read_csv

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]
FILE = sample("seedling_house")


def test_it_says_what_will_happen_what_did_and_what_it_found(said: Said, tmp_path: Path) -> None:
    code, out, _ = said("experiment", FILE, "--kind", "bump", "--repeats", 2, "--save", tmp_path / "bump.csv")
    assert code == 0
    for words in ("it stops at a PV of", "taken as the balance", "mode auto as before", "95 %", "than the model's"):
        assert words in out
    recording = read_csv(tmp_path / "bump.csv")
    assert (tmp_path / "bump.journal.csv").exists()
    assert float(recording["output"].max()) > float(recording["output"].min()) + 25


@pytest.mark.parametrize("kind", ["relay", "step"])
def test_json_has_value_unit_and_source_of_every_number(told: Told, kind: str) -> None:
    code, document = told("experiment", FILE, "--kind", kind, "--repeats", 2, "--seed", 3)
    assert code == 0
    assert document["stopped"] is None
    for one in (*document["estimates"], *document["figures"], *document["plan"]["figures"]):
        assert isinstance(one["value"], float)
        assert one["source"]
    slope = document["estimates"][0]
    assert slope["unit"] == "US gal/min"
    assert slope["low"]["value"] < slope["value"] < slope["high"]["value"]
    assert all(one["agrees"] for one in document["beside_the_model"])


def test_by_hand_is_a_sheet_and_moves_nothing(said: Said, told: Told, tmp_path: Path) -> None:
    code, out, _ = said("experiment", FILE, "--kind", "relay", "--by-hand")
    assert code == 0
    for words in ("Stop at once when", "1. Automatic", "hard-wired", "siphon", "reservoir"):
        assert words in out
    _, document = told("experiment", FILE, "--kind", "relay", "--by-hand")
    assert document["sheet"][1]["title"] == "Do"
    code, _, err = said("experiment", FILE, "--kind", "relay", "--by-hand", "--save", tmp_path / "x.csv")
    assert code == 2
    assert "nothing is recorded" in err


def test_what_cannot_be_done_is_said(said: Said, tmp_path: Path) -> None:
    for words, why in (
        (("--size", "90 %"), "outputs of"),
        (("--size", "much"), "--size “much”"),
        (("--repeats", "0"), "--repeats “0”"),
    ):
        code, out, err = said("experiment", FILE, "--kind", "bump", *words)
        assert (code, out) == (2, "")
        assert why in err
    shut = edit_many(load(FILE), {"drain.kind": "none"})
    save(shut, tmp_path / "shut.toml")
    code, _, err = said("experiment", tmp_path / "shut.toml", "--kind", "relay")
    assert code == 2
    assert "can only add" in err


def test_stopped_at_a_limit_is_1(said: Said, told: Told, tmp_path: Path) -> None:
    """A reservoir that is drunk empty: the experiment stops and concludes nothing."""
    dry = edit_many(load(FILE), {"drain.goes_to": "away", "reservoir.charge": "4.6 gal"})
    save(dry, tmp_path / "dry.toml")
    words = ("experiment", tmp_path / "dry.toml", "--kind", "bump", "--lasts", "200 s", "--size", "2 %")
    code, out, _ = said(*words)
    assert code == 1
    assert "STOPPED: the reservoir" in out
    _, document = told(*words)
    assert "reservoir" in document["stopped"]
    assert document["estimates"] == []
