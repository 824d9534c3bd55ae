"""The section is to scale, keeps its texts apart and inside, and says what the rig does."""

import time
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import SHAPES, rig

from levelbench.alarms.ladder import ladder
from levelbench.drawing.column import SET_POINT, cells, rows
from levelbench.drawing.frame import PAPER_SECTION, WINDOW_SECTION, Fit, Size, frame
from levelbench.drawing.measure import text_box
from levelbench.drawing.scene import Circle, Hatch, Item, Line, Point, Polygon, Polyline, Role, Scene, Text
from levelbench.drawing.section import Section, SectionState, section, start_state

SIZES = {"paper": PAPER_SECTION, "window": WINDOW_SECTION, "small window": Size(700.0, 460.0, 11.0)}


def points(item: Item) -> tuple[Point, ...]:
    """Every corner of an item."""
    if isinstance(item, Line):
        return item.start, item.end
    if isinstance(item, Polyline | Polygon):
        return item.points
    if isinstance(item, Hatch):
        return tuple(point for pair in item.segments for point in pair)
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        return (x - r, y - r), (x + r, y + r)
    left, top, right, low = text_box(item)
    return (left, top), (right, low)


def overlapping(scene: Scene) -> list[tuple[str, str]]:
    """Texts whose letters would touch; a sliver is let pass."""
    texts = [(item.text, text_box(item), item.size) for item in scene.items if isinstance(item, Text)]
    found = []
    for (one, a, size), (other, b, _) in combinations(texts, 2):
        wide, tall = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
        if wide > 0.15 * size and tall > 0.2 * size:
            found.append((one, other))
    return found


def busy(name: str) -> SectionState:
    """A moment at which everything happens."""
    flow = rig(name).project.pump.largest_flow.si
    return replace(start_state(rig(name)), output=0.46, pump_flow=flow, drain_flow=flow / 2, opening=0.35)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("name", SHAPES)
def test_nothing_leaves_the_drawing_and_no_text_touches_another(name: str, size: Size) -> None:
    scene = Section(rig(name), size).at(busy(name))
    margin = 0.3 * size.text
    for item in scene.items:
        for x, y in points(item):
            assert -margin <= x <= scene.width + margin, item
            assert -margin <= y <= scene.height + margin, item
    assert overlapping(scene) == []


@pytest.mark.parametrize("size", [WINDOW_SECTION, SIZES["small window"]], ids=("window", "small window"))
@pytest.mark.parametrize("name", SHAPES)
def test_with_everything_at_its_true_height_nothing_leaves_the_drawing_either(name: str, size: Size) -> None:
    scene = Section(rig(name), size, frame(rig(name), size, Fit.ALL)).at(busy(name))
    margin = 0.3 * size.text
    for item in scene.items:
        for x, y in points(item):
            assert -margin <= x <= scene.width + margin, item
            assert -margin <= y <= scene.height + margin, item
    assert overlapping(scene) == []
    assert not any("not to scale" in text for text in scene.texts())


@pytest.mark.parametrize("fit", [Fit.ALL, Fit.TANK])
@pytest.mark.parametrize("name", SHAPES)
def test_in_a_window_the_reservoir_is_always_at_its_true_height(name: str, fit: Fit) -> None:
    laid, reservoir = frame(rig(name), WINDOW_SECTION, fit), rig(name).project.reservoir
    floor = -reservoir.floor_below_tank_floor.si
    for zoomed in (laid, laid.moved(2.5, -40.0, 70.0)):
        assert zoomed.level(zoomed.basin.floor) == pytest.approx(floor)
        assert zoomed.level(zoomed.basin.brim) == pytest.approx(floor + reservoir.height.si)


@pytest.mark.parametrize("name", SHAPES)
def test_a_fit_to_the_tank_shows_it_at_least_as_large_and_keeps_words_apart(name: str) -> None:
    for size in (WINDOW_SECTION, SIZES["small window"]):
        whole, tank = frame(rig(name), size, Fit.ALL), frame(rig(name), size, Fit.TANK)
        assert tank.scale >= whole.scale * (1 - 1e-9)
        assert overlapping(Section(rig(name), size, tank).at(busy(name))) == []


