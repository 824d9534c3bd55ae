"""Old formats: a file of each is kept here for ever, and is still read."""

from pathlib import Path

import pytest

from levelbench.project import ProjectProblems, edit, load, read_project
from levelbench.project.migrations import CURRENT

FORMATS = Path(__file__).parent / "formats"
OLD = (FORMATS / "format_0.toml").read_text(encoding="utf-8")


def test_every_old_format_has_a_file() -> None:
    assert sorted(path.stem for path in FORMATS.glob("*.toml")) == [f"format_{number}" for number in range(CURRENT)]


def test_the_first_drafts_are_brought_up_with_their_comments() -> None:
    project = load(FORMATS / "format_0.toml")
    assert [one.text for one in project.sensor.signal_span] == ["45 cm", "8 cm"]
    assert project.loop_settings.gain is not None
    assert (project.loop_settings.gain.text, project.loop_settings.gain.si) == ("20", 20.0)
    lines = project.text.splitlines()
    assert lines[1] == "levelbench = 1"
    assert 'signal_span = ["45 cm", "8 cm"]    # empty' in lines
    assert 'gain = "20"           # per cent per per cent' in lines
    assert "distance_at" not in project.text
    assert len(lines) == len(OLD.splitlines()) - 1
    assert [line for line in lines if line not in OLD.splitlines()] == [
        "levelbench = 1",
        'signal_span = ["45 cm", "8 cm"]    # empty',
        'gain = "20"           # per cent per per cent',
    ]
    assert edit(project, "title", "Other").title == "Other"


def test_an_old_file_with_one_end_only_keeps_its_problem() -> None:
    with pytest.raises(ProjectProblems) as caught:
        read_project(OLD.replace('distance_at_20_mA = "8 cm"    # nearly at the rim\n', ""))
    assert {one.key for one in caught.value.problems} == {"sensor.distance_at_4_mA", "sensor.signal_span"}


def test_an_old_file_reads_with_windows_line_ends() -> None:
    project = read_project(OLD.replace("\n", "\r\n"))
    assert project.text.count("\n") == project.text.count("\r\n")
