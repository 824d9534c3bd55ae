"""What Windows, macOS and Linux do each in their own way, in one place: holding, replacing and settling a file, and the
priority of a thread.

Nothing else in the program goes by the system that it runs on, but for looking for a screen; a test keeps it so.
"""

import contextlib
import os
import stat
import sys
import threading
import time
from pathlib import Path
from typing import IO

WINDOWS = os.name == "nt"
LONGEST_PATH = 260  # characters that a path may have on Windows, unless its owner allowed longer ones
_BACK, _LAST = 5, 19  # steps that a thread stands back (a third of the share of one that does not), and the last one
_AGAIN = (0.002, 0.006, 0.018)  # s to wait where another program has the place open for a moment


def hold(handle: IO[bytes]) -> None:
    """Hold an open file until it is closed, or its program dies, however it dies.

    Raises BlockingIOError at once when somebody holds it, another OSError where the file system can't hold any.
    """
    if sys.platform == "win32":
        import msvcrt  # noqa: PLC0415  there is none elsewhere

        try:
            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
        except PermissionError as error:
            raise BlockingIOError(*error.args) from error
    else:
        import fcntl  # noqa: PLC0415  there is none on Windows

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def put_in_place(ready: Path, place: Path) -> None:
    """Move a complete file to its place, over what stands there. Raises OSError.

    Windows refuses while another program, such as a virus scanner, has the place open; it is asked a few times more.
    """
    for wait in _AGAIN if WINDOWS else ():
        with contextlib.suppress(PermissionError):
            os.replace(ready, place)  # noqa: PTH105  the one call whose failure the tests simulate
            return
        time.sleep(wait)
    os.replace(ready, place)  # noqa: PTH105  as above


def give_mode_of(place: Path, ready: Path) -> None:
    """Give a new file the mode of the one whose place it will take. Raises OSError.

    On Windows a mode is no more than a mark against writing, and would keep the new file from being moved.
    """
    if not WINDOWS:
        with contextlib.suppress(FileNotFoundError):
            ready.chmod(stat.S_IMODE(place.stat().st_mode))


def flush(handle: IO[bytes]) -> None:
    """Force what was written to an open file onto the disk. Raises OSError.

    On macOS the usual call stops at the drive's own memory; another one goes through (fsync(2), macOS manual pages).
    """
    handle.flush()
    if sys.platform == "darwin":
        import fcntl  # noqa: PLC0415

        with contextlib.suppress(OSError):  # a network drive has no such call
            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
            return
    os.fsync(handle.fileno())


def settle(folder: Path) -> None:
    """Force a folder's entries to the disk where a system can; the file itself is there already."""
    if WINDOWS:
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def stand_back() -> None:
    """Let the calling thread come after those that somebody waits for; a window beside it answers as if alone.

    Linux has a priority for each thread; Windows and macOS favour the window in front by themselves.
    """
    if sys.platform == "linux":
        mine = threading.get_native_id()
        os.setpriority(os.PRIO_PROCESS, mine, min(os.getpriority(os.PRIO_PROCESS, mine) + _BACK, _LAST))