@pytest.mark.parametrize("name", SHAPES)
def test_the_sheet_s_section_is_no_higher_than_it_needs_and_keeps_texts_apart(name: str) -> None:
    scene = section(rig(name))
    assert scene.height <= PAPER_SECTION.height
    assert overlapping(scene) == []
    assert {item.size for item in scene.items if isinstance(item, Text)} == {PAPER_SECTION.text}


@given(st.floats(0, 0.4), st.floats(0, 0.4))
def test_a_level_and_its_place_are_linear_and_inverse(one: float, other: float) -> None:
    laid = frame(rig("upright cylinder"), WINDOW_SECTION)
    assert laid.y(one) - laid.y(other) == pytest.approx(-laid.scale * (one - other), abs=1e-9)
    assert laid.level(laid.y(one)) == pytest.approx(one, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [("upright cylinder", 12, 15), ("lying cylinder", 500, 500), ("cone bottom", 12, 15), ("tall pipe", 6, 60)],
)
def test_both_directions_have_one_scale(name: str, width: float, height: float) -> None:
    laid = frame(rig(name), PAPER_SECTION)
    assert (laid.right - laid.left) / (laid.y(0) - laid.y(laid.profile.rim)) == pytest.approx(width / height, rel=1e-6)


def test_a_tank_too_wide_is_cut_in_its_middle_and_says_its_true_width() -> None:
    laid = frame(rig("wide box"), PAPER_SECTION)
    assert laid.cut > 0
    assert laid.right - laid.left < 48 * 0.0254 * laid.scale
    assert "48 in" in section(rig("wide box")).texts()


def test_the_surface_stands_at_its_level_and_the_liquid_is_wide_as_the_tank() -> None:
    still = Section(rig("cone bottom"))
    state = replace(start_state(rig("cone bottom")), level=3 * 0.0254)
    (water,) = [item for item in still.under(state).items if isinstance(item, Line) and item.tag == "level"]
    assert water.start[1] == pytest.approx(still.frame.y(3 * 0.0254))
    # in a cone 5 in deep from a tip of 1 in to 12 in, the width at 3 in is 1 + 11·3/5 = 7.6 in (similar triangles)
    assert water.end[0] - water.start[0] == pytest.approx(7.6 * 0.0254 * still.frame.scale)


def test_an_empty_tank_shows_no_liquid() -> None:
    state = replace(start_state(rig("box")), level=0.0)
    assert all(item.tag != "level" for item in Section(rig("box")).under(state).items)


def test_the_reservoir_stands_at_its_true_height_or_says_that_it_does_not() -> None:
    near = frame(rig("reservoir close under"), PAPER_SECTION)
    assert near.basin.to_scale
    assert near.basin.floor == pytest.approx(near.y(-9 * 0.0254))
    assert near.basin.brim == pytest.approx(near.y(-2 * 0.0254))
    assert not any("not to scale" in text for text in section(rig("reservoir close under")).texts())
    assert any("not to scale" in text for text in section(rig("upright cylinder")).texts())
    assert frame(rig("reservoir beside"), PAPER_SECTION).basin.beside


@pytest.mark.parametrize("name", SHAPES)
def test_the_ladder_names_every_rung_with_its_numbers(name: str) -> None:
    still, state = Section(rig(name)), start_state(rig(name))
    texts = still.at(state).texts()
    every = rows(still.bench, ladder(rig(name)), state)
    assert [row.level for row in every] == sorted((row.level for row in every), reverse=True)
    for row, words in zip(every, cells(still.bench, every), strict=True):
        assert row.name in texts
        assert all(word in texts for word in words if word)
        assert bool(words[0]) == (row.level <= still.bench.rim)  # a tank has no volume above its rim
    assert sum(row.entry == SET_POINT for row in every) == 1


def test_seconds_between_rows_add_up_to_the_seconds_to_the_spill() -> None:
    still = Section(rig("upright cylinder"))
    every = rows(still.bench, ladder(rig("upright cylinder")), start_state(rig("upright cylinder")))
    table = cells(still.bench, every)
    assert sum(float(row[2]) for row in table if row[2]) == pytest.approx(float(table[-1][3]), abs=len(table) / 2)


def test_what_can_be_dragged_carries_the_key_of_its_entry() -> None:
    tags = {item.tag for item in section(rig("upright cylinder")).items}
    assert {"bands.high.limit", "overflow_switch.trips_at", SET_POINT, "pv", "level", "pump", "drain.opening"} <= tags


