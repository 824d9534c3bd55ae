"""Rules on the reasons of the alarms: what the operator does, how urgent it is, and that no two say the same."""

from levelbench.alarms.names import name_of
from levelbench.alarms.rationale import (
    MATRIX_SOURCE,
    SHARES_SOURCE,
    Row,
    counts,
    distribution,
    duplicates,
    proposed,
    rationale,
)
from levelbench.quantity import Dimension, Figure
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

N = Dimension.NUMBER
_RANK = {"high": 0, "medium": 1, "low": 2}
_NONE = "there are no alarms."
_LEEWAY = 1.05  # a typed time may be rounded up by so much


def actions(rig: Rig) -> Finding:
    """What asks for nothing from the operator is no alarm."""
    key, title = "alarms.action", "What the operator does about each alarm"
    rows = rationale(rig)
    if not rows:
        return left_out(key, title, _NONE, "bands")
    idle = [row for row in rows if not row.is_alarm]
    figures = _shares(rig, rows)
    if not idle:
        text = f"Each of the {len(rows)} alarms says what the operator does."
        return Finding(key, title, Severity.GOOD, text, figures, go_to="bands")
    names = ", ".join(row.name for row in idle)
    text = f"{len(idle)} of {len(rows)} say nothing of what the operator does, and so are not alarms: {names}."
    what_if: Edits = {}
    for row in idle:
        words = dict(zip(("cause", "consequence", "operator_action"), proposed(rig, row.key), strict=True))
        typed = {"cause": row.cause, "consequence": row.consequence, "operator_action": ""}
        what_if |= {f"bands.{row.key}.{part}": text for part, text in words.items() if not typed[part].strip()}
    first = proposed(rig, idle[0].key)[2]
    change = (
        f"Write down what the operator does, for example for {idle[0].name}: “{first}”; put it in your own words. "
        "What needs nobody is no alarm: leave it out."
    )
    return Finding(
        key, title, Severity.ATTEND, text, figures, change, f"bands.{idle[0].key}.operator_action", what_if
    )  # fmt: skip


def _shares(rig: Rig, rows: tuple[Row, ...]) -> tuple[Figure, ...]:
    """Give how many alarms there are of each priority."""
    bench, told = Bench(rig), counts(rows)
    total = sum(told.values())
    return tuple(
        bench.figure(
            f"alarms.priority.{priority}", f"alarms of {priority} priority", (float(count), N),
            f"count, of {total} that say what the operator does", SHARES_SOURCE, resolution=1.0,
        )
        for priority, count in told.items()
    )  # fmt: skip


def priorities(rig: Rig) -> Finding:
    """An alarm that is more urgent than its priority says is answered too late; one that is less takes attention."""
    key, title = "alarms.priority", "Priorities against consequence and time"
    rows = rationale(rig)
    if not rows:
        return left_out(key, title, _NONE, "bands")
    wrong = [row for row in rows if row.priority != row.suggested]
    text = f"{distribution(rows)} The suggestion is {MATRIX_SOURCE}."
    if not wrong:
        return Finding(key, title, Severity.GOOD, text, go_to="bands")
    too_low = [row for row in wrong if _RANK[row.priority] > _RANK[row.suggested]]
    told = "; ".join(f"{row.name} is {row.priority}, suggested {row.suggested}" for row in wrong)
    text = f"{told[0].upper()}{told[1:]}. {text}"
    if not too_low:
        return Finding(key, title, Severity.GOOD, text, go_to=f"bands.{wrong[0].key}.priority")
    what_if: Edits = {f"bands.{row.key}.priority": row.suggested for row in too_low}
    change = "Raise " + ", ".join(f"{row.name} to {row.suggested}" for row in too_low) + ", or write down why not."
    return Finding(key, title, Severity.ATTEND, text, (), change, next(iter(what_if)), what_if)


def same_twice(rig: Rig) -> Finding:
    """Two alarms that say the same cost the operator twice the attention and tell nothing more."""
    key, title = "alarms.same", "No two alarms that say the same"
    rows = rationale(rig)
    if len(rows) < 2:
        return left_out(key, title, "there are not two alarms.", "bands")
    pairs = duplicates(rig)
    if not pairs:
        text = f"Each of the {len(rows)} has a place or a reason of its own."
        return Finding(key, title, Severity.GOOD, text, go_to="bands")
    named = [f"{name_of(one)} and {name_of(two)}" for one, two in pairs]
    text = f"These say the same, at one place or in the same words: {'; '.join(named)}."
    change = f"Leave one of {named[0]} out, or write down what is different to do about each."
    return Finding(key, title, Severity.ATTEND, text, (), change, f"bands.{pairs[0][1]}.operator_action")


def times_typed(rig: Rig) -> Finding:
    """A time available that was typed must not promise more than the worst rate leaves."""
    key, title = "alarms.time_available", "Time available as typed against what is worked out"
    bench, rows = Bench(rig), rationale(rig)
    typed = [(row, row.time_typed) for row in rows if row.time_typed is not None]
    if not typed:
        return left_out(key, title, "no alarm has a time typed; what is worked out stands.", "bands")
    figures = tuple(row.time for row, _ in typed)
    wrong = [(row, given) for row, given in typed if given.si > _LEEWAY * row.time.si]
    if not wrong:
        return Finding(
            key, title, Severity.GOOD, "None promises more than the worst rate leaves.", figures, go_to="bands"
        )
    told = "; ".join(
        f"{row.name} says {given.shown}, the worst rate leaves {bench.time(row.time.si)}" for row, given in wrong
    )
    text = f"{told[0].upper()}{told[1:]}."
    what_if: Edits = {f"bands.{row.key}.time_available": None for row, _ in wrong}
    change = "Leave it out, so that what is worked out stands, or write down in the basis why there is more."
    return Finding(key, title, Severity.ATTEND, text, figures, change, next(iter(what_if)), what_if)
