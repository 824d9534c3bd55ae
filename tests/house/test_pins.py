"""Pins that keep a known fault out, and what travels in the wheel."""

import importlib.metadata
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from tree import ROOT


def test_qt_is_older_than_the_release_that_loses_references() -> None:
    """Each Signal.emit() from Python loses one reference to True in PySide6 6.12; fatal before 3.12."""
    version = importlib.metadata.version("PySide6-Essentials")
    major, minor = (int(part) for part in version.split(".")[:2])
    if sys.version_info < (3, 12):
        assert (major, minor) < (6, 12)
    else:
        assert major == 6


@pytest.fixture(scope="module")
def wheel_names(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The names in a wheel that is built from the tree."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return zipfile.ZipFile(next(folder.glob("*.whl"))).namelist()


def test_fonts_and_samples_travel_in_the_wheel(wheel_names: list[str]) -> None:
    for folder in ("resources", "sample_projects"):
        tracked = subprocess.run(
            ["git", "ls-files", folder], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split("\n")
        wanted = {f"levelbench/{name}" for name in tracked if name}
        assert wanted
        assert wanted <= set(wheel_names)


def test_every_module_travels_in_the_wheel(wheel_names: list[str]) -> None:
    modules = {str(Path(path.relative_to(ROOT))) for path in (ROOT / "levelbench").rglob("*.py")}
    assert modules <= set(wheel_names)
    assert not [name for name in wheel_names if name.startswith("tests/")]
