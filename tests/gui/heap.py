"""How much memory is in use by this process, apart from what its allocator keeps for later."""

import ctypes
import gc
from pathlib import Path

import pytest

_NAMES = "arena ordblks smblks hblks hblkhd usmblks fsmblks uordblks fordblks keepcost"


class _Found(ctypes.Structure):
    _fields_ = [(name, ctypes.c_size_t) for name in _NAMES.split()]


def allocated() -> int:
    """What C and C++ code, numpy among it, has asked for and not given back [bytes]; skips where that is not told."""
    try:
        ask = ctypes.CDLL("libc.so.6").mallinfo2
    except (OSError, AttributeError):
        pytest.skip("only the GNU C library from 2.33 on tells what is allocated")
    ask.restype = _Found
    gc.collect()
    found = ask()
    return int(found.uordblks + found.hblkhd)


def resident() -> int:
    """What this process holds of the machine's memory [bytes]."""
    return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * 4096
