"""Texts of the section: none is cut and none runs into another, whatever stands where, in small and large rooms."""

from dataclasses import replace

import pytest

from levelbench.drawing.deviation import DEVIATION
from levelbench.drawing.frame import Fit, Size, frame
from levelbench.drawing.measure import text_box, wrap
from levelbench.drawing.plumbing import drain_run
from levelbench.drawing.scene import Scene, Text
from levelbench.drawing.section import Section
from levelbench.drawing.state import start_state
from levelbench.project import edit_many, load, sample
from levelbench.rig import Rig, assemble

TEXT = 11.0
ROOMS = ((624, 340), (640, 380), (780, 620))
LOW = ((640, 380), (780, 620))  # a wide tank leaves no room beside its reservoir in less
RIGS = {
    "house": ("seedling_house", {}, ROOMS),
    "washer": ("parts_washer", {}, ROOMS),
    "narrow": ("seedling_house", {"tank.diameter": "5 in", "tank.dead_wood": None}, ROOMS),
    "wide": ("seedling_house", {"tank.diameter": "40 in"}, LOW),
    "reservoir beside": ("seedling_house", {"reservoir.floor_below_tank_floor": "0 in"}, ROOMS),
    "flat, close": ("seedling_house", {"reservoir.height": "3 in", "reservoir.floor_below_tank_floor": "5 in"}, ROOMS),
    "flat, deep": (
        "seedling_house",
        {"reservoir.height": "1.5 in", "reservoir.floor_below_tank_floor": "30 in"},
        ROOMS,
    ),
    "flat, drain elsewhere": (
        "seedling_house",
        {"reservoir.height": "3 in", "reservoir.floor_below_tank_floor": "8 in", "drain.goes_to": "away"},
        ROOMS,
    ),
    "flat, no drain": (
        "seedling_house",
        {"reservoir.height": "2 in", "reservoir.floor_below_tank_floor": "6 in", "drain.kind": "none"},
        ROOMS,
    ),
    "flat under a lying tank": (
        "parts_washer",
        {"reservoir.height": "60 mm", "reservoir.floor_below_tank_floor": "300 mm"},
        ROOMS,
    ),
    "flat under a narrow tank": (
        "seedling_house",
        {
            "reservoir.height": "2 in",
            "reservoir.floor_below_tank_floor": "12 in",
            "tank.diameter": "5 in",
            "tank.dead_wood": None,
        },
        ROOMS,
    ),
    "flat, long numbers": (
        "seedling_house",
        {
            "reservoir.height": "1.125 in",
            "reservoir.floor_below_tank_floor": "7.0625 in",
            "reservoir.capacity": "12345.5 in3",
        },
        ROOMS,
    ),
    "reservoir deep": ("seedling_house", {"reservoir.floor_below_tank_floor": "80 in"}, ROOMS),
}


def rig_of(name: str) -> Rig:
    file, edits, _ = RIGS[name]
    return assemble(edit_many(load(sample(file)), edits))


def mixed(scene: Scene) -> list[str]:
    """Say which texts are cut by the edge, and which run into one another."""
    said = []
    boxes = [(one.text, text_box(one)) for one in scene.items if isinstance(one, Text)]
    for at, (words, (left, top, right, low)) in enumerate(boxes):
        seen = low > 0 and top < scene.height
        if seen and (left < -1 or right > scene.width + 1 or top < -1 or low > scene.height + 1):
            said.append(f"“{words}” is cut")
        for other, box in boxes[at + 1 :]:
            if min(right, box[2]) - max(left, box[0]) > 1.5 and min(low, box[3]) - max(top, box[1]) > 1.5:
                said.append(f"“{words}” runs into “{other}”")
    return said


@pytest.mark.parametrize("fit", Fit)
@pytest.mark.parametrize("name", RIGS)
def test_no_text_is_cut_or_runs_into_another(name: str, fit: Fit) -> None:
    rig = rig_of(name)
    calm = start_state(rig)
    busy = replace(calm, spread=0.02 * calm.pv, pump_flow=1e-5, drain_flow=1e-5, siphon_primed=False)
    for width, height in RIGS[name][2]:
        size = Size(float(width), float(height), TEXT)
        for state in (calm, busy, replace(busy, spilling=height > LOW[0][1], switch_tripped=True)):
            for chosen in ("", "bands.low_low.limit", "loop_settings.set_point_high"):
                scene = Section(rig, size, frame(rig, size, fit)).at(replace(state, selected=chosen))
                assert mixed(scene) == [], (width, height)


def test_the_check_sees_what_is_cut_and_what_is_mixed() -> None:
    words = (Text((95, 50), "to the right", TEXT), Text((10, 20), "one", TEXT), Text((20, 22), "other", TEXT))
    assert mixed(Scene(100, 100, words)) == ["“to the right” is cut", "“one” runs into “other”"]


def test_the_depth_of_the_reservoir_and_the_crest_stand_in_the_drawing() -> None:
    rig = rig_of("house")
    size = Size(780.0, 620.0, TEXT)
    still = Section(rig, size, frame(rig, size, Fit.ALL))
    keys = {one.tag: one for one in still.at(start_state(rig)).items if isinstance(one, Text)}
    depth, crest = keys["reservoir.height"], keys["drain.crest_above_floor"]
    assert depth.text == rig.project.reservoir.height.shown
    basin = still.frame.basin
    assert depth.at[0] > basin.right
    assert basin.brim < depth.at[1] < basin.floor
    assert crest.text == "crest 16.5 in"
    assert crest.at[1] < still.frame.y(rig.project.drain.crest_above_floor.si)


def test_a_number_keeps_its_unit_where_a_line_is_broken() -> None:
    assert wrap("cannot see above 16.00 in", 11.0, 130.0) == ["cannot see above", "16.00 in"]
    assert wrap("floor 30 in below tank floor", 11.0, 60.0) == ["floor 30 in", "below", "tank floor"]


def test_the_deviation_is_said_clear_of_the_tube_that_dips_into_the_liquid() -> None:
    rig = rig_of("house")
    for width, height in ROOMS:
        size = Size(width, height, TEXT)
        section = Section(rig, size, frame(rig, size, Fit.TANK))
        scene = section.at(replace(start_state(rig), selected=DEVIATION))
        words = [one for one in scene.items if isinstance(one, Text) and one.tag == DEVIATION]
        tube = min(x for x, _ in drain_run(section.frame, section.bench))
        assert [one.text for one in words] == ["deviation", "± 0.25 US gal"]
        assert max(text_box(one)[2] for one in words) < tube - 0.4 * TEXT, (width, height)
