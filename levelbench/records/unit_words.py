"""The units that a column of a record may be in: those of our quantities, and a signal's own (V, counts)."""

from levelbench.quantity import Dimension, unit_named, units_of

FRACTION = "fraction"
SPAN = "% of span"
COUNTS = "counts"
_SIGNALS = {
    "V": ("v", "volt", "volts", "vdc"),
    "mV": ("mv", "millivolt", "millivolts"),
    COUNTS: ("counts", "count", "cts", "raw", "digits", "digit", "lsb", "bits", "adc"),
    "Hz": ("hz", "hertz"),
    "rpm": ("rpm",),
    FRACTION: ("fraction", "1", "p.u.", "pu", "per unit", "0..1", "0-1"),
    SPAN: ("% of span", "%span", "% span", "%fs", "% fs", "% of range", "%fsd"),
}
_SIGNAL = {spelling: name for name, spellings in _SIGNALS.items() for spelling in spellings}
_KNOWN = (
    Dimension.TIME, Dimension.VOLUME, Dimension.LENGTH, Dimension.FLOW, Dimension.PERCENT, Dimension.CURRENT,
)  # fmt: skip


def known_unit(text: str) -> tuple[str, Dimension | None] | None:
    """Give our name of a unit and what it is of (None: a signal's own); None when nobody here knows it.

    >>> known_unit("gal"), known_unit("volts"), known_unit("bananas")
    (('US gal', <Dimension.VOLUME: 'volume'>), ('V', None), None)
    """
    low = " ".join(text.lower().split())
    if low in _SIGNAL:
        return _SIGNAL[low], None
    for dimension in _KNOWN:
        if name := unit_named(text, dimension):
            return name, dimension
    return None


def dimension_of(unit: str) -> Dimension | None:
    """Give what a unit of ours is of; None for a signal's own."""
    found = known_unit(unit)
    return found[1] if found else None


PV_UNITS = (*units_of(Dimension.VOLUME), *units_of(Dimension.LENGTH), "mA", COUNTS, SPAN, "%", "V", "mV")
OUTPUT_UNITS = ("%", FRACTION, "mA", "V", "mV", "Hz", "rpm", COUNTS)
FLOW_UNITS = units_of(Dimension.FLOW)
TIME_UNITS = ("s", "min", "h", "ms", "d")
USUAL_ENDS = {"%": (0.0, 100.0), SPAN: (0.0, 100.0), FRACTION: (0.0, 1.0), "mA": (4.0, 20.0), "V": (0.0, 10.0)}
"""What 0 % and 100 % of a signal usually are; for V, mA and all that are not here a person is asked."""
