"""What was understood of a typed text, said in the other system of units, and why a text can't be understood."""

from contextlib import suppress

from levelbench.gui.station.entry_keys import declaration
from levelbench.project.fields import Entry
from levelbench.quantity import Dimension, Quantity, QuantityError, read, show, without_doubt

D = Dimension
NO_BREAK = "\u00a0"  # keeps a number and its unit in one line
# what a person may have typed → the unit in which it is said back
_OTHER = {
    D.LENGTH: (("in", "mm"), ("ft", "mm"), ("mm", "in"), ("cm", "in"), ("m", "ft")),
    D.VOLUME: (("US gal", "l"), ("imp gal", "l"), ("US fl oz", "ml"), ("ml", "US fl oz"), ("l", "US gal")),
    D.FLOW: (("US gal/min", "l/min"), ("imp gal/min", "l/min"), ("l/min", "US gal/min"), ("l/h", "US gal/min")),
    D.TIME: (("s", "min"), ("ms", "s"), ("min", "s"), ("h", "min")),
    D.TEMPERATURE: (("°C", "°F"), ("°F", "°C"), ("K", "°C")),
    D.TEMPERATURE_DIFFERENCE: (("delta °F", "K"), ("delta °C", "delta °F"), ("K", "delta °F")),
    D.FLOW_COEFFICIENT: (("Cv", "Kv"), ("Kv", "Cv")),
}
_LAST_RESORT = {D.LENGTH: "mm", D.VOLUME: "US gal", D.FLOW: "US gal/min", D.TIME: "s", D.TEMPERATURE: "°C"}


def in_other_unit(quantity: Quantity) -> str:
    """Say a quantity in the other system of units, and which unit was understood where the text leaves that open."""
    open_to_doubt = any(word in quantity.unit for word in ("US ", "imp ")) and quantity.unit not in quantity.text
    named = quantity.unit if open_to_doubt else ""
    ways = dict(_OTHER.get(quantity.dimension, ()))
    unit = ways.get(quantity.unit) or _LAST_RESORT.get(quantity.dimension)
    if unit is None or unit == quantity.unit or quantity.si == 0 or _is_plain(quantity):
        return named
    other = show(quantity.si, quantity.dimension, unit, abs(quantity.si) / 1000)
    return f"{named} = {other.replace(' ', NO_BREAK) if named else other}".strip()


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
