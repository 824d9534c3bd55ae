"""What each column of a file seems to be, with the reason: to be confirmed or overruled by a person."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension
from levelbench.records.cells import Header, is_missing, unit_behind, value_of
from levelbench.records.columns import DRAW, OUTPUT, PV, SET_POINT, TIME
from levelbench.records.stamps import DATED, form_of, has_time
from levelbench.records.unit_words import FRACTION, known_unit
from levelbench.rig.panel import COLUMNS

Floats = NDArray[np.float64]
_WORDS = {  # for a role: words that say it, and words that only hint at it
    SET_POINT: (("sp", "setpoint", "setpt", "sollwert", "soll", "target", "wanted"), ("ref", "reference", "r", "w")),
    OUTPUT: (
        ("op", "output", "out", "co", "drive", "command", "cmd", "stellgrad", "stellgröße", "speed", "controller"),
        ("pump", "valve", "mv", "cv", "u", "rpm"),
    ),
    DRAW: (("draw", "drain", "outflow", "demand", "offtake", "consumption"), ("load", "disturbance", "d")),
    PV: (
        ("pv", "level", "volume", "istwert", "füllstand", "pegel", "niveau", "measured", "measurement", "actual"),
        ("signal", "reading", "value", "sensor", "lt", "y", "height", "contents", "ist", "lit"),
    ),
}
_TIME_WORDS = {"time", "timestamp", "date", "datetime", "datum", "zeit", "uhrzeit", "elapsed", "t", "clock", "stamp"}
_OWN = {"time": TIME, "pv": PV, "output": OUTPUT, "set_point": SET_POINT, "drain_flow": DRAW}
_FITTING = {
    PV: (Dimension.VOLUME, Dimension.LENGTH), SET_POINT: (Dimension.VOLUME, Dimension.LENGTH),
    DRAW: (Dimension.FLOW,), OUTPUT: (Dimension.PERCENT,),
}  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """One column as the first rows show it: its place, heading, some cells, and the numbers in them (nan: none)."""

    at: int
    header: Header
    cells: tuple[str, ...]
    numbers: Floats

    @property
    def words(self) -> set[str]:
        """The single words of its heading, in lower case."""
        spread = re.sub(r"([a-zäöü])([A-Z])", r"\1 \2", self.header.name)
        return {one for one in re.split(r"[^a-zäöüß]+", spread.lower()) if one}

    @property
    def unit_text(self) -> str:
        """The unit as it was written: in the heading, else behind the numbers."""
        return self.header.unit or self.in_cells

    @property
    def in_cells(self) -> str:
        """The unit behind the numbers in its cells."""
        found = {unit_behind(one) for one in self.cells if unit_behind(one)}
        return found.pop() if len(found) == 1 else ""

    @property
    def good(self) -> Floats:
        """The numbers that are there."""
        return self.numbers[np.isfinite(self.numbers)]


@dataclass(frozen=True)
class Guessed:
    """What a column seems to be: its role ("" for none of them), its unit in our words, and why."""

    role: str
    unit: str
    why: str


def seen(headers: Sequence[Header], rows: Sequence[Sequence[str]], mark: str) -> list[Seen]:
    """Take the first rows apart by columns."""
    made = []
    for at, header in enumerate(headers):
        texts = tuple(row[at].strip() for row in rows)
        values = [value_of(one, mark) for one in texts]
        made.append(Seen(at, header, texts, np.array([np.nan if one is None else one for one in values])))
    return made


def roles_of(columns: Sequence[Seen]) -> dict[int, Guessed]:
    """Guess every column's role, unit and reason."""
    if is_own(columns):
        return {one.at: _own(one) for one in columns}
    found = _times(columns)
    left = [one for one in columns if one.at not in found and len(one.good)]
    for role in (SET_POINT, OUTPUT, DRAW, PV):  # "level set point" is a set point, "level control output" an output
        scored = [(_score(one, role), -one.at, one) for one in left]
        best = max(scored, default=None, key=lambda pair: pair[:2])
        if best and best[0] >= 2:
            found[best[2].at] = Guessed(role, _unit(best[2], role), _why(best[2], role))
            left.remove(best[2])
    _rest(left, found)
    for one in columns:
        why = "no numbers stand in it" if not len(one.good) else "nothing in its name or unit says that it is needed"
        found.setdefault(one.at, Guessed("", "", why))
    return found


def is_own(columns: Sequence[Seen]) -> bool:
    """Tell whether a file is a recording of this program."""
    names = [one.header.name for one in columns]
    ours = [column.name for column in COLUMNS if column.dimension is not None]
    return names[: len(ours)] == ours


def _own(column: Seen) -> Guessed:
    role = _OWN.get(column.header.name, "")
    known = known_unit(column.header.unit)
    why = "a recording of this program" if role else "a real rig would not have it, or it is not needed"
    return Guessed(role, known[0] if role and known else "", why)


