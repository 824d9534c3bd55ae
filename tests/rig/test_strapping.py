"""The level-volume table: true at its rows, one way only, and refused when the tank can't exist."""

from dataclasses import replace

import fluids
import numpy as np
import pytest

from levelbench.project.records import DeadWood, Tank
from levelbench.quantity import Dimension, Quantity, read
from levelbench.rig.errors import RigError
from levelbench.rig.strapping import strap

INCH = 0.0254


def length(text: str) -> Quantity:
    return read(text, Dimension.LENGTH)


def volume(text: str) -> Quantity:
    return read(text, Dimension.VOLUME)


def tank(shape: str, **measures: str) -> Tank:
    given = dict.fromkeys(("diameter", "length", "width", "height", "cone_depth", "cone_tip"))
    return Tank(
        shape=shape,
        ends=measures.pop("ends", "flat"),
        table=(),
        rim_to_spill=length("0 mm"),
        dead_wood=(),
        leak=read("0 l/min", Dimension.FLOW),
        leak_at=None,
        **{**given, **{key: length(text) for key, text in measures.items()}},  # type: ignore[arg-type]
    )


def rod(diameter: str, bottom: str, top: str) -> DeadWood:
    return DeadWood(name="heater", diameter=length(diameter), bottom=length(bottom), top=length(top))


def own(*rows: tuple[str, str]) -> Tank:
    return replace(tank("own table"), table=tuple((length(level), volume(held)) for level, held in rows))


UPRIGHT = tank("upright cylinder", diameter="12 in", height="15 in")
CONE = tank("cone bottom", diameter="0.6 m", height="1 m", cone_depth="0.3 m", cone_tip="0 m")
SHAPES = {
    "upright": UPRIGHT,
    "box": tank("box", length="0.6 m", width="0.4 m", height="0.5 m"),
    "cone": CONE,
    "lying flat": tank("lying cylinder", diameter="0.5 m", length="0.8 m"),
    "lying dished": tank("lying cylinder", diameter="0.5 m", length="0.8 m", ends="dished"),
    "lying elliptical": tank("lying cylinder", diameter="0.5 m", length="0.8 m", ends="elliptical"),
    "lying hemispherical": tank("lying cylinder", diameter="0.5 m", length="0.8 m", ends="hemispherical"),
    "own table": own(("0 in", "0 US gal"), ("2 in", "0.5 US gal"), ("10 in", "7 US gal")),
}


def test_a_twelve_inch_tank_holds_0_490_gallons_an_inch() -> None:
    # V = π/4·D²·h/231 in US gal and inches: 0.0034·D² gal/in, 231 in³ to the US gallon exactly (NIST Handbook 44)
    table = strap(UPRIGHT)
    assert table.volume_at(10 * INCH) / (231 * INCH**3) == pytest.approx(np.pi / 4 * 144 * 10 / 231, rel=1e-12)
    assert table.area_at(0.1) * INCH / (231 * INCH**3) == pytest.approx(0.4896, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "sides"),
    [
        ("lying flat", {}),
        ("lying dished", {"sideA": "torispherical", "sideB": "torispherical"}),
        ("lying elliptical", {"sideA": "ellipsoidal", "sideB": "ellipsoidal"}),
        ("lying hemispherical", {"sideA": "spherical", "sideB": "spherical", "sideA_a": 0.25, "sideB_a": 0.25}),
    ],
)
def test_a_lying_tank_holds_what_a_reference_library_says(name: str, sides: dict[str, object]) -> None:
    more = {"sideA_f": 1.0, "sideA_k": 0.06, "sideB_f": 1.0, "sideB_k": 0.06} if name == "lying dished" else {}
    if name == "lying elliptical":
        more = {"sideA_a_ratio": 0.25, "sideB_a_ratio": 0.25}
    reference = fluids.TANK(D=0.5, L=0.8, horizontal=True, **sides, **more)  # the fluids library, after Jones
    table = strap(SHAPES[name])
    assert table.volumes[-1] == pytest.approx(reference.V_total, rel=1e-7)
    for row in (200, 1000, 1700):
        assert table.volumes[row] == pytest.approx(reference.V_from_h(table.levels[row]), rel=1e-7)


@pytest.mark.parametrize("name", SHAPES)
def test_the_table_rises_in_equal_steps_and_goes_both_ways(name: str) -> None:
    table = strap(SHAPES[name])
    assert len(table.levels) == len(table.volumes) == 2001
    assert np.ptp(np.diff(table.levels)) < 1e-12
    assert table.levels[0] == table.volumes[0] == 0.0
    assert np.all(np.diff(table.volumes) > 0)
    levels = np.linspace(0, table.levels[-1], 777)
    assert table.level_at(table.volume_at(levels)) == pytest.approx(levels, abs=1e-12)


