"""Pins that keep a known fault out."""

import importlib.metadata
import sys


def test_qt_is_older_than_the_release_that_loses_references() -> None:
    """Each Signal.emit() from Python loses one reference to True in PySide6 6.12; fatal before 3.12."""
    version = importlib.metadata.version("PySide6-Essentials")
    major, minor = (int(part) for part in version.split(".")[:2])
    if sys.version_info < (3, 12):
        assert (major, minor) < (6, 12)
    else:
        assert major == 6
