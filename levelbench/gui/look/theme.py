"""The look of the window: colours by role for a light and a dark room, one family of type, one style sheet.

The colours are those of the drawings (`levelbench.drawing.palette`), so that the window and the paper speak alike; what
only a window needs (an edge that shows a box can be typed in, the row under the pointer) is added here.

The style sheet names colours by their roles in Qt's palette and never changes: another theme is another palette. To put
on another sheet would hold the window for half a millisecond a widget, a second in all, and can't be done in parts.
"""

import re
from dataclasses import dataclass
from functools import cache
from string import Template

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette, QPen
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from levelbench.drawing.palette import DARK as DARK_DRAWING
from levelbench.drawing.palette import LIGHT as LIGHT_DRAWING
from levelbench.drawing.palette import Palette, luminance
from levelbench.drawing.scene import Role
from levelbench.places import resources

FAMILY = "DejaVu Sans"
SMALL, DRAWING, BODY, TITLE, FIGURE = 10, 11, 12, 14, 26  # px at 100 %; there are no others
GRID = 8  # px at 100 %; gaps are whole or half steps of it


@dataclass(frozen=True)
class Theme:
    """A palette of the drawings with what a window needs besides."""

    name: str
    palette: Palette
    edge: str  # the outline of what can be typed in or pressed
    field: str  # the ground of what can be typed in
    chosen: str  # the ground of what is chosen or under the pointer
    water_deep: str  # the main button under the pointer
    lamp_green: str  # green stands on the lamp and nowhere else

    def colour(self, role: Role) -> str:
        """Give the colour of a role as "#rrggbb"."""
        return self.palette[role]

    def roles(self) -> dict[str, str]:
        """Give every name of a colour that the style sheet uses, with its value."""
        named = {role.value.replace(" ", "_"): self.palette[role] for role in Role}
        return named | {
            "edge": self.edge,
            "field": self.field,
            "chosen": self.chosen,
            "water": self.palette[Role.WATER_LINE],
            "water_deep": self.water_deep,
            "note": self.palette[Role.PAPER],
            "note_edge": self.palette[Role.HAIRLINE],
        }


_Role = QPalette.ColorRole
_IN_PALETTE = {
    "ink": _Role.WindowText,
    "paper": _Role.Window,
    "card": _Role.Base,
    "quiet": _Role.PlaceholderText,
    "water": _Role.Highlight,
    "hairline": _Role.Mid,
    "edge": _Role.Dark,
    "chosen": _Role.Midlight,
    "field": _Role.Light,
    "stop": _Role.BrightText,
    "attention": _Role.LinkVisited,
    "liquid": _Role.Shadow,
    "water_deep": _Role.AlternateBase,
    "note": _Role.Window,
    "note_edge": _Role.Mid,
}
_BESIDES = {  # what Qt paints without asking the style sheet
    "ink": (_Role.Text, _Role.ButtonText, _Role.ToolTipText),
    "card": (_Role.Button, _Role.HighlightedText, _Role.ToolTipBase),
    "water": (_Role.Link,),
}
ICONS = ("arrow", "tick")  # of boxes; each stands out from the field of every theme

LIGHT = Theme("light", LIGHT_DRAWING, "#87929b", "#fbfaf8", "#e8edf0", "#1f5475", "#2e7d32")
DARK = Theme("dark", DARK_DRAWING, "#7b8791", "#1f272e", "#303c45", "#a5d0ec", "#4c9a52")
THEMES = {theme.name: theme for theme in (LIGHT, DARK)}


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours, 1 to 21 (W3C, Web Content Accessibility Guidelines 2.2, 1.4.3)."""
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


@cache
def load_fonts() -> None:
    """Make the fonts that travel with the program known to Qt; once a process."""
    for file in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "DejaVuSansMono.ttf"):
        QFontDatabase.addApplicationFont(str(resources() / "fonts" / file))


def style_sheet() -> str:
    """Give the style sheet, the same for every theme."""
    text = (resources() / "style" / "window.qss").read_text(encoding="utf-8")
    sizes = {"small": SMALL, "body": BODY, "title": TITLE, "figure": FIGURE}
    icons = {name: (resources() / "icons" / f"{name}.svg").as_posix() for name in ICONS}
    colours = {name: f"palette({_in_words(role)})" for name, role in _IN_PALETTE.items()}
    return Template(text).substitute(
        colours | icons | {"family": FAMILY} | {key: str(one) for key, one in sizes.items()}
    )


def _in_words(role: QPalette.ColorRole) -> str:
    """Give the name that style sheets have for a role: "window-text" for WindowText."""
    return re.sub("(?<=[a-z])(?=[A-Z])", "-", role.name).lower()


def current() -> Theme:
    """Give the theme that the running program shows."""
    app = QApplication.instance()
    return THEMES.get(str(app.property("theme")) if app else "", LIGHT)


def colour(role: Role) -> QColor:
    """Give the colour of a role in the theme that is shown."""
    return QColor(current().colour(role))


def pen(role: Role, width: float = 1.0, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    """Give a pen of a role's colour; width in px."""
    return QPen(colour(role), width, style)


def font(size: int, *, bold: bool = False) -> QFont:
    """Give the one family of type in one of its sizes [px]."""
    made = QFont(FAMILY)
    made.setPixelSize(size)
    made.setBold(bold)
    return made


def apply(app: QApplication, theme: Theme) -> None:
    """Show the whole program in a theme, at once; with many widgets that takes a while."""
    begin(app, theme)
    for one in app.allWidgets():
        recolour(one)


def begin(app: QApplication, theme: Theme) -> None:
    """Make everything new in a theme; what is there already takes it by `recolour`."""
    load_fonts()
    known = app.property("theme") is not None
    app.setProperty("theme", theme.name)
    app.setPalette(_qt_palette(theme))
    if not known:  # once: a second style would be put on every widget anew, closing ones too
        app.setStyle("Fusion")
        app.setFont(font(BODY))
        app.setStyleSheet(style_sheet())


def recolour(widget: QWidget) -> None:
    """Let a widget take the colours of the theme that is shown now, if it is still there."""
    if isValid(widget):
        style = widget.style()
        style.unpolish(widget)
        style.polish(widget)


def _qt_palette(theme: Theme) -> QPalette:
    """Give Qt's own palette: for what the style sheet names by its role, and for what it doesn't reach."""
    colours, palette = theme.roles(), QPalette()
    for name, roles in ((name, (_IN_PALETTE[name], *_BESIDES.get(name, ()))) for name in _IN_PALETTE):
        for role in roles:
            palette.setColor(role, QColor(colours[name]))
    return palette
