"""What a leak and a sensor that is off come to, against closed forms."""

import math

import pytest
from bench_rig import rig_with

from levelbench.review import RULES
from levelbench.review.known_faults import seconds_down

INCH = 0.0254  # [m] NIST SP 811
GALLON = 231 * INCH**3  # [m3] NIST Handbook 44
AREA = math.pi / 4 * (12 * INCH) ** 2


def test_a_tank_runs_down_through_a_hole_in_the_time_that_torricelli_says() -> None:
    """Upright walls: t = 2·A·(√h₀ − √h₁)/c (Torricelli 1644; any text on hydraulics)."""
    rig = rig_with({"tank.leak": "0.1 gal/min", "tank.leak_at": "16 in"})
    c = 0.1 * GALLON / 60 / math.sqrt(16 * INCH)
    high, low = 12 * INCH, 3 * INCH
    exact = 2 * AREA * (math.sqrt(high) - math.sqrt(low)) / c
    assert seconds_down(rig, high * AREA, low * AREA) == pytest.approx(exact, rel=1e-4)
    to_the_floor = 2 * AREA * math.sqrt(high) / c
    assert seconds_down(rig, high * AREA, 0.0) == pytest.approx(to_the_floor, rel=1e-3)


def test_what_leaks_at_the_set_point_goes_as_the_root_of_the_level() -> None:
    rig = rig_with({"tank.leak": "0.1 gal/min", "tank.leak_at": "16 in"})
    level = rig.project.start.set_point.si / AREA
    finding = RULES["tank.leak"](rig)
    flow = 0.1 * GALLON / 60 * math.sqrt(level / (16 * INCH))
    assert finding.figure("tank.leak_flow").si == pytest.approx(flow, rel=1e-4)
    assert finding.figure("tank.leak_day").si == pytest.approx(flow * 86400, rel=1e-4)


def test_a_night_is_enough_to_empty_it() -> None:
    assert "A night" in RULES["tank.leak"](rig_with({"tank.leak": "0.05 gal/min"})).text
    assert "A night" not in RULES["tank.leak"](rig_with({"tank.leak": "0.0005 gal/min"})).text


def test_a_zero_error_shows_its_own_slice_of_the_tank() -> None:
    """Upright walls: 0.4 in of 12 in diameter, everywhere the same (geometry)."""
    finding = RULES["sensor.own_error"](rig_with({"sensor.zero_error": "0.4 in"}))
    assert finding.figure("sensor.own_error").si == pytest.approx(0.4 * INCH * AREA, rel=1e-4)
    assert "too much" in finding.text


def test_a_span_error_is_largest_where_the_distance_is() -> None:
    """A distance that is measured 2 % long shows 2 % of it less level; the longest is at the lowest set point."""
    rig = rig_with({"sensor.span_error": "2 %"})
    distance = 24.5 * INCH - rig.project.loop_settings.set_point_low.si / AREA
    finding = RULES["sensor.own_error"](rig)
    assert finding.figure("sensor.own_error").si == pytest.approx(-0.02 * distance * AREA, rel=1e-3)
    assert "too little" in finding.text
