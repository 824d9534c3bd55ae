"""What people type: every form that is read, and every trap that is refused with words that help."""

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelbench.quantity import Dimension, LevelBenchError, Quantity, QuantityError, read, units_of

D = Dimension
INCH = 0.0254
GALLON = 231 * INCH**3
POUND = 0.45359237


@pytest.mark.parametrize(
    ("text", "dimension", "si", "unit"),
    [
        ("2.4 gal", D.VOLUME, 2.4 * GALLON, "US gal"),
        ("2.4 Gal", D.VOLUME, 2.4 * GALLON, "US gal"),  # the registry's Gal is an acceleration
        ("3 GAL.", D.VOLUME, 3 * GALLON, "US gal"),
        ("2,4 l", D.VOLUME, 0.0024, "l"),
        ("0,125 l", D.VOLUME, 0.000125, "l"),
        ("2,4567 L", D.VOLUME, 0.0024567, "l"),
        ("1 200 l", D.VOLUME, 1.2, "l"),
        ("1.200 l", D.VOLUME, 0.0012, "l"),
        ("2e-3 m3", D.VOLUME, 0.002, "m3"),
        (".5 m³", D.VOLUME, 0.5, "m3"),
        ("3 cu ft", D.VOLUME, 3 * 0.028316846592, "ft3"),
        ("2 fl. oz", D.VOLUME, 2 * GALLON / 128, "US fl oz"),
        ("12 1/2 in", D.LENGTH, 12.5 * INCH, "in"),
        ("12-1/2 in", D.LENGTH, 12.5 * INCH, "in"),
        ("12½ in", D.LENGTH, 12.5 * INCH, "in"),
        ("½″", D.LENGTH, 0.5 * INCH, "in"),
        ("3/8 in", D.LENGTH, 0.375 * INCH, "in"),
        ("-3/8 in", D.LENGTH, -0.375 * INCH, "in"),
        ("14 1/2″", D.LENGTH, 14.5 * INCH, "in"),
        ("1′ 6″", D.LENGTH, 18 * INCH, "in"),
        ("1 ft 6 1/2 in", D.LENGTH, 18.5 * INCH, "in"),
        ("-1 ft 6 in", D.LENGTH, -18 * INCH, "in"),
        ("−3 in", D.LENGTH, -3 * INCH, "in"),  # true minus
        ("12\u00a0in", D.LENGTH, 12 * INCH, "in"),  # non-breaking space
        ("12\u202fin", D.LENGTH, 12 * INCH, "in"),
        ("１２ in", D.LENGTH, 12 * INCH, "in"),  # full-width digits
        ("  12in  ", D.LENGTH, 12 * INCH, "in"),
        ("1 min 30 s", D.TIME, 90, "s"),
        ("1,8 min", D.TIME, 108, "min"),
        ("3 gpm", D.FLOW, 3 * GALLON / 60, "US gal/min"),
        ("3 m³/h", D.FLOW, 3 / 3600, "m3/h"),
        ("1 l per min", D.FLOW, 1e-3 / 60, "l/min"),
        ("2 fl oz/min", D.FLOW, 2 * GALLON / 128 / 60, "US fl oz/min"),
        ("35 %", D.PERCENT, 0.35, "%"),
        ("20 %/s", D.PERCENT_RATE, 0.2, "%/s"),
        ("20 °C", D.TEMPERATURE, 293.15, "°C"),
        ("20 degC", D.TEMPERATURE, 293.15, "°C"),  # raises when the registry parses it as a text
        ("20 ℃", D.TEMPERATURE, 293.15, "°C"),
        ("20 ºC", D.TEMPERATURE, 293.15, "°C"),
        ("5 K", D.TEMPERATURE_DIFFERENCE, 5, "K"),
        ("9 degF", D.TEMPERATURE_DIFFERENCE, 5, "delta °F"),
        ("9 delta degF", D.TEMPERATURE_DIFFERENCE, 5, "delta °F"),
        ("998 kg/m³", D.DENSITY, 998, "kg/m3"),
        ("8.3 lb/gal", D.DENSITY, 8.3 * POUND / GALLON, "lb/US gal"),
        ("1.0 mPa·s", D.VISCOSITY, 0.001, "mPa s"),
        ("1.0 mPa*s", D.VISCOSITY, 0.001, "mPa s"),
        ("5 µA", D.CURRENT, 5e-6, "µA"),  # micro sign
        ("5 μA", D.CURRENT, 5e-6, "µA"),  # Greek mu
        ("2 repeats/min", D.REPEAT_RATE, 2 / 60, "repeats/min"),
        ("2 1/min", D.REPEAT_RATE, 2 / 60, "1/min"),
        ("15 1/h", D.REPEAT_RATE, 15 / 3600, "1/h"),
        ("15 starts/h", D.START_RATE, 15 / 3600, "starts/h"),
        ("15 1/h", D.START_RATE, 15 / 3600, "starts/h"),
        ("1.5", D.NUMBER, 1.5, ""),
        ("2 hogshead", D.VOLUME, 2 * 63 * GALLON, "hogshead"),  # Handbook 44: 63 US gal; known to the registry alone
    ],
)
def test_what_is_read(text: str, dimension: Dimension, si: float, unit: str) -> None:
    found = read(text, dimension)
    assert found.si == pytest.approx(si, rel=1e-12)
    assert (found.text, found.unit, found.dimension) == (text, unit, dimension)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("", D.VOLUME, ["Nothing is typed yet", "2.4 gal"]),
        ("   ", D.VOLUME, ["Nothing is typed yet"]),
        ("-", D.VOLUME, ["no number yet"]),
        ("2.", D.VOLUME, ["unit is missing", "2 US gal or 2 l"]),
        ("2. ", D.VOLUME, ["unit is missing"]),
        ("2,", D.VOLUME, ["unit is missing"]),
        ("2.4 g", D.VOLUME, ["a mass", "Nearest unit: US gal"]),
        ("2.4 ga", D.VOLUME, ["not a unit", "Nearest unit: US gal"]),
        ("2.4 litr", D.VOLUME, ["Nearest unit: l"]),
        ("2.4", D.LENGTH, ["unit is missing", "2.4 in or 2.4 mm"]),
        ("35", D.PERCENT, ["unit is missing", "35 %"]),
        ("gal", D.VOLUME, ["no number in front"]),
        ("1,200 l", D.VOLUME, ["1200 or 1.200"]),
        ("1,200.5 l", D.VOLUME, ["more than one decimal sign"]),
        ("1.2.3 l", D.VOLUME, ["more than one decimal sign"]),
        ("4 oz", D.VOLUME, ["mass", "fl oz"]),
        ("4 oz/min", D.FLOW, ["mass", "fl oz"]),
        ("2 bbl", D.VOLUME, ["31.5 or 42 US gal"]),
        ("5 ML", D.VOLUME, ["megalitre", "ml"]),
        ("5 mil", D.VOLUME, ["a length", "Nearest unit: ml"]),
        ("5 in", D.VOLUME, ["“in” is a length; a volume is wanted"]),
        ("5 m", D.TIME, ["a length; a time"]),
        ("5 gal", D.FLOW, ["a volume; a flow"]),
        ("1 cSt", D.VISCOSITY, ["kinematic viscosity"]),
        ("5 mGal", D.LENGTH, ["acceleration"]),
        ("5 psi", D.LENGTH, ["a pressure"]),
        ("nan l", D.VOLUME, ["finite"]),
        ("inf", D.NUMBER, ["finite"]),
        ("-inf l", D.VOLUME, ["finite"]),
        ("1e999 l", D.VOLUME, ["too large"]),
        ("1e308 km", D.LENGTH, ["too large"]),
        ("1/0 in", D.LENGTH, ["below the line"]),
        ("1 ft 13 in", D.LENGTH, ["more than one ft"]),
        ("-500 °C", D.TEMPERATURE, ["below absolute zero"]),
        ("4-20 mA", D.CURRENT, ["not a unit"]),
        ("1 " + "x" * 200, D.LENGTH, ["too long"]),
        ("1 m**9999999", D.LENGTH, ["not a unit"]),
        ("6 1/min", D.GAIN, ["integral rate; a controller gain"]),
    ],
)
def test_what_is_refused_says_why_and_what_to_type(text: str, dimension: Dimension, words: list[str]) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, dimension)
    for one in words:
        assert one in str(caught.value)
    assert caught.value.hint
    assert isinstance(caught.value, LevelBenchError | ValueError)


