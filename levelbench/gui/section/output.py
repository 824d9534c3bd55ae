"""The section taken out of the window: to the clipboard and to a file as SVG and PNG, and to a printer."""

from collections.abc import Callable

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QMimeData, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QImage,
    QImageWriter,
    QPageLayout,
    QPageSize,
    QPainter,
)
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QWidget

from levelbench.drawing.frame import Fit, Size, frame
from levelbench.drawing.palette import PRINT
from levelbench.drawing.scene import Role, Scene
from levelbench.drawing.section import Section
from levelbench.drawing.state import SectionState
from levelbench.drawing.svg import to_svg
from levelbench.gui import dialogs
from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.look import theme
from levelbench.gui.section.paint import paint
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project.file_names import file_name
from levelbench.project.saving import write_whole
from levelbench.rig import Rig

WIDE, TEXT = 960.0, 11.0  # px
HEIGHTS = (600.0, 720.0, 900.0, 1200.0)  # px; the first in which the tank is legible is taken
LEGIBLE = 16.0  # text sizes
MARGIN = 12.0  # mm; printers leave some 4 mm unprinted
TITLE = 9.0  # pt
FINE = 3  # pixels of the picture for one of the drawing
SVG, PNG = "image/svg+xml", "image/png"
_KINDS = {"Drawing, sharp at every size (*.svg)": ".svg", "Picture (*.png)": ".png"}


def whole(rig: Rig, state: SectionState) -> Scene:
    """Draw everything at its true height, whatever part of it the window shows."""
    for height in HEIGHTS:
        size = Size(WIDE, height, TEXT)
        laid = frame(rig, size, Fit.ALL)
        if laid.scale * laid.profile.rim >= LEGIBLE * TEXT:
            break
    return Section(rig, size, laid).at(state)


def picture(scene: Scene) -> QImage:
    """Paint a scene as a picture on white, three pixels for one."""
    image = QImage(round(FINE * scene.width), round(FINE * scene.height), QImage.Format.Format_RGB32)
    image.fill(QColor(PRINT[Role.PAPER]))
    painter = QPainter(image)
    painter.scale(FINE, FINE)
    paint(painter, scene.items, PRINT)
    painter.end()
    return image


def as_svg(scene: Scene) -> bytes:
    """Give a scene as an SVG file."""
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + to_svg(scene, PRINT, "px").encode()


def as_png(scene: Scene) -> bytes:
    """Give a scene as a PNG file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(picture(scene))
    return bytes(buffer.data().data())


def copy(scene: Scene, owner: QObject, done: Callable[[], None]) -> None:
    """Put a scene on the clipboard as SVG and as PNG; whoever takes it chooses. It is painted on a working thread."""

    def place(made: tuple[bytes, bytes, QImage]) -> None:
        data = QMimeData()
        data.setData(SVG, QByteArray(made[0]))
        data.setData(PNG, QByteArray(made[1]))
        data.setImageData(made[2])
        QGuiApplication.clipboard().setMimeData(data)
        done()

    def work(_progress: Progress) -> tuple[bytes, bytes, QImage]:
        return as_svg(scene), as_png(scene), picture(scene)

    Job(owner, work, place, _raise, key="copy", title="Copying the section")


def _raise(error: Exception) -> None:
    raise error


def ask_save(scene: Scene, parent: QWidget, done: Callable[[], None]) -> None:
    """Ask for a file and write to it, on a working thread; `done` is called when it is written."""
    path = ask_where_by_kind(parent, "Save the section", "section.svg", _KINDS)
    if path is None:
        return

    def work(_progress: Progress) -> None:
        write_whole(path, as_png(scene) if path.suffix.casefold() == ".png" else as_svg(scene))

    def failed(error: Exception) -> None:
        dialogs.show_trouble(parent, "Not saved", error)

    Job(parent, work, lambda _nothing: done(), failed, key="save", title="Saving the section")


def printer_for(scene: Scene, paper: str) -> QPrinter:
    """Give a printer as the scene wants it: "A4" or "Letter", across where it is wider than high, with margins."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(file_name(scene.title))  # what is printed into a file is called so
    across = QPageLayout.Orientation.Landscape if scene.width > scene.height else QPageLayout.Orientation.Portrait
    size = QPageSize(QPageSize.PageSizeId.Letter if paper == "Letter" else QPageSize.PageSizeId.A4)
    margins = QMarginsF(MARGIN, MARGIN, MARGIN, MARGIN)
    printer.setPageLayout(QPageLayout(size, across, margins, QPageLayout.Unit.Millimeter))
    return printer


def ask_print(scene: Scene, paper: str, parent: QWidget) -> bool:
    """Ask for a printer and print; gives whether it was printed."""
    printer = printer_for(scene, paper)
    dialog = QPrintDialog(printer, parent)
    dialog.setWindowTitle("Print the section")
    return dialog.exec() == QPrintDialog.DialogCode.Accepted and print_on(printer, scene)


def print_on(printer: QPrinter, scene: Scene) -> bool:
    """Print a scene as large as the page takes it, its title at the foot; gives whether the printer took it."""
    painter = QPainter()
    if not painter.begin(printer):
        return False
    resolution = printer.resolution()
    page = QRectF(QPointF(), printer.pageLayout().paintRectPixels(resolution).size().toSizeF())
    font = QFont(theme.FAMILY)
    font.setPixelSize(round(TITLE * resolution / 72))
    painter.setFont(font)
    painter.setPen(QColor(PRINT[Role.INK]))
    painter.drawText(page, Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft, scene.title)
    foot = 2 * QFontMetricsF(font, printer).height()
    scale = min(page.width() / scene.width, (page.height() - foot) / scene.height)
    painter.scale(scale, scale)
    paint(painter, scene.items, PRINT)
    painter.end()
    return True
