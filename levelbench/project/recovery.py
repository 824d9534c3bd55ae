"""Recovery copies: what was not saved when the program went down, in the same text format, offered at the next start.

Each process keeps its copies under a name of its own and holds a lock on it while it lives. A copy whose lock can be
taken belongs to nobody any more, so it is offered; the copies of a program that is still running are left alone.
"""

import atexit
import contextlib
import hashlib
import os
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import IO

from levelbench.places import user_state
from levelbench.project.problems import ProjectProblems
from levelbench.project.reader import read_project
from levelbench.project.records import Project
from levelbench.project.saving import save_error, write_whole
from levelbench.project.systems import hold

_MARK = "# LevelBench recovery copy"
_ORIGINAL = "# of: "
_KEPT = "# kept: "
_END = "# end of the recovery note"
_NEVER_SAVED = "(a project that was never saved)"


@dataclass(frozen=True)
class Recovered:
    """A copy that some program left behind: where it is, of which file, and when it was kept."""

    path: Path
    original: Path | None
    kept: datetime

    def read(self) -> Project:
        """Give the project as it was when the copy was kept. Raises ProjectProblems."""
        return read_project(_parts(self.path)[1], self.path.name)


def keep(project: Project, original_path: Path | None, slot: str = "") -> Path:
    """Keep a copy of a project that has changes, in the place of the last copy of the same file.

    `slot` keeps the copies of two documents apart that one program has open. Never touches the original. Raises
    SaveError.
    """
    try:
        copy = _own(original_path, slot)
    except OSError as error:
        raise save_error(error, _folder()) from error
    note = (
        f"{_MARK}: this text was not saved when it was kept.\n"
        f"{_ORIGINAL}{original_path.absolute() if original_path else _NEVER_SAVED}\n"
        f"{_KEPT}{datetime.now(UTC).isoformat(timespec='seconds')}\n"
        f"{_END}\n"
    )
    write_whole(copy, (note + project.text).encode("utf-8"))
    return copy


def found() -> tuple[Recovered, ...]:
    """Give the copies that no running program owns, the newest first."""
    left = []
    for copy in _folder().glob("*.toml"):
        if not _ownerless(_lock_of(copy)):
            continue
        with contextlib.suppress(ProjectProblems, OSError, ValueError):
            note = _parts(copy)[0]
            name = note.get(_ORIGINAL, _NEVER_SAVED)
            original = None if name == _NEVER_SAVED else Path(name)
            left.append(Recovered(copy, original, datetime.fromisoformat(note[_KEPT])))
    return tuple(sorted(left, key=lambda one: one.kept, reverse=True))


def discard(copy: Recovered | Path | None, slot: str = "") -> None:
    """Remove a copy that was found, or this program's own copy of a file (None: of the project that has no file)."""
    with contextlib.suppress(OSError):
        if not isinstance(copy, Recovered):
            _own(copy, slot).unlink(missing_ok=True)
            return
        copy.path.unlink(missing_ok=True)
        lock = _lock_of(copy.path)
        if not any(lock.parent.glob(f"{lock.stem}.*.toml")):
            lock.unlink(missing_ok=True)


def _folder() -> Path:
    return user_state() / "recovery"


def _own(original: Path | None, slot: str) -> Path:
    """Give the place of this process's copy of a file."""
    name = f"{slot}:{original.absolute() if original else ''}"
    session = _session(_folder(), os.getpid())
    return _folder() / f"{session.stem}.{hashlib.sha256(name.encode('utf-8', 'replace')).hexdigest()[:16]}.toml"


def _lock_of(copy: Path) -> Path:
    return copy.with_name(f"{copy.name.partition('.')[0]}.lock")


@cache
def _session(folder: Path, pid: int) -> Path:
    """Begin this process's ownership of its copies: a lock file that stays locked until the process ends."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{pid}-{secrets.token_hex(4)}.lock"
    handle = path.open("wb")
    with contextlib.suppress(OSError):  # a file system without locks: the copies are then offered to others as well
        hold(handle)
    atexit.register(_end, path, handle)
    return path


def _end(path: Path, handle: IO[bytes]) -> None:
    handle.close()
    if not any(path.parent.glob(f"{path.stem}.*.toml")):
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)


def _ownerless(lock: Path) -> bool:
    try:
        with lock.open("r+b") as handle:
            hold(handle)
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return True


def _parts(copy: Path) -> tuple[dict[str, str], str]:
    """Take a copy apart: its note, and the text as it was."""
    note, _, text = copy.read_bytes().decode("utf-8").partition(f"{_END}\n")
    lines = [
        (mark, line.removeprefix(mark))
        for line in note.splitlines()
        for mark in (_ORIGINAL, _KEPT)
        if line.startswith(mark)
    ]
    return dict(lines), text
