"""The rig on which the worked figures were derived by hand: a round tank of 12 in, a siphon, one pump."""

from functools import cache

from levelbench.project import Value, edit_many, read_project
from levelbench.rig import Rig, assemble

TEXT = """\
levelbench = 1
title = "Bench rig"
loop = "101"

[display]
volume = "US gal"
length = "in"
flow = "US gal/min"

[tank]
shape = "upright cylinder"
diameter = "12.0 in"
height = "20.0 in"
rim_to_spill = "1.0 in"

[reservoir]
capacity = "30 gal"
charge = "20 gal"
height = "12 in"
floor_below_tank_floor = "30 in"
suction_above_floor = "0.5 in"

[pump]
largest_flow = "1.0 gal/min"
starts_moving_at = "35 %"
stalls_at = "28 %"
slowest_flow = "0.2 gal/min"
spin_up = "1.25 s"
most_starts = "200 1/h"

[drain]
kind = "siphon over the rim"
inlet_above_floor = "1.0 in"
crest_above_floor = "21 in"
outlet_above_floor = "-10 in"
valve_cv = "0.8"
opening = "20 %"
tube_diameter = "0.5 in"
tube_length = "60 in"

[sensor]
kind = "ultrasonic"
face_above_floor = "24.5 in"
near_dead_zone = "4.0 in"
signal_span = ["24.5 in", "4.4808 in"]
update = "0.1 s"
averaging = 50
noise = "0.0081696 in"
converter_bits = 15
converter_range = ["0 mA", "20 mA"]

[overflow_switch]
trips_at = "17.5 in"
delay = "2.25 s"

[loop_settings]
scan = "0.5 s"
gain = "675 %/US gal"
integral = "32 s"
set_point_weight = "0.5"
set_point_low = "2.00 gal"
set_point_high = "6.75 gal"
entry_step = "0.02 gal"

[bands]
high = { limit = "7.50 gal", dead_band = "0.05 gal", on_delay = "3 s", operator_action = "stop the pump, check mode" }
low = { limit = "1.50 gal", dead_band = "0.05 gal", on_delay = "3 s", operator_action = "close drain, check reservoir" }

[start]
tank_volume = "4.00 gal"
set_point = "4.00 gal"

[duty]
largest_draw = "0.5 gal/min"
time_to_act = "5 min"
air_swing = "0 K"
"""

GAL = 231 * 0.0254**3  # [m3] US gallon, exact (NIST SP 811, appendix B)
INCH = 0.0254  # [m] exact (NIST SP 811, appendix B)
GPM = GAL / 60.0  # [m3/s]


@cache
def _plain() -> Rig:
    return assemble(read_project(TEXT, "bench rig"))


def bench_rig(**changes: Value) -> Rig:
    """Give the bench rig, with entries changed; "__" stands for the dot of a key."""
    return rig_with({key.replace("__", "."): value for key, value in changes.items()})


def rig_with(changes: dict[str, Value]) -> Rig:
    """Give the bench rig with entries changed by their keys."""
    return assemble(edit_many(_plain().project, changes)) if changes else _plain()
