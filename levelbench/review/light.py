"""The rules on the stack light and the horn: no combination dark, none told by colour alone, no silence without end."""

from collections.abc import Sequence

from levelbench.alarms.lamps import EMERGENCIES, Proved, Show, Silence, prove_lamps, states_of
from levelbench.project.records import LAMP_COLOURS, LAMP_STATES, LampRow, Project
from levelbench.project.stack_light import DEFAULT_ROWS
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import LAMPS

_GRAVE = EMERGENCIES | {"sensor failed"}
_TOLD = 3  # examples; the others are counted
_ASSUMED = {row.state: row for row in DEFAULT_ROWS}


def truth_table(rig: Rig) -> Finding:
    """Whatever can hold at once must light something, and no two displays may differ only by colour."""
    key, title, go_to = "light.truth_table", "Stack light's truth table", "stack_light"
    proved = prove_lamps(rig.project)
    figures = figures_of(Bench(rig), proved)
    if not (proved.dark or proved.alike or proved.against_meaning):
        text = (
            "Every combination of states lights a lamp, its colours mean what IEC 60073 says, and no two displays "
            "differ only by colour, not even while the horn is silenced."
        )
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text, change = words_of(proved)
    grave = bool(_GRAVE & set(proved.dark))
    severity = Severity.STOP if grave else Severity.ATTEND
    return Finding(key, title, severity, text, figures, change, go_to, {"stack_light": mended(rig.project, proved)})


def silence(rig: Rig) -> Finding:
    """A silenced horn must be back while there still is time to act."""
    key, title, entry = "light.silence", "How long the horn may stay silenced", "alarm_handling.silence_at_most"
    bench, handling = Bench(rig), rig.project.alarm_handling
    act = rig.project.duty.time_to_act
    if act.si <= 0:
        return left_out(key, title, "people are given no time to act.", "duty.time_to_act")
    longest, given = handling.silence_at_most.si, act.si
    figures = (
        bench.figure(
            "light.silence", "longest silence of the horn", (longest, Dimension.TIME),
            "silence at most, after which the horn sounds again while its cause is there", COMMON_PRACTICE,
            inputs=[("silence at most", longest, Dimension.TIME), ("time to act", given, Dimension.TIME)],
        ),
    )  # fmt: skip
    shown = handling.silence_at_most.shown
    if longest <= given * (1 + 1e-9):
        text = f"A silenced horn sounds again after {shown}; a person is given {act.shown} to act."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=entry)
    text = f"The horn may stay silenced for {shown}, longer than the {act.shown} in which to act."
    change = f"Set it to {act.shown}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, entry, {entry: act.text})


def figures_of(bench: Bench, proved: Proved) -> tuple[Figure, ...]:
    """Give the counts of the proof."""
    number = Dimension.NUMBER
    groups = [" / ".join(f"{_named(show)} ({show.words})" for show in group[:_TOLD]) for group in proved.alike[:_TOLD]]
    counts = (
        ("light.combinations", "combinations looked at", proved.combinations,
         "states of this rig that can hold at once, acknowledged or not", "different displays", str(len(proved.shows))),
        ("light.displays", "different displays", len(proved.shows),
         "what the lamps show, counted once however many combinations give it; the horn is not counted", "of at most",
         "81, three ways for each of four lamps"),
        ("light.dark_states", "states that light nothing", len(proved.dark),
         "states without a lit lamp; lit ones stay lit whatever holds beside them", "dark",
         ", ".join(proved.dark) or "none"),
        ("light.colour_only", "displays told by colour alone", sum(map(len, proved.alike)),
         "displays with as many steady and as many flashing lamps as another one; the horn is not counted, because it "
         "can be silenced", "told by colour alone", "; ".join(groups) or "none"),
        ("light.against_meaning", "states in another colour than the standard's", len(proved.against_meaning),
         "emergencies without red, others with red, and green while something is not normal", "states",
         ", ".join(proved.against_meaning) or "none"),
    )  # fmt: skip
    return tuple(
        bench.figure(key, name, (float(count), number), formula, LAMPS, inputs=[(what, found)], resolution=1.0)
        for key, name, count, formula, what, found in counts
    )


def silences_of(bench: Bench, found: Sequence[Silence]) -> tuple[Figure, ...]:
    """Give how long a silenced horn stayed out, for each cause after which it sounded again."""
    return tuple(
        bench.figure(
            "light.sounded_again", f"{one.state}: horn again after", (one.seconds, Dimension.TIME),
            "time from the silencing to the first scan in which the horn sounds, its cause left as it is; found by "
            "running the scan", COMMON_PRACTICE, resolution=0.1,
            inputs=[("allowed, with a scan and a half", one.allowed, Dimension.TIME)],
        )
        for one in found
        if one.seconds is not None
    )  # fmt: skip


def words_of(proved: Proved) -> tuple[str, str]:
    """Say what is dark, what is told by colour alone and what has a wrong colour, and what to do about it."""
    found = []
    if proved.dark:
        found.append(f"Dark: {', '.join(proved.dark)}.")
    if proved.alike:
        pairs = [" and ".join(f"“{_named(show)}”" for show in group[:2]) for group in proved.alike]
        more = f" and {len(pairs) - _TOLD} more" if len(pairs) > _TOLD else ""
        found.append(
            f"Told apart by colour alone (some eight men in a hundred miss that): {'; '.join(pairs[:_TOLD])}{more}."
        )
    if proved.against_meaning:
        found.append(f"Colour against its meaning: {', '.join(proved.against_meaning)}.")
    if proved.alike or proved.against_meaning:
        return " ".join(found), "Take the lamps of the table that is assumed for new projects; your horns stay."
    return " ".join(found), "Give each of them the lamp that is assumed for new projects."


def _named(show: Show) -> str:
    """Name a combination by its states."""
    return " with ".join(show.states)


def mended(project: Project, proved: Proved) -> list[dict[str, str | bool]]:
    """Give the whole table: with lamps for dark states, or, where that is not enough, with all the assumed ones."""
    rows = {row.state: row for row in project.stack_light}
    everything = bool(proved.alike or proved.against_meaning)
    possible = set(states_of(project))
    table: list[dict[str, str | bool]] = []
    for state in LAMP_STATES:
        row = rows.get(state)
        if state in possible and (everything or row is None or not _lit(row)):
            assumed: dict[str, str | bool] = dict(vars(_ASSUMED[state]))
            table.append(assumed | ({"horn": row.horn} if row is not None else {}))
        elif row is not None:
            table.append(dict(vars(row)))
    return table


def _lit(row: LampRow) -> bool:
    return any(getattr(row, colour) != "off" for colour in LAMP_COLOURS)
