"""The choice of columns in words: typed on the command line, and said back so that it can be confirmed.

"time=1; pv=level signal [V]; output=pump drive [V 0..10]; set point=none". A column is named by its number from 1 or by
its name. In brackets stands its unit; then for a signal the two ends of its scale, and after "is" what they mean:
"pv=signal [mA 4..20 is 0 gal..9.8 gal]". The time may be "time=date + clock [day first]" or "time=every 4 s".
"""

import difflib
import re
from collections.abc import Iterator
from dataclasses import replace

from levelbench.quantity import Dimension, QuantityError, read, written
from levelbench.records.any_csv import Guess
from levelbench.records.columns import (
    DRAW,
    OUTPUT,
    PV,
    ROLES,
    SET_POINT,
    TIME,
    Columns,
    Pick,
    Scale,
    TimePick,
    needs_scale,
)
from levelbench.records.errors import RecordError
from levelbench.records.stamps import FORMS, NUMBER
from levelbench.records.unit_words import TIME_UNITS, USUAL_ENDS, known_unit

FORM = "Type for example “time=1; pv=3 [in]; output=OP [% 0..100]; set point=none”."
SAID = {TIME: "time", PV: "PV", OUTPUT: "output", SET_POINT: "set point", DRAW: "draw"}
_ROLES = {"time": TIME, "pv": PV, "output": OUTPUT, "op": OUTPUT, "set point": SET_POINT, "sp": SET_POINT, "draw": DRAW}
_PART = re.compile(r"(?P<column>[^\[\]]*)(?:\[(?P<inside>[^\[\]]*)\])?\s*")
_ENDS = re.compile(
    r"(?P<unit>.*?)\s*(?P<low>[+\-−]?[0-9.]*[0-9])\s*\.\.\s*(?P<high>[+\-−]?[0-9.]*[0-9])\s*(?:\bis\b(?P<means>.*))?"
)


def read_columns(text: str, guess: Guess) -> Columns:
    """Read a choice of columns; what is not said stays as it was guessed.

    Raises RecordError for a word that can't be read, and when time, PV or output is neither said nor guessed.
    """
    said = dict(_parts(text))
    guessed = {role: "" for role in (TIME, PV, OUTPUT) if not guess.at(role) and role not in said}
    if guessed:
        return guess.columns  # which says what is missing
    time = _time(said[TIME], guess) if TIME in said else guess.time
    picks = {role: _pick(role, said[role], guess) if role in said else guess.pick(role) for role in ROLES[1:]}
    pv, output = picks[PV], picks[OUTPUT]
    if pv is None or output is None:
        raise RecordError(f"“{text}”", "PV and output can't be left out.", FORM)
    return Columns(guess.dialect, time, pv, output, picks[SET_POINT], picks[DRAW])


def as_text(columns: Columns) -> str:
    """Give a choice of columns as it would be typed."""
    time = columns.time
    if time.at is None:
        first = f"time=every {_plain(time.every)} s"
    else:
        place = f"{time.at + 1}" if time.clock is None else f"{time.at + 1} + {time.clock + 1}"
        first = f"time={place} [{time.unit if time.form == NUMBER else time.form}]"
    parts = [first]
    for role in ROLES[1:]:
        pick = columns.pick(role)
        parts.append(f"{role}={_typed(pick)}" if pick else f"{role}=none")
    return "; ".join(parts)


def as_lines(guess: Guess, columns: Columns) -> list[str]:
    """Say for a person how the file is read, column by column with the reason where it was guessed.

    What was guessed in doubt and not overruled is asked, and how to overrule it is said.
    """
    lines = [f"{guess.path.name}: {guess.dialect.words}"]
    time = columns.time
    if time.at is None:
        lines.append(f"  time       rows {written(time.every, 'g')} s apart")
    else:
        names = " and ".join(_named(guess, at) for at in (time.at, time.clock) if at is not None)
        lines.append(
            f"  time       {names}, {time.unit if time.form == NUMBER else time.form}{_why(guess, TIME, time.at)}"
        )
    for role in ROLES[1:]:
        pick = columns.pick(role)
        if pick is None:
            lines.append(f"  {SAID[role]:10} none")
            continue
        lines.append(f"  {SAID[role]:10} {_named(guess, pick.at)}, {_unit(pick, role)}{_why(guess, role, pick.at)}")
    asked = open_questions(guess, columns)
    if asked:
        lines += [f"  ▲ {one}" for one in asked]
        lines.append(f"  Change what is wrong: --columns “{as_text(columns)}”")
    return lines


def open_questions(guess: Guess, columns: Columns) -> list[str]:
    """Give the questions of a guess whose columns were taken as they were guessed."""
    asked = []
    for role in ROLES:
        at = guess.at(role)
        kept = at and (columns.time == guess.time if role == TIME else columns.pick(role) == guess.pick(role))
        asked += [one for one in guess.questions if kept and one.startswith(f"Column {at[0] + 1} ")]
    return asked


def _named(guess: Guess, at: int) -> str:
    return f"column {at + 1} “{guess.seen[at].header.shown}”"


