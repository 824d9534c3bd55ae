"""A progress bar for long work: on a terminal it moves, in a pipe there is none."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

WIDTH = 30


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], bool] | None]:
    """Show how far `what` has come: call what is given with a share from 0 to 1. None where nobody watches."""
    if not sys.stderr.isatty():
        yield None
        return
    shown = -1

    def show(share: float) -> bool:
        nonlocal shown
        percent = int(100 * min(max(share, 0.0), 1.0))
        if percent != shown:
            shown = percent
            full = percent * WIDTH // 100
            sys.stderr.write(f"\r{what} [{'#' * full}{'.' * (WIDTH - full)}] {percent:3d} %")
            sys.stderr.flush()
        return True

    try:
        yield show
    finally:
        sys.stderr.write(f"\r{'':{len(what) + WIDTH + len(' [] 100 %')}}\r")  # not every terminal knows "erase line"
        sys.stderr.flush()


def tell(what: str) -> None:
    """Say something in passing to a person who watches; nothing in a pipe."""
    if sys.stderr.isatty():
        print(what, file=sys.stderr)
