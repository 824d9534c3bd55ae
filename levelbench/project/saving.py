"""Writing a file whole or not at all: after any failure, at any moment, the old file or the new one is there."""

import contextlib
import errno
import os
import secrets
import stat
from collections.abc import Iterable
from pathlib import Path

from levelbench.project.problems import SaveError
from levelbench.project.records import Project

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) if hasattr(errno, "EDQUOT") else (errno.ENOSPC, errno.EFBIG)
_READ_ONLY = (errno.EACCES, errno.EPERM, errno.EROFS)


def save(project: Project, path: Path | str) -> None:
    """Write a project's text to a file. Raises SaveError; the file is then as it was."""
    write_whole(path, project.text.encode("utf-8"))


def write_whole(path: Path | str, content: bytes | Iterable[bytes]) -> None:
    """Write a file beside the target, force it to the disk, then put it in the target's place; its mode is kept.

    A link is followed, so that the file it leads to is replaced and not the link. A device or a pipe is written into,
    since nothing stands there that could be kept. Long content may come in pieces. Raises SaveError.
    """
    pieces = (content,) if isinstance(content, bytes) else content
    if is_stream(path):
        _write_into(Path(path), pieces)
        return
    target = Path(os.path.realpath(path))
    beside = target.with_name(f".levelbench-{os.getpid()}-{secrets.token_hex(4)}.part")  # short: a name has its limit
    try:
        _write(beside, pieces, target)
        os.replace(beside, target)  # noqa: PTH105  the one call whose failure the tests simulate
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise save_error(error, Path(path)) from error
    _settle(target.parent)


def is_stream(path: Path | str) -> bool:
    """Tell whether a path leads to a device or a pipe, such as /dev/stdout."""
    try:
        return Path(path).is_char_device() or Path(path).is_fifo()
    except OSError:  # no such name can be; writing says why
        return False


def _write_into(target: Path, pieces: Iterable[bytes]) -> None:
    try:
        with target.open("wb") as file:
            file.writelines(pieces)
    except OSError as error:
        raise save_error(error, target) from error


def _write(beside: Path, pieces: Iterable[bytes], target: Path) -> None:
    with beside.open("xb") as file:
        file.writelines(pieces)
        file.flush()
        os.fsync(file.fileno())
    with contextlib.suppress(FileNotFoundError):
        beside.chmod(stat.S_IMODE(target.stat().st_mode))


def _settle(folder: Path) -> None:
    """Force the folder's entry to the disk where a system can; the file itself is there already."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def save_error(error: OSError, path: Path) -> SaveError:
    """Put a failure to write into words: what happened, where, and what to do."""
    kept = "What stood there before is untouched."
    if error.errno == errno.ENOENT and not path.parent.is_dir():
        return SaveError(f"{path} was not saved: there is no folder {path.parent}. Make it first.", "other")
    if error.errno in (errno.ENOTDIR, errno.EEXIST):
        return SaveError(f"{path} was not saved: a file stands where a folder is needed. {kept}", "other")
    if error.errno in _FULL:
        return SaveError(
            f"{path} was not saved: the disk is full. {kept} Make room, or save to another disk.", "full disk"
        )
    if error.errno in _READ_ONLY:
        advice = "Save under another name, or in a folder that is yours; close the file in other programs."
        return SaveError(f"{path} was not saved: this place can't be written to. {kept} {advice}", "read-only")
    reason = error.strerror or type(error).__name__
    return SaveError(f"{path} was not saved: {reason}. {kept} Save under another name or in another folder.", "other")
