"""The wheel: of every system, complete, and a program by itself, from another folder and without a console."""

import configparser
import email
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from tree import ROOT


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    """A wheel that is built from the tree."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return zipfile.ZipFile(next(folder.glob("*.whl")))


@pytest.fixture(scope="module")
def installed(wheel: zipfile.ZipFile, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder, with a blank and a letter of another country in its name, that the wheel was unpacked into."""
    folder = tmp_path_factory.mktemp("site packages ä")
    wheel.extractall(folder)
    return folder


def about(wheel: zipfile.ZipFile, name: str) -> str:
    """Give one of the wheel's files about itself."""
    return next(wheel.read(one).decode() for one in wheel.namelist() if one.endswith(f".dist-info/{name}"))


def run_from(installed: Path, folder: Path, code: str) -> dict[str, object]:
    """Run code with the unpacked wheel in place of the tree, in another folder; gives what it left in told.json."""
    environment = {
        **os.environ, "PYTHONPATH": str(installed), "QT_QPA_PLATFORM": "offscreen", "HOME": str(folder),
        "XDG_STATE_HOME": str(folder / "state"), "XDG_CONFIG_HOME": str(folder / "config"),
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], cwd=folder, env=environment, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    told: dict[str, object] = json.loads((folder / "told.json").read_text(encoding="utf-8"))
    return told


def test_one_wheel_is_for_every_system(wheel: zipfile.ZipFile) -> None:
    assert email.message_from_string(about(wheel, "WHEEL")).get_all("Tag") == ["py3-none-any"]
    assert Path(str(wheel.filename)).name.endswith("-py3-none-any.whl")
    binary = (".so", ".pyd", ".dll", ".dylib", ".nbi", ".nbc", ".pyc")
    assert [name for name in wheel.namelist() if name.endswith(binary)] == []


def test_resources_and_samples_travel_in_the_wheel(wheel: zipfile.ZipFile) -> None:
    for folder in ("resources", "sample_projects"):
        tracked = subprocess.run(
            ["git", "ls-files", folder], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split("\n")
        wanted = {f"levelbench/{name}" for name in tracked if name}
        assert wanted
        assert wanted <= set(wheel.namelist())


def test_every_module_travels_in_the_wheel_and_nothing_of_the_tests(wheel: zipfile.ZipFile) -> None:
    modules = {path.relative_to(ROOT).as_posix() for path in (ROOT / "levelbench").rglob("*.py")}
    assert modules <= set(wheel.namelist())
    assert {name.partition("/")[0].partition("-")[0] for name in wheel.namelist()} == {"levelbench"}


COMMANDS = """
import importlib.metadata, json, pathlib, levelbench
told = {}
for one in importlib.metadata.distribution("levelbench").entry_points:
    command = one.load()
    told[one.name] = [one.group, callable(command), command.__code__.co_filename]
pathlib.Path("told.json").write_text(json.dumps(told), encoding="utf-8")
"""


def test_both_commands_lead_to_something_in_the_wheel(wheel: zipfile.ZipFile, installed: Path, tmp_path: Path) -> None:
    written = configparser.ConfigParser()
    written.read_string(about(wheel, "entry_points.txt"))
    assert {group: list(written[group]) for group in written.sections()} == {
        "console_scripts": ["levelbench"],
        "gui_scripts": ["levelbench-window"],  # started on Windows without a console
    }
    told = run_from(installed, tmp_path, COMMANDS)
    assert told == {
        "levelbench": ["console_scripts", True, str(installed / "levelbench" / "cli" / "main.py")],
        "levelbench-window": ["gui_scripts", True, str(installed / "levelbench" / "gui" / "app.py")],
    }


# As where no console is: nothing to write to, and nothing may be written. The window is looked at, then closed.
WINDOW = """
import json, pathlib, sys
sys.stdin = sys.stdout = sys.stderr = None
from PySide6.QtCore import QTimer
from PySide6.QtGui import QFontInfo, QImage
from PySide6.QtWidgets import QApplication
app = QApplication(["levelbench-window"])
sys.argv = ["levelbench-window", *sys.argv[1:]]
faults = []
sys.excepthook = lambda _kind, error, _trace: faults.append(repr(error))
from levelbench.gui import app as window_of_the_wheel

def look():
    from levelbench import places
    from levelbench.gui.main_window import MainWindow
    window = next(one for one in app.topLevelWidgets() if isinstance(one, MainWindow))
    pages = window.help.pages()
    icons = list((places.resources() / "icons").iterdir())
    told = {
        "shown": window.isVisible(),
        "title": window.windowTitle(),
        "icon": len(app.windowIcon().availableSizes()),
        "font": QFontInfo(app.font()).family(),
        "pages": sorted(page.name for page in pages),
        "empty pages": [page.name for page in pages if len(page.markdown) < 200],
        "icons": [one.name for one in icons if QImage(str(one)).isNull()] if len(icons) > 10 else "none",
        "dressed": len(app.styleSheet()) > 1000,
        "resources": str(places.resources()),
        "faults": faults,
    }
    pathlib.Path("told.json").write_text(json.dumps(told), encoding="utf-8")
    window.close()

QTimer.singleShot(0, look)
sys.exit(window_of_the_wheel.start())
"""


@pytest.mark.gui
def test_the_window_starts_from_the_wheel_in_another_folder_and_without_a_console(
    installed: Path, tmp_path: Path
) -> None:
    told = run_from(installed, tmp_path, WINDOW)
    pages = told.pop("pages")
    assert isinstance(pages, list)
    assert {"start", "describe", "check", "tune", "alarms", "rehearse", "hand-over", "fields", "keys"} <= set(pages)
    assert "Seedling house" in str(told.pop("title"))
    assert told == {
        "shown": True,
        "icon": 7,
        "font": "DejaVu Sans",
        "empty pages": [],
        "icons": [],
        "dressed": True,
        "resources": str(installed / "levelbench" / "resources"),
        "faults": [],
    }
