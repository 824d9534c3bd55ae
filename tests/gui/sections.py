"""The section as a person meets it: opened, taken hold of, dragged."""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication

from levelbench.gui.section.canvas import MARGIN
from levelbench.gui.section.view import SectionView


def open_view(qtbot, rig):
    """Show a rig in a section of its own; `heard` collects what is handed in."""
    one = SectionView(lambda key, typed: one.heard.append((key, typed)) or "")
    qtbot.addWidget(one)
    one.resize(900, 560)
    one.show_rig(rig)
    one.show()
    one.grab()
    one.heard = []
    return one


def place_of(view, key):
    """Where the line of an entry can be taken hold of: just right of the tank's middle."""
    handle = view.hand.handles[key]
    frame = view.canvas.frame
    return QPoint(round(frame.middle + 60) + MARGIN, round(frame.y(handle.at(handle.value))))


def drag(view, place, by, release=True):
    """Press, move in two steps, and let go."""
    points = [place, place + QPoint(0, by // 2), place + QPoint(0, by)]
    kinds = [QEvent.Type.MouseButtonPress, QEvent.Type.MouseMove, QEvent.Type.MouseMove]
    if release:
        points.append(points[-1])
        kinds.append(QEvent.Type.MouseButtonRelease)
    for kind, point in zip(kinds, points, strict=True):
        at = QPointF(point)
        held = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseButtonRelease else Qt.MouseButton.LeftButton
        button = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseMove else Qt.MouseButton.LeftButton
        event = QMouseEvent(kind, at, view.mapToGlobal(at), button, held, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(view, event)
