"""The boundary where a person's text becomes a number; above it there are only names of units and SI floats."""

import difflib
import functools
import math
import re

from levelbench.quantity import vocabulary as words
from levelbench.quantity.dimension import Dimension
from levelbench.quantity.errors import QuantityError
from levelbench.quantity.factors import FIXED_POINTS, factor, kind
from levelbench.quantity.notation import in_marks
from levelbench.quantity.numerals import numeral, plain
from levelbench.quantity.quantity import Quantity

_FOREIGN = re.compile(r"[A-Za-zµμ_]+[1-4]?(?:[*/ ]+[A-Za-zµμ_]+[1-4]?){0,3}")
_SUM = {
    Dimension.LENGTH: re.compile(r"(.+?) ?(ft|foot|feet|')[ -]?([0-9].*?) ?(in|inch|inches|\"|'')\.?", re.IGNORECASE),
    Dimension.TIME: re.compile(
        r"(.+?) ?(h|hr|hours?|min|minutes?) ?([0-9].*?) ?(min|minutes?|s|sec|seconds?)", re.IGNORECASE
    ),
}
_SI = {
    Dimension.LENGTH: "meter",
    Dimension.VOLUME: "meter**3",
    Dimension.FLOW: "meter**3/second",
    Dimension.TIME: "second",
    Dimension.DENSITY: "kilogram/meter**3",
    Dimension.VISCOSITY: "pascal*second",
    Dimension.CURRENT: "ampere",
}  # the dimensions for which a unit outside the vocabulary may be asked for


def read(text: str, dimension: Dimension, *also: Dimension) -> Quantity:
    """Read a typed text as a quantity of `dimension`, or of one of the others that are allowed in its place.

    Raises QuantityError with the reason and a hint what to type.
    """
    wanted = (dimension, *also)
    if not isinstance(text, str):  # from a notebook
        raise QuantityError(str(text), "This is not a text.", f"Type it in quotes: {_examples(wanted)}.")
    signs = plain(text)
    summed = _read_sum(text, signs, wanted)
    if summed:
        return summed
    found = numeral(signs, _examples(wanted))
    if not found.rest:
        return _bare(text, found.value, found.digits, wanted)
    for one in wanted:
        unit = _resolve(found.rest, one)
        if unit is not None:
            return _quantity(text, found.value, unit, one)
    refused = _refused(found.rest, wanted)
    if refused:
        raise refused
    for one in wanted:
        if one in _SI and _foreign_kind(found.rest) == kind(_SI[one]):
            return _quantity(text, found.value, _spaced(found.rest), one)
    raise _unknown_unit(found.rest, wanted)


def in_unit(si: float, dimension: Dimension, unit: str) -> float:
    """Convert an SI value of `dimension` to `unit`, a name of `units_of` or of a `Quantity` [unit of choice].

    Raises QuantityError when the unit is not one of that dimension.
    """
    factor, offset = _scale(unit, dimension)
    return (si - offset) / factor


def span_in_unit(si: float, dimension: Dimension, unit: str) -> float:
    """Convert a difference of two values, so that no zero point of a temperature scale enters [unit of choice].

    Raises QuantityError when the unit is not one of that dimension.
    """
    return si / _scale(unit, dimension)[0]


def unit_named(text: str, dimension: Dimension) -> str | None:
    """Give our name of a unit that stands alone ("gal" is "US gal"); None when it is none of our words for it."""
    return _resolve(plain(text), dimension) if text.strip() else None


@functools.cache
def units_of(dimension: Dimension) -> tuple[str, ...]:
    """Give the units that are offered for a dimension, our first choice first."""
    if dimension in words.OFFERED_RATIOS:
        return words.OFFERED_RATIOS[dimension]
    return tuple(one.name for one in words.SIMPLE[dimension])


def _read_sum(text: str, signs: str, wanted: tuple[Dimension, ...]) -> Quantity | None:
    """Read "1 ft 6 1/2 in" or "1 min 30 s"; None when the text is not of that form."""
    for one in wanted:
        parts = _SUM[one].fullmatch(signs) if one in _SUM else None
        if not parts:
            continue
        large = read(f"{parts[1]} {parts[2]}", one)
        small = read(f"{parts[3]} {parts[4]}", one)
        if small.si >= read(f"1 {parts[2]}", one).si:
            raise QuantityError(
                text,
                f"“{parts[3]} {parts[4]}” is more than one {parts[2]}.",
                f"Type it in one unit: {_examples(wanted)}.",
            )
        return Quantity(text, large.si + math.copysign(small.si, large.si), small.unit, one)
    return None


