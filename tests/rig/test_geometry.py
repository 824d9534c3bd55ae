"""Tank volumes against the published examples, a general reference library and numerical integration."""

import doctest
from collections.abc import Callable

import fluids.geometry
import numpy as np
import pytest
from scipy.integrate import quad

from levelbench.rig import geometry
from levelbench.rig.geometry import (
    Floats,
    area_segment,
    volume_box,
    volume_cone_bottom,
    volume_dished_ends,
    volume_ellipsoidal_ends,
    volume_lying_cylinder,
    volume_rod,
    volume_upright_cylinder,
)

US_GALLON = 231 * 0.0254**3  # [m3], NIST Handbook 44
INCH = 0.0254

Volume = Callable[[Floats], Floats]


def at(volume: Volume, level: float) -> float:
    return float(volume(np.array(level)))


def lying(ends: str, diameter: float, length: float) -> Volume:
    return lambda level: volume_lying_cylinder(level, diameter, length, ends)


# D. Jones, "Calculating Tank Volume", worked examples as the fluids library's own tests carry them: D = 108 in,
# L = 156 in, levels 36 and 84 in, in US gal.
@pytest.mark.parametrize(("inches", "gallons"), [(36, 2028.6266708), (84, 5939.8979102)])
def test_dished_ends_give_the_published_example(inches: float, gallons: float) -> None:
    volume = at(lying("dished", 108 * INCH, 156 * INCH), inches * INCH)
    assert volume / US_GALLON == pytest.approx(gallons, rel=1e-7)


def test_ellipsoidal_ends_of_any_depth_give_the_published_example() -> None:
    level = np.array(36 * INCH)
    volume = area_segment(level, 108 * INCH) * 156 * INCH + volume_ellipsoidal_ends(level, 108 * INCH, 42 * INCH)
    assert float(volume) / US_GALLON == pytest.approx(2380.9565416, rel=1e-7)  # the same article


def test_cone_bottom_gives_the_published_example() -> None:
    # D. Jones, "Compute Fluid Volumes in Vertical Tanks": D = 132 in, cone 33 in deep, level 60 in above the tip.
    volume = float(volume_cone_bottom(np.array(60 * INCH), 132 * INCH, 33 * INCH))
    assert volume / US_GALLON == pytest.approx(2251.1755358, rel=1e-7)


@pytest.mark.parametrize(
    ("volume", "level", "cubic_metres", "tolerance"),
    [
        # Jones's closed form A·L + π·a·h²·(1 − h/(3R)); quadrature
        (lying("elliptical", 1.5, 4.0), 0.6, 2.95134593251, 1e-8),
        # two hemispheres make a sphere, cap π·h²·(3R − h)/3
        (lying("hemispherical", 1.5, 4.0), 0.6, 3.26236360522, 1e-7),
        # sphere of 1 m filled to 0.7 m: spherical cap
        (lambda h: volume_ellipsoidal_ends(h, 1.0, 0.5), 0.7, 0.4105014401, 1e-9),
        # π·r(h)²·h/3 inside the cone
        (lambda h: volume_cone_bottom(h, 0.6, 0.3), 0.2, 0.00837758040957, 1e-9),
        # l·w·h
        (lambda h: volume_box(h, 0.6, 0.4), 0.25, 0.06, 1e-9),
        # circular segment, h = D/4: (θ − sin θ)/(2π) with θ = 2π/3
        (lambda h: area_segment(h, 1.0) / (np.pi / 4), 0.25, 0.1955011095, 1e-9),
        # symmetry
        (lambda h: area_segment(h, 1.0) / (np.pi / 4), 0.5, 0.5, 1e-12),
    ],
)
def test_closed_forms(volume: Volume, level: float, cubic_metres: float, tolerance: float) -> None:
    assert at(volume, level) == pytest.approx(cubic_metres, rel=tolerance)


def test_dished_head_has_the_volume_and_depth_of_the_handbooks() -> None:
    # Flanged and dished head, f = 1, k = 0.06: V/D³ = 0.0810, depth/D = 0.1693 (exact profile; fluids.a_torispherical).
    assert at(lambda h: volume_dished_ends(h, 1.0), 1.0) / 2 == pytest.approx(0.081, abs=5e-5)
    edge, from_wall = geometry._joint()
    depth = from_wall + 1 - np.sqrt(1 - edge**2)
    assert depth == pytest.approx(0.1693, abs=5e-5)
    assert depth == pytest.approx(fluids.geometry.a_torispherical(1.0, 1.0, 0.06), rel=1e-12)