def _why(guess: Guess, role: str, at: int) -> str:
    return f" ({guess.guessed[at].why})" if guess.guessed[at].role == role else " (as you said)"


def _unit(pick: Pick, role: str) -> str:
    unit = pick.unit or "no unit"
    if pick.scale:
        return f"{unit} from {_ends(pick.scale)} for {pick.scale.at_low} to {pick.scale.at_high}"
    if role == OUTPUT and pick.unit in USUAL_ENDS and needs_scale(role, pick.unit):
        low, high = USUAL_ENDS[pick.unit]
        return f"{unit} from {written(low, 'g')} to {written(high, 'g')} for 0 % to 100 %"
    return unit


def _ends(scale: Scale) -> str:
    return f"{written(scale.low, 'g')} to {written(scale.high, 'g')}"


def _typed(pick: Pick) -> str:
    inside = pick.unit
    if pick.scale:
        inside += f" {_plain(pick.scale.low)}..{_plain(pick.scale.high)}"
        inside += f" is {pick.scale.at_low}..{pick.scale.at_high}"
    return f"{pick.at + 1} [{inside.strip()}]"


def _plain(value: float) -> str:
    """Write a number as it is typed here, always with a point."""
    return str(value).removesuffix(".0")


def _parts(text: str) -> Iterator[tuple[str, str]]:
    """Take the text apart by roles."""
    for part in text.split(";"):
        name, equals, value = part.partition("=")
        if not part.strip():
            continue
        role = _ROLES.get(" ".join(name.lower().replace("_", " ").split()))
        if role is None or not equals or not value.strip():
            raise RecordError(f"“{part.strip()}”", "That names no column.", f"Roles are {', '.join(ROLES)}. {FORM}")
        yield role, value.strip()


def _column(text: str, guess: Guess) -> int:
    """Find a column by its number or its name."""
    text = text.strip().strip("“”\"'")
    names = [one.header.name.casefold() for one in guess.seen]
    if names.count(text.casefold()) == 1:
        return names.index(text.casefold())
    if text.isdecimal() and 1 <= int(text) <= len(names):
        return int(text) - 1
    near = difflib.get_close_matches(text.casefold(), names, n=1, cutoff=0.4)
    hint = f"The nearest is “{near[0]}”." if near else f"Columns are 1 to {len(names)}, or their names."
    raise RecordError(f"“{text}”", "The file has no such column, or more than one.", hint)


def _time(text: str, guess: Guess) -> TimePick:
    if text.lower().startswith("every"):
        try:
            return TimePick(None, every=read(text[5:].strip(), Dimension.TIME).si)
        except QuantityError as error:
            raise RecordError(f"“{text}”", error.reason, "Type for example “time=every 4 s”.") from error
    found = _PART.fullmatch(text)
    if not found:
        raise RecordError(f"“{text}”", "That is no column of time.", FORM)
    first, plus, second = found["column"].partition("+")
    at, clock = _column(first, guess), _column(second, guess) if plus else None
    inside = (found["inside"] or "").strip()
    if inside in FORMS:
        return TimePick(at, inside, "s", clock)
    if inside and (known := known_unit(inside)) and known[0] in TIME_UNITS:
        return TimePick(at, NUMBER, known[0], clock)
    if inside:
        raise RecordError(
            f"“{inside}”", "That is no form of a time.", f"There are {', '.join((*TIME_UNITS, *FORMS[1:]))}."
        )
    guessed = guess.guessed[at]
    if guessed.role != TIME:
        return TimePick(at, clock=clock)
    return replace(guess.time_at(at), clock=clock)


def _pick(role: str, text: str, guess: Guess) -> Pick | None:
    if text.lower() == "none":
        return None
    found = _PART.fullmatch(text)
    if not found:
        raise RecordError(f"“{text}”", "That is no column.", FORM)
    at = _column(found["column"], guess)
    inside = (found["inside"] or "").strip()
    own = guess.guessed[at].unit if guess.guessed[at].role == role else guess.unit_of(at)
    ends = _ENDS.fullmatch(inside)
    if not ends:
        return Pick(at, _unit_of(inside) if inside else own, None, guess.seen[at].in_cells)
    unit = _unit_of(ends["unit"]) if ends["unit"].strip() else own
    return Pick(at, unit, _scale(role, ends), guess.seen[at].in_cells)


def _unit_of(text: str) -> str:
    known = known_unit(text)
    return known[0] if known else text.strip()


def _scale(role: str, ends: re.Match[str]) -> Scale:
    try:
        low, high = (float(ends[one].replace("−", "-")) for one in ("low", "high"))
    except ValueError as error:
        raise RecordError(f"“{ends[0]}”", "The ends of the scale are no numbers.", FORM) from error
    means = [one.strip() for one in (ends["means"] or "").split("..")]
    if len(means) == 2 and all(means):
        return Scale(low, high, means[0], means[1])
    if role == OUTPUT and means == [""]:
        return Scale(low, high, "0 %", "100 %")
    hint = "Type for example “pv=3 [mA 4..20 is 0 gal..9.8 gal]”."
    raise RecordError(f"“{ends[0]}”", "It is not said what the ends of the scale mean.", hint)
