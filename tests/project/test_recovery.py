"""Recovery copies: kept beside nobody's file, offered only when their program is gone, and never of each other."""

import subprocess
import sys
from pathlib import Path

import pytest
from sample_texts import SEEDLING

from levelbench import places
from levelbench.project import SaveError, edit, read_project, recovery

OTHER = """
import sys
from pathlib import Path
from levelbench import places
from levelbench.project import edit, load, recovery, sample
places.user_state = recovery.user_state = lambda: Path(sys.argv[1])
recovery.keep(edit(load(sample("seedling_house")), "title", "Kept by another"), Path(sys.argv[2]))
print("kept", flush=True)
sys.stdin.read() if sys.argv[3] == "wait" else __import__("os")._exit(9)
"""


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "state"
    monkeypatch.setattr(recovery, "user_state", lambda: folder)
    return folder


def other(state: Path, original: Path, what: str) -> "subprocess.Popen[bytes]":
    """Start another program that keeps a copy, then waits or dies without a word."""
    command = [sys.executable, "-c", OTHER, str(state), str(original), what]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"kept\n"
    return process


def close(process: "subprocess.Popen[bytes]") -> None:
    process.communicate()


@pytest.mark.parametrize(
    "text", [SEEDLING, "\ufeff" + SEEDLING, SEEDLING.replace("\n", "\r\n")], ids=["plain", "BOM", "CRLF"]
)
def test_a_copy_is_a_project_file_with_a_note_above_it(tmp_path: Path, text: str) -> None:
    project = read_project(text)
    copy = recovery.keep(project, tmp_path / "mine.toml")
    content = copy.read_bytes().decode("utf-8")
    assert content.startswith("# LevelBench recovery copy")
    assert f"# of: {tmp_path / 'mine.toml'}\n" in content
    assert content.endswith(text)
    assert not (tmp_path / "mine.toml").exists()


def test_the_last_copy_of_a_file_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    project = read_project(SEEDLING)
    first = recovery.keep(project, tmp_path / "a.toml")
    assert recovery.keep(edit(project, "title", "Later"), tmp_path / "a.toml") == first
    assert "Later" in first.read_text(encoding="utf-8")
    assert recovery.keep(project, tmp_path / "b.toml") != first
    assert recovery.keep(project, None) not in (first, recovery.keep(project, tmp_path / "b.toml"))


def test_a_clean_close_leaves_nothing(tmp_path: Path, state: Path) -> None:
    for original in (tmp_path / "a.toml", None):
        copy = recovery.keep(read_project(SEEDLING), original)
        assert copy.exists()
        recovery.discard(original)
        assert not copy.exists()
        recovery.discard(original)
    assert list(state.rglob("*.toml")) == []


def test_what_a_dead_program_left_is_offered_whole(tmp_path: Path, state: Path) -> None:
    close(other(state, tmp_path / "lost.toml", "die"))
    (left,) = recovery.found()
    assert left.original == tmp_path / "lost.toml"
    assert left.read() == edit(read_project(SEEDLING), "title", "Kept by another")
    assert left.kept.tzinfo is not None
    recovery.discard(left)
    assert recovery.found() == ()
    assert list((state / "recovery").iterdir()) == []


def test_the_copy_of_a_running_program_is_left_alone(tmp_path: Path, state: Path) -> None:
    own = recovery.keep(read_project(SEEDLING), tmp_path / "same.toml")
    process = other(state, tmp_path / "same.toml", "wait")
    assert recovery.found() == ()
    copies = list((state / "recovery").glob("*.toml"))
    assert len(copies) == 2
    recovery.discard(tmp_path / "same.toml")
    assert not own.exists()
    assert len(list((state / "recovery").glob("*.toml"))) == 1
    close(process)
    assert [one.original for one in recovery.found()] == [tmp_path / "same.toml"]


def test_a_file_that_is_no_copy_is_not_offered(state: Path) -> None:
    (state / "recovery").mkdir(parents=True)
    (state / "recovery" / "1-a.x.toml").write_bytes(b"\xff\x00 nonsense")
    (state / "recovery" / "1-b.x.toml").write_bytes(b"# of: somewhere\n# kept: yesterday\n# end of the recovery note\n")
    assert recovery.found() == ()


def test_a_state_folder_that_can_not_be_made_is_said(state: Path) -> None:
    state.write_text("a file is in the way", encoding="utf-8")
    with pytest.raises(SaveError, match="was not saved"):
        recovery.keep(read_project(SEEDLING), None)
    assert recovery.found() == ()
    recovery.discard(None)


def test_folders_of_the_user_are_told_apart_and_the_travelling_ones_exist() -> None:
    assert len({places.user_state(), places.user_config(), places.user_cache()}) >= 2
    assert all("LevelBench" in str(one) for one in (places.user_state(), places.user_config(), places.user_cache()))
    assert places.resources().is_dir()
    assert places.sample_projects().is_dir()
