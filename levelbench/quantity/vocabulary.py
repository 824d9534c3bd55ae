"""The names of units: how each is shown, how the unit registry spells it, and how people spell it.

A first spelling is the name that we show. Ratios (flow, gain, rates) are made of two such lists, so "fl oz/min" or
"%/imp gal" need no line of their own. Factors are not written here: see `factors`.
"""

from dataclasses import dataclass

from levelbench.quantity.dimension import Dimension

D = Dimension


@dataclass(frozen=True)
class Unit:
    """One unit: the name we show, the registry's expression for it, and other ways to type it."""

    name: str
    expression: str
    spellings: tuple[str, ...] = ()


def _unit(name: str, expression: str, spellings: str = "") -> Unit:
    return Unit(name, expression, tuple(one.strip() for one in spellings.split(",") if one.strip()))


LENGTHS = (
    _unit("in", "inch", "inch, inches, \", '', ins"),
    _unit("mm", "millimeter", "millimetre, millimetres, millimeter, millimeters"),
    _unit("cm", "centimeter", "centimetre, centimetres, centimeter, centimeters"),
    _unit("ft", "foot", "foot, feet, '"),
    _unit("m", "meter", "metre, metres, meter, meters"),
    _unit("thou", "thou", "mil, mils"),
)
VOLUMES = (
    _unit("US gal", "gallon", "gal, gals, gallon, gallons, us gallon, us gallons, gal us, usg, us liquid gallon"),
    _unit("l", "liter", "litre, litres, liter, liters, ltr, lt, dm3"),
    _unit(
        "imp gal",
        "imperial_gallon",
        "imp gals, imperial gal, imperial gallon, imperial gallons, imp gallon, imp gallons, uk gal, uk gallon, "
        "uk gallons, igal, gal imp, gal uk",
    ),
    _unit("m3", "meter**3", "cubic metre, cubic metres, cubic meter, cubic meters, cu m"),
    _unit("ml", "milliliter", "millilitre, millilitres, milliliter, milliliters, cm3, cc, ccm"),
    _unit("US fl oz", "fluid_ounce", "fl oz, floz, fluid ounce, fluid ounces, us fluid ounce, us fluid ounces, ozfl"),
    _unit("imp fl oz", "imperial_fluid_ounce", "imperial fl oz, imperial fluid ounce, uk fl oz, uk fluid ounce"),
    _unit("US qt", "quart", "qt, qts, quart, quarts, us quart, us quarts"),
    _unit("US pt", "liquid_pint", "pt, pts, pint, pints, us pint, us pints"),
    _unit("imp pt", "imperial_pint", "imp pint, imp pints, imperial pint, imperial pints, uk pt, uk pint, uk pints"),
    _unit("in3", "inch**3", "cu in, cubic inch, cubic inches"),
    _unit("ft3", "foot**3", "cu ft, cubic foot, cubic feet, cf"),
)
TIMES = (
    _unit("s", "second", "sec, secs, second, seconds"),
    _unit("min", "minute", "mins, minute, minutes"),
    _unit("h", "hour", "hr, hrs, hour, hours"),
    _unit("ms", "millisecond", "msec, millisecond, milliseconds"),
    _unit("d", "day", "day, days"),
)
PERCENTS = (_unit("%", "percent", "percent, per cent, pct"),)
COUNTS = (
    _unit("1", "dimensionless"),
    _unit("repeats", "dimensionless", "repeat, reps, rep"),
)
STARTS = (_unit("starts", "dimensionless", "start, 1"),)

SIMPLE: dict[D, tuple[Unit, ...]] = {
    D.LENGTH: LENGTHS,
    D.VOLUME: VOLUMES,
    D.TIME: TIMES,
    D.PERCENT: PERCENTS,
    D.NUMBER: (_unit("", "dimensionless"),),
    D.TEMPERATURE: (
        _unit("°C", "degC", "degc, c, celsius, deg celsius, degrees celsius, degree celsius"),
        _unit("°F", "degF", "degf, f, fahrenheit, deg fahrenheit, degrees fahrenheit, degree fahrenheit"),
        _unit("K", "kelvin", "kelvin, kelvins"),
    ),
    D.TEMPERATURE_DIFFERENCE: (
        _unit("K", "kelvin", "kelvin, kelvins"),
        _unit("delta °C", "delta_degC", "delta degc, °c, degc, c, Δ°c, celsius"),
        _unit("delta °F", "delta_degF", "delta degf, °f, degf, f, Δ°f, fahrenheit"),
    ),
    D.DENSITY: (
        _unit("kg/m3", "kilogram/meter**3"),
        _unit("g/ml", "gram/milliliter", "g/cm3, g/cc"),
        _unit("kg/l", "kilogram/liter", "kg/dm3"),
        _unit("lb/US gal", "pound/gallon", "lb/gal, lbs/gal, lb/us gallon, ppg"),
        _unit("lb/ft3", "pound/foot**3", "lbs/ft3, lb/cu ft"),
    ),
    D.VISCOSITY: (
        _unit("mPa s", "millipascal*second"),
        _unit("Pa s", "pascal*second"),
        _unit("cP", "centipoise", "cp, centipoise"),
    ),
    D.CURRENT: (
        _unit("mA", "milliampere", "ma, milliamp, milliamps"),
        _unit("A", "ampere", "amp, amps"),
        _unit("µA", "microampere", "μA, uA"),
    ),
    # q = Cv sqrt(dp/SG) in US gal/min and psi; q = Kv sqrt(dp/SG) in m3/h and bar (IEC 60534-1).
    D.FLOW_COEFFICIENT: (
        _unit("Cv", "gallon/minute/psi**0.5", "cv, CV"),
        _unit("Kv", "meter**3/hour/bar**0.5", "kv, KV"),
    ),
}

