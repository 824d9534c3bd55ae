"""What a killed save leaves half written goes at the next save or opening, and nothing else does."""

import contextlib
import errno
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from sample_texts import SEEDLING

from levelbench.project import read_project, save, saving
from levelbench.project.saving import clear_left_behind

PROJECT = read_project(SEEDLING)
LONG_AGO = 1_000_000_000  # s after 1970: in 2001
NAME = ".levelbench-12345-0a1b2c3d.part"

HALF = """
import os, sys, time
from pathlib import Path
from levelbench.project import write_whole
def pieces():
    yield b"half of it"
    print("begun", flush=True)
    sys.stdin.read()
    yield b"the rest"
write_whole(Path(sys.argv[1]), pieces())
"""


def old(path: Path, content: bytes = b"x") -> Path:
    path.write_bytes(content)
    os.utime(path, (LONG_AGO, LONG_AGO))
    return path


def parts(folder: Path) -> list[Path]:
    return list(folder.glob(".*"))


@contextlib.contextmanager
def half_written(path: Path) -> Iterator["subprocess.Popen[bytes]"]:
    """Another program in the middle of writing a file."""
    command = [sys.executable, "-c", HALF, str(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"begun\n"
        yield process
        if process.poll() is None:
            process.communicate()


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of this kind of system")
def test_what_a_killed_save_left_goes_at_the_next_save(tmp_path: Path) -> None:
    with half_written(tmp_path / "project.toml") as process:
        process.send_signal(signal.SIGKILL)
        process.wait()
    (left,) = parts(tmp_path)
    save(PROJECT, tmp_path / "project.toml")
    assert parts(tmp_path) == [left]  # it may be of a program that is just about to move it
    old(left)
    save(PROJECT, tmp_path / "project.toml")
    assert [one.name for one in tmp_path.iterdir()] == ["project.toml"]


def test_what_a_program_is_writing_is_left_alone_however_long_it_takes(tmp_path: Path) -> None:
    with half_written(tmp_path / "project.toml"):
        (busy,) = parts(tmp_path)
        os.utime(busy, (LONG_AGO, LONG_AGO))
        clear_left_behind(tmp_path)
        assert parts(tmp_path) == [busy]
    assert (tmp_path / "project.toml").read_bytes() == b"half of itthe rest"


@pytest.mark.parametrize(
    "name",
    [
        "project.part",
        ".project.part",
        ".levelbench-1-0a1b2c3d.part.toml",
        ".levelbench-x-0a1b2c3d.part",
        "levelbench-1-0a1b2c3d.part",
    ],
)
def test_files_of_others_stay(tmp_path: Path, name: str) -> None:
    theirs, ours = old(tmp_path / name), old(tmp_path / NAME)
    clear_left_behind(tmp_path)
    assert theirs.exists()
    assert not ours.exists()


def test_a_link_and_a_folder_of_such_a_name_stay_and_so_does_what_is_there_to_see(tmp_path: Path) -> None:
    seen = old(tmp_path / "kept.toml")
    (tmp_path / ".levelbench-1-0a1b2c3d.part").symlink_to(seen)
    (tmp_path / ".levelbench-2-0a1b2c3d.part").mkdir()
    clear_left_behind(tmp_path)
    assert len(list(tmp_path.iterdir())) == 3


def test_one_that_only_its_owner_may_read_goes_as_well(tmp_path: Path) -> None:
    left = old(tmp_path / NAME)
    left.chmod(0o400)
    clear_left_behind(tmp_path)
    assert parts(tmp_path) == []


def test_without_locks_a_day_must_have_gone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none_here(_handle: object) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(saving, "hold", none_here)
    left = tmp_path / NAME
    left.write_bytes(b"x")
    an_hour_ago = left.stat().st_mtime - 3600
    os.utime(left, (an_hour_ago, an_hour_ago))
    save(PROJECT, tmp_path / "project.toml")
    assert parts(tmp_path) == [left]
    old(left)
    save(PROJECT, tmp_path / "project.toml")
    assert parts(tmp_path) == []


def test_a_folder_that_is_gone_or_shut_hinders_nothing(tmp_path: Path) -> None:
    clear_left_behind(tmp_path / "none")
