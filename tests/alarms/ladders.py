"""Ladders as people type them: sound ones in any unit and order, and whatever else comes from a keyboard."""

from collections.abc import Mapping, Sequence

from hypothesis import strategies as st
from sample_texts import SEEDLING, WASHER

from levelbench.project.alarms import Alarm
from levelbench.project.checking import fields_of, record_in
from levelbench.project.fields import Entry, entries
from levelbench.project.records import Bands
from levelbench.quantity import Dimension

Typed = dict[str, dict[str, str]]  # by alarm and key: the value as it stands in the file, in TOML

RECORDS: dict[str, type] = {}
for _key in entries(Bands):
    _record = record_in(fields_of(Bands)[_key])
    assert _record is not None
    RECORDS[_key] = _record
assert all(issubclass(one, Alarm) for one in RECORDS.values())

_UNITS: dict[Dimension, Sequence[str]] = {
    Dimension.VOLUME: ("gal", "l", "ml", "m3", "imp gal", "US gal", "fl oz", "litres", "in3", "cm3"),
    Dimension.FLOW: ("gal/min", "gpm", "l/h", "ml/s", "m3/h", "imp gal/h", "l/d"),
    Dimension.TIME: ("s", "min", "h", "ms", "d", "sec", "days"),
    Dimension.PERCENT: ("%", "percent"),
}
_NUMBERS = st.one_of(
    st.floats(0.001, 20.0).map(lambda one: f"{one:.4g}"),
    st.sampled_from(("0", "1", "1/2", "4 1/4", "1.40", "5", "5.00", "0.0001", "15.5", "1e-9", "1e6", "123456789", "9")),
)
ODD_TEXTS = (
    "", " ", "look", "=1+1", "@SUM(A1)", "-2", 'say "stop"', "it's", "a\nb\r\nc", "tab\there", "“quoted”",
    "漢字 и ещё", "<b>&amp;</b>", "<script>alert(1)</script>", "a; b, c", "\\", "{0} %s %d", "Ａ𝔅", "é" * 300,
    "word " * 200, "x" * 400, "\u202eabc", "line\u2028break", "<para>", "</font>", "&nope;", "*b* _i_ `c`",
)  # fmt: skip


IN_ORDER = {"high_high": "5 gal", "high": "4.3 gal", "low": "1.75 gal", "low_low": "1.4 gal"}  # of the seedling house


_TEXTS = st.one_of(st.text(max_size=40), st.sampled_from(ODD_TEXTS))


def toml(text: str) -> str:
    """Write a text as a TOML string on one line."""
    out = ['"']
    for one in text:
        code = ord(one)
        if one in '"\\':
            out.append("\\" + one)
        elif code < 0x20 or code == 0x7F:
            out.append(f"\\u{code:04X}")
        else:
            out.append(one)
    return "".join([*out, '"'])


def _quantity(entry: Entry) -> st.SearchStrategy[str]:
    assert entry.dimension is not None
    low = entry.above is not None
    numbers = _NUMBERS.filter(lambda one: one != "0") if low else _NUMBERS
    if entry.dimension is Dimension.PERCENT:
        numbers = st.sampled_from(("90", "1", "100", "0.5", "33 1/3"))
    units = st.sampled_from(_UNITS[entry.dimension])
    return st.tuples(numbers, units).map(lambda one: toml(" ".join(one)))


def _sound(entry: Entry) -> st.SearchStrategy[str]:
    """Give what may stand for an entry."""
    if entry.dimension is not None:
        return _quantity(entry)
    if entry.choices:
        return st.sampled_from([toml(one) for one in entry.choices])
    if entry.sentences:
        return _TEXTS.map(toml)
    return st.sampled_from(("true", "false"))


