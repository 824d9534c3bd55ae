"""What was understood of a typed text, said in the other system of units, and why a text can't be understood."""

from contextlib import suppress

from levelbench.gui.fields.entry_keys import declaration
from levelbench.project.fields import Entry
from levelbench.quantity import Dimension, Quantity, QuantityError, read, show, without_doubt

D = Dimension
NO_BREAK = "\u00a0"  # keeps a number and its unit in one line
# what a person may have typed → the unit in which it is said back, in the other system where there is one
_OTHER = {
    D.LENGTH: {"in": "mm", "ft": "mm", "thou": "mm", "mm": "in", "cm": "in", "m": "ft"},
    D.VOLUME: {
        **dict.fromkeys(("US gal", "imp gal", "US qt", "US pt", "imp pt", "ft3"), "l"),
        **dict.fromkeys(("US fl oz", "imp fl oz", "in3"), "ml"),
        "l": "US gal", "m3": "US gal", "ml": "US fl oz",
    },
    D.FLOW: {
        **dict.fromkeys(("US gal/min", "imp gal/min"), "l/min"),
        "US gal/h": "l/h", "US fl oz/min": "ml/min", "l/h": "US gal/h", "ml/min": "US fl oz/min",
        **dict.fromkeys(("l/min", "m3/h", "l/s", "ml/s"), "US gal/min"),
    },
    D.TIME: {"s": "min", "ms": "s", "min": "s", "h": "min", "d": "h"},
    D.TEMPERATURE: {"°C": "°F", "°F": "°C", "K": "°C"},
    D.TEMPERATURE_DIFFERENCE: {"delta °F": "K", "delta °C": "delta °F", "K": "delta °F"},
    D.DENSITY: {
        **dict.fromkeys(("kg/m3", "g/ml", "kg/l"), "lb/US gal"),
        "lb/US gal": "kg/m3", "lb/ft3": "kg/m3",
    },
    D.FLOW_COEFFICIENT: {"Cv": "Kv", "Kv": "Cv"},
    D.REPEAT_RATE: {"repeats/min": "repeats/s", "repeats/s": "repeats/min", "1/min": "1/s", "1/s": "1/min"},
    D.START_RATE: {"starts/min": "starts/h", "starts/d": "starts/h"},
    D.PERCENT_RATE: {"%/s": "%/min", "%/min": "%/s"},
}  # fmt: skip
_COMPOUND = {D.FLOW: "l/min"}  # for a flow of other parts than those above


def in_other_unit(quantity: Quantity) -> str:
    """Say a quantity in the other system of units, and which unit was understood where the text leaves that open."""
    open_to_doubt = any(word in quantity.unit for word in ("US ", "imp ")) and quantity.unit not in quantity.text
    named = quantity.unit if open_to_doubt else ""
    unit = _OTHER.get(quantity.dimension, {}).get(quantity.unit) or _COMPOUND.get(quantity.dimension)
    if unit is None or unit == quantity.unit or quantity.si == 0 or _is_plain(quantity):
        return named
    other = show(quantity.si, quantity.dimension, unit, abs(quantity.si) / 1000)
    return f"{named}, {other.replace(' ', NO_BREAK)}" if named else f"= {other}"


def _is_plain(quantity: Quantity) -> bool:
    """Tell a time below a minute, which nobody wants to read in minutes."""
    return quantity.dimension is D.TIME and quantity.unit == "s" and quantity.si < 60


def understood(key: str, text: str) -> str:
    """Say what a text means for an entry; raises QuantityError with the reason where it means nothing allowed."""
    entry = declaration(key)
    if entry.may_be_off and text.strip().lower() == "off":
        return "not used"
    quantity = _read_any(entry, text)
    reason = _out_of_range(entry, quantity)
    if reason:
        raise QuantityError(text, reason, "")
    return in_other_unit(quantity)


def _read_any(entry: Entry, text: str) -> Quantity:
    """Read a text as the first of the entry's kinds that takes it; raises QuantityError as the first does."""
    text = without_doubt(text)
    first, *others = entry.dimensions
    try:
        return read(text, first)
    except QuantityError:
        for other in others:
            with suppress(QuantityError):
                return read(text, other)
        raise


def _out_of_range(entry: Entry, quantity: Quantity) -> str:
    """Say how a quantity breaks the bounds of its entry; "" when it does not."""

    def said(si: float) -> str:
        return show(si, quantity.dimension, quantity.unit)

    if entry.above is not None and quantity.si <= entry.above:
        return f"It has to be more than {said(entry.above)}."
    if entry.low is not None and quantity.si < entry.low:
        return f"It can't be less than {said(entry.low)}."
    if entry.high is not None and quantity.si > entry.high:
        return f"It can't be more than {said(entry.high)}."
    return ""
