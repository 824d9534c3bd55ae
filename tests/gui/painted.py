"""Every text that the window paints by hand, seen while it is painted: where it stands, what cuts it, what it meets.

Labels and buttons are Qt's own to paint; what the section, plots, keys, rail, lamps and equations write passes here.
"""

import math
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pyqtgraph as pg
from boxes import LONGER
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetrics, QFontMetricsF, QPaintDevice, QPainter, QPicture, QTransform
from PySide6.QtWidgets import QWidget
from walk import hidden

from levelbench.drawing import measure
from levelbench.gui.look.elided import Elided
from levelbench.gui.section import paint
from levelbench.gui.section.view import SectionView

_UNITS = re.compile(r"\b(US gal|gal|min|in|ft|mm|cm|mA|kPa|Pa|[lLsm])\b|/")  # written alike in every language
_SLACK = 1.5  # px
_TOUCH = 2.0  # px that two texts may share at their edges, where no letter reaches


@dataclass(frozen=True)
class Painted:
    """A text on a device: its box there [px], and the box that it may fill."""

    words: str
    box: QRectF
    room: QRectF | None


def share_longer(words: str) -> float:
    """Give how much wider words are in a longer language; figures and units stay as they are."""
    letters = sum(one.isalpha() for one in _UNITS.sub("", words))
    return 1 + (LONGER - 1) * letters / max(len(words), 1) if letters > 2 else 1.0


@contextmanager
def longer_letters() -> Iterator[None]:
    """Let everything that asks how wide words are hear of the longer language."""
    plain = measure.text_width
    pairs = [(metrics, metrics.horizontalAdvance) for metrics in (QFontMetrics, QFontMetricsF)]
    users = _users_of(plain)

    def wide(text: str, size: float, bold: bool = False) -> float:
        return plain(text, size, bold) * share_longer(text)

    def longer(ask: Callable[..., Any]) -> Callable[..., Any]:
        return lambda self, words, *more: type(ask(self, words))(ask(self, words) * share_longer(words))

    for metrics, ask in pairs:
        metrics.horizontalAdvance = longer(ask)  # type: ignore[method-assign]
    for module in users:
        vars(module)["text_width"] = wide
    paint._width.cache_clear()
    try:
        yield
    finally:
        paint._width.cache_clear()
        for metrics, ask in pairs:
            metrics.horizontalAdvance = ask  # type: ignore[method-assign]
        for module in users:
            vars(module)["text_width"] = plain


def _users_of(plain: object) -> list[Any]:
    ours = [one for name, one in list(sys.modules.items()) if name.startswith("levelbench")]
    return [one for one in ours if vars(one).get("text_width") is plain]


def painted(window: QWidget, *, longer: bool = False) -> dict[int, tuple[QPaintDevice, list[Painted]]]:
    """Paint a window once, and give the texts of each device that it paints on."""
    found: dict[int, tuple[QPaintDevice, list[Painted]]] = {}
    plain = QPainter.drawText

    def draw(painter: QPainter, *given: Any) -> Any:
        words = next(one for one in given if isinstance(one, str))
        if words:
            device = painter.device()
            seen = Painted(words, *_places(painter, words, given, share_longer(words) if longer else 1.0))
            found.setdefault(id(device), (device, []))[1].append(seen)
        return plain(painter, *given)

    _forget_pictures(window)
    QPainter.drawText = draw  # type: ignore[method-assign,assignment]
    try:
        window.grab()
    finally:
        QPainter.drawText = plain  # type: ignore[method-assign]
    return found


def _forget_pictures(window: QWidget) -> None:
    """Let what was painted ahead be painted anew."""
    for view in window.findChildren(SectionView):
        view.refresh()
    for plot in window.findChildren(pg.PlotWidget):
        for side in ("left", "right", "bottom"):
            plot.getPlotItem().getAxis(side).picture = None


