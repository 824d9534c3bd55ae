"""What the pictures behind the forms are made of: shapes and marks on a grid 100 wide, 50 high (x right, y down)."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelbench.drawing.scene import Point


@dataclass(frozen=True)
class Shape:
    """One shape of a picture; `kind` names how it is drawn in `levelbench.drawing.meaning`."""

    kind: str
    points: tuple[Point, ...]
    text: str = ""


@dataclass(frozen=True)
class Mark:
    """What an entry speaks of: a dimension between two points, or shapes.

    `helpers` are the thin lines from the thing to its dimension; `always`: the dimension is there, quiet, when another
    entry is typed.
    """

    span: tuple[Point, Point] | None = None
    helpers: tuple[tuple[Point, Point], ...] = ()
    shapes: tuple[Shape, ...] = ()
    always: bool = True


@dataclass(frozen=True)
class Picture:
    """A picture, the marks of the entries that it explains, and the choices under which it is true."""

    title: str
    shapes: tuple[Shape, ...]
    marks: Mapping[str, Mark]
    when: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def holds(self, choices: Mapping[str, str]) -> bool:
        """Tell whether this picture is true under the choices."""
        return all(choices.get(key) in values for key, values in self.when)


def shape(kind: str, *points: Point, text: str = "") -> Shape:
    """Make a shape."""
    return Shape(kind, points, text)


def upright(x: float, low: float, high: float, reach: float = 0.0) -> Mark:
    """Make an upright dimension at x between two heights; its helpers begin at `reach` where that is given."""
    helpers = (((reach, low), (x, low)), ((reach, high), (x, high))) if reach else ()
    return Mark(((x, low), (x, high)), helpers)


def across(y: float, left: float, right: float, reach: float = 0.0) -> Mark:
    """Make a level dimension at y between two places; its helpers begin at `reach` where that is given."""
    helpers = (((left, reach), (left, y)), ((right, reach), (right, y))) if reach else ()
    return Mark(((left, y), (right, y)), helpers)


def lit(*shapes: Shape) -> Mark:
    """Make a mark that lights shapes."""
    return Mark(shapes=shapes)


def wave(left: float, right: float, y: float) -> tuple[Point, ...]:
    """Give a rippled surface."""
    steps = 12
    return tuple(
        (left + (right - left) * at / steps, y + (0.9 if at % 2 else -0.9) * (0 < at < steps))
        for at in range(steps + 1)
    )
