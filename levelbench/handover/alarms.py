"""The parts of the sheet about the alarms: where each stands, what time it leaves, and what it is there for."""

from collections.abc import Sequence
from dataclasses import replace

from levelbench.alarms.rationale import MATRIX_SOURCE, NO_ALARM, Row, distribution, rationale
from levelbench.alarms.starting import Starting, starting
from levelbench.alarms.timing import SAID, Timed
from levelbench.drawing.times import paper_times, times_picture
from levelbench.handover.blocks import Block, Drawing, Grid, Heading, Note, Paragraph, Table
from levelbench.handover.told import figure_table, value_of
from levelbench.handover.typed import pairs
from levelbench.quantity import Figure
from levelbench.rig.bench import Bench

_MEANING = "As in ISA-18.2 and IEC 62682, an alarm is what asks the operator to act; what asks for nothing is none."
_CAPTION = (
    "From the moment the volume passes a limit, at the worst rate: until the alarm is seen, until it is too late to "
    "act, and what still runs in. The bracket is what a person is given."
)


def alarms(bench: Bench) -> tuple[Block, ...]:
    """Give the sections “Alarms”: limits and settings, times, published starting values, and the reasons."""
    rows = rationale(bench.rig)
    if not rows:
        return (Heading("Alarms"), Note("▲", "attend", "This project has no alarms."), *_handling(bench))
    timed = [row.timed for row in rows]
    picture = times_picture(timed, bench.units, paper_times(len(timed)))
    return (
        Heading("Alarms"),
        _places(bench, rows),
        *_handling(bench),
        Heading("Time that each alarm leaves", minor=True),
        Drawing(picture, _CAPTION),
        _times(bench, timed),
        Paragraph(_policy(bench)),
        *_how(bench, timed),
        *_published(bench, starting(bench.rig)),
        Heading("What each alarm is there for", minor=True),
        Paragraph(_MEANING),
        *_reasons(bench, rows),
        Paragraph(f"{distribution(rows)} Suggested priorities: {MATRIX_SOURCE}."),
    )


def _places(bench: Bench, rows: Sequence[Row]) -> Table:
    """Give where each alarm stands and everything that was typed about how it comes and goes."""
    found = []
    for row in rows:
        typed = dict(row.typed)
        limit = typed.pop("limit", "") or "–"
        off, on = typed.pop("off-delay"), typed.pop("on-delay")
        band, latching = typed.pop("dead band", "–"), typed.pop("latching")
        suppressed = typed.pop("suppressed while")
        place = "\n".join(value_of(one, bench.units) for one in row.place) or "–"
        more = "; ".join(f"{label} {text}" for label, text in typed.items())
        found.append(
            (
                f"{row.name}\n{row.tag}", "\n".join(part for part in (limit, more) if part), place, band,
                f"{on}\n{off}", latching, suppressed, row.priority,
            )
        )  # fmt: skip
    head = ("alarm", "set at", "volume, height, signal", "dead band", "on-delay\noff-delay", "latching",
            "suppressed while", "priority")  # fmt: skip
    return Table(head, tuple(found), (0.15, 0.17, 0.15, 0.11, 0.1, 0.09, 0.13, 0.1))


def _handling(bench: Bench) -> tuple[Block, ...]:
    """Give the house's rules for living with alarms, as typed."""
    return (Grid(pairs(bench.project.alarm_handling, bench.units)),)


def _times(bench: Bench, timed: Sequence[Timed]) -> Table:
    """Give the times of each alarm; what all alarms wait for is told once, under the table."""
    rows = []
    for one in timed:
        ways = {one.next_rung: one.to_next, one.end: one.to_end}
        own = [f"{part.name} {value_of(part, bench.units)}" for part in one.parts if _is_own(part)]
        latest = "–" if one.latest is None else value_of(one.latest, bench.units)
        rows.append(
            (
                f"{one.name}\nfrom {value_of(one.start, bench.units)}", value_of(one.rate, bench.units),
                "\n".join(f"{name} {value_of(figure, bench.units)}" for name, figure in ways.items()),
                "\n".join((value_of(one.late, bench.units), *own)),
                f"{value_of(one.moved, bench.units)}\n{value_of(one.coast, bench.units)}",
                value_of(one.left, bench.units), latest, " ".join(SAID[one.stands]),
            )
        )  # fmt: skip
    head = ("alarm", "worst rate", "to", "delay, its own part", "moves meanwhile\nstill comes", "left to act",
            "latest limit", "")  # fmt: skip
    return Table(head, tuple(rows), (0.16, 0.13, 0.17, 0.13, 0.12, 0.06, 0.1, 0.13))


