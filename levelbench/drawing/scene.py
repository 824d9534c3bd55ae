"""Plain shapes from which every drawing is made; a renderer knows only these and a palette.

Lengths are in one unit of the caller's choosing (millimetres on paper, pixels in a window); x runs right, y runs down.
"""

from dataclasses import dataclass, replace
from enum import Enum

Point = tuple[float, float]


class Role(Enum):
    """What a colour means; the palette says which colour it is."""

    INK = "ink"
    QUIET = "quiet"
    HAIRLINE = "hairline"
    LIQUID = "liquid"
    WATER_LINE = "water line"
    ATTENTION = "attention"
    ATTENTION_TINT = "attention tint"
    STOP = "stop"
    STOP_TINT = "stop tint"
    SELECTION = "selection"
    HATCH = "hatch"
    WALL = "wall"
    PAPER = "paper"
    CARD = "card"


class Stroke(Enum):
    """How a line is broken, so that a grey copy still tells lines apart; the values are lengths in line widths."""

    SOLID = ()
    DASHED = (5.0, 3.0)
    DOTTED = (1.2, 2.4)
    DASH_DOT = (7.0, 2.5, 1.5, 2.5)


class Anchor(Enum):
    """Which part of a text stands at its point."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True)
class Line:
    """A straight line between two points."""

    start: Point
    end: Point
    role: Role = Role.INK
    width: float = 0.25
    stroke: Stroke = Stroke.SOLID
    tag: str | None = None


@dataclass(frozen=True)
class Polyline:
    """An open line through several points."""

    points: tuple[Point, ...]
    role: Role = Role.INK
    width: float = 0.25
    stroke: Stroke = Stroke.SOLID
    tag: str | None = None


@dataclass(frozen=True)
class Polygon:
    """A closed shape, filled, outlined or both."""

    points: tuple[Point, ...]
    fill: Role | None = None
    role: Role | None = None
    width: float = 0.25
    stroke: Stroke = Stroke.SOLID
    tag: str | None = None


@dataclass(frozen=True)
class Circle:
    """A circle, filled, outlined or both."""

    centre: Point
    radius: float
    fill: Role | None = None
    role: Role | None = Role.INK
    width: float = 0.25
    stroke: Stroke = Stroke.SOLID
    tag: str | None = None


@dataclass(frozen=True)
class Hatch:
    """Many separate strokes of one kind, drawn at one go."""

    segments: tuple[tuple[Point, Point], ...]
    role: Role = Role.HATCH
    width: float = 0.15
    tag: str | None = None


@dataclass(frozen=True)
class Text:
    """A line of text on its baseline; `backed` lays the paper's colour behind it, so that no line runs through it."""

    at: Point
    text: str
    size: float
    role: Role = Role.INK
    anchor: Anchor = Anchor.START
    bold: bool = False
    backed: bool = False
    tag: str | None = None


Item = Line | Polyline | Polygon | Circle | Hatch | Text


@dataclass(frozen=True)
class Scene:
    """A drawing of a given size, its items in the order in which they are painted; `title` says what it shows."""

    width: float
    height: float
    items: tuple[Item, ...]
    title: str = ""

    def over(self, below: "Scene") -> "Scene":
        """Lay this scene over another one of the same size."""
        return replace(self, items=below.items + self.items, title=self.title or below.title)

    def texts(self) -> tuple[str, ...]:
        """Give every text in the drawing, in painting order."""
        return tuple(item.text for item in self.items if isinstance(item, Text))
