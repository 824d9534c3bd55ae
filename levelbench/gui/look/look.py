"""The look that the person prefers: light, dark, or as the system has it now; and how large everything is shown."""

import os
from functools import partial

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from levelbench.gui.look import theme
from levelbench.gui.preferences import Preferences
from levelbench.gui.work.slices import Slices
from levelbench.quantity import number_format, show_numbers_as

_SCALE = "QT_SCALE_FACTOR"


def scale_up(preferences: Preferences) -> None:
    """Show everything larger from here on; before the first window of the process. What was asked for by hand stays."""
    if preferences.scale != 100:
        os.environ.setdefault(_SCALE, str(preferences.scale / 100))


def put_on(app: QApplication, preferences: Preferences) -> None:
    """Show the whole program as the person prefers; who shows numbers hears of another way to write them."""
    if number_format() != preferences.number_format:
        show_numbers_as(preferences.number_format)
        for one in app.allWidgets():
            app.sendEvent(one, QEvent(QEvent.Type.LocaleChange))
    wanted = preferences.theme
    if wanted == "system":
        dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        wanted = "dark" if dark else "light"
    if theme.current().name != wanted or not app.property("theme"):
        _change(app, theme.THEMES[wanted])


def _change(app: QApplication, wanted: theme.Theme) -> None:
    """Change to a theme in slices: first what is in sight, painted when all of it is done, then the rest."""
    theme.begin(app, wanted)
    widgets = app.allWidgets()
    seen = [one for one in widgets if one.isVisible()]
    windows = [one for one in seen if one.isWindow()]
    for one in windows:
        one.setUpdatesEnabled(False)
    unseen = [one for one in widgets if not one.isVisible()]
    first, later = ([partial(theme.recolour, one) for one in some] for some in (seen, unseen))
    slices = app.findChild(Slices, options=Qt.FindChildOption.FindDirectChildrenOnly) or Slices(app)
    slices.do([*first, *(partial(_paint, one) for one in windows), *later])


def _paint(window: QWidget) -> None:
    """Paint a window again, now: where all of it was to be painted before it was held, Qt would wait for good."""
    if isValid(window):
        window.setUpdatesEnabled(True)
        window.repaint()


def follow_system(app: QApplication, preferences: Preferences) -> None:
    """Change with the system for as long as the person prefers that."""
    QGuiApplication.styleHints().colorSchemeChanged.connect(lambda _scheme: put_on(app, preferences))


def scale_now() -> float:
    """How large everything is shown in this process; 1 is 100 %."""
    try:
        return float(os.environ.get(_SCALE, "1"))
    except ValueError:
        return 1.0