def test_one_of_two_kinds_is_read_as_what_it_is() -> None:
    assert read("1.8 min", D.TIME, D.REPEAT_RATE).dimension is D.TIME
    assert read("0.5 repeats/min", D.TIME, D.REPEAT_RATE).dimension is D.REPEAT_RATE
    with pytest.raises(QuantityError, match="a time or an integral rate is wanted"):
        read("2 in", D.TIME, D.REPEAT_RATE)


@pytest.mark.parametrize(
    ("text", "dimension", "shown"),
    [
        ("2.00 gal", D.VOLUME, "2.00 US gal"),
        ("2,40 GAL.", D.VOLUME, "2,40 US gal"),
        ("4 uk gal", D.VOLUME, "4 imp gal"),
        ("4 fl oz", D.VOLUME, "4 US fl oz"),
        ("1 200 l", D.VOLUME, "1 200 l"),
        ("0,9 lpm", D.FLOW, "0,9 l/min"),
        ("1130 %/gal", D.GAIN, "1130 %/US gal"),
        ("6.0", D.GAIN, "6.0 %/%"),
        ("0.9", D.FLOW_COEFFICIENT, "0.9 Cv"),
        ("1.5", D.NUMBER, "1.5"),
        ("8.3 lb/gal", D.DENSITY, "8.3 lb/US gal"),
        ("60 /h", D.START_RATE, "60 starts/h"),
        ("14 1/2″", D.LENGTH, "14 1/2 in"),
        ("-12 in", D.LENGTH, "−12 in"),
        ("−12 in", D.LENGTH, "−12 in"),
        ("1′ 6″", D.LENGTH, "1' 6\""),
        ("-1 ft 6 in", D.LENGTH, "−1 ft 6 in"),
        ("1 min 30 s", D.TIME, "1 min 30 s"),
        ("35%", D.PERCENT, "35 %"),
        ("20 degC", D.TEMPERATURE, "20 °C"),
        ("2 hogshead", D.VOLUME, "2 hogshead"),
    ],
)
def test_a_typed_number_is_shown_with_our_name_of_its_unit(text: str, dimension: Dimension, shown: str) -> None:
    found = read(text, dimension)
    assert (found.shown, found.text) == (shown, text)
    assert read(found.shown, dimension).si == pytest.approx(found.si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("0,4", D.PERCENT, "Type 0,4 % or 40 %, if 0,4 of the whole is meant"),
        ("60", D.START_RATE, "60 starts/h"),
        ("15 starts/h", D.REPEAT_RATE, "a number of starts in a time; an integral rate is wanted"),
        ("2 repeats/min", D.START_RATE, "an integral rate; a number of starts in a time is wanted"),
    ],
)
def test_a_bare_or_foreign_number_is_offered_what_may_be_meant(text: str, dimension: Dimension, words: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(words)):
        read(text, dimension)