def _bare(text: str, value: float, digits: str, wanted: tuple[Dimension, ...]) -> Quantity:
    for one in wanted:
        if one in words.BARE_UNIT:
            return _quantity(text, value, words.BARE_UNIT[one], one)
    digits = digits.rstrip(".,") or digits
    offers = [f"{digits} {unit}" for one in wanted for unit in units_of(one)[:2]]
    if wanted[0] is Dimension.PERCENT and 0 < value <= 1:  # a fraction, as spreadsheets and programs have it
        offers.append(f"{value * 100:.4g} %, if {digits} of the whole is meant")
    raise QuantityError(text, "The unit is missing.", f"Type {' or '.join(offers)}.")


def _quantity(text: str, value: float, unit: str, dimension: Dimension) -> Quantity:
    factor, offset = _scale(unit, dimension)
    si = value * factor + offset
    if not math.isfinite(si):
        raise QuantityError(text, "The number is too large.", "Type a smaller number or a larger unit.")
    if dimension is Dimension.TEMPERATURE and si < 0:
        raise QuantityError(
            text, f"{text.strip()} is below absolute zero.", f"Type for example {_examples((dimension,))}."
        )
    return Quantity(text, si, unit, dimension)


def _examples(wanted: tuple[Dimension, ...]) -> str:
    return in_marks(" or ".join(example for one in wanted for example in words.EXAMPLES[one]))


# --- names -----------------------------------------------------------------------------------------------------------


def _spaced(unit: str) -> str:
    """Bring a typed unit to one way of writing powers, products and ratios."""
    unit = re.sub(r"\bper\b(?! ?cent)", "/", unit, flags=re.IGNORECASE)
    unit = re.sub(r"\^|\*\*", "", unit).replace("*", " ")
    return re.sub(r" ?/ ?", "/", " ".join(unit.split()))


def _key(unit: str, dimension: Dimension) -> str:
    squeezed = re.sub(r"[ .()]", "", unit).replace("µ", "μ")
    return squeezed if dimension in words.CASE_MATTERS else squeezed.casefold()


@functools.cache
def _index(dimension: Dimension, units: tuple[words.Unit, ...]) -> dict[str, str]:
    return {_key(spelling, dimension): one.name for one in units for spelling in (one.name, *one.spellings)}


def _resolve(typed: str, dimension: Dimension) -> str | None:
    """Give the shown name of a typed unit, None when the vocabulary of the dimension has none like it."""
    typed = _spaced(typed)
    if dimension is Dimension.VOLUME and typed in words.MEGALITRES:
        return None
    if dimension in words.SIMPLE:
        return _index(dimension, words.SIMPLE[dimension]).get(_key(typed, dimension))
    short = words.ABBREVIATIONS.get(dimension, {}).get(_key(typed, dimension))
    if short:
        return short
    top, slash, bottom = typed.rpartition("/")
    above, below = words.RATIOS[dimension]
    upper = _index(dimension, above).get(_key(top or "1", dimension))
    lower = _index(dimension, below).get(_key(bottom, dimension))
    return f"{upper}/{lower}" if slash and upper and lower else None


def _refused(typed: str, wanted: tuple[Dimension, ...]) -> QuantityError | None:
    """Give the reason why a volume is refused although the registry knows a unit of that name; None when it isn't."""
    if not {Dimension.VOLUME, Dimension.FLOW} & set(wanted):
        return None
    unit = _spaced(typed)
    volume = unit.rpartition("/")[0] or unit
    if volume in words.MEGALITRES:
        return QuantityError(typed, f"“{volume}” is a megalitre.", "Type “ml” for millilitre or “l” for litre.")
    refused = words.REFUSED_VOLUMES.get(_key(volume, Dimension.VOLUME))
    return QuantityError(typed, *map(in_marks, refused)) if refused else None


