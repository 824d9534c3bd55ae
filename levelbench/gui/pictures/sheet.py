"""Many pictures on one, in titled groups, all to one scale, each with its name under it."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme

COLUMNS = 6  # the stages of one theme and size make one row
WIDE = 480  # px of the widest picture
_USUAL = 1280  # px of the window that becomes so wide; what is smaller becomes smaller with it
_GAP, _CAPTION, _TITLE = 16, 22, 44  # px


@dataclass(frozen=True)
class Group:
    """Pictures that belong together."""

    title: str
    files: tuple[Path, ...]


def contact_sheet(groups: Sequence[Group], to: Path) -> None:
    """Put the pictures of all groups on one sheet, each group under its title."""
    rows = [[_row(group.files[at : at + COLUMNS]) for at in range(0, len(group.files), COLUMNS)] for group in groups]
    high = sum(_TITLE + sum(_high(row) for row in each) for each in rows) + _GAP
    sheet = QImage(COLUMNS * (WIDE + _GAP) + _GAP, high, QImage.Format.Format_RGB32)
    sheet.fill(QColor(theme.LIGHT.colour(Role.PAPER)))
    painter, y = QPainter(sheet), 0
    for group, each in zip(groups, rows, strict=True):
        painter.setFont(theme.font(2 * theme.BODY, bold=True))
        painter.setPen(QColor(theme.LIGHT.colour(Role.INK)))
        painter.drawText(_GAP, y, sheet.width(), _TITLE, Qt.AlignmentFlag.AlignVCenter, group.title)
        y += _TITLE
        for row in each:
            _draw(painter, row, y)
            y += _high(row)
    painter.end()
    sheet.save(str(to))


def _row(files: Sequence[Path]) -> list[tuple[str, QImage]]:
    return [(file.stem, _small(QImage(str(file)))) for file in files]


def _small(image: QImage) -> QImage:
    width = round(WIDE * min(1.0, image.width() / _USUAL))
    return image.scaledToWidth(width, Qt.TransformationMode.SmoothTransformation)


def _high(row: Sequence[tuple[str, QImage]]) -> int:
    return max(image.height() for _, image in row) + _CAPTION + _GAP


def _draw(painter: QPainter, row: Sequence[tuple[str, QImage]], y: int) -> None:
    painter.setFont(theme.font(theme.BODY))
    for at, (name, image) in enumerate(row):
        x = _GAP + at * (WIDE + _GAP)
        painter.drawImage(x, y, image)
        painter.setPen(QColor(theme.LIGHT.edge))
        painter.drawRect(x, y, image.width() - 1, image.height() - 1)
        painter.setPen(QColor(theme.LIGHT.colour(Role.INK)))
        painter.drawText(x, y + image.height(), WIDE, _CAPTION, Qt.AlignmentFlag.AlignVCenter, name)
