"""`levelbench alarms`: times, reasons and starting values in words and as one JSON document; the record as CSV."""

import csv
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.project import load, sample, samples, save
from levelbench.project.editing import edit_many

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]


@pytest.mark.parametrize("path", samples(), ids=lambda path: path.stem)
def test_times_reasons_and_starting_values_are_told(said: Said, told: Told, path: Path) -> None:
    (code, out, err), (told_code, document) = said("alarms", path), told("alarms", path)
    assert (code, told_code, err) == (0, 0, "")
    assert [one["key"] for one in document["alarms"]] == list(tomllib.loads(path.read_text("utf-8"))["bands"])
    for one in document["alarms"]:
        assert one["tag"] in out
        assert one["operator_action"] in out
        assert one["verdict_words"] in out
        for figure in (*one["times"], *one["delay"], *one["place"]):
            assert {"value", "unit", "source", "formula"} <= set(figure)
            assert figure["source"]
    assert document["priorities"] in out
    assert document["protection"] == "hardware must trip"
    assert all(one["words"] in out for one in document["starting_values"]["limits"])


def test_the_record_is_written_and_named(said: Said, told: Told, tmp_path: Path) -> None:
    place = tmp_path / "alarms.csv"
    code, out, _ = said("alarms", sample("seedling_house"), "--csv", place)
    assert code == 0
    assert f"written   {place}" in out
    with place.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows[0][:2] == ["tag", "alarm"]
    assert [row[1] for row in rows[2:]] == [
        *("high-high", "high", "low", "low-low", "deviation", "rate of change", "frozen signal", "bad signal"),
        *("no rise", "switch", "spill"),
    ]
    _, document = told("alarms", sample("seedling_house"), "--csv", place)
    assert document["file"] == str(place)


def test_a_place_that_can_not_be_written_to_is_refused_in_words(said: Said, tmp_path: Path) -> None:
    code, _, err = said("alarms", sample("seedling_house"), "--csv", tmp_path / "nowhere" / "alarms.csv")
    assert code == 2
    assert "there is no folder" in err


def test_what_is_not_an_alarm_is_marked_and_none_is_said(said: Said, tmp_path: Path) -> None:
    project = edit_many(load(sample("seedling_house")), {"bands.low.operator_action": None})
    save(project, tmp_path / "idle.toml")
    assert "low LAL-310, priority medium  ▲ not an alarm" in said("alarms", tmp_path / "idle.toml")[1]
    save(edit_many(project, {"bands": None}), tmp_path / "none.toml")
    code, out, _ = said("alarms", tmp_path / "none.toml")
    assert code == 0
    assert "This project has no alarms" in out
