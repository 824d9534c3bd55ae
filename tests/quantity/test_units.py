"""Unit factors against NIST SP 811 (2008) appendix B and NIST Handbook 44 appendix C, and IEC 60534 for valves."""

import subprocess
import sys

import pytest

from levelbench.quantity import (
    COMMON_PRACTICE,
    Dimension,
    Figure,
    Quantity,
    QuantityError,
    Units,
    in_unit,
    read,
    show,
    units_of,
)

D = Dimension

# (text, dimension, SI value, relative tolerance); NIST SP 811 appendix B.8, NIST HB 44 appendix C
NIST = [
    ("1 gal", D.VOLUME, 3.785411784e-3),
    ("1 imp gal", D.VOLUME, 4.54609e-3),
    ("1 in", D.LENGTH, 25.4e-3),
    ("1 fl oz", D.VOLUME, 29.5735295625e-6),
    ("1 imp fl oz", D.VOLUME, 28.4130625e-6),
    ("1 US gal/min", D.FLOW, 6.30901964e-5),
    ("1 gpm", D.FLOW, 6.30901964e-5),
    ("1 imp gal/min", D.FLOW, 4.54609e-3 / 60),
    ("0.22712470704 m3/h", D.FLOW, 6.30901964e-5),
    ("1 ft3", D.VOLUME, 28.316846592e-3),
    ("1 thou", D.LENGTH, 25.4e-6),
    ("1 mil", D.LENGTH, 25.4e-6),
    ("1 US pt", D.VOLUME, 0.473176473e-3),
    ("1 imp pt", D.VOLUME, 0.56826125e-3),
    ("1 lb/ft3", D.DENSITY, 0.45359237 / 28.316846592e-3),
    ("1 yd", D.LENGTH, 0.9144),
    ("68 °F", D.TEMPERATURE, 293.15),
    ("20 degC", D.TEMPERATURE, 293.15),
    ("18 delta degF", D.TEMPERATURE_DIFFERENCE, 10.0),
    ("1 cP", D.VISCOSITY, 1e-3),
]


@pytest.mark.parametrize(("text", "dimension", "si"), NIST, ids=[one[0] for one in NIST])
def test_factors_of_the_standard(text: str, dimension: Dimension, si: float) -> None:
    assert read(text, dimension).si == pytest.approx(si, rel=1e-12)


def test_imperial_and_us_measures_are_told_apart() -> None:
    """Handbook 44: the imperial gallon is 20.1 % larger, its fluid ounce 3.9 % smaller."""
    assert read("1 imp gal", D.VOLUME).si / read("1 gal", D.VOLUME).si == pytest.approx(1.2009499255, rel=1e-10)
    assert read("1 fl oz", D.VOLUME).si / read("1 imp fl oz", D.VOLUME).si == pytest.approx(1.0408427, rel=1e-7)


def test_flow_coefficients_after_their_definitions() -> None:
    """IEC 60534-1: Kv = 0.865 Cv; 10 Cv pass 50 US gal/min of water at 25 psi, 2.5 Kv 1 m3/h at 0.16 bar."""
    cv, kv = read("1 Cv", D.FLOW_COEFFICIENT).si, read("1 Kv", D.FLOW_COEFFICIENT).si
    assert cv / kv == pytest.approx(0.865, abs=2e-4)
    assert kv / cv == pytest.approx(1.156, abs=2e-4)
    assert 10 * cv * (25 * 6894.757293168) ** 0.5 == pytest.approx(50 * 6.30901964e-5, rel=1e-9)
    assert 2.5 * kv * (0.16 * 1e5) ** 0.5 == pytest.approx(1 / 3600, rel=1e-9)
    assert read("0.9", D.FLOW_COEFFICIENT).si == pytest.approx(0.9 * cv, rel=1e-15)


def test_gain_per_span_and_per_volume() -> None:
    assert read("6.0", D.GAIN) == Quantity("6.0", 6.0, "%/%", D.GAIN)
    assert not read("6 %/%", D.GAIN).per_volume
    gain = read("750 %/gal", D.GAIN)
    assert gain.unit == "%/US gal"
    assert gain.per_volume
    assert gain.si == pytest.approx(7.5 / 3.785411784e-3, rel=1e-12)


@pytest.mark.parametrize("dimension", list(Dimension))
def test_every_offered_unit_is_read_and_shown_alike(dimension: Dimension) -> None:
    for unit in units_of(dimension):
        typed = read(f"3 {unit}", dimension)
        assert typed.unit == unit
        assert in_unit(typed.si, dimension, unit) == pytest.approx(3.0, rel=1e-12)
        again = read(show(typed.si, dimension, unit), dimension)
        assert (again.si, again.unit) == (pytest.approx(typed.si, rel=1e-12), unit)


@pytest.mark.parametrize(
    ("value", "resolution", "shown"),
    [
        (4.3, 0.01, "4.30 US gal"),
        (4.3, 0.02, "4.30 US gal"),
        (4.3, 0.5, "4.3 US gal"),
        (4.3, 0.0, "4.300 US gal"),
        (1234.0, 20.0, "1230 US gal"),
        (-0.25, 0.01, "−0.25 US gal"),
        (-0.0001, 0.01, "0.00 US gal"),
        (0.0, 0.0, "0 US gal"),
        (0.00012345, 0.0, "0.0001234 US gal"),
        (12345678.0, 0.0, "1.235e+07 US gal"),
        (float("inf"), 0.0, "∞ US gal"),
        (float("nan"), 0.0, "no value US gal"),
    ],
)
def test_digits_follow_the_resolution(value: float, resolution: float, shown: str) -> None:
    gallon = 231 * 0.0254**3
    assert show(value * gallon, D.VOLUME, "US gal", resolution * gallon) == shown


def test_a_temperature_is_shown_to_a_difference() -> None:
    assert show(293.15, D.TEMPERATURE, "°F", 0.1) == "68.0 °F"


def test_a_unit_of_another_dimension_is_refused() -> None:
    with pytest.raises(QuantityError, match="not a unit of volume"):
        in_unit(1.0, D.VOLUME, "in")


def test_units_of_a_project_cover_every_dimension() -> None:
    for units in (Units("US gal", "in", "US gal/min"), Units("l", "mm", "l/min"), Units("m3", "m", "m3/h")):
        for dimension in Dimension:
            assert read(units.show(300.0, dimension), dimension).si == pytest.approx(300.0, rel=1e-3)
    assert Units("l", "mm", "l/min").of(D.FLOW_COEFFICIENT) == "Kv"


def test_importing_the_room_does_not_load_the_registry() -> None:
    code = "import sys, levelbench.quantity; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def _figure(si: float, resolution: float = 0.0, nought: str = "") -> Figure:
    return Figure("a.figure", "a figure", si, D.TIME, "", (), COMMON_PRACTICE, resolution, nought)


def test_a_figure_is_told_to_the_digits_that_it_deserves() -> None:
    """Three significant digits where no resolution is known (common practice, no source)."""
    units = Units("US gal", "in", "US gal/min")
    told = [units.tell(_figure(si)) for si in (111.38, 3.8934, 0.012345, 43214.0)]
    assert told == ["111 s", "3.89 s", "0.0123 s", "43200 s"]
    assert units.tell(_figure(43.21, 1.0)) == "43 s"
    assert units.tell(_figure(0.0, 0.1, "none needed")) == "none needed"
    assert units.tell(_figure(0.5, 0.1, "none needed")) == "0.5 s"