def test_every_state_has_a_word() -> None:
    still, state = Section(rig("upright cylinder")), busy("upright cylinder")
    alarmed = replace(state, siphon_primed=False, switch_tripped=True, spilling=True)
    assert {"▲ not primed", "■ open", "■ spilling"} <= set(still.at(alarmed).texts())
    assert not {"▲ not primed", "■ open", "■ spilling"} & set(still.at(state).texts())


def test_what_is_selected_stands_out() -> None:
    still, state = Section(rig("upright cylinder")), start_state(rig("upright cylinder"))
    bold = {
        item.text
        for item in still.at(replace(state, selected="bands.high.limit")).items
        if isinstance(item, Text) and item.bold
    }
    assert "high" in bold
    assert "high" not in {item.text for item in still.at(state).items if isinstance(item, Text) and item.bold}


def test_limits_differ_without_colour() -> None:
    strokes = {
        item.tag: item.stroke for item in section(rig("upright cylinder")).items if isinstance(item, Line) and item.tag
    }
    assert strokes["bands.high.limit"] != strokes["overflow_switch.trips_at"] != strokes[SET_POINT]


def test_measures_are_printed_as_they_were_typed() -> None:
    assert {"12 in", "15 in", "face 18 in above floor"} <= set(section(rig("upright cylinder")).texts())
    assert "straight part 900 mm" in section(rig("lying cylinder")).texts()


def test_the_spread_of_the_pv_is_to_scale_where_it_can_be_seen() -> None:
    still, state = Section(rig("upright cylinder"), WINDOW_SECTION), start_state(rig("upright cylinder"))
    wide = replace(state, spread=2e-4)  # [m3], some 3 mm in this tank
    (bell,) = [
        item
        for item in still.at(wide).items
        if isinstance(item, Polygon) and item.tag == "pv" and item.role is Role.WATER_LINE
    ]
    reach = max(y for _, y in bell.points) - min(y for _, y in bell.points)
    assert reach == pytest.approx(6 * 2e-4 / still.bench.area_at(state.level) * still.frame.scale, rel=1e-6)


def test_a_moment_is_drawn_in_a_small_part_of_a_tenth_of_a_second() -> None:
    """A window redraws ten times a second; processor time, so that a busy machine does not fail it."""
    still, state = Section(rig("lying cylinder"), WINDOW_SECTION), busy("lying cylinder")
    still.over(state)
    begin = time.process_time()
    for _ in range(20):
        still.under(state)
        still.over(state)
    assert (time.process_time() - begin) / 20 < 0.03


@pytest.mark.parametrize("name", SHAPES)
def test_the_reservoir_says_once_what_it_holds_and_where_it_stands(name: str) -> None:
    said = " ".join(
        item.text for item in section(rig(name)).items if isinstance(item, Text) and item.tag == "reservoir"
    )
    deep = rig(name).project.reservoir.floor_below_tank_floor
    side = "above" if deep.si < 0 else "below"
    assert said.count(f"floor {deep.shown.removeprefix('−')} {side} tank floor") == 1
    assert said.count(f"of {rig(name).project.reservoir.capacity.shown}") == 1


@pytest.mark.parametrize("name", SHAPES)
def test_the_valve_s_words_stand_beside_the_valve(name: str) -> None:
    items = section(rig(name), busy(name)).items
    wheel = [
        point for item in items if isinstance(item, Polygon) and item.tag == "drain.opening" for point in item.points
    ]
    words = [item for item in items if isinstance(item, Text) and item.tag == "drain.opening"]
    assert bool(wheel) == bool(words) == (rig(name).project.drain.kind in ("bottom outlet", "siphon over the rim"))
    for item in words:
        assert min(abs(item.at[1] - y) for _, y in wheel) < 3.2 * item.size


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["reservoir close under", "siphon ends close under"])
def test_a_valve_on_a_short_end_stands_clear_of_the_limits(name: str, size: str) -> None:
    items = section(rig(name), busy(name), SIZES[size]).items
    wheel = [y for item in items if isinstance(item, Polygon) and item.tag == "drain.opening" for _, y in item.points]
    limits = [item for item in items if isinstance(item, Line) and (item.tag or "").endswith(("limit", "set_point"))]
    assert len(limits) >= 5
    assert not any(min(wheel) < line.start[1] < max(wheel) for line in limits)
