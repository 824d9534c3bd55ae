"""The true outline of a tank's inside, cut down its middle, from the records and the level-volume table.

Every shape is symmetric about its middle, so a profile of half-widths over heights says all.
A torispherical end follows the dish and knuckle radii of `levelbench.rig.geometry`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt

import numpy as np

from levelbench.drawing.scene import Point
from levelbench.project.records import Tank
from levelbench.rig.geometry import DISH, KNUCKLE
from levelbench.rig.strapping import Strapping

STEPS = 96  # pieces into which a curved outline is cut


@dataclass(frozen=True)
class Profile:
    """Half-widths [m] of a section at rising heights [m]; `closed`: the shape has a top of its own at the rim."""

    heights: tuple[float, ...]
    halves: tuple[float, ...]
    closed: bool = False
    straight: float = 0.0  # half-width [m] that may be cut out of the middle without changing the form
    across: str = ""  # the wide measure as it was typed: "12 in", empty where it was not typed

    @property
    def rim(self) -> float:
        """Height of the rim [m]."""
        return self.heights[-1]

    @property
    def widest(self) -> float:
        """Largest half-width [m]."""
        return max(self.halves)

    def half_at(self, height: float) -> float:
        """Give the half-width [m] at a height [m]."""
        return float(np.interp(height, self.heights, self.halves))


def profiles(tank: Tank, strapping: Strapping) -> tuple[Profile, ...]:
    """Give the sections in which a tank can be shown, the best first.

    A box is shown along its long side, or else across it; a lying cylinder end-on, where the free surface is seen to
    widen and narrow; a shape known by its table as a round one with the same free surface at every height.
    """
    rim = float(strapping.levels[-1])
    if tank.shape == "own table":
        return (_by_table(strapping),)
    if tank.shape == "box":
        sides = [side for side in (tank.length, tank.width) if side]
        return tuple(Profile((0.0, rim), (side.si / 2,) * 2, False, side.si / 2, side.shown) for side in sides)
    assert tank.diameter is not None  # the table could not have been made without it
    radius, typed = tank.diameter.si / 2, tank.diameter.shown
    if tank.shape == "cone bottom" and tank.cone_depth:
        tip = tank.cone_tip.si / 2 if tank.cone_tip else 0.0
        return (Profile((0.0, tank.cone_depth.si, rim), (tip, radius, radius), across=typed),)
    if tank.shape == "lying cylinder":
        heights = radius * (1 - np.cos(np.linspace(0.0, np.arccos(1 - rim / radius), STEPS + 1)))
        halves = np.sqrt(np.maximum(radius**2 - (radius - heights) ** 2, 0.0))
        return (Profile((*map(float, heights),), (*map(float, halves),), _closed(rim, radius), across=typed),)
    return (Profile((0.0, rim), (radius, radius), False, radius, typed),)


def side_view(tank: Tank) -> Profile | None:
    """Give a lying cylinder from its side, with the form of its ends; None for other shapes."""
    if tank.shape != "lying cylinder" or tank.diameter is None or tank.length is None:
        return None
    radius = tank.diameter.si / 2
    rim = min(tank.height.si, 2 * radius) if tank.height else 2 * radius
    heights = radius * (1 - np.cos(np.linspace(0.0, np.arccos(1 - rim / radius), STEPS + 1)))
    bulge = _end_depth(tank.ends)
    halves = [tank.length.si / 2 + bulge(min(abs(height - radius), radius), 2 * radius) for height in heights]
    return Profile((*map(float, heights),), (*halves,), _closed(rim, radius), tank.length.si / 2, tank.length.shown)


def _closed(rim: float, radius: float) -> bool:
    return rim >= 2 * radius * (1 - 1e-9)


def _end_depth(ends: str) -> Callable[[float, float], float]:
    """Give how far an end bulges [m] at a distance from the axis [m], for a diameter [m]."""

    def dished(away: float, diameter: float) -> float:
        dish, knuckle = DISH * diameter, KNUCKLE * diameter
        edge = dish * (diameter / 2 - knuckle) / (dish - knuckle)
        at_edge = knuckle * sqrt(1 - (edge / dish) ** 2)
        if away <= edge:
            return at_edge + sqrt(dish**2 - away**2) - sqrt(dish**2 - edge**2)
        return sqrt(max(knuckle**2 - (away - (diameter / 2 - knuckle)) ** 2, 0.0))

    def ellipse(share: float) -> Callable[[float, float], float]:
        return lambda away, diameter: share * sqrt(max((diameter / 2) ** 2 - away**2, 0.0))

    return {"flat": ellipse(0.0), "dished": dished, "elliptical": ellipse(0.5), "hemispherical": ellipse(1.0)}[ends]


def _by_table(strapping: Strapping) -> Profile:
    rows = np.linspace(0, len(strapping.levels) - 1, min(4 * STEPS, len(strapping.levels) - 1) + 1).astype(int)
    areas = np.diff(strapping.volumes[rows]) / np.diff(strapping.levels[rows])
    middles = (strapping.levels[rows][1:] + strapping.levels[rows][:-1]) / 2
    heights = np.concatenate(([0.0], middles, strapping.levels[-1:]))
    halves = np.sqrt(np.concatenate((areas[:1], areas, areas[-1:])) / pi)
    return Profile((*map(float, heights),), (*map(float, halves),))


def offset(points: Sequence[Point], by: float) -> list[Point]:
    """Move an open line sideways by a distance, to the left of its direction of travel (y down: outward when the
    line runs down the left side), with mitred corners held to three times the distance.
    """
    normals = []
    for (x1, y1), (x2, y2) in pairwise(points):
        length = sqrt((x2 - x1) ** 2 + (y2 - y1) ** 2) or 1.0
        normals.append(((y1 - y2) / length, (x2 - x1) / length))
    moved = []
    for at, (x, y) in enumerate(points):
        before, after = normals[max(at - 1, 0)], normals[min(at, len(normals) - 1)]
        dot = 1 + before[0] * after[0] + before[1] * after[1]
        share = min(by / dot, 3 * by) if dot > 1e-9 else by
        moved.append((x + share * (before[0] + after[0]), y + share * (before[1] + after[1])))
    return moved


def hatching(outline: Sequence[Point], gap: float) -> tuple[tuple[Point, Point], ...]:
    """Give the strokes at 45° that fill a closed outline, `gap` apart (even-odd rule)."""
    turned = [(x + y, y - x) for x, y in outline]  # strokes rise to the right: x + y is constant along each
    low, high = min(point[0] for point in turned), max(point[0] for point in turned)
    strokes: list[tuple[Point, Point]] = []
    step = gap * sqrt(2.0)
    for number in range(int(low // step) + 1, int(high // step) + 1):
        at = number * step
        cuts = sorted(
            v1 + (at - u1) / (u2 - u1) * (v2 - v1)
            for (u1, v1), (u2, v2) in zip(turned, [*turned[1:], turned[0]], strict=True)
            if (u1 <= at) != (u2 <= at)
        )
        strokes.extend(
            (((at - begin) / 2, (at + begin) / 2), ((at - end) / 2, (at + end) / 2))
            for begin, end in zip(cuts[::2], cuts[1::2], strict=True)
        )
    return tuple(strokes)
