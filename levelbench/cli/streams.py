"""The output as every system has it: words with marks and signs come through, and a closed pipe is no error."""

import errno
import io
import os
import sys
from typing import TextIO

from levelbench.project import systems


def open_up(stream: TextIO) -> None:
    """Let a stream take every text, whatever the system's own letters are: what can't be shown becomes a "?".

    Into a file or a pipe, Windows would write in the letters of the country it was sold in; UTF-8 is promised.
    """
    if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
        utf_8 = systems.WINDOWS and not stream.isatty()
        stream.reconfigure(encoding="utf-8" if utf_8 else stream.encoding, errors="replace")


def is_closed_pipe(error: OSError) -> bool:
    """Tell whether nobody reads the output any more; Windows calls that an invalid argument."""
    nameless = systems.WINDOWS and error.errno == errno.EINVAL and error.filename is None
    return isinstance(error, BrokenPipeError) or nameless


def drop_output() -> None:
    """Let nothing more be written to an output that is closed or full, not even when the interpreter ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