NUMBERS = st.sampled_from(
    ["", "-", "2", "2.4", "2,4", "1,200", "12 1/2", "½", "1e5", "1e999", "nan", "0x1", "−3", "1 2 3"]
)
PIECES = st.sampled_from(
    [unit for one in Dimension for unit in units_of(one)] + ["/", " per ", "^3", "oz", "bbl", "ML", "**"]
)
TYPED = st.text(max_size=30) | st.tuples(NUMBERS, st.lists(PIECES, max_size=3)).map(
    lambda one: one[0] + " ".join(one[1])
)


@given(text=TYPED, dimension=st.sampled_from(list(Dimension)))
@settings(max_examples=1500, deadline=None)
def test_any_text_is_a_quantity_or_is_refused(text: str, dimension: Dimension) -> None:
    reason = ""
    try:
        found = read(text, dimension)
    except QuantityError as error:
        reason = error.reason
    else:
        assert isinstance(found, Quantity)
        assert found.text == text
        assert math.isfinite(found.si)
        return
    assert reason


@given(value=st.floats(-1e6, 1e6, allow_subnormal=False), dimension=st.sampled_from(list(Dimension)), data=st.data())
@settings(max_examples=300, deadline=None)
def test_a_number_in_any_unit_is_read_as_that_number(value: float, dimension: Dimension, data: st.DataObject) -> None:
    """A number of a unit is the number times one of that unit (of a temperature: counted from its zero)."""
    unit = data.draw(st.sampled_from(units_of(dimension)))
    if dimension is D.TEMPERATURE:
        value = abs(value)
    zero, one = (read(f"{n} {unit}", dimension).si for n in (0, 1))
    assert read(f"{value!r} {unit}", dimension).si == pytest.approx(zero + value * (one - zero), rel=1e-9, abs=1e-12)
