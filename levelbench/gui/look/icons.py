"""The program's own icon: drawn as SVG in resources/icons, with the sizes that systems ask for beside it as PNG.

`python -m levelbench.gui.look.icons` makes the PNG files anew from the SVG.
"""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QIcon, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from levelbench.places import resources

NAMES = ("levelbench", "levelbench-project")
SIZES = (16, 24, 32, 48, 64, 128, 256)  # px


def program_icon() -> QIcon:
    """Give the icon of the program's windows, in every size."""
    icon = QIcon()
    for size in SIZES:
        icon.addFile(str(resources() / "icons" / f"levelbench-{size}.png"))
    return icon


def rendered(name: str, size: int) -> QImage:
    """Draw one icon from its SVG, so many pixels wide and high."""
    image = QImage(size, size, QImage.Format.Format_ARGB32)
    image.fill(0)
    painter = QPainter(image)
    QSvgRenderer(str(resources() / "icons" / f"{name}.svg")).render(painter, QRectF(0, 0, size, size))
    painter.end()
    return image


def write() -> None:
    """Write every PNG file."""
    for name in NAMES:
        for size in SIZES:
            rendered(name, size).save(str(resources() / "icons" / f"{name}-{size}.png"))


if __name__ == "__main__":
    write()
