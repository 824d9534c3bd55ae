"""`levelbench alarms --noise`: dead bands and delays from the rig's noise or from a record, in words and as JSON."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from levelbench.project import edit_many, load, sample, save, units
from levelbench.records import write_csv
from levelbench.rig import assemble, run

Said = Callable[..., tuple[int, str, str]]
Told = Callable[..., tuple[int, Any]]


@pytest.fixture
def two_limits(tmp_path: Path) -> Path:
    """The seedling house with two of its limits, one of them in disorder."""
    changes = {"bands.high_high": None, "bands.low_low": None, "bands.deviation": None, "bands.low.limit": "2.5 gal"}
    path = tmp_path / "two.toml"
    save(edit_many(load(sample("seedling_house")), changes), path)
    return path


def test_each_limit_is_designed_and_what_stands_in_the_way_of_another_is_said(
    said: Said, told: Told, two_limits: Path
) -> None:
    (code, out, _), (_, document) = said("alarms", two_limits, "--noise"), told("alarms", two_limits, "--noise")
    assert code == 0
    high, low = document["noise"]
    assert (high["alarm"], low["alarm"]) == ("high", "low")
    assert high["proposed"]["edits"] == {"bands.high.dead_band": "0.017 gal", "bands.high.on_delay": "0 s"}
    assert high["check"]["agrees"]
    assert [one["key"] for one in high["check"]["figures"]] == [
        f"noise.check.{key}" for key in ("closed", "simulated", "rice")
    ]
    assert "bands.high.dead_band = 0.017 gal" in out
    assert high["why"] in out
    assert low["refused"] in out
    assert "order first" in low["refused"]
    for figure in (*high["noise"], *high["purpose"], *high["proposed"]["figures"], *high["present"]["figures"]):
        assert {"value", "unit", "source", "formula"} <= set(figure)
        assert figure["source"]


def test_without_being_asked_nothing_is_simulated(told: Told, two_limits: Path) -> None:
    assert "noise" not in told("alarms", two_limits)[1]


def test_a_record_takes_the_place_of_the_simulation(told: Told, two_limits: Path, tmp_path: Path) -> None:
    rig = assemble(load(sample("seedling_house")))
    record = tmp_path / "record.csv"
    write_csv(run(rig, 1200.0, seed=2), record, units(rig.project))
    code, document = told("alarms", two_limits, "--record", record)
    assert code == 0
    high = document["noise"][0]
    assert high["noise"][0]["inputs"]["from"].startswith("the record “")
    assert any("never comes near" in note for note in high["notes"])
