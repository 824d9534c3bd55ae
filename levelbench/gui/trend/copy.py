"""What is shown on the trend, taken elsewhere: as a picture, as SVG, as values in CSV; copied or saved."""

import io
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, QObject, QPoint, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAction, QColor, QGuiApplication, QImage, QImageWriter, QKeySequence, QPainter
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QFileDialog, QMenu, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.trend.pane import Pane
from levelbench.gui.trend.panes import Panes
from levelbench.gui.work.jobs import Job, Progress
from levelbench.gui.work.slices import Slices
from levelbench.project import units
from levelbench.project.saving import write_whole
from levelbench.records import RecordError, write_csv
from levelbench.rig.recording import Recording

CLIPBOARD_ROWS = 36_000  # an hour at 10 Hz, some 10 MB of text; more goes into a file
SHARP = 2  # pixels of a picture for each on the screen
_KINDS = {"Picture (*.png)": ".png", "Drawing (*.svg)": ".svg", "Values (*.csv)": ".csv"}
Ask = Callable[[], Recording | None]


def paint(panes: Panes, painter: QPainter) -> None:
    """Paint the panes with their keys as they stand, in the light theme, which suits paper."""
    painter.fillRect(panes.rect(), QColor(theme.LIGHT.colour(Role.CARD)))
    panes.dress(theme.LIGHT)
    try:
        for one in panes.parts():
            if one.isHidden():
                continue
            place = QRectF(one.view.geometry().translated(one.pos()))
            one.view.render(painter, place, one.view.viewport().rect(), Qt.AspectRatioMode.IgnoreAspectRatio)
        for pane in panes.panes.values():
            if not pane.isHidden():
                _paint_head(pane, panes, painter)
    finally:
        panes.dress(theme.current())


def _paint_head(pane: Pane, panes: Panes, painter: QPainter) -> None:
    for key in pane.keys.values():
        if not key.isHidden():
            painter.save()
            painter.translate(key.mapTo(panes, QPoint()))
            key.paint(painter, theme.LIGHT)
            painter.restore()
    name = pane.head.name
    painter.setFont(name.font())
    painter.setPen(QColor(theme.LIGHT.colour(Role.QUIET)))
    painter.drawText(QRect(name.mapTo(panes, QPoint(4, 0)), name.size()), Qt.AlignmentFlag.AlignVCenter, name.text())


def picture(panes: Panes) -> QImage:
    """Give the panes as an image."""
    image = QImage(panes.size() * SHARP, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SHARP)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint(panes, painter)
    painter.end()
    return image


def svg(panes: Panes, title: str) -> bytes:
    """Give the panes as SVG."""
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setSize(panes.size())
    generator.setViewBox(QRect(QPoint(), QSize(panes.size())))
    generator.setTitle(title)
    painter = QPainter(generator)
    paint(panes, painter)
    painter.end()
    buffer.close()
    return bytes(held.data())


def cut(recording: Recording, start: float, end: float) -> Recording:
    """Give the part of a recording between two times [s], rows and journal."""
    first, last = np.searchsorted(recording["time"], [start, end + 1e-9])
    journal = tuple(entry for entry in recording.journal if start <= entry.time <= end)
    return Recording(recording.rig, recording.seed, recording.rows[first:last], journal)


