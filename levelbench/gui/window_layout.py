"""Where a window was and how it was divided: kept at its end, taken up at the next start, never off every screen."""

from PySide6.QtCore import QByteArray, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMainWindow, QSplitter

from levelbench.gui.preferences import Preferences

ROOM = QSize(1264, 730)  # px; a window of this size shows everything at once, a smaller one scrolls
LEAST = QSize(480, 320)  # px
SEEN = QSize(160, 60)  # px; as much of a window's head must be on some screen to be taken hold of
FRAME = QSize(8, 40)  # px; what the desktop puts around a window, its title for the most part
STEP = 32  # px; a further window does not lie exactly over the first


def remember(window: QMainWindow, centre: QSplitter, stage: int, preferences: Preferences) -> None:
    """Keep how a window is laid out."""
    at = window.normalGeometry() if window.isMaximized() else QRect(window.pos(), window.size())
    words = f"{at.x()} {at.y()} {at.width()} {at.height()} {int(window.isMaximized())}"
    preferences.remember_layout("window", QByteArray(words.encode()))
    if centre.count() > 1:
        preferences.remember_layout("centre", centre.saveState())
    preferences.stage = stage


def take_up(window: QMainWindow, preferences: Preferences) -> None:
    """Put a window where it was, if that is still on a screen; a further window a little aside."""
    place, maximised = _kept(preferences) or (None, False)
    if place is None:
        for main in screens()[:1]:
            window.resize(window.size().boundedTo(main.size() - FRAME))
        return
    shown = [one for one in QGuiApplication.topLevelWindows() if one.isVisible()]
    others = [one.position() for one in shown if one.title().endswith("– LevelBench")]
    if others:
        place.moveTo(max(one.x() for one in others) + STEP, max(one.y() for one in others) + STEP)
    place = within(place, screens())
    window.resize(place.size())
    window.move(place.topLeft())
    if maximised and not others:
        window.setWindowState(Qt.WindowState.WindowMaximized)


def _kept(preferences: Preferences) -> tuple[QRect, bool] | None:
    """Give the place that was kept and whether the window filled the screen; None: nothing that makes sense."""
    kept = preferences.layout("window")
    try:
        x, y, width, height, maximised = (int(one) for one in bytes((kept or QByteArray()).data()).split())
    except ValueError:
        return None
    return QRect(x, y, width, height), bool(maximised)


def screens() -> list[QRect]:
    """Give the room on each screen, the main one first."""
    return [one.availableGeometry() for one in QGuiApplication.screens()]


def take_up_centre(centre: QSplitter, preferences: Preferences) -> None:
    """Divide drawing and trend as they were."""
    kept = preferences.layout("centre")
    if kept is not None:
        centre.restoreState(kept)


def within(place: QRect, rooms: list[QRect]) -> QRect:
    """Give a place for a window that is on a screen with its frame: where it was, else the first's middle."""
    if not rooms:
        return place
    head = QRect(place.topLeft(), QSize(place.width(), SEEN.height()))
    seen = [head.intersected(room) for room in rooms]
    best = max(range(len(rooms)), key=lambda at: seen[at].width() * seen[at].height())
    room = rooms[best]
    size = place.size().boundedTo(room.size())
    if seen[best].width() < SEEN.width() or seen[best].height() < SEEN.height() // 2:
        room = rooms[0]
        size = place.size().boundedTo(room.size())
        return QRect(room.center() - QPoint(size.width() // 2, size.height() // 2), size)
    x = max(room.x(), min(place.x(), room.x() + room.width() - size.width() - FRAME.width()))
    y = max(room.y(), min(place.y(), room.y() + room.height() - size.height() - FRAME.height()))
    return QRect(QPoint(x, y), size)
