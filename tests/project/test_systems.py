"""Windows and macOS, simulated as far as that is honest: their calls answered by stand-ins that behave as documented.

What is simulated: that Windows has no fcntl but msvcrt, whose locks refuse a second holder with EACCES; that it refuses
to replace a file which is open elsewhere (EACCES), to take certain names (EINVAL), and paths of 260 characters or more;
that it has no call to settle a folder; that macOS needs F_FULLFSYNC. Sources: the Python library reference (msvcrt, os,
fcntl), "Maximum Path Length Limitation", Microsoft Learn, fsync(2) of macOS.
"""

import errno
import os
import sys
import types
from pathlib import Path
from typing import IO, Any

import pytest
from sample_texts import SEEDLING

from levelbench.project import SaveError, load, read_project, recovery, save, saving, systems

PROJECT = read_project(SEEDLING)


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> dict[tuple[int, int], int]:
    """What our code can see of Windows; gives which files are held, and by which handle."""
    held: dict[tuple[int, int], int] = {}

    def locking(handle: int, _mode: int, _count: int) -> None:
        about = os.fstat(handle)
        file = (about.st_dev, about.st_ino)
        holder = held.get(file)
        if holder is not None and _is_open(holder, file):
            raise PermissionError(errno.EACCES, "Permission denied")
        held[file] = handle

    stand_in = types.ModuleType("msvcrt")
    stand_in.LK_NBLCK, stand_in.locking = 2, locking  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "msvcrt", stand_in)
    monkeypatch.setitem(sys.modules, "fcntl", None)  # type: ignore[arg-type]  an import of it fails, as there
    monkeypatch.setattr(systems, "WINDOWS", True)
    monkeypatch.setattr(systems.sys, "platform", "win32")
    monkeypatch.setattr(os, "open", _no_call("open"))
    monkeypatch.setattr(Path, "chmod", _no_call("chmod"))
    return held


def _is_open(handle: int, file: tuple[int, int]) -> bool:
    try:
        about = os.fstat(handle)
    except OSError:
        return False
    return (about.st_dev, about.st_ino) == file


def _no_call(name: str) -> Any:
    def refuse(*_args: object, **_more: object) -> None:
        raise AssertionError(f"{name} is not called on Windows")

    return refuse


def test_a_project_is_saved_and_saved_again_on_windows(tmp_path: Path, windows: object) -> None:
    for _ in range(2):
        save(PROJECT, tmp_path / "project.toml")
    assert (tmp_path / "project.toml").read_bytes() == SEEDLING.encode()
    assert [one.name for one in tmp_path.iterdir()] == ["project.toml"]


def test_what_is_held_is_left_alone_on_windows_and_what_was_left_goes(
    tmp_path: Path, windows: dict[tuple[int, int], int]
) -> None:
    part = tmp_path / ".levelbench-1-0a1b2c3d.part"
    with part.open("wb") as busy:
        os.utime(part, (1_000_000_000, 1_000_000_000))
        systems.hold(busy)
        saving.clear_left_behind(tmp_path)
        assert part.exists()
    saving.clear_left_behind(tmp_path)
    assert not part.exists()


def test_a_second_holder_is_refused_alike_everywhere(tmp_path: Path, windows: object) -> None:
    with (tmp_path / "file").open("wb") as one, (tmp_path / "file").open("rb") as other:
        systems.hold(one)
        with pytest.raises(BlockingIOError):
            systems.hold(other)


def test_recovery_copies_are_kept_and_offered_on_windows(
    tmp_path: Path, windows: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recovery, "user_state", lambda: tmp_path)
    copy = recovery.keep(PROJECT, Path("C:/tanks/one.toml"))
    assert recovery.found() == ()  # it is our own, and we live
    stranger = copy.with_name(f"99-0a1b2c3d.{copy.name.partition('.')[2]}")
    stranger.write_bytes(copy.read_bytes())
    (left,) = recovery.found()
    assert left.read() == PROJECT
    recovery.discard(left)
    recovery.discard(Path("C:/tanks/one.toml"))
    assert not list(tmp_path.rglob("*.toml"))


def busy(monkeypatch: pytest.MonkeyPatch, times: int) -> list[int]:
    """Let a target be open elsewhere for so many tries; gives the list of tries."""
    tries: list[int] = []
    replace = os.replace

    def refuse(one: Path, other: Path) -> None:
        tries.append(1)
        if len(tries) <= times:
            raise PermissionError(errno.EACCES, "Permission denied")
        replace(one, other)

    monkeypatch.setattr(os, "replace", refuse)
    return tries


def test_a_file_that_is_looked_at_for_a_moment_is_replaced_all_the_same(
    tmp_path: Path, windows: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(PROJECT, tmp_path / "project.toml")
    tries = busy(monkeypatch, 3)
    save(PROJECT, tmp_path / "project.toml")
    assert len(tries) == 4


def test_a_file_that_stays_open_elsewhere_is_said_and_left_whole(
    tmp_path: Path, windows: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    save(PROJECT, tmp_path / "project.toml")
    tries = busy(monkeypatch, 99)
    with pytest.raises(SaveError, match="close the file in other programs"):
        save(PROJECT, tmp_path / "project.toml")
    assert len(tries) == 4
    assert load(tmp_path / "project.toml") == PROJECT
    assert [one.name for one in tmp_path.iterdir()] == ["project.toml"]


def test_elsewhere_a_refusal_is_final_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tries = busy(monkeypatch, 1)
    with pytest.raises(SaveError):
        save(PROJECT, tmp_path / "project.toml")
    assert len(tries) == 1


@pytest.mark.parametrize(
    ("error", "name", "words"),
    [
        (OSError(errno.EINVAL, "Invalid argument"), "a?.toml", "it can't be called so"),
        (FileNotFoundError(errno.ENOENT, "No such file"), f"{'x' * 300}.toml", "is too long"),
    ],
)
def test_names_that_windows_refuses_are_said_in_words(
    tmp_path: Path, windows: object, error: OSError, name: str, words: str
) -> None:
    said = str(saving.save_error(error, tmp_path / name))
    assert words in said
    assert "untouched" in said


def test_a_name_that_is_too_long_is_said_in_words_here_too(tmp_path: Path) -> None:
    with pytest.raises(SaveError, match="is too long"):
        save(PROJECT, tmp_path / f"{'x' * 300}.toml")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("has_call", [True, False], ids=["local disk", "network drive"])
def test_macos_forces_the_drive_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_call: bool) -> None:
    called: list[str] = []

    def full(_handle: IO[bytes], request: int) -> int:
        called.append(f"full {request}")
        if not has_call:
            raise OSError(errno.ENOTSUP, "Operation not supported")
        return 0

    stand_in = types.ModuleType("fcntl")
    stand_in.fcntl, stand_in.F_FULLFSYNC = full, 51  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "fcntl", stand_in)
    monkeypatch.setattr(systems.sys, "platform", "darwin")
    monkeypatch.setattr(os, "fsync", lambda _handle: called.append("usual"))
    with (tmp_path / "file").open("wb") as file:
        systems.flush(file)
    assert called == (["full 51"] if has_call else ["full 51", "usual"])