@pytest.mark.parametrize("name", SHAPES)
def test_between_two_rows_the_straight_line_is_close_to_the_finer_table(name: str) -> None:
    coarse, fine = strap(SHAPES[name]), strap(SHAPES[name], rows=16001)
    worst = np.max(np.abs(coarse.volume_at(fine.levels) - fine.volumes))
    assert worst / fine.volumes[-1] < 5e-6  # of a full tank; worst where a lying tank begins, V ~ h^1.5


@pytest.mark.parametrize("name", ["cone", "lying dished", "lying elliptical", "upright"])
def test_the_free_surface_integrates_to_the_volume(name: str) -> None:
    table = strap(SHAPES[name])
    middles = (table.levels[1:] + table.levels[:-1]) / 2
    held = np.sum(table.area_at(middles) * np.diff(table.levels))
    assert held == pytest.approx(table.volumes[-1], rel=1e-12)


def test_the_free_surface_of_a_lying_cylinder_half_full_is_its_length_times_its_width() -> None:
    table = strap(SHAPES["lying flat"])  # dV/dh = 2·L·√(2Rh − h²): at the axis L·D
    assert table.area_at(0.25) == pytest.approx(0.8 * 0.5, rel=1e-6)
    assert table.area_at(np.array([0.25]))[0] == table.area_at(0.25)


def test_outside_the_table_its_ends_count() -> None:
    table = strap(UPRIGHT)
    assert table.volume_at(-1.0) == 0.0
    assert table.volume_at(99.0) == table.volumes[-1]
    assert table.level_at(99.0) == table.levels[-1]
    assert table.area_at(-1.0) == pytest.approx(table.area_at(99.0), rel=1e-9)


def test_a_dip_tube_of_one_and_a_half_inches_takes_1_6_percent() -> None:
    # area ratio (1.5/12)² = 1.5625 %
    bare = strap(UPRIGHT)
    table = strap(replace(UPRIGHT, dead_wood=(rod("1.5 in", "0 in", "20 in"),)))
    assert table.volume_at(0.2) / bare.volume_at(0.2) == pytest.approx(1 - (1.5 / 12) ** 2, rel=1e-9)


def test_two_fittings_take_room_at_their_own_heights() -> None:
    bare = strap(UPRIGHT)
    table = strap(replace(UPRIGHT, dead_wood=(rod("50 mm", "100 mm", "150 mm"), rod("20 mm", "0 mm", "400 mm"))))
    taken = bare.volumes - table.volumes
    at = np.searchsorted(bare.levels, [0.1, 0.2])
    thin = np.pi / 4 * 0.02**2
    assert taken[at[0]] == pytest.approx(thin * bare.levels[at[0]] + np.pi / 4 * 0.05**2 * (bare.levels[at[0]] - 0.1))
    assert taken[at[1]] == pytest.approx(thin * bare.levels[at[1]] + np.pi / 4 * 0.05**2 * 0.05, rel=1e-9)


def test_a_lower_rim_cuts_a_lying_cylinder() -> None:
    table = strap(replace(SHAPES["lying flat"], height=length("0.4 m")))
    assert table.levels[-1] == pytest.approx(0.4)
    assert table.volumes[-1] == pytest.approx(strap(SHAPES["lying flat"]).volume_at(0.4), rel=1e-6)


@pytest.mark.parametrize(
    ("impossible", "where", "says"),
    [
        (replace(CONE, cone_depth=length("1.2 m")), "tank.cone_depth", "1.2 m deep, more than the whole tank's 1 m"),
        (replace(CONE, cone_tip=length("0.7 m")), "tank.cone_tip", "wider than the tank"),
        (replace(SHAPES["lying flat"], height=length("0.6 m")), "tank.height", "above the top"),
        (replace(UPRIGHT, diameter=None), "tank.diameter", "needs its diameter"),
        (replace(UPRIGHT, dead_wood=(rod("12 in", "2 in", "9 in"),)), "heater", "take all the room"),
        (replace(CONE, dead_wood=(rod("20 mm", "0 mm", "500 mm"),)), "heater", "take all the room"),
        (replace(UPRIGHT, dead_wood=(rod("1 in", "9 in", "2 in"),)), "heater", "not above its lower end"),
        (
            own(
                ("0 in", "0 l"),
            ),
            "tank.table",
            "two rows",
        ),
        (own(("1 in", "0 l"), ("5 in", "4 l")), "tank.table", "not at the empty floor"),
        (own(("0 in", "1 l"), ("5 in", "4 l")), "tank.table", "not at the empty floor"),
        (own(("0 in", "0 l"), ("5 in", "4 l"), ("6 in", "4 l")), "tank.table", "volume does not rise"),
        (own(("0 in", "0 l"), ("5 in", "4 l"), ("4 in", "5 l")), "tank.table", "level does not rise"),
    ],
)
def test_an_impossible_tank_is_refused_with_what_to_do(impossible: Tank, where: str, says: str) -> None:
    with pytest.raises(RigError, match=says) as caught:
        strap(impossible)
    assert where in caught.value.where
    assert caught.value.do
    assert str(caught.value).startswith(caught.value.what)
