"""The whole hand-over: every file, all or nothing, a way out, and plain words when the folder refuses."""

import json
import os
from pathlib import Path

import pytest
from handover_samples import SAMPLES

from levelbench.handover import package
from levelbench.handover.package import hand_over
from levelbench.project import SaveError, edit, load, read_project, sample
from levelbench.records import read_csv
from levelbench.review import Severity
from levelbench.rig import Cancelled


@pytest.mark.parametrize("name", SAMPLES)
def test_every_file_is_there_and_can_be_read(name: str, tmp_path: Path) -> None:
    project = load(sample(name))
    told: list[float] = []
    done = hand_over(project, tmp_path / "out", lambda share: told.append(share) is None)
    assert sorted(file.name for file in done.files) == sorted(file.name for file in (tmp_path / "out").iterdir())
    by_end = {"".join(file.name.partition(f"loop-{project.loop}-")[2]): file for file in done.files}
    assert by_end["settings.pdf"].read_bytes().startswith(b"%PDF-")
    assert "<!DOCTYPE html>" in by_end["settings.html"].read_text(encoding="utf-8")
    assert read_project(by_end["project.toml"].read_text(encoding="utf-8")) == project
    table = read_csv(by_end["step.csv"])
    assert len(table["pv"]) > 100
    assert table.journal
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_the_findings_say_value_unit_and_source(tmp_path: Path) -> None:
    done = hand_over(load(sample("seedling_house")), tmp_path)
    told = json.loads((tmp_path / "loop-310-findings.json").read_text(encoding="utf-8"))
    assert told["worst"] == done.severity.word
    assert len(told["findings"]) == len(done.findings)
    figures = [figure for one in told["findings"] for figure in one["figures"]]
    assert figures
    assert all(isinstance(one["value"], float) and one["source"] and one["formula"] for one in figures)
    text = (tmp_path / "loop-310-findings.txt").read_text(encoding="utf-8")
    assert all(one.title in text and one.severity.mark in text for one in done.findings)


def test_the_worst_severity_is_told(tmp_path: Path) -> None:
    bare = edit(load(sample("seedling_house")), "overflow_switch.fitted", False)
    assert hand_over(bare, tmp_path).severity is Severity.STOP


def test_a_second_hand_over_replaces_the_first_and_clears_away_what_a_killed_one_left(tmp_path: Path) -> None:
    project = load(sample("seedling_house"))
    first = hand_over(project, tmp_path)
    pdf = tmp_path / "loop-310-settings.pdf"
    before = pdf.read_bytes()
    left = tmp_path / ".hand_over-0a1b2c_d"
    left.mkdir()
    for name in (*(file.name for file in first.files), ".held"):
        (left / name).write_bytes(b"")
        os.utime(left / name, (1_000_000_000, 1_000_000_000))  # in 2001
    again = hand_over(edit(project, "loop_settings.integral", "30 s"), tmp_path)
    assert again.files == first.files
    assert pdf.read_bytes() != before
    assert list(tmp_path.glob(".*")) == []


def test_a_failure_on_the_way_leaves_the_folder_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project = load(sample("seedling_house"))
    hand_over(project, tmp_path)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def full(*_: object) -> None:
        raise SaveError("The disk is full.", "full disk")

    monkeypatch.setattr(package, "write_csv", full)
    with pytest.raises(SaveError):
        hand_over(edit(project, "loop_settings.integral", "30 s"), tmp_path)
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_person_can_stop_it_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(Cancelled):
        hand_over(load(sample("seedling_house")), tmp_path / "out", lambda share: share < 0.7)
    assert not (tmp_path / "out").exists()


def test_a_place_that_is_no_folder_is_refused_in_words(tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("in the way", encoding="utf-8")
    with pytest.raises(SaveError):
        hand_over(load(sample("seedling_house")), place)
    assert place.read_text(encoding="utf-8") == "in the way"


def test_a_loop_number_that_no_file_can_be_called_by_is_handed_over_all_the_same(tmp_path: Path) -> None:
    done = hand_over(edit(load(sample("seedling_house")), "loop", "310/A: 2"), tmp_path)
    assert {file.parent for file in done.files} == {tmp_path}
    assert all(file.is_file() and file.name.startswith("loop-310-A- 2-") for file in done.files)
