"""What is shown on the trend, taken elsewhere: as a picture, as SVG, as values in CSV; copied or saved."""

import io
from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, QObject, QPoint, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QColor,
    QFont,
    QFontMetrics,
    QGuiApplication,
    QImage,
    QImageWriter,
    QKeySequence,
    QPainter,
)
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QMenu, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.look import theme
from levelbench.gui.trend.clock import clock
from levelbench.gui.trend.pane import Pane
from levelbench.gui.trend.panes import Panes
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.gui.work.slices import Slices
from levelbench.project import units
from levelbench.project.saving import write_whole
from levelbench.records import RecordError, write_csv
from levelbench.rig import Past

CLIPBOARD_ROWS = 36_000  # an hour at 10 Hz, some 10 MB of text; more goes into a file
STRIP = 24  # px over the panes of a picture, for its title
SHARP = 2  # pixels of a picture for each on the screen
WRITTEN = 11.0  # times longer than to run a scan again it takes to write its row
_KINDS = {"Picture (*.png)": ".png", "Drawing (*.svg)": ".svg", "Values (*.csv)": ".csv"}
_BELOW = QPoint(0, STRIP)  # where the panes stand in a picture
Ask = Callable[[], Past | None]


def title_of(past: Past | None, span: tuple[float, float]) -> str:
    """Say whose trend a picture is, which stretch of the run, and in what its times are."""
    if past is None:
        return ""
    project = past.rig.project
    begin, end = clock(max(span[0], 0.0)), clock(min(span[1], past.scans * past.rig.scan))
    return f"{project.title} · loop {project.first_letter}-{project.loop} · {begin} to {end} of the run (h:min:s)"


def paint(panes: Panes, painter: QPainter, title: str) -> None:
    """Paint the panes with their keys as they stand under a title, in the light theme, which suits paper."""
    painter.fillRect(QRect(QPoint(), size_of(panes)), QColor(theme.LIGHT.colour(Role.CARD)))
    font = QFont(panes.font())
    font.setBold(True)
    painter.setFont(font)
    painter.setPen(QColor(theme.LIGHT.colour(Role.INK)))
    room = panes.width() - 2 * theme.GRID
    words = QFontMetrics(font).elidedText(title, Qt.TextElideMode.ElideMiddle, room)
    painter.drawText(QRect(theme.GRID, 0, room, STRIP), Qt.AlignmentFlag.AlignVCenter, words)
    panes.dress(theme.LIGHT)
    try:
        for one in panes.parts():
            if one.isHidden():
                continue
            place = QRectF(one.view.geometry().translated(one.pos() + _BELOW))
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
            painter.translate(key.mapTo(panes, QPoint()) + _BELOW)
            key.paint(painter, theme.LIGHT)
            painter.restore()
    name = pane.head.name
    painter.setFont(name.font())
    painter.setPen(QColor(theme.LIGHT.colour(Role.QUIET)))
    painter.drawText(
        QRect(name.mapTo(panes, QPoint(4, 0)) + _BELOW, name.size()), Qt.AlignmentFlag.AlignVCenter, name.text()
    )


def size_of(panes: Panes) -> QSize:
    """Give the size of a picture: the panes and its title over them."""
    return panes.size() + QSize(0, STRIP)


def picture(panes: Panes, title: str) -> QImage:
    """Give the panes as an image."""
    image = QImage(size_of(panes) * SHARP, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SHARP)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint(panes, painter, title)
    painter.end()
    return image


def svg(panes: Panes, title: str) -> bytes:
    """Give the panes as SVG."""
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setSize(size_of(panes))
    generator.setViewBox(QRect(QPoint(), size_of(panes)))
    generator.setTitle(title)
    painter = QPainter(generator)
    paint(panes, painter, title)
    painter.end()
    buffer.close()
    return bytes(held.data())


class Copies(QObject):
    """The commands that take the visible stretch elsewhere, for the context menu, the Edit menu and the keyboard."""

    told = Signal(str)

    def __init__(self, panes: Panes, parent: QWidget) -> None:
        super().__init__(parent)
        self._panes = panes
        self._widget = parent
        self._slices = Slices(self)
        self.past: Ask = lambda: None  # gives what the run so far follows from
        self.line = JobLine(parent)
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
        held, title = QMimeData(), self._title()

        def hand_over() -> None:
            QGuiApplication.clipboard().setMimeData(held)
            self.told.emit("✓ The trend is on the clipboard, as a picture and as SVG.")

        self._slices.do(
            (
                lambda: held.setImageData(picture(self._panes, title)),
                lambda: held.setData("image/svg+xml", QByteArray(svg(self._panes, title))),
                hand_over,
            )
        )

    def _title(self) -> str:
        return title_of(self.past(), self._panes.span())

    def copy_values(self) -> None:
        """Put the rows that are shown on the clipboard as CSV."""
        work = partial(_values_as_text, self.past(), self._panes.span())
        self.line.follow(Job(self, work, self._take_values, self._could_not, key="copy", title="Copying values"))

    def _take_values(self, found: tuple[int, str]) -> None:
        rows, text = found
        if not text:
            self.told.emit(f"▲ {rows} rows are too many for the clipboard: save them, or zoom in.")
            return
        QGuiApplication.clipboard().setText(text)
        self.told.emit(f"✓ {rows} rows are on the clipboard as CSV.")

    def ask_save(self) -> None:
        """Ask for a file and save what is shown in the form that its name asks for."""
        path = ask_where_by_kind(self._widget, "Save shown trend", "trend.png", _KINDS)
        if path is not None:
            self.save(path)

    def save(self, path: Path) -> None:
        """Save what is shown as PNG, SVG or CSV, after the ending of the file's name."""
        kind = path.suffix.casefold()
        if kind == ".csv":
            work = partial(_save_values, self.past(), self._panes.span(), path)
        elif kind == ".svg":
            work = partial(_save_bytes, svg(self._panes, self._title()), path)
        else:
            work = partial(_save_png, picture(self._panes, self._title()), path)
        self.line.follow(Job(self, work, self._saved, self._could_not, key=f"save {path}", title=f"Saving {path.name}"))

    def _saved(self, path: Path) -> None:
        self.told.emit(f"✓ Saved as {path.name}.")

    def _could_not(self, error: Exception) -> None:
        self.told.emit(f"■ {error}")


def _ran(past: Past | None) -> Past:
    if past is None or not past.scans:
        raise RecordError("the trend", "Nothing has run yet.", "Run the rig, then copy.")
    return past


def _values_as_text(past: Past | None, span: tuple[float, float], progress: Progress) -> tuple[int, str]:
    rows = _ran(past).rows(*span)
    if rows > CLIPBOARD_ROWS:
        return rows, ""
    text = io.StringIO()
    _write_values(_ran(past), span, text, progress)
    return rows, text.getvalue()


def _save_values(past: Past | None, span: tuple[float, float], path: Path, progress: Progress) -> Path:
    _write_values(_ran(past), span, path, progress)
    return path


def _write_values(past: Past, span: tuple[float, float], target: Path | io.StringIO, progress: Progress) -> None:
    """Run a stretch again and write its values piece by piece; to write a row takes WRITTEN times longer."""
    rows = past.rows(*span)
    before = past.rows(end=span[1]) - rows  # run, but not written
    whole = before + (1.0 + WRITTEN) * rows

    def told(share: float) -> bool:
        ran = share * (before + rows)
        words = "writing" if ran > before else "running it again"
        return progress.report((ran + WRITTEN * max(ran - before, 0.0)) / whole, words)

    write_csv(past.pieces(*span, progress=told), target, units(past.rig.project))


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
