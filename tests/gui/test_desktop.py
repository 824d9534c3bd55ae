"""Icon, desktop entry and file type: sound by themselves, and by the system's validators where they are installed."""

import configparser
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QGuiApplication, QImage

from levelbench.cli.verbs import make_parser
from levelbench.gui.look.icons import NAMES, SIZES, program_icon, rendered
from levelbench.places import resources, sample_projects

DESKTOP = resources() / "desktop"
NS = {"m": "http://www.freedesktop.org/standards/shared-mime-info"}


def entry() -> configparser.SectionProxy:
    read = configparser.ConfigParser(interpolation=None)
    read.optionxform = str  # type: ignore[assignment]
    read.read(DESKTOP / "levelbench.desktop", encoding="utf-8")
    return read["Desktop Entry"]


def test_the_entry_starts_a_verb_that_there_is() -> None:
    program, verb, file = entry()["Exec"].split()
    assert (program, file) == ("levelbench", "%f")
    assert make_parser("0").parse_args([verb, "tank.toml"]).verb == "window"


def test_entry_and_file_type_name_each_other_and_their_icons() -> None:
    kind = ET.parse(DESKTOP / "levelbench.xml").find("m:mime-type", NS)
    assert kind is not None
    assert entry()["MimeType"] == f"{kind.attrib['type']};"
    icon = kind.find("m:icon", NS)
    assert icon is not None
    assert {entry()["Icon"], icon.attrib["name"]} == set(NAMES)


def test_the_samples_are_told_by_their_first_lines() -> None:
    kind = ET.parse(DESKTOP / "levelbench.xml").find("m:mime-type", NS)
    assert kind is not None
    values = [one.attrib["value"].replace("\\n", "\n") for one in kind.iterfind("m:magic/m:match", NS)]
    for path in sample_projects().glob("*.toml"):
        begin = path.read_text(encoding="utf-8")[:4096]
        assert any(value in begin for value in values), path.name


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", SIZES)
def test_each_size_shows_the_drawing(qapp: QGuiApplication, name: str, size: int) -> None:
    kept = QImage(str(resources() / "icons" / f"{name}-{size}.png"))
    assert kept.size() == QSize(size, size)
    fresh = rendered(name, size)
    apart = [
        abs(kept.pixelColor(x, y).lightness() - fresh.pixelColor(x, y).lightness())
        for x in range(0, size, 4)
        for y in range(0, size, 4)
    ]
    assert sum(apart) / len(apart) < 8
    assert len({kept.pixelColor(x, size // 2).name() for x in range(size)}) > 2


def test_the_window_has_the_icon(qapp: QGuiApplication) -> None:
    assert {(one.width(), one.height()) for one in program_icon().availableSizes()} == {(one, one) for one in SIZES}


@pytest.mark.skipif(shutil.which("desktop-file-validate") is None, reason="the validator is not installed")
def test_the_entry_passes_the_validator() -> None:
    told = subprocess.run(
        ["desktop-file-validate", str(DESKTOP / "levelbench.desktop")], capture_output=True, text=True, check=False
    )
    assert (told.returncode, told.stdout) == (0, "")


@pytest.mark.skipif(shutil.which("update-mime-database") is None, reason="the database's tool is not installed")
def test_the_file_type_is_taken_up(tmp_path: Path) -> None:
    packages = tmp_path / "mime" / "packages"
    packages.mkdir(parents=True)
    shutil.copy(DESKTOP / "levelbench.xml", packages)
    subprocess.run(["update-mime-database", str(tmp_path / "mime")], check=True, capture_output=True)
    assert "application/x-levelbench-project:*.levelbench.toml" in (tmp_path / "mime" / "globs").read_text()
