"""The tank's level-volume table: exact at every row, a straight line between two rows.

The compiled scan reads the same arrays, so the drawing, the sensor and the physics agree to the last digit.
The volumes come from `levelbench.rig.geometry`, with its sources.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import overload

import numpy as np

from levelbench.project.records import Tank
from levelbench.quantity import Quantity
from levelbench.rig.errors import RigError
from levelbench.rig.geometry import (
    Floats,
    volume_box,
    volume_cone_bottom,
    volume_lying_cylinder,
    volume_rod,
    volume_upright_cylinder,
)


@dataclass(frozen=True, eq=False)
class Strapping:
    """Level and volume of a tank from the floor to the rim, dead wood subtracted.

    `levels` rise in equal steps [m]; `volumes` rise [m3]. A level or volume outside the table is taken as its end.
    """

    levels: Floats
    volumes: Floats

    @overload
    def volume_at(self, level: float) -> float: ...
    @overload
    def volume_at(self, level: Floats) -> Floats: ...
    def volume_at(self, level: float | Floats) -> float | Floats:
        """Give the volume [m3] at a level [m]."""
        found = np.interp(level, self.levels, self.volumes)
        return found if isinstance(level, np.ndarray) else float(found)

    @overload
    def level_at(self, volume: float) -> float: ...
    @overload
    def level_at(self, volume: Floats) -> Floats: ...
    def level_at(self, volume: float | Floats) -> float | Floats:
        """Give the level [m] at a volume [m3]."""
        found = np.interp(volume, self.volumes, self.levels)
        return found if isinstance(volume, np.ndarray) else float(found)

    @overload
    def area_at(self, level: float) -> float: ...
    @overload
    def area_at(self, level: Floats) -> Floats: ...
    def area_at(self, level: float | Floats) -> float | Floats:
        """Give the free surface dV/dh [m2] at a level [m]: the slope between the two rows around it."""
        row = np.clip(np.searchsorted(self.levels, level, side="right") - 1, 0, len(self.levels) - 2)
        found = (self.volumes[row + 1] - self.volumes[row]) / (self.levels[row + 1] - self.levels[row])
        return found if isinstance(level, np.ndarray) else float(found)


def strap(tank: Tank, rows: int = 2001) -> Strapping:
    """Compute the table of a tank.

    `rows` is how many levels it has, at least two. Raises RigError when the tank, as described, can't exist.
    """
    gross, rim = _shape(tank)
    levels = np.linspace(0.0, rim, rows)
    volumes = gross(levels)
    for number, rod in enumerate(tank.dead_wood, start=1):
        where = f"tank, fitting {number} “{rod.name}”"
        if rod.top.si <= rod.bottom.si:
            raise RigError(
                f"The fitting ends at {rod.top.shown}, which is not above its lower end at {rod.bottom.shown}.",
                where,
                "Give “to” as the height of its upper end above the floor.",
            )
        volumes = volumes - volume_rod(levels, rod.diameter.si, rod.bottom.si, rod.top.si)
        _still_room(tank, levels, volumes, where)
    return Strapping(levels, volumes)


def _still_room(tank: Tank, levels: Floats, volumes: Floats, where: str) -> None:
    """Refuse fittings that leave no free surface somewhere."""
    full = np.flatnonzero(np.diff(volumes) <= 0)
    if full.size:
        raise RigError(
            f"The fittings take all the room of the {tank.shape} {levels[full[0]] * 1000:.0f} mm above the floor.",
            where,
            "Check the diameters, or start the fitting higher, where the tank is wide enough for it.",
        )


def _shape(tank: Tank) -> tuple[Callable[[Floats], Floats], float]:
    """Give the volume function of a tank without its fittings, and the level of its rim [m]."""
    if tank.shape == "own table":
        return _own_table(tank)
    if tank.shape == "lying cylinder":
        return _lying(tank)
    if tank.shape == "cone bottom":
        return _cone(tank)
    rim = _needed(tank, "height").si
    if tank.shape == "box":
        length, width = _needed(tank, "length").si, _needed(tank, "width").si
        return lambda level: volume_box(level, length, width), rim
    diameter = _needed(tank, "diameter").si
    return lambda level: volume_upright_cylinder(level, diameter), rim


def _needed(tank: Tank, key: str) -> Quantity:
    """Give a measure that this shape can't do without."""
    value = getattr(tank, key)
    if not isinstance(value, Quantity):
        raise RigError(
            f"A tank of the shape “{tank.shape}” needs its {key}.", f"tank.{key}", "Measure it and enter it."
        )
    return value


def _lying(tank: Tank) -> tuple[Callable[[Floats], Floats], float]:
    """Give a lying cylinder's volume function and rim; its rim is its top unless a lower one is given."""
    diameter, length = _needed(tank, "diameter"), _needed(tank, "length").si
    rim = diameter if tank.height is None else tank.height
    if rim.si > diameter.si * (1 + 1e-9):
        raise RigError(
            f"The rim at {rim.shown} is above the top of the lying cylinder, which is {diameter.shown} across.",
            "tank.height",
            "Leave the height out when the rim is the top, or give the lower height of the opening.",
        )
    return lambda level: volume_lying_cylinder(level, diameter.si, length, tank.ends), min(rim.si, diameter.si)


def _cone(tank: Tank) -> tuple[Callable[[Floats], Floats], float]:
    """Give a cone-bottom tank's volume function and rim."""
    diameter, height, depth = (_needed(tank, key) for key in ("diameter", "height", "cone_depth"))
    tip = 0.0 if tank.cone_tip is None else tank.cone_tip.si
    if depth.si > height.si:
        raise RigError(
            f"The cone is {depth.shown} deep, more than the whole tank's {height.shown}.",
            "tank.cone_depth",
            "The height counts from the tip of the cone to the rim: enter at least the cone's depth.",
        )
    if tank.cone_tip is not None and tip > diameter.si:
        raise RigError(
            f"The flat at the tip, {tank.cone_tip.shown}, is wider than the tank, {diameter.shown}.",
            "tank.cone_tip",
            "Enter the diameter of the flat at the lowest point, 0 for a point.",
        )
    return lambda level: volume_cone_bottom(level, diameter.si, depth.si, tip), height.si


def _own_table(tank: Tank) -> tuple[Callable[[Floats], Floats], float]:
    """Give the person's own table as a volume function, straight between its rows, and the level of its last row."""
    if tank.table is None or len(tank.table) < 2:
        raise RigError(
            "The table needs two rows at least.", "tank.table", "Enter a row for the floor and one for the rim."
        )
    first = tank.table[0]
    if first[0].si != 0.0 or first[1].si != 0.0:
        raise RigError(
            f"The table begins at {first[0].shown} with {first[1].shown}, not at the empty floor.",
            "tank.table",
            "Begin with level 0 and volume 0; what lies below the first mark belongs to the tank too.",
        )
    for below, above in zip(tank.table, tank.table[1:], strict=False):
        for what, low, high in (("level", below[0], above[0]), ("volume", below[1], above[1])):
            if high.si <= low.si:
                raise RigError(
                    f"The table's {what} does not rise from {low.shown} to {high.shown}.",
                    "tank.table",
                    "Every row needs a greater level and a greater volume than the row before; check the typing.",
                )
    levels = np.array([row[0].si for row in tank.table])
    volumes = np.array([row[1].si for row in tank.table])
    return lambda level: np.asarray(np.interp(level, levels, volumes)), float(levels[-1])
