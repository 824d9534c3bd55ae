"""Exact volumes of the tank shapes against level, as pure functions of SI floats or numpy arrays.

Every function takes the level above the lowest point of the inside, in metres, and is valid from an empty tank to a
full one; a level outside is taken as empty or full. All lengths in [m], all volumes in [m3].

Sources:
[1] D. Jones, "Calculating Tank Volume" (article with worked examples): circular segment, heads of lying cylinders.
[2] D. Jones, "Compute Fluid Volumes in Vertical Tanks", Chemical Processing: cone bottoms.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DISH = 1.0  # dish radius over diameter of a torispherical (flanged and dished) head [1]
KNUCKLE = 0.06  # knuckle radius over diameter of the same head [1]
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


def volume_upright_cylinder(level: Floats, diameter: float) -> Floats:
    """Give the volume in an upright cylinder with a flat floor: V = π/4·D²·h.

    level [m], diameter [m]; gives [m3]. Valid for h ≥ 0.

    >>> round(float(volume_upright_cylinder(np.array(0.25), 0.6)), 6)
    0.070686
    """
    return np.asarray(np.pi / 4 * diameter**2 * np.maximum(level, 0.0))


def volume_box(level: Floats, length: float, width: float) -> Floats:
    """Give the volume in a box with upright walls: V = l·w·h.

    level [m], length [m], width [m]; gives [m3]. Valid for h ≥ 0.

    >>> round(float(volume_box(np.array(0.25), 0.6, 0.4)), 6)
    0.06
    """
    return np.asarray(length * width * np.maximum(level, 0.0))


def volume_cone_bottom(level: Floats, diameter: float, cone_depth: float, tip: float = 0.0) -> Floats:
    """Give the volume in an upright cylinder over a cone that may end in a flat tip [2].

    Inside the cone V = π/12·h·(d₀² + d₀·d + d²) with d = d₀ + (D − d₀)·h/a; above it the straight wall
    adds π/4·D²·(h − a).

    level [m] above the tip, diameter D [m], cone_depth a [m], tip diameter d₀ [m]; gives [m3].
    Valid for h ≥ 0, 0 ≤ d₀ ≤ D.

    >>> round(float(volume_cone_bottom(np.array(0.2), 0.6, 0.3)), 8)
    0.00837758
    """
    inside = np.clip(level, 0.0, cone_depth)
    at_surface = tip + (diameter - tip) * inside / cone_depth
    cone = np.pi / 12 * inside * (tip**2 + tip * at_surface + at_surface**2)
    return np.asarray(cone + volume_upright_cylinder(np.asarray(level) - cone_depth, diameter))


def area_segment(level: Floats, diameter: float) -> Floats:
    """Give the area of a circle below a level: A = R²·acos((R − h)/R) − (R − h)·√(2Rh − h²) [1].

    level [m] above the lowest point, diameter [m]; gives [m2]. Valid for 0 ≤ h ≤ D.

    >>> round(float(area_segment(np.array(0.5), 1.0)), 6)
    0.392699
    """
    radius = diameter / 2
    h = np.clip(level, 0.0, diameter)
    away = radius - h
    return np.asarray(radius**2 * np.arccos(away / radius) - away * np.sqrt(h * (diameter - h)))


def volume_ellipsoidal_ends(level: Floats, diameter: float, depth: float) -> Floats:
    """Give the volume in both ellipsoidal ends of a lying cylinder: V = π·a·h²·(1 − h/(3R)) [1].

    level [m], diameter [m], depth a of one end [m] (D/4: elliptical 2:1; D/2: hemispherical); gives [m3].
    Valid for 0 ≤ h ≤ D.

    >>> round(float(volume_ellipsoidal_ends(np.array(1.0), 1.0, 0.5)), 6)
    0.523599
    """
    h = np.clip(level, 0.0, diameter)
    return np.asarray(np.pi * depth * h**2 * (1 - 2 * h / (3 * diameter)))


def volume_dished_ends(level: Floats, diameter: float) -> Floats:
    """Give the volume in both torispherical ends (dish radius D, knuckle radius 0.06 D) of a lying cylinder [1].

    The head is cut where the knuckle meets the dish. Slices of the dish are circular segments at a height, slices of
    the knuckle are circular segments along the axis; both integrals are taken by Gauss-Legendre quadrature after a
    change of variable that removes the square-root ends, to about 12 digits.

    level [m], diameter [m]; gives [m3]. Valid for 0 ≤ h ≤ D.

    >>> round(float(volume_dished_ends(np.array(1.0), 1.0)), 4)
    0.162
    """
    up = np.clip(np.asarray(level, dtype=np.float64) / diameter, 0.0, 1.0) - 0.5  # above the axis, in diameters
    lower = -np.abs(up)
    below = _dish_below(lower) + _knuckle_below(lower)
    half_full = _dish_below(np.zeros(())) + _knuckle_below(np.zeros(()))
    return np.asarray(2 * diameter**3 * np.where(up > 0, 2 * half_full - below, below))


def _joint() -> tuple[float, float]:
    """Give where the knuckle meets the dish: distance from the axis and from the straight wall, in diameters."""
    sine = (0.5 - KNUCKLE) / (DISH - KNUCKLE)
    return DISH * sine, KNUCKLE * float(np.sqrt(1 - sine**2))


def _dish_below(up: Floats) -> Floats:
    """Give the volume of one unit-diameter dish below a height over the axis (up ≤ 0), by slices at equal height."""
    edge, _ = _joint()
    to_centre = float(np.sqrt(DISH**2 - edge**2))  # from the sphere's centre to the joint's plane
    top = np.arcsin(np.clip(up / edge, -1.0, 1.0))[..., np.newaxis]
    angle = -np.pi / 2 + (top + np.pi / 2) * (_NODES + 1) / 2
    half_width = edge * np.cos(angle)
    slices = (to_centre**2 + half_width**2) * np.arctan2(half_width, to_centre) - to_centre * half_width
    return np.asarray(((top + np.pi / 2) / 2 * _WEIGHTS * slices * half_width).sum(axis=-1))


def _knuckle_below(up: Floats) -> Floats:
    """Give the volume of one unit-diameter knuckle below a height over the axis (up ≤ 0), by slices along it."""
    _, joint = _joint()
    away = np.abs(up)[..., np.newaxis]
    centre = 0.5 - KNUCKLE
    end = np.sqrt(
        np.maximum(KNUCKLE**2 - np.maximum(away - centre, 0.0) ** 2, 0.0)
    )  # where the surface leaves the knuckle
    start = np.sqrt(np.maximum(end - joint, 0.0))
    root = start + (np.sqrt(end) - start) * (_NODES + 1) / 2
    radius = centre + np.sqrt(np.maximum(KNUCKLE**2 - (end - root**2) ** 2, 0.0))
    inside = np.sqrt(np.maximum(radius**2 - away**2, 0.0))
    slices = radius**2 * np.arctan2(inside, away) - away * inside
    return np.asarray(((np.sqrt(end) - start) * _WEIGHTS * slices * root).sum(axis=-1))


def volume_lying_cylinder(level: Floats, diameter: float, length: float, ends: str = "flat") -> Floats:
    """Give the volume in a lying cylinder with two like ends: V = A(h)·L + ends [1].

    level [m], diameter [m], length of the straight part [m], ends "flat", "dished" (torispherical, dish radius D,
    knuckle 0.06 D), "elliptical" (2:1) or "hemispherical"; gives [m3]. Valid for 0 ≤ h ≤ D.

    >>> round(float(volume_lying_cylinder(np.array(0.6), 1.5, 4.0, "hemispherical")), 6)
    3.262364
    """
    straight = area_segment(level, diameter) * length
    if ends == "dished":
        return np.asarray(straight + volume_dished_ends(level, diameter))
    depth = {"flat": 0.0, "elliptical": diameter / 4, "hemispherical": diameter / 2}[ends]
    return np.asarray(straight + volume_ellipsoidal_ends(level, diameter, depth))


def volume_rod(level: Floats, diameter: float, bottom: float, top: float) -> Floats:
    """Give the volume that an upright rod takes below the surface: V = π/4·d²·(h − bottom), between its two ends.

    level [m], diameter [m], bottom [m], top [m] above the floor; gives [m3].

    >>> round(float(volume_rod(np.array(0.5), 0.1, 0.1, 0.3)), 8)
    0.0015708
    """
    return np.asarray(np.pi / 4 * diameter**2 * (np.clip(level, bottom, top) - bottom))
