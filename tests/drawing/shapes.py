"""A rig of every tank shape and of every way in which its reservoir can stand, made from the samples."""

from functools import cache

from levelbench.project import Value, edit_many, load, sample
from levelbench.rig import Rig, assemble

STEPS = [["0 in", "0 gal"], ["2 in", "0.5 gal"], ["6 in", "2.5 gal"], ["10 in", "5.5 gal"], ["15 in", "7.5 gal"]]

SHAPES: dict[str, tuple[str, dict[str, Value]]] = {
    "upright cylinder": ("seedling_house", {}),
    "lying cylinder": ("parts_washer", {}),
    "lying, hemispherical": ("parts_washer", {"tank.ends": "hemispherical"}),
    "lying, open top": ("parts_washer", {"tank.height": "450 mm", "tank.rim_to_spill": "0 mm"}),
    "box": ("seedling_house", {"tank.shape": "box", "tank.length": "14 in", "tank.width": "8 in"}),
    "wide box": ("seedling_house", {"tank.shape": "box", "tank.length": "60 in", "tank.width": "48 in"}),
    "cone bottom": (
        "seedling_house",
        {
            "tank.shape": "cone bottom",
            "tank.cone_depth": "5 in",
            "tank.cone_tip": "1 in",
            "drain.inlet_above_floor": "3 in",
        },
    ),
    "tall pipe": (
        "seedling_house",
        {
            "tank.diameter": "6 in",
            "tank.height": "60 in",
            "drain.crest_above_floor": "62 in",
            "sensor.face_above_floor": "64 in",
            "pump.fill_end_above_floor": "60 in",
        },
    ),
    "reservoir beside": ("seedling_house", {"reservoir.floor_below_tank_floor": "2 in"}),
    "reservoir close under": (
        "seedling_house",
        {"reservoir.floor_below_tank_floor": "9 in", "reservoir.height": "7 in", "drain.outlet_above_floor": "-3 in"},
    ),
    "siphon ends close under": ("seedling_house", {"drain.outlet_above_floor": "-3 in"}),
    "reservoir above": ("seedling_house", {"reservoir.floor_below_tank_floor": "-20 in"}),
    "forced draw": ("seedling_house", {"drain.kind": "forced draw", "drain.draw": "0.3 gal/min"}),
    "no drain": ("seedling_house", {"drain.kind": "none"}),
    "bottom outlet away": ("parts_washer", {"drain.goes_to": "away"}),
    "no switch": ("seedling_house", {"overflow_switch.fitted": False}),
}


@cache
def rig(name: str) -> Rig:
    """Give the rig of a shape."""
    base, edits = SHAPES[name]
    return assemble(edit_many(load(sample(base)), edits))