def _times(columns: Sequence[Seen]) -> dict[int, Guessed]:
    """Find the time: stamps first, in one column or two, else rising numbers."""
    texts = {one.at: [cell for cell in one.cells if not is_missing(cell)] for one in columns if not len(one.good)}
    forms = {at: form for at, form in ((at, form_of(given)) for at, given in texts.items()) if form}
    if forms:
        return _stamps(columns, forms)
    rising = [one for one in columns if len(one.good) > 1 and np.mean(np.diff(one.good) > 0) > 0.6]
    named = [one for one in columns if len(one.good) and one.words & _TIME_WORDS] or [
        one for one in rising if (known := known_unit(one.header.unit)) and known[1] is Dimension.TIME
    ]
    named = [one for one in named if one in rising] or named
    if named:
        unit, why = _time_unit(named[0])
        return {named[0].at: Guessed(TIME, unit, f"its name says time; {why}")}
    steady = [one for one in rising if np.all(np.diff(one.good) > 0)]
    if steady:
        unit, why = _time_unit(steady[0])
        return {steady[0].at: Guessed(TIME, unit, f"its numbers only rise; {why}")}
    return {}


def _stamps(columns: Sequence[Seen], forms: dict[int, tuple[str, str]]) -> dict[int, Guessed]:
    dates = [at for at, (form, _) in forms.items() if form in DATED]
    clocks = [at for at, (form, _) in forms.items() if form not in DATED]
    by_place = {one.at: one for one in columns}
    first = (dates or clocks)[0]
    found = {first: Guessed(TIME, forms[first][0], f"stamps of time: {forms[first][1]}")}
    if dates and clocks and not any(has_time(cell) for cell in by_place[first].cells):
        found[clocks[0]] = Guessed(TIME, forms[clocks[0]][0], "the time of day beside the date")
    return found


def _time_unit(column: Seen) -> tuple[str, str]:
    """Tell the unit of a time in plain numbers, and why."""
    known = known_unit(column.unit_text)
    if known and known[1] is Dimension.TIME:
        return known[0], f"“{column.unit_text}” stands with it"
    size, steps = float(np.median(column.good)), np.diff(column.good)
    if size > 1e11:
        return "ms", "numbers this large are milliseconds since 1970"
    if size > 1e8:
        return "s", "numbers this large are seconds since 1970"
    if 20_000 < size < 80_000 and len(steps) and float(np.median(np.abs(steps))) < 0.05:
        return "d", "they look like the day numbers of a spreadsheet"
    return "s", "no unit stands with it, seconds are usual"


def _score(column: Seen, role: str) -> float:
    strong, weak = _WORDS[role]
    score = 4.0 * bool(column.words & set(strong)) + 2.0 * bool(column.words & set(weak))
    known = known_unit(column.unit_text) if column.unit_text else None
    if known and known[1] in _FITTING[role]:
        score += 2.0 if role not in (SET_POINT, DRAW) or score else 0.0
    elif known and known[1] is not None and not (role == PV and known[1] is Dimension.PERCENT):
        score -= 4.0 if known[1] is not Dimension.CURRENT else 0.0
    if role == DRAW and not (known and known[1] is Dimension.FLOW):
        return 0.0
    return score


def _why(column: Seen, role: str) -> str:
    said = sorted(column.words & {one for words in _WORDS[role] for one in words})
    name = f"its name has “{said[0]}”" if said else ""
    unit = f"“{column.unit_text}” stands with it" if column.unit_text else ""
    doubt = "" if unit or role == DRAW else _unit_doubt(column, role)
    return "; ".join(one for one in (name, unit, doubt) if one)


def _unit_doubt(column: Seen, role: str) -> str:
    if role == OUTPUT:
        return "no unit: its numbers are those of a fraction" if _is_fraction(column) else "no unit: percent is usual"
    return "no unit stands with it: say it if you know it"


def _unit(column: Seen, role: str) -> str:
    known = known_unit(column.unit_text) if column.unit_text else None
    if known:
        return known[0]
    if column.unit_text:
        return column.unit_text
    if role == OUTPUT:
        return FRACTION if _is_fraction(column) else "%"
    return ""


def _is_fraction(column: Seen) -> bool:
    return bool(np.all((column.good >= -0.01) & (column.good <= 1.01)))


def _rest(left: list[Seen], found: dict[int, Guessed]) -> None:
    """Find PV and output among the columns that their names don't tell, by how the numbers go together."""
    roles = {one.role for one in found.values()}
    moving = [one for one in left if np.ptp(one.good) > 0]
    if {PV, OUTPUT} <= roles or not moving:
        return
    if roles & {PV, OUTPUT}:
        role = OUTPUT if PV in roles else PV
        chosen = [(role, moving[0], "the one column that is left" if len(moving) == 1 else "the first that is left")]
    elif len(moving) == 1:
        return
    else:
        first, second = moving[:2]
        drives, driven = (first, second) if _leads(first, second) >= _leads(second, first) else (second, first)
        chosen = [
            (OUTPUT, drives, f"“{driven.header.name}” rises and falls after it"),
            (PV, driven, f"it rises and falls after “{drives.header.name}”"),
        ]
    for role, column, why in chosen:
        found[column.at] = Guessed(role, _unit(column, role), f"{why}, its name does not say it")
        left.remove(column)


def _leads(drive: Seen, driven: Seen) -> float:
    """Tell how well one column goes with the changes of another: 0 not at all, 1 wholly."""
    both = np.isfinite(drive.numbers) & np.isfinite(driven.numbers)
    cause, effect = drive.numbers[both], np.diff(driven.numbers[both])
    if len(effect) < 3 or np.ptp(effect) == 0 or np.ptp(cause[:-1]) == 0:
        return 0.0
    return float(abs(np.corrcoef(cause[:-1], effect)[0, 1]))
