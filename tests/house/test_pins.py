"""Pins that keep a known fault out, and what travels in the wheel."""

import importlib.metadata
import os
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

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
def wheel(tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    """A wheel that is built from the tree."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return zipfile.ZipFile(next(folder.glob("*.whl")))


def test_fonts_and_samples_travel_in_the_wheel(wheel: zipfile.ZipFile) -> None:
    for folder in ("resources", "sample_projects"):
        tracked = subprocess.run(
            ["git", "ls-files", folder], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split("\n")
        wanted = {f"levelbench/{name}" for name in tracked if name}
        assert wanted
        assert wanted <= set(wheel.namelist())


def test_every_module_travels_in_the_wheel(wheel: zipfile.ZipFile) -> None:
    modules = {str(Path(path.relative_to(ROOT))) for path in (ROOT / "levelbench").rglob("*.py")}
    assert modules <= set(wheel.namelist())
    assert not [name for name in wheel.namelist() if name.startswith("tests/")]


def test_what_travels_is_found_from_the_wheel(wheel: zipfile.ZipFile, tmp_path: Path) -> None:
    wheel.extractall(tmp_path)
    code = (
        "from levelbench.places import resources, sample_projects\n"
        "from levelbench.project import load, samples\n"
        "assert (resources() / 'fonts' / 'DejaVuSans.ttf').is_file()\n"
        "assert len([load(path) for path in samples()]) >= 2\n"
        "print(sample_projects())\n"
    )
    settings: dict[str, Any] = {"cwd": tmp_path, "env": {**os.environ, "PYTHONPATH": str(tmp_path)}, "text": True}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, **settings)
    assert done.stdout.strip() == str(tmp_path / "levelbench" / "sample_projects"), done.stderr
