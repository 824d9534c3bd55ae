"""The script that takes the pictures: every stage in both themes and sizes, and every page of the sheet."""

from pathlib import Path

from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from levelbench.drawing.scene import Role
from levelbench.gui import pictures, theme
from levelbench.gui.rail import STAGES


def test_every_stage_is_taken_in_both_themes(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> None:
    try:
        assert pictures.main([str(tmp_path)]) == 0
    finally:
        theme.apply(qapp, theme.LIGHT)
    names = {file.name for file in tmp_path.glob("*.png")}
    for stage in STAGES:
        for look in theme.THEMES.values():
            for width, height in pictures.SIZES:
                name = f"{stage.lower().replace(' ', '-')}-{look.name}-{width}.png"
                assert name in names
                image = QImage(str(tmp_path / name))
                assert (image.width(), image.height()) == (width, height)
                assert image.pixelColor(width // 2, 4).name() == look.colour(Role.PAPER)  # the menu bar's ground
    assert "sheet-page-1.png" in names


def test_it_wants_a_folder() -> None:
    assert pictures.main([]) == 2
