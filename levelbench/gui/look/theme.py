"""The look of the window: colours by role for a light and a dark room, one family of type, one style sheet.

The colours are those of the drawings (`levelbench.drawing.palette`), so that the window and the paper speak alike; what
only a window needs (an edge that shows a box can be typed in, the row under the pointer) is added here.
"""

from dataclasses import dataclass
from functools import cache
from string import Template

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication

from levelbench.drawing.palette import DARK as DARK_DRAWING
from levelbench.drawing.palette import LIGHT as LIGHT_DRAWING
from levelbench.drawing.palette import Palette, luminance
from levelbench.drawing.scene import Role
from levelbench.places import resources

FAMILY = "DejaVu Sans"
SMALL, BODY, TITLE, FIGURE = 10, 12, 14, 26  # px at 100 %
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
        """Give every name that the style sheet uses, with its value."""
        named = {role.value.replace(" ", "_"): self.palette[role] for role in Role}
        return named | {
            "edge": self.edge,
            "field": self.field,
            "chosen": self.chosen,
            "water": self.palette[Role.WATER_LINE],
            "water_deep": self.water_deep,
            "note": self.palette[Role.PAPER],
            "note_edge": self.palette[Role.HAIRLINE],
            "arrow": (resources() / "icons" / f"open-{self.name}.svg").as_posix(),
            "tick": (resources() / "icons" / f"tick-{self.name}.svg").as_posix(),
            "family": FAMILY,
            "small": str(SMALL),
            "body": str(BODY),
            "title": str(TITLE),
            "figure": str(FIGURE),
        }


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


def style_sheet(theme: Theme) -> str:
    """Give the style sheet in the colours of a theme."""
    text = (resources() / "style" / "window.qss").read_text(encoding="utf-8")
    return Template(text).substitute(theme.roles())


def current() -> Theme:
    """Give the theme that the running program shows."""
    app = QApplication.instance()
    return THEMES.get(str(app.property("theme")) if app else "", LIGHT)


def apply(app: QApplication, theme: Theme) -> None:
    """Show the whole program in a theme."""
    load_fonts()
    if app.property("theme") is None:  # once: a second style would be put on every widget anew, closing ones too
        app.setStyle("Fusion")
    font = QFont(FAMILY)
    font.setPixelSize(BODY)
    app.setFont(font)
    app.setProperty("theme", theme.name)
    app.setPalette(_qt_palette(theme))
    app.setStyleSheet(style_sheet(theme))


def _qt_palette(theme: Theme) -> QPalette:
    """Give Qt's own palette for what the style sheet doesn't reach."""
    group, role = QPalette.ColorRole, theme.palette
    colours = {
        group.Window: role[Role.PAPER],
        group.Base: role[Role.CARD],
        group.AlternateBase: role[Role.PAPER],
        group.Button: role[Role.CARD],
        group.ToolTipBase: role[Role.CARD],
        group.WindowText: role[Role.INK],
        group.Text: role[Role.INK],
        group.ButtonText: role[Role.INK],
        group.ToolTipText: role[Role.INK],
        group.PlaceholderText: role[Role.QUIET],
        group.Highlight: role[Role.WATER_LINE],
        group.HighlightedText: role[Role.CARD],
        group.Link: role[Role.WATER_LINE],
    }
    palette = QPalette()
    for which, colour in colours.items():
        palette.setColor(which, QColor(colour))
    return palette
