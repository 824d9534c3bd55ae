"""Writing a file whole or not at all: after any failure, at any moment, the old file or the new one is there.

What is written stands beside its place until it is complete, under a hidden name, and is held meanwhile. A program that
is killed leaves it there, held by nobody: the next save to that folder, or opening a file of it, clears it away.
"""

import contextlib
import errno
import os
import re
import secrets
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Literal

from levelbench.project import systems
from levelbench.project.problems import SaveError
from levelbench.project.records import Project
from levelbench.project.systems import flush, give_mode_of, hold, put_in_place, settle

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) if hasattr(errno, "EDQUOT") else (errno.ENOSPC, errno.EFBIG)
_READ_ONLY = (errno.EACCES, errno.EPERM, errno.EROFS)
_PART = re.compile(r"\.levelbench-\d+-[0-9a-f]{8}\.part")
_LEFT = 60  # s without a change until a part counts as left behind: while it takes its place nobody holds it
_LEFT_WITHOUT_LOCKS = 24 * 3600  # s


def save(project: Project, path: Path | str) -> None:
    """Write a project's text to a file. Raises SaveError; the file is then as it was."""
    write_whole(path, project.text.encode("utf-8"))


def write_whole(path: Path | str, content: bytes | Iterable[bytes]) -> None:
    """Write a file beside the target, force it to the disk, then put it in the target's place; its mode is kept.

    A link is followed, so that the file it leads to is replaced and not the link. A device or a pipe is written into,
    since nothing stands there that could be kept. Long content may come in pieces. Raises SaveError.
    """
    if is_stream(path):
        _write_into(Path(path), _pieces(content))
    else:
        write_together({Path(path): content})


def write_together(files: Mapping[Path, bytes | Iterable[bytes]]) -> None:
    """Write some files one after another, each as `write_whole` does; none takes its place before all are complete."""
    ready: dict[Path, Path] = {}  # the target of each that is written beside it
    path = Path()
    try:
        for path, content in files.items():
            target = Path(os.path.realpath(path))
            name = f".levelbench-{os.getpid()}-{secrets.token_hex(4)}.part"  # short: a name has its limit
            ready[target.with_name(name)] = target
            _write(target.with_name(name), _pieces(content), target)
        for path, (beside, target) in zip(files, ready.items(), strict=True):  # noqa: B007  the error names it
            put_in_place(beside, target)
    except BaseException as error:  # also of whoever gives the pieces, such as one that was cancelled
        for beside in ready:
            with contextlib.suppress(OSError):
                beside.unlink()
        if isinstance(error, OSError):
            raise save_error(error, path) from error
        raise
    for folder in {target.parent for target in ready.values()}:
        settle(folder)
        clear_left_behind(folder)


def _pieces(content: bytes | Iterable[bytes]) -> Iterable[bytes]:
    return (content,) if isinstance(content, bytes) else content


def clear_left_behind(folder: Path) -> None:
    """Remove from a folder what killed programs of ours left half written; whatever may be in use stays."""
    with contextlib.suppress(OSError), os.scandir(folder) as there:
        for one in there:
            if _PART.fullmatch(one.name) and one.is_file(follow_symlinks=False):
                with contextlib.suppress(OSError):
                    _clear(Path(one.path))


def _clear(part: Path) -> None:
    """Remove a part that was left behind. Raises OSError where it is held."""
    if is_left(part):
        part.unlink()


def is_left(path: Path) -> bool:
    """Tell whether nobody has written to a file, which nobody holds, for a while. Raises OSError where it is held."""
    enough = _LEFT
    with path.open("rb") as file:
        try:
            hold(file)
        except BlockingIOError:
            raise
        except OSError:  # there are no locks here
            enough = _LEFT_WITHOUT_LOCKS
        return abs(time.time() - os.fstat(file.fileno()).st_mtime) > enough


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
        with contextlib.suppress(OSError):  # a file system without locks: its age alone then says that it was left
            hold(file)
        file.writelines(pieces)
        flush(file)
    give_mode_of(target, beside)


def save_error(error: OSError, path: Path) -> SaveError:
    """Put a failure to write into words: what happened, where, and what to do."""
    kept, cause = "What stood there before is untouched.", _cause(error)
    if error.errno == errno.ENOENT and not path.parent.is_dir():
        kept, reason, advice = "", f"there is no folder {path.parent}", "Make it first."
    elif error.errno in (errno.ENOTDIR, errno.EEXIST):
        reason, advice = "a file stands where a folder is needed", ""
    elif error.errno == errno.ENAMETOOLONG or (systems.WINDOWS and len(str(path.absolute())) >= systems.LONGEST_PATH):
        reason, advice = "the name, or the path to it, is too long", "Take a shorter one."
    elif error.errno == errno.EINVAL and systems.WINDOWS:
        reason, advice = "it can't be called so", 'No name on Windows has any of < > : " / \\ | ? * in it.'
    elif cause == "full disk":
        reason, advice = "the disk is full", "Make room, or save to another disk."
    elif cause == "read-only":
        reason = "this place can't be written to"
        advice = "Save under another name, or in a folder that is yours; close the file in other programs."
    else:
        reason, advice = error.strerror or type(error).__name__, "Save under another name or in another folder."
    return SaveError(" ".join(filter(None, (f"{path} was not saved: {reason}.", kept, advice))), cause)


def _cause(error: OSError) -> Literal["full disk", "read-only", "other"]:
    if error.errno in _FULL:
        return "full disk"
    return "read-only" if error.errno in _READ_ONLY else "other"
