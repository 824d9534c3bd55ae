"""A plain rig whose every part is known by hand, with entries changed as a test needs it."""

import numpy as np

from levelbench.project import edit_many, read_project
from levelbench.project.records import Project
from levelbench.rig.assemble import Rig, assemble

US_GALLON = 231 * 0.0254**3  # [m3], NIST Handbook 44
GPM = US_GALLON / 60

PLAIN = """
levelbench = 1
title = "Plain tank with a prescribed draw"
loop = "1"
[tank]
shape = "upright cylinder"
diameter = "12 in"
height = "20 in"
[reservoir]
capacity = "30 gal"
charge = "25 gal"
height = "30 in"
floor_below_tank_floor = "30 in"
[pump]
largest_flow = "1 gal/min"
spin_up = "0 s"
[drain]
kind = "forced draw"
draw = "0.25 gal/min"
[sensor]
kind = "plain 4-20 mA"
signal_span = ["0 in", "20 in"]
update = "0.1 s"
averaging = 21
converter_bits = 24
[overflow_switch]
trips_at = "18 in"
[loop_settings]
scan = "0.1 s"
gain = "100 %/gal"
integral = "240 s"
set_point_low = "1 gal"
set_point_high = "8 gal"
entry_step = "0.01 gal"
[start]
tank_volume = "4 gal"
set_point = "4 gal"
[duty]
largest_draw = "0.5 gal/min"
"""


def plain_project(**changes: str | int | bool | None) -> Project:
    """Give the plain tank with entries changed; a double underscore stands for the dot of a key."""
    return edit_many(read_project(PLAIN), {key.replace("__", "."): value for key, value in changes.items()})


def plain(**changes: str | int | bool | None) -> Rig:
    """Give the plain tank's rig with entries changed."""
    return assemble(plain_project(**changes))


def swing(values: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
    """Largest less smallest."""
    return float(np.ptp(values))
