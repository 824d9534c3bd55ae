"""What a killed hand-over leaves goes at the next one into the same place, and nothing else does."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from levelbench.handover.beside import beside

LONG_AGO = 1_000_000_000  # s after 1970: in 2001
NAME = ".hand_over-0a1b2c_d"

WAITS = """
import sys
from pathlib import Path
from levelbench.handover.beside import beside
with beside(Path(sys.argv[1])) as ready:
    (ready / "loop-310-settings.pdf").write_bytes(b"half of it")
    (ready / ".levelbench-1-0a1b2c3d.part").write_bytes(b"half of it")
    print("begun", flush=True)
    sys.stdin.read()
"""


def begun(place: Path) -> "subprocess.Popen[bytes]":
    """Another program in the middle of a hand-over."""
    process = subprocess.Popen([sys.executable, "-c", WAITS, str(place)], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"begun\n"
    return process


def hidden(place: Path) -> list[Path]:
    return sorted(place.glob(".*"))


def made_old(path: Path) -> Path:
    os.utime(path, (LONG_AGO, LONG_AGO))
    return path


def left(place: Path, *names: str, name: str = NAME) -> Path:
    """A folder as somebody may have left it long ago, with files of these names."""
    folder = place / name
    folder.mkdir()
    for one in names:
        (folder / one).write_bytes(b"x")
        made_old(folder / one)
    return made_old(folder)


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of this kind of system")
def test_what_a_killed_hand_over_left_goes_at_the_next(tmp_path: Path) -> None:
    (tmp_path / "loop-310-settings.pdf").write_bytes(b"the one before")
    with begun(tmp_path) as process:
        process.send_signal(signal.SIGKILL)
        process.wait()
    (folder,) = hidden(tmp_path)
    with beside(tmp_path):
        assert folder in hidden(tmp_path)  # too fresh: its program may just have begun
    made_old(folder / ".held")
    with beside(tmp_path) as ready:
        assert hidden(tmp_path) == [ready]
    assert [one.name for one in tmp_path.iterdir()] == ["loop-310-settings.pdf"]


def test_what_another_program_is_at_stays_however_long_it_takes(tmp_path: Path) -> None:
    with begun(tmp_path) as process:
        (folder,) = hidden(tmp_path)
        made_old(folder / ".held")
        made_old(folder)
        with beside(tmp_path):
            assert (folder / "loop-310-settings.pdf").exists()
        process.communicate()
    assert hidden(tmp_path) == []


@pytest.mark.parametrize(
    "inside",
    [
        (".held", "letter.txt"),
        (".held", "settings.pdf"),
        (".held", "loop-310-settings.pdf", "deeper"),
        ("loop-310-settings.pdf", "photo.jpg"),
    ],
)
def test_a_folder_with_anything_else_in_it_stays_whole(tmp_path: Path, inside: tuple[str, ...]) -> None:
    folder = left(tmp_path, *inside)
    if "deeper" in inside:
        (folder / "deeper").unlink()
        (folder / "deeper").mkdir()
        made_old(folder)
    with beside(tmp_path):
        assert sorted(one.name for one in folder.iterdir()) == sorted(inside)


@pytest.mark.parametrize(
    "name", ["hand_over-0a1b2c_d", ".hand_over-", ".hand_over-0a1b2c_dd", ".hand_over-0a1b2c_d.old"]
)
def test_folders_of_other_names_stay(tmp_path: Path, name: str) -> None:
    theirs, ours = left(tmp_path, ".held", name=name), left(tmp_path, ".held")
    with beside(tmp_path):
        assert theirs.exists()
        assert not ours.exists()


def test_a_link_to_such_a_folder_stays(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    kept = left(elsewhere, ".held")
    place = tmp_path / "place"
    place.mkdir()
    (place / ".hand_over-abcdefgh").symlink_to(kept)
    with beside(place):
        assert kept.exists()


def test_a_folder_that_nobody_ever_held_goes_after_a_day(tmp_path: Path) -> None:
    """So were those of the program before it held them."""
    folder = left(tmp_path, "loop-310-settings.html")
    an_hour_ago = tmp_path.stat().st_mtime - 3600
    os.utime(folder, (an_hour_ago, an_hour_ago))
    with beside(tmp_path):
        assert folder.exists()
    made_old(folder)
    with beside(tmp_path):
        assert not folder.exists()