def _is_own(part: Figure) -> bool:
    """Tell whether a part of the delay is an alarm's own, and not the sensor's or the program's."""
    return part.key.startswith("timing.")


def _policy(bench: Bench) -> str:
    project = bench.project
    return (
        f"People are given {project.duty.time_to_act.shown} to act. Where an alarm leaves less: "
        f"{project.alarm_handling.protection}. The overflow switch and the emergency stop are hard-wired whatever "
        "stands here; no alarm takes their place."
    )


_LABELS = {
    "timing.start": "from", "timing.rate": "worst rate", "timing.to_next": "to the next level",
    "timing.to_end": "to the consequence", "timing.late": "delay", "timing.moved": "moves meanwhile",
    "timing.coast": "still comes", "timing.left": "left to act", "timing.latest": "latest limit",
}  # fmt: skip


def _how(bench: Bench, timed: Sequence[Timed]) -> tuple[Block, ...]:
    """Say how each kind of figure was worked out, once, with what all alarms wait for, and the counted sources."""
    told: dict[str, dict[tuple[str, str, str], None]] = {}
    for figure in (figure for one in timed for figure in (*one.figures, *one.parts)):
        label = _LABELS.get(figure.key.rpartition(".")[0], figure.name)
        value = "" if _is_own(figure) else value_of(figure, bench.units)
        told.setdefault(label, {})[value, figure.formula, figure.source] = None
    sources = list(dict.fromkeys(source for each in told.values() for _, _, source in each))
    rows = tuple(
        (label, value, formula, f"[{sources.index(source) + 1}]")
        for label, each in told.items()
        for value, formula, source in each
    )
    named = "; ".join(f"[{at}] {source}" for at, source in enumerate(sources, start=1))
    head = ("what", "value", "how", "source")
    return Table(head, rows, (0.22, 0.1, 0.58, 0.1)), Paragraph(named, quiet=True)


def _published(bench: Bench, begun: Starting) -> tuple[Block, ...]:
    """Give the published starting values beside what they would mean here."""
    if not begun.lines:
        return ()
    rows = tuple(
        (one.name, value_of(one.moved, bench.units), value_of(one.left, bench.units),
         value_of(one.returns, bench.units), f"{'✓' if one.fits else '▲'} {one.words}")
        for one in begun.lines
    )  # fmt: skip
    figures: tuple[Figure, ...] = (begun.dead_band, begun.delay, *begun.practice)
    first = begun.lines[0]
    shown = [replace(one, name=f"{one.name}, {first.name}") for one in (first.moved, first.left, first.returns)]
    head = ("limit", "moves in the delay", "left to act", "goes again at", "what they would mean here")
    return (
        Heading("Published starting values, and what they would mean here", minor=True),
        *figure_table((*figures, *shown), bench.units),
        Table(head, rows, (0.13, 0.15, 0.11, 0.13, 0.48), right=(1, 2, 3)),
    )


def _reasons(bench: Bench, rows: Sequence[Row]) -> tuple[Block, ...]:
    """Give cause, consequence, action and basis of each; what asks for nothing is marked."""
    idle = [row.name for row in rows if not row.is_alarm]
    same = [f"{row.name} and {', '.join(row.same_as)}" for row in rows if row.same_as]
    notes: list[Block] = []
    if idle:
        words = f"{', '.join(idle)}: nothing is written of what the operator does."
        notes.append(Note("▲", NO_ALARM, words))
    if same:
        notes.append(Note("▲", "the same twice", f"{'; '.join(same)} say the same."))
    found = tuple(
        (
            f"{row.name}\n{row.tag}\n{_priority(row)}", row.cause or "–", row.consequence or "–",
            row.action if row.is_alarm else f"▲ {NO_ALARM}", _time(bench, row), row.basis or "–",
        )
        for row in rows
    )  # fmt: skip
    head = ("alarm, priority", "cause", "consequence", "operator action", "time available", "basis of the limit")
    return (*notes, Table(head, found, (0.14, 0.18, 0.17, 0.2, 0.13, 0.18)))


def _priority(row: Row) -> str:
    return row.priority if row.priority == row.suggested else f"{row.priority} (suggested {row.suggested})"


def _time(bench: Bench, row: Row) -> str:
    """Give the time available as typed, and worked out under it."""
    worked = f"{value_of(row.time, bench.units)} worked out"
    return worked if row.time_typed is None else f"{row.time_typed.shown} as typed\n{worked}"
