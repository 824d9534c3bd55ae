"""`levelbench shifts`: its lines, its JSON, its exit codes, and what it refuses."""

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from levelbench.alarms.shifts import Use
from levelbench.alarms.tally import in_use
from levelbench.project import edit_many, load, sample, save
from levelbench.records import read_csv
from levelbench.rig import assemble

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]
NUMBER = {"value", "unit", "source"}
SHORT = ("--shifts", "6", "--use", "lasts=30 min", "--use", "lead_in=1 min", "--use", "changes_most=4")


def test_it_tells_every_number_with_its_source(told: Told) -> None:
    code, document = told("shifts", sample("seedling_house"), *SHORT, "--seed", "5")
    assert code == 0
    assert (document["shifts"], document["seed"]) == (6, 5)
    for one in (*document["measures"], *document["assumed"]):
        assert set(one) >= NUMBER
        assert one["source"]
    assumed = {one["key"].removeprefix("shifts.use."): one for one in document["assumed"]}
    assert set(assumed) >= {one.name for one in fields(Use)}
    assert assumed["lasts"]["value"] == 1800
    hourly = next(one for one in document["measures"] if one["key"] == "shifts.per_hour")
    assert hourly["interval"]["low"]["value"] <= hourly["value"] <= hourly["interval"]["high"]["value"]
    assert "2016" in hourly["norm_source"]
    alarms = [one["alarm"] for one in document["alarms"]]
    assert alarms == list(in_use(assemble(load(sample("seedling_house")))))
    assert {"high-high", "deviation"} <= set(alarms)
    assert told("shifts", sample("seedling_house"), *SHORT, "--seed", "5") == (code, document)


def test_it_prints_lines_and_says_what_is_not_kept(said: Said, tmp_path: Path) -> None:
    chatters = {"bands.high.limit": "3.00 gal", "bands.high.dead_band": "0 gal", "bands.high.on_delay": "0 s"}
    file = tmp_path / "chatters.toml"
    save(edit_many(load(sample("seedling_house")), chatters), file)
    code, out, err = said("shifts", file, *SHORT)
    assert (code, err) == (1, "")
    assert "High is the worst" in out
    assert "▲" in out
    assert "about 6 acceptable, 12 the most that can be managed" in out
    assert any(one.split()[:2] == ["reaction", "60.0"] for one in out.splitlines())
    code, quiet, _ = said("shifts", sample("seedling_house"), *SHORT)
    assert code == 0
    assert "published figures are kept" in quiet


def test_the_worst_shift_is_saved_with_what_was_done_in_it(told: Told, tmp_path: Path) -> None:
    to = tmp_path / "worst.csv"
    code, document = told("shifts", sample("seedling_house"), *SHORT, "--use", "faults=2", "--save", to)
    assert code in (0, 1)
    assert document["files"] == [str(to), str(tmp_path / "worst.journal.csv")]
    again = read_csv(to)
    assert len(again) == 31 * 60  # a row each second, with the lead-in
    what = {one.what for one in again.journal if one.kind == "action"}
    assert "acknowledge" in what
    assert "valve opening" in what


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--use", "reaction"), "reaction"),
        (("--use", "coffee=5 min"), "There are: lasts"),
        (("--use", "reaction=-1 s"), "somebody comes after an alarm"),
        (("--use", "reaction=4 l"), "reaction=4 l"),
        (("--shifts", "0"), "no shift"),
        (("--seed", "-3"), "seed"),
    ],
)
def test_it_refuses_what_it_can_not_use(said: Said, words: tuple[str, str], why: str) -> None:
    code, out, err = said("shifts", sample("parts_washer"), *words)
    assert code == 2
    assert out == ""
    assert why in err
