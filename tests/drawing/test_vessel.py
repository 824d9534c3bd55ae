"""The outline of every tank is true: its volume is that of the table, its ends are as deep as published."""

from math import pi, sqrt

import numpy as np
import pytest
from shapes import rig

from levelbench.drawing.vessel import Profile, hatching, offset, profiles, side_view
from levelbench.project import edit_many, load, read_project, sample, units
from levelbench.rig import assemble


def round_volume(profile: Profile) -> float:
    """Volume of the solid of revolution, by its straight pieces (cone frustums)."""
    pieces = zip(profile.heights, profile.heights[1:], profile.halves, profile.halves[1:], strict=False)
    return sum(pi / 3 * (h2 - h1) * (a * a + a * b + b * b) for h1, h2, a, b in pieces)


def flat_area(profile: Profile) -> float:
    """Area of the section."""
    return float(np.trapezoid(2 * np.array(profile.halves), profile.heights))


def test_upright_and_cone_enclose_the_volume_of_the_table() -> None:
    for name in ("upright cylinder", "cone bottom", "tall pipe"):
        project = edit_many(rig(name).project, {})
        bare = assemble(edit_many(project, {"tank.dead_wood": None}))
        (profile,) = profiles(bare.project.tank, bare.strapping)
        assert round_volume(profile) == pytest.approx(bare.strapping.volumes[-1], rel=1e-9)


def test_a_box_is_shown_by_its_own_measures() -> None:
    long, short = profiles(rig("box").project.tank, rig("box").strapping)
    assert (2 * long.widest, 2 * short.widest) == pytest.approx((14 * 0.0254, 8 * 0.0254))
    assert (long.across, short.across) == ("14 in", "8 in")
    assert flat_area(long) == pytest.approx(14 * 15 * 0.0254**2)


def test_a_lying_tank_end_on_is_the_circle_it_is() -> None:
    (profile,) = profiles(rig("lying cylinder").project.tank, rig("lying cylinder").strapping)
    assert flat_area(profile) == pytest.approx(pi * 0.25**2, rel=1e-3)
    assert profile.closed
    (cut,) = profiles(rig("lying, open top").project.tank, rig("lying, open top").strapping)
    assert not cut.closed
    assert cut.rim == pytest.approx(0.45)
    assert cut.halves[-1] == pytest.approx(sqrt(0.25**2 - 0.2**2))


@pytest.mark.parametrize(
    ("ends", "depth"),
    [
        ("flat", 0.0),
        ("dished", 0.1693),  # torispherical, dish D, knuckle 0.06 D: 0.169 D (pressure vessel handbooks, from memory)
        ("elliptical", 0.25),  # 2:1: a quarter of the diameter, by definition
        ("hemispherical", 0.5),  # by definition
    ],
)
def test_ends_seen_from_the_side_are_as_deep_as_published(ends: str, depth: float) -> None:
    tank = edit_many(load(sample("parts_washer")), {"tank.ends": ends}).tank
    side = side_view(tank)
    assert side is not None
    assert side.widest - 0.45 == pytest.approx(depth * 0.5, abs=2e-4 * 0.5)
    assert side.straight == 0.45
    assert side.halves[0] == pytest.approx(0.45, abs=1e-9)


def test_only_a_lying_tank_is_seen_from_the_side() -> None:
    assert side_view(rig("box").project.tank) is None


def test_a_table_is_drawn_with_the_free_surface_it_states() -> None:
    rows = '[["0 mm", "0 l"], ["100 mm", "10 l"], ["300 mm", "60 l"]]'
    base = sample("parts_washer").read_text(encoding="utf-8")
    start = base.index("[tank]")
    text = base[:start] + f'[tank]\nshape = "own table"\ntable = {rows}\n\n' + base[base.index("[reservoir]") :]
    text = text.replace('trips_at = "405 mm"', 'trips_at = "280 mm"')
    made = assemble(read_project(text))
    (profile,) = profiles(made.project.tank, made.strapping)
    assert pi * profile.half_at(0.05) ** 2 == pytest.approx(0.010 / 0.1, rel=1e-6)
    assert pi * profile.half_at(0.2) ** 2 == pytest.approx(0.050 / 0.2, rel=1e-6)
    assert units(made.project).volume == "l"


def test_a_wall_is_equally_thick_all_round() -> None:
    inner = [(0.0, 0.0), (0.0, 10.0), (8.0, 10.0), (8.0, 0.0)]
    outer = np.array([(-1.0, 0.0), (-1.0, 11.0), (9.0, 11.0), (9.0, 0.0)])
    assert np.array(offset(inner, 1.0)) == pytest.approx(outer)


def test_hatching_fills_its_outline_and_nothing_else() -> None:
    """Strokes a gap apart cover an area of length times gap, as closely as the gap is fine."""
    outline = [(0.0, 0.0), (0.0, 10.0), (6.0, 10.0), (6.0, 4.0), (3.0, 4.0), (3.0, 0.0)]
    strokes = hatching(outline, 0.05)
    length = sum(sqrt((x2 - x1) ** 2 + (y2 - y1) ** 2) for (x1, y1), (x2, y2) in strokes)
    assert length * 0.05 == pytest.approx(48.0, rel=0.01)
    for (x1, y1), (x2, y2) in strokes:
        middle = ((x1 + x2) / 2, (y1 + y2) / 2)
        assert 0 <= middle[0] <= 6
        assert middle[0] <= 3 or middle[1] >= 4 - 1e-9
