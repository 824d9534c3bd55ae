"""Where a window was and how it was divided: kept at its end, taken up at the next start, never off every screen."""

from PySide6.QtCore import QPoint, QRect, QSize
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMainWindow, QSplitter

from levelbench.gui.preferences import Preferences

LEAST = QSize(1100, 700)  # px; nothing is squeezed in a window of this size
SEEN = QSize(160, 60)  # px; as much of a window's head must be on some screen to be taken hold of
STEP = 32  # px; a further window does not lie exactly over the first


def remember(window: QMainWindow, centre: QSplitter, stage: int, preferences: Preferences) -> None:
    """Keep how a window is laid out."""
    preferences.remember_layout("window", window.saveGeometry())
    if centre.count() > 1:
        preferences.remember_layout("centre", centre.saveState())
    preferences.stage = stage


def take_up(window: QMainWindow, preferences: Preferences) -> None:
    """Put a window where it was, if that is still on a screen; a further window a little aside."""
    kept = preferences.layout("window")
    if kept is not None:
        window.restoreGeometry(kept)
    others = [
        one.position()
        for one in QGuiApplication.topLevelWindows()
        if one.isVisible() and one.title().endswith("LevelBench")
    ]
    if others:
        window.move(max(one.x() for one in others) + STEP, max(one.y() for one in others) + STEP)
    place = QRect(window.pos(), window.size())
    sane = within(place, [one.availableGeometry() for one in QGuiApplication.screens()])
    if sane != place:
        window.setGeometry(sane)


def take_up_centre(centre: QSplitter, preferences: Preferences) -> None:
    """Divide drawing and trend as they were."""
    kept = preferences.layout("centre")
    if kept is not None:
        centre.restoreState(kept)


def within(place: QRect, screens: list[QRect]) -> QRect:
    """Give a place for a window that can be seen: its own if its head is on a screen, else the first's middle."""
    head = QRect(place.topLeft(), QSize(place.width(), SEEN.height()))
    for screen in screens:
        seen = head.intersected(screen)
        if seen.width() >= SEEN.width() and seen.height() >= SEEN.height() // 2:
            return place
    if not screens:
        return place
    first = screens[0]
    size = place.size().boundedTo(first.size())
    corner = first.center() - QPoint(size.width() // 2, size.height() // 2)
    return QRect(corner, size)