WILD = st.one_of(
    st.text(max_size=30).map(toml),
    st.sampled_from(
        (
            '""', '" "', '"5"', '"5 "', '"5 ga"', '"gal"', '"5 gal gal"', '"-5 gal"', '"−5 gal"', '"nan gal"',
            '"inf gal"', '"1e400 gal"', '"1e-400 gal"', '"1e300 m3"', '"1/0 gal"', '"5 in"', '"5 s"', '"off"', '"none"',
            '"1,5 gal"', '"1,234 gal"', '"1.234,5 gal"', '"0x10 gal"', '"٣ gal"', '"5 gal/min"', '"5 gpm"', '"1 d"',
            '"5 \\u00A0gal"', '"99999 d"', '"1e9 d"', "5", "5.0", "-1", "nan", "inf", "-inf", "true", "false", "[]",
            "[1, 2]", '["5 gal", "6 gal"]', "{}", '{ limit = "5 gal" }', "1979-05-27", "0o17", "[[[]]]", '"high"',
            '"HIGH"', '"hgih"', '"never"', '"Never "', "1_000", '"5\\ngal"', '"=5 gal"', '"5 gal # note"',
        )
    ),
)  # fmt: skip


@st.composite
def sound(draw: st.DrawFn, least: int = 0) -> Typed:
    """Give a ladder of which every value alone can be understood; what they are together is anything."""
    typed: Typed = {}
    in_order = draw(st.booleans())
    for key in draw(st.lists(st.sampled_from(list(RECORDS)), unique=True, min_size=least)):
        known = entries(RECORDS[key])
        given = [name for name, one in known.items() if one.required or draw(st.integers(0, 2)) > 0]
        typed[key] = {name: draw(_sound(known[name])) for name in draw(st.permutations(given))}
        if in_order and key in IN_ORDER:
            typed[key]["limit"] = toml(IN_ORDER[key])
    return typed


@st.composite
def anything(draw: st.DrawFn) -> Typed:
    """Give a ladder in which some values, keys or alarms are what nobody should type."""
    typed = draw(sound())
    for _ in range(draw(st.integers(1, 4))):
        alarm = draw(st.sampled_from((*RECORDS, "hihg", "high high", "", "spill.switch", "Low")))
        known = list(entries(RECORDS[alarm])) if alarm in RECORDS else ["limit"]
        name = draw(st.sampled_from((*known, "limt", "limit", "", "onDelay", "dead band", "title")))
        typed.setdefault(alarm, {})[name] = draw(WILD)
    return typed


def lines_of(typed: Typed) -> str:
    """Write a ladder as the end of a project file: an inline table an alarm, as people write them."""
    rows = ["[bands]"]
    for alarm, values in typed.items():
        within = ", ".join(f"{_bare(name)} = {value}" for name, value in values.items())
        rows.append(f"{_bare(alarm)} = {{ {within} }}")
    return "\n".join(rows) + "\n"


def _bare(key: str) -> str:
    return key if key and key.replace("_", "").isascii() and key.replace("_", "").isalnum() else toml(key)


def _without_bands(text: str) -> str:
    begin = text.index("[bands]")
    return text[:begin] + text[text.index("\n[", begin) + 1 :]


_TEXTS_OF = {"seedling": _without_bands(SEEDLING), "washer": _without_bands(WASHER)}
BASES = st.sampled_from(list(_TEXTS_OF))


def with_ladder(typed: Typed, base: str = "seedling", handling: Mapping[str, str] | None = None) -> str:
    """Give the text of a sample with this ladder, and this way of living with it, in the place of its own."""
    text = _TEXTS_OF[base]
    if handling is not None:
        begin = text.index("[alarm_handling]")
        lines = "".join(f"{name} = {value}\n" for name, value in handling.items())
        text = f"{text[:begin]}[alarm_handling]\n{lines}{text[text.index(chr(10) + '[', begin) :]}"
    return f"{text}\n{lines_of(typed)}"


HANDLINGS = st.fixed_dictionaries(
    {},
    optional={
        "acknowledge": st.sampled_from(('"by hand"', '"by itself"')),
        "silence_at_most": st.sampled_from(('"1 s"', '"1 ms"', '"5 min"', '"1 h"', '"3 d"', '"400 d"')),
        "shelve_at_most": st.sampled_from(('"1 s"', '"60 min"', '"400 d"')),
        "protection": st.sampled_from(('"operator may act"', '"hardware must trip"')),
    },
)