LIBRARY: list[tuple[Volume, Callable[[float], float]]] = [
    (lying("flat", 0.4, 0.7), lambda h: 0.7 * segment_by_integral(h)),
    (lying("dished", 0.4, 0.7), lambda h: fluids.geometry.V_horiz_torispherical(0.4, 0.7, 1.0, 0.06, h)),
    (lying("elliptical", 0.4, 0.7), lambda h: fluids.geometry.V_horiz_ellipsoidal(0.4, 0.7, 0.1, h)),
    (lying("hemispherical", 0.4, 0.7), lambda h: fluids.geometry.V_horiz_spherical(0.4, 0.7, 0.2, h)),
    (lambda h: volume_cone_bottom(h, 0.4, 0.15), lambda h: fluids.geometry.V_vertical_conical(0.4, 0.15, h)),
    (lambda h: volume_upright_cylinder(h, 0.4), lambda h: quad(lambda _: np.pi * 0.04, 0, h)[0]),
]


def segment_by_integral(level: float) -> float:
    """Area of a circle of 0.4 m below a level, by numerical integration of its width."""
    return float(quad(lambda h: 2 * np.sqrt(max(h * (0.4 - h), 0.0)), 0, level, epsabs=1e-13)[0])


@pytest.mark.parametrize("level", [1e-3, 0.02, 0.1, 0.15, 0.199999, 0.2, 0.25, 0.38, 0.399, 0.4])
@pytest.mark.parametrize(("volume", "reference"), LIBRARY)
def test_every_level_agrees_with_a_reference_library(
    volume: Volume, reference: Callable[[float], float], level: float
) -> None:
    # The library's own quadrature of dished ends stops at about 1.5e-8.
    assert at(volume, level) == pytest.approx(reference(level), rel=2e-8, abs=1e-12)


def dished_by_double_integral(level: float) -> float:
    """Both dished ends of 1 m by brute force: the head's own profile, sliced along the axis."""
    depth = fluids.geometry.a_torispherical(1.0, 1.0, 0.06)

    def radius(x: float) -> float:  # x from the straight wall
        on_knuckle = 0.44 + np.sqrt(max(0.06**2 - x**2, 0.0))
        on_dish = np.sqrt(max(1 - (x + 1 - depth) ** 2, 0.0))
        return float(on_knuckle if on_knuckle > 0.44 / 0.94 and x < 0.06 else on_dish)

    def slice_below(x: float) -> float:
        r = radius(x)
        up = min(max(level - 0.5, -r), r)
        return float(r * r * np.arccos(-up / r) + up * np.sqrt(max(r * r - up * up, 0.0))) if r > 0 else 0.0

    points = [0.06 * np.sqrt(1 - (0.44 / 0.94) ** 2)]
    return 2 * float(quad(slice_below, 0, depth, points=points, epsabs=1e-12, epsrel=1e-11, limit=400)[0])


@pytest.mark.parametrize("level", [0.01, 0.05, 0.3, 0.5, 0.7, 0.97])
def test_dished_ends_agree_with_brute_integration(level: float) -> None:
    assert at(lambda h: volume_dished_ends(h, 1.0), level) == pytest.approx(dished_by_double_integral(level), rel=1e-7)


@pytest.mark.parametrize("level", [0.02, 0.3, 0.32])
def test_a_truncated_cone_agrees_with_integration(level: float) -> None:
    def section(h: float) -> float:
        across = 0.05 + (0.6 - 0.05) * h / 0.3 if h < 0.3 else 0.6
        return float(np.pi / 4 * across**2)

    expected, _ = quad(section, 0, level, points=[min(0.3, level)])
    assert at(lambda h: volume_cone_bottom(h, 0.6, 0.3, 0.05), level) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("ends", ["flat", "dished", "elliptical", "hemispherical"])
def test_the_two_halves_of_a_lying_cylinder_are_alike(ends: str) -> None:
    volume = lying(ends, 1.0, 2.0)
    levels = np.linspace(0, 1, 41)
    assert volume(levels) + volume(1 - levels) == pytest.approx(at(volume, 1.0), rel=1e-12)


def test_free_surface_of_a_lying_cylinder() -> None:
    # dV/dh = 2·L·√(2Rh − h²): D = 1 m, L = 2 m, h = 0.3 m
    volume = lying("flat", 1.0, 2.0)
    slope = (at(volume, 0.3001) - at(volume, 0.2999)) / 2e-4
    assert slope == pytest.approx(1.83303027798, rel=1e-6)


@pytest.mark.parametrize("ends", ["flat", "dished", "elliptical", "hemispherical"])
def test_a_level_outside_is_empty_or_full(ends: str) -> None:
    volume = lying(ends, 1.0, 2.0)
    assert at(volume, -0.1) == 0.0
    assert at(volume, 1.2) == pytest.approx(at(volume, 1.0), rel=1e-14)


def test_a_rod_takes_room_between_its_ends_only() -> None:
    levels = np.array([0.05, 0.1, 0.2, 0.3, 0.9])
    expected = np.pi / 4 * 0.1**2 * np.array([0.0, 0.0, 0.1, 0.2, 0.2])
    assert volume_rod(levels, 0.1, 0.1, 0.3) == pytest.approx(expected, abs=1e-15)


def test_the_examples_in_the_texts_are_true() -> None:
    assert doctest.testmod(geometry, extraglobs={"np": np}).failed == 0