class Copies(QObject):
    """The commands that take the visible stretch elsewhere, for the context menu, the Edit menu and the keyboard."""

    told = Signal(str)

    def __init__(self, panes: Panes, parent: QWidget) -> None:
        super().__init__(parent)
        self._panes = panes
        self._widget = parent
        self._slices = Slices(self)
        self.recorded: Ask = lambda: None  # gives the run so far; asked on a working thread
        self.menu = QMenu(parent)
        self.menu.setAccessibleName("copy the trend")
        self.actions = (
            self._add("&Copy the trend as a picture (PNG and SVG)", "Ctrl+C", self.copy_picture),
            self._add("Copy the &values that are shown (CSV)", "Ctrl+Shift+C", self.copy_values),
            self._add("Sa&ve what is shown (PNG, SVG, CSV) …", "Ctrl+Shift+E", self.ask_save),
        )

    def _add(self, words: str, keys: str, do: Callable[[], object]) -> QAction:
        action = QAction(words, self)
        action.setShortcut(QKeySequence(keys))
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)  # while the trend has the keyboard
        action.setToolTip("Takes the stretch of time that is shown.")
        action.triggered.connect(lambda _checked=False: do())
        self._widget.addAction(action)
        self.menu.addAction(action)
        return action

    def copy_picture(self) -> None:
        """Put the trend on the clipboard as PNG and as SVG, whoever takes it chooses; in steps, to hold up nothing."""
        held = QMimeData()

        def hand_over() -> None:
            QGuiApplication.clipboard().setMimeData(held)
            self.told.emit("✓ The trend is on the clipboard, as a picture and as SVG.")

        self._slices.do(
            (
                lambda: held.setImageData(picture(self._panes)),
                lambda: held.setData("image/svg+xml", QByteArray(svg(self._panes, "trend"))),
                hand_over,
            )
        )

    def copy_values(self) -> None:
        """Put the rows that are shown on the clipboard as CSV."""
        recorded, span = self.recorded, self._panes.span()

        def work(_progress: Progress) -> tuple[int, str]:
            part = _asked(recorded, span)
            if len(part) > CLIPBOARD_ROWS:
                return len(part), ""
            text = io.StringIO()
            write_csv(part, text, units(part.rig.project))
            return len(part), text.getvalue()

        Job(self, work, self._take_values, self._could_not, key="copy", title="Copying values")

    def _take_values(self, found: tuple[int, str]) -> None:
        rows, text = found
        if not text:
            self.told.emit(f"▲ {rows} rows are too many for the clipboard: save them, or zoom in.")
            return
        QGuiApplication.clipboard().setText(text)
        self.told.emit(f"✓ {rows} rows are on the clipboard as CSV.")

    def ask_save(self) -> None:
        """Ask for a file and save what is shown in the form that its name asks for."""
        name, kind = QFileDialog.getSaveFileName(self._widget, "Save shown trend", "trend.png", ";;".join(_KINDS))
        if name:
            path = Path(name)
            self.save(path if path.suffix in _KINDS.values() else path.with_name(path.name + _KINDS[kind]))

    def save(self, path: Path) -> None:
        """Save what is shown as PNG, SVG or CSV, after the ending of the file's name."""
        if path.suffix == ".csv":
            recorded, span = self.recorded, self._panes.span()
            work = partial(_save_values, recorded, span, path)
        elif path.suffix == ".svg":
            work = partial(_save_bytes, svg(self._panes, path.stem), path)
        else:
            work = partial(_save_png, picture(self._panes), path)
        Job(self, work, self._saved, self._could_not, key=f"save {path}", title=f"Saving {path.name}")

    def _saved(self, path: Path) -> None:
        self.told.emit(f"✓ Saved as {path.name}.")

    def _could_not(self, error: Exception) -> None:
        self.told.emit(f"■ {error}")


def _asked(recorded: Ask, span: tuple[float, float]) -> Recording:
    recording = recorded()
    if recording is None:
        raise RecordError("the trend", "Nothing has run yet.", "Run the rig, then copy.")
    return cut(recording, *span)


def _save_values(recorded: Ask, span: tuple[float, float], path: Path, _progress: Progress) -> Path:
    part = _asked(recorded, span)
    write_csv(part, path, units(part.rig.project))
    return path


def _save_bytes(content: bytes, path: Path, _progress: Progress) -> Path:
    write_whole(path, content)
    return path


def _save_png(image: QImage, path: Path, _progress: Progress) -> Path:
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(image)
    write_whole(path, bytes(held.data()))
    return path