RATIOS: dict[D, tuple[tuple[Unit, ...], tuple[Unit, ...]]] = {
    D.FLOW: (VOLUMES, TIMES),
    D.PERCENT_RATE: (PERCENTS, TIMES),
    D.GAIN: (PERCENTS, (*PERCENTS, *VOLUMES)),
    D.REPEAT_RATE: (COUNTS, TIMES),
    D.START_RATE: (STARTS, TIMES),
}

ABBREVIATIONS: dict[D, dict[str, str]] = {
    D.FLOW: {
        "gpm": "US gal/min",
        "usgpm": "US gal/min",
        "gph": "US gal/h",
        "impgpm": "imp gal/min",
        "lpm": "l/min",
        "lph": "l/h",
        "cfm": "ft3/min",
    },
    D.REPEAT_RATE: {"rpm": "repeats/min"},
}

CASE_MATTERS = frozenset({D.VISCOSITY, D.CURRENT})

BARE_UNIT = {D.NUMBER: "", D.FLOW_COEFFICIENT: "Cv", D.GAIN: "%/%"}

EXAMPLES: dict[D, tuple[str, ...]] = {
    D.LENGTH: ("12 in", "300 mm"),
    D.VOLUME: ("2.4 gal", "9 l"),
    D.FLOW: ("1.2 gal/min", "4.5 l/min"),
    D.TIME: ("5 s", "1.8 min"),
    D.PERCENT: ("35 %",),
    D.PERCENT_RATE: ("20 %/s",),
    D.NUMBER: ("1.5",),
    D.TEMPERATURE: ("20 °C", "68 °F"),
    D.TEMPERATURE_DIFFERENCE: ("5 K", "10 delta °F"),
    D.DENSITY: ("998 kg/m3", "8.3 lb/gal"),
    D.VISCOSITY: ("1.0 mPa s", "1.0 cP"),
    D.CURRENT: ("4 mA",),
    D.FLOW_COEFFICIENT: ("0.9 Cv", "0.8 Kv"),
    D.GAIN: ("6.0", "750 %/US gal"),
    D.REPEAT_RATE: ("2 repeats/min",),
    D.START_RATE: ("15 starts/h",),
}

OFFERED_RATIOS: dict[D, tuple[str, ...]] = {
    D.FLOW: (
        "US gal/min",
        "l/min",
        "imp gal/min",
        "m3/h",
        "l/h",
        "US gal/h",
        "l/s",
        "ml/min",
        "ml/s",
        "US fl oz/min",
    ),
    D.PERCENT_RATE: ("%/s", "%/min"),
    D.GAIN: ("%/%", "%/US gal", "%/l", "%/imp gal", "%/m3"),
    D.REPEAT_RATE: ("repeats/min", "repeats/s", "1/min", "1/s", "1/h"),
    D.START_RATE: ("starts/h", "starts/min", "starts/d"),
}

# (unit as people type it, without spaces and case, for a volume) -> why it is refused, what to type instead
REFUSED_VOLUMES: dict[str, tuple[str, str]] = {
    **dict.fromkeys(
        ("oz", "ozs", "ounce", "ounces"),
        ("“oz” alone is an ounce of mass, not of volume.", "Type “fl oz” (US) or “imp fl oz”."),
    ),
    **dict.fromkeys(
        ("bbl", "bbls", "barrel", "barrels"),
        ("A barrel is 31.5 or 42 US gal, depending on the trade.", "Type gallons or litres."),
    ),
}
MEGALITRES = ("ML", "Ml")
