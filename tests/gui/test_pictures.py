"""The script that takes the pictures: every stage, every other window, every page of the sheet, and all on one."""

from pathlib import Path

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.pictures import __main__ as pictures
from levelbench.gui.pictures.sheet import COLUMNS, WIDE
from levelbench.gui.rail import STAGES
from levelbench.gui.station import look as station_look

OTHERS = (
    *("describe-field", "describe-lights", "check-what-if", "tune-scrub", "section-drag", "interview", "preferences"),
    *("about", "problems", "help", "tour", "tune-record-done", "alarms-standing-alarm", "rehearse-alarm"),
    *("station-calm", "station-read-back", "station-alarm", "station-small"),
)


def test_everything_is_taken(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> None:
    try:
        assert pictures.main(["--quick", str(tmp_path)]) == 0
    finally:
        theme.apply(qapp, theme.LIGHT)
    names = {file.name for file in tmp_path.glob("*.png")}
    width, height = pictures.SIZES[0]
    for stage in STAGES:
        name = f"{stage.lower().replace(' ', '-')}-light-{width}.png"
        assert name in names
        image = QImage(str(tmp_path / name))
        assert (image.width(), image.height()) == (width, height)
        assert image.pixelColor(width // 2, 4).name() == theme.LIGHT.colour(Role.PAPER)  # the menu bar's ground
    assert {f"{name}-light.png" for name in OTHERS} <= names
    assert "sheet-page-1.png" in names
    calm, alarm = (QImage(str(tmp_path / f"station-{name}-light.png")) for name in ("calm", "alarm"))
    assert colours(alarm) - colours(calm) >= {station_look.LOOKS["light"].attention_tint}
    sheet = QImage(str(tmp_path / "contact-sheet.png"))
    assert sheet.width() > COLUMNS * WIDE
    assert sheet.height() > len(names) // COLUMNS * 300


def colours(image: QImage) -> set[str]:
    """Give the colours of every fifth point of a picture."""
    across, down = range(0, image.width(), 5), range(0, image.height(), 5)
    return {image.pixelColor(x, y).name() for x in across for y in down}


def test_it_wants_a_folder(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        pictures.main([])
    assert "folder" in capsys.readouterr().err