def _unknown_unit(typed: str, wanted: tuple[Dimension, ...]) -> QuantityError:
    unit = _spaced(typed)
    hint = f"Type for example {_examples(wanted)}."
    what = _what_it_is(unit, wanted)
    nearest = _nearest(unit, wanted, likeness=0.6 if what else 0.3)
    if nearest:
        hint = f"Nearest unit: {nearest}. {hint}"
    name = " or ".join(_with_article(one.value) for one in wanted)
    if what:
        return QuantityError(typed, f"“{typed}” is {_with_article(what)}; {name} is wanted here.", hint, nearest)
    return QuantityError(typed, f"“{typed}” is not a unit that is known for {name}.", hint, nearest)


def _with_article(name: str) -> str:
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def _what_it_is(unit: str, wanted: tuple[Dimension, ...]) -> str | None:
    for one in Dimension:
        if one not in wanted and one is not Dimension.NUMBER and _resolve(unit, one):
            return str(one.value)
    kind = _foreign_kind(unit)
    return None if kind is None else _FOREIGN_NAMES.get(kind, "unit of something else")


def _nearest(unit: str, wanted: tuple[Dimension, ...], likeness: float) -> str | None:
    """Give the unit that is very like the typed one, else one that begins with it, else the most alike."""
    key = _key(unit, Dimension.VOLUME)
    offered: dict[str, str] = {}
    for one in wanted:
        offered |= {_key(name, Dimension.VOLUME): name for name in units_of(one) if name}
        offered |= {_key(spelling, Dimension.VOLUME): name for spelling, name in _spellings(one)}
    alike = difflib.get_close_matches(key, offered, n=1, cutoff=0.6)
    begun = [other for other in offered if key and other.startswith(key)]
    found = alike or begun or difflib.get_close_matches(key, offered, n=1, cutoff=likeness)
    return offered[found[0]] if found else None


def _spellings(dimension: Dimension) -> list[tuple[str, str]]:
    if dimension in words.SIMPLE:
        return [(spelling, one.name) for one in words.SIMPLE[dimension] for spelling in one.spellings]
    return list(words.ABBREVIATIONS.get(dimension, {}).items())


# --- factors ---------------------------------------------------------------------------------------------------------


@functools.cache
def _scale(unit: str, dimension: Dimension) -> tuple[float, float]:
    """Give factor and offset: si = value * factor + offset. Raises QuantityError for a unit of another dimension."""
    above, below = _expressions(unit, dimension)
    if dimension is Dimension.TEMPERATURE:  # scales with a zero of their own
        zero, hundred = (float(one) for one in FIXED_POINTS[above])
        return (hundred - zero) / 100.0, zero
    return float(factor(above) / factor(below)), 0.0


def _expressions(unit: str, dimension: Dimension) -> tuple[str, str]:
    """Give the expressions of a unit above and below its line."""
    if dimension in words.SIMPLE:
        known = {one.name: one.expression for one in words.SIMPLE[dimension]}
        if unit in known:
            return known[unit], "dimensionless"
    else:
        above, below = ({one.name: one.expression for one in units} for units in words.RATIOS[dimension])
        top, _, bottom = unit.rpartition("/")
        if top in above and bottom in below:
            return above[top], below[bottom]
    if dimension in _SI and _foreign_kind(unit) == kind(_SI[dimension]):
        return _as_expression(unit), "dimensionless"
    raise QuantityError(
        unit, f"“{unit}” is not a unit of {dimension.value}.", f"Offered: {', '.join(units_of(dimension))}."
    )


def _as_expression(unit: str) -> str:
    return re.sub(r"(?<=[A-Za-z])([1-4])\b", r"**\1", unit).replace(" ", "*")


@functools.lru_cache(maxsize=256)
def _foreign_kind(unit: str) -> str | None:
    """Say of what dimensionality a unit is that only the registry knows; None when it knows none such."""
    unit = _spaced(unit)
    return kind(_as_expression(unit)) if _FOREIGN.fullmatch(unit) else None


_FOREIGN_NAMES: dict[str, str] = {
    "[mass]": "mass",
    "[mass] / [length] / [time] ** 2": "pressure",
    "[length] / [time] ** 2": "unit of acceleration",
    "[length] ** 2 / [time]": "kinematic viscosity",
    "[length] / [time]": "speed",
    "[length] ** 2": "unit of area",
    "[mass] / [time]": "mass flow",
    "dimensionless": "plain ratio or an angle",
}