def _places(painter: QPainter, words: str, given: tuple[Any, ...], wider: float) -> tuple[QRectF, QRectF | None]:
    """Give the box of a text that is drawn at a point or into a box, and the box that it may fill, on the device."""
    metrics = QFontMetricsF(painter.font(), painter.device())
    lines = words.split("\n")
    wide = max(QFontMetricsF.size(metrics, 0, line).width() for line in lines) * wider
    high = metrics.height() * len(lines)
    bare = len(given) == 3 and isinstance(given[0], (int, float))
    where = QPointF(*given[:2]) if bare else given[0]
    device, ratio = painter.combinedTransform(), painter.device().devicePixelRatioF()
    device *= QTransform.fromScale(1 / ratio, 1 / ratio)
    clip = painter.clipBoundingRect() if painter.hasClipping() else None
    room = device.mapRect(clip) if clip is not None else None
    if isinstance(where, (QPoint, QPointF)):
        at = QPointF(where)
        box = QRectF(at.x(), at.y() - 0.75 * metrics.ascent(), wide, 0.75 * metrics.ascent() + 0.5 * metrics.descent())
        return device.mapRect(box), room
    place = QRectF(where) if isinstance(where, (QRect, QRectF)) else QRectF(*given[:4])
    flags = next((int(one.value if hasattr(one, "value") else one) for one in given[1:] if not isinstance(one, str)), 0)
    left, top = place.left(), place.top()
    if flags & Qt.AlignmentFlag.AlignHCenter.value:
        left += (place.width() - wide) / 2
    elif flags & Qt.AlignmentFlag.AlignRight.value:
        left += place.width() - wide
    if flags & Qt.AlignmentFlag.AlignVCenter.value:
        top += (place.height() - high) / 2
    elif flags & Qt.AlignmentFlag.AlignBottom.value:
        top += place.height() - high
    air = 0.12 * high  # over and under the letters
    box = QRectF(left, top + air, wide, high - 2 * air)
    free = bool(flags & Qt.TextFlag.TextDontClip.value)
    return device.mapRect(box), room if free else device.mapRect(place)


def cut_or_mixed(window: QWidget, *, longer: bool = False) -> list[str]:
    """Say which painted texts are cut, and which run into one another."""
    said: list[str] = []
    for device, texts in painted(window, longer=longer).values():
        if isinstance(device, Elided):  # ends in "…", and its tooltip says all of it
            continue
        name = type(device).__name__
        whole = None if isinstance(device, QPicture) else _whole(device)
        for one in texts:
            if "…" in one.words and not one.words.endswith(" …"):
                said.append(f"{name}: “{one.words}” is shortened")
            said += [
                f"{name}: “{one.words}” {one.box} is cut by {room}" for room in (whole, one.room) if _cut(one.box, room)
            ]
            if isinstance(device, QWidget) and (whole is None or whole.intersects(one.box)):
                room = one.box.adjusted(_SLACK, _SLACK, -_SLACK, -_SLACK).toRect()
                said += [f"{name}: “{one.words}” is {why}" for why in [hidden(device, window, room)] if why]
        said += _mixed(name, texts)
    return said


def _whole(device: QPaintDevice) -> QRectF:
    ratio = device.devicePixelRatioF() if not isinstance(device, QWidget) else 1.0
    return QRectF(0, 0, device.width() / ratio, device.height() / ratio)


def _cut(box: QRectF, room: QRectF | None) -> bool:
    """Whether a box is partly outside; what is wholly outside is in another part of the drawing."""
    if room is None or not room.intersects(box):
        return False
    more = room.adjusted(-_SLACK, -_SLACK, _SLACK, _SLACK)
    return not more.contains(box)


def _mixed(name: str, texts: list[Painted]) -> list[str]:
    said = []
    for at, one in enumerate(texts):
        for other in texts[at + 1 :]:
            shared = one.box.intersected(other.box)
            if shared.width() > _TOUCH and shared.height() > _TOUCH:
                said.append(f"{name}: “{one.words}” runs into “{other.words}” by {math.ceil(shared.width())} px")
    return said
