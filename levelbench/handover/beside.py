"""A hidden folder in which the files of a hand-over become complete, beside the place that they will take.

A file in it is held as long as its program lives. What a killed program left goes at the next hand-over into the same
place: a folder of our name, with nothing in it but what a hand-over writes, whose program is gone.
"""

import contextlib
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from levelbench.project.saving import is_left, save_error
from levelbench.project.systems import hold

_PREFIX, _HELD = ".hand_over-", ".held"
_OURS = re.compile(re.escape(_PREFIX) + r"[a-z0-9_]{8}")
_WRITTEN = re.compile(
    r"loop-.+-(?:settings|findings|alarms|project|step)\.[a-z.]+|\.levelbench-\d+-[0-9a-f]{8}\.part|\.held"
)
_UNHELD = 24 * 3600  # s without a change until a folder that nobody ever held counts as left behind


@contextlib.contextmanager
def beside(target: Path) -> Iterator[Path]:
    """Make a folder in a place, which is made too where it is missing; it goes with all that is left in it.

    Raises SaveError.
    """
    try:
        target.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=target))
    except OSError as error:
        raise save_error(error, target) from error
    held: IO[bytes] | None = None
    try:
        held = _hold_in(made)
        _clear_left_behind(target, but=made)
        yield made
    finally:
        if held is not None:
            held.close()
        shutil.rmtree(made, ignore_errors=True)


def _hold_in(folder: Path) -> IO[bytes]:
    """Hold a folder by a file in it, until that is closed. Raises SaveError."""
    try:
        file = (folder / _HELD).open("xb")
    except OSError as error:
        raise save_error(error, folder) from error
    with contextlib.suppress(OSError):  # a file system without locks: its age alone then says that it was left
        hold(file)
    return file


def _clear_left_behind(target: Path, *, but: Path) -> None:
    with contextlib.suppress(OSError), os.scandir(target) as there:
        for one in there:
            if _OURS.fullmatch(one.name) and one.is_dir(follow_symlinks=False) and one.name != but.name:
                with contextlib.suppress(OSError):
                    _clear(Path(one.path))


def _clear(folder: Path) -> None:
    """Remove a folder that was left behind. Raises OSError where somebody holds it."""
    with os.scandir(folder) as there:
        inside = list(there)
    if not all(one.is_file(follow_symlinks=False) and _WRITTEN.fullmatch(one.name) for one in inside):
        return
    held = folder / _HELD
    gone = is_left(held) if held.exists() else abs(time.time() - folder.stat().st_mtime) > _UNHELD
    if gone:
        shutil.rmtree(folder)
