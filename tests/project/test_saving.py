"""Saving: the very bytes, whole or not at all, whatever goes wrong and whenever the process dies."""

import errno
import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sample_texts import SEEDLING, WASHER

from levelbench.project import SaveError, edit, load, read_project, save, write_whole
from levelbench.project.saving import write_together
from levelbench.quantity import LevelBenchError

OLD = read_project(SEEDLING)
NEW = edit(OLD, "title", "Another title")
WORDS = {"full disk": "the disk is full", "read-only": "can't be written to", "other": "Input/output error"}


def names(folder: Path) -> list[str]:
    """Give the names of everything in a folder."""
    return [one.name for one in folder.iterdir()]


@pytest.mark.parametrize(
    "content",
    [SEEDLING, WASHER, "\ufeff" + SEEDLING, SEEDLING.replace("\n", "\r\n"), SEEDLING.rstrip("\n")],
    ids=["US", "metric", "BOM", "CRLF", "no last line end"],
)
def test_load_and_save_gives_the_same_bytes(tmp_path: Path, content: str) -> None:
    path = tmp_path / "project.toml"
    path.write_bytes(content.encode("utf-8"))
    for _ in range(3):
        save(load(path), path)
    assert path.read_bytes() == content.encode("utf-8")
    assert names(tmp_path) == ["project.toml"]


def test_the_mode_of_the_file_is_kept_and_a_link_is_followed(tmp_path: Path) -> None:
    path = tmp_path / "project.toml"
    save(OLD, path)
    assert stat.S_IMODE(path.stat().st_mode) & 0o600 == 0o600
    path.chmod(0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    save(NEW, link)
    assert link.is_symlink()
    assert load(path).title == "Another title"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def failing(number: int) -> Any:
    """Give a stand-in for a system call that fails with one error number."""

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize("call", ["fsync", "replace"])
@pytest.mark.parametrize(
    ("number", "cause"),
    [(errno.ENOSPC, "full disk"), (errno.EACCES, "read-only"), (errno.EROFS, "read-only"), (errno.EIO, "other")],
)
def test_a_failing_write_or_rename_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, number: int, cause: str
) -> None:
    path = tmp_path / "project.toml"
    save(OLD, path)
    with monkeypatch.context() as patch:
        patch.setattr(os, call, failing(number))
        with pytest.raises(SaveError, match=WORDS[cause]) as caught:
            save(NEW, path)
    assert caught.value.cause == cause
    assert isinstance(caught.value, LevelBenchError)
    assert str(path) in str(caught.value)
    assert "untouched" in str(caught.value)
    assert path.read_text(encoding="utf-8") == SEEDLING
    assert names(tmp_path) == ["project.toml"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_a_device_that_is_truly_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernel itself refuses the bytes: /dev/full answers every write with ENOSPC."""
    path = tmp_path / "project.toml"
    save(OLD, path)
    opened = Path.open

    def full(self: Path, *args: Any, **more: Any) -> Any:
        return Path("/dev/full").open("wb") if self.name.endswith(".part") else opened(self, *args, **more)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", full)
        with pytest.raises(SaveError, match="the disk is full"):
            save(NEW, path)
    assert path.read_text(encoding="utf-8") == SEEDLING


def test_a_folder_that_is_not_there_or_is_a_file(tmp_path: Path) -> None:
    with pytest.raises(SaveError, match="there is no folder"):
        save(OLD, tmp_path / "none" / "project.toml")
    with pytest.raises(SaveError, match="directory"):
        write_whole(tmp_path, b"x")
    assert names(tmp_path) == []


def test_of_two_files_none_takes_its_place_before_both_are_complete(tmp_path: Path) -> None:
    """The second is known only when the first is written, as a journal is."""
    one, two, lines = tmp_path / "one", tmp_path / "two", list[bytes]()

    def pieces(end: Exception | None = None) -> Iterator[bytes]:
        yield b"a"
        lines.append(b"b")
        if end is not None:
            raise end

    write_together({one: pieces(), two: lines})
    assert (one.read_bytes(), two.read_bytes()) == (b"a", b"b")
    with pytest.raises(SaveError, match=f"{two} was not saved: the disk is full"):
        write_together({one: b"new", two: pieces(OSError(errno.ENOSPC, "full"))})
    with pytest.raises(SaveError, match="there is no folder"):
        write_together({one: b"new", tmp_path / "none" / "two": b"new"})
    with pytest.raises(SaveError, match=f"{tmp_path} was not saved"):
        write_together({tmp_path: b"new", two: b"new"})
    assert (one.read_bytes(), two.read_bytes()) == (b"a", b"b")
    assert names(tmp_path) == ["one", "two"]


WRITER = """
import sys
from pathlib import Path
from levelbench.project import edit, load, save
path = Path(sys.argv[1])
one = load(path)
two = edit(one, "sheet.site", "x" * 200_000)
print("ready", flush=True)
while True:
    save(two, path)
    save(one, path)
"""


def kill_while_saving(path: Path, times: int) -> None:
    """Start a process that saves without a pause, kill it at some moment, and see what it left; again and again."""
    for number in range(times):
        with subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == b"ready\n"
            time.sleep(0.002 + 0.037 * number % 0.05)
            process.send_signal(signal.SIGKILL)
        left = load(path)
        assert left.sheet.site in ("Propagation bench 3", "x" * 200_000)
        save(OLD, path)


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of this kind of system")
def test_killed_while_saving_leaves_a_readable_file(tmp_path: Path) -> None:
    save(OLD, tmp_path / "project.toml")
    kill_while_saving(tmp_path / "project.toml", 5)


@pytest.mark.long
@pytest.mark.timeout(600)
@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of this kind of system")
def test_killed_a_hundred_times_while_saving_leaves_a_readable_file(tmp_path: Path) -> None:
    save(OLD, tmp_path / "project.toml")
    kill_while_saving(tmp_path / "project.toml", 100)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there are no such devices")
def test_a_device_is_written_into_and_says_when_it_is_full() -> None:
    write_whole("/dev/null", b"x")
    assert Path("/dev/null").is_char_device()
    with pytest.raises(SaveError, match="the disk is full"):
        write_whole("/dev/full", b"x")
    assert Path("/dev/full").is_char_device()
