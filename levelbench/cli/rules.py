"""`levelbench rules`: published tuning rules side by side, each tried on a project's rig."""

import argparse
from typing import Any

from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.given import if_given
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.rig import assemble
from levelbench.tuning.rules import Choices, Comparison, Ruled, compare

D = Dimension
_HEADS = ("", "rule", "settings", "GM", "PM", "Ms", "overshoot", "settling", "load moves", "output wanders", "starts")


def do(asked: argparse.Namespace) -> int:
    """Compare the rules and print them; always 0: a rule that is bad here is no fault of the project."""
    project = load(asked.file)
    rig = assemble(project)
    choices = Choices(
        closed_loop_time=_asked(asked.closed_loop_time, "closed-loop-time", D.TIME),
        arrest_time=_asked(asked.arrest_time, "arrest-time", D.TIME),
        room=_asked(asked.deviation, "deviation", D.VOLUME) or 0.0,
    )
    tell_if_first()
    with progress("trying the rules") as show:
        found = compare(rig, choices=choices, progress=show)
    if asked.json:
        print_json(as_json(found, units(project)))
    else:
        print_lines(as_lines(found, units(project)))
    return 0


def _asked(text: str | None, option: str, dimension: Dimension) -> float | None:
    """Read what stands behind an option [SI], above 0. Raises UsageError when it can't be that."""
    found = if_given(f"--{option}", text, dimension)
    if found is not None and found <= 0:
        raise UsageError(f"--{option} “{text}”: It has to be more than 0.")
    return found


def as_json(found: Comparison, shown_in: Units) -> dict[str, Any]:
    """Give the comparison with every number's value, unit and source."""
    verdict = found.verdict
    return {
        "project": found.rig.project.title,
        "averaging_room": document.number(
            found.choices.room, D.VOLUME, shown_in, "asked for, or 80 % of the way to the nearest limit"
        ),
        "lines": [
            {
                "key": one.key,
                "name": one.title,
                "formula": one.formula,
                "source": one.source,
                "edits": dict(one.edits),
                "stable": one.margins.stable,
                "figures": [document.figure(each, shown_in) for each in one.figures],
            }
            for one in found.lines
        ],
        "refused": [
            {"key": one.rule.key, "name": f"{one.rule.name} {one.rule.kind}", "why": one.why} for one in found.refused
        ],
        "best": {"key": verdict.best or None, "why": verdict.best_words},
        "worst": {"key": verdict.worst or None, "why": verdict.worst_words},
        "gains": {"text": verdict.gain_words, "figures": [document.figure(one, shown_in) for one in verdict.figures]},
    }


def as_lines(found: Comparison, shown_in: Units) -> list[str]:
    """Give the comparison for a person: a table, what can't be used, and what follows."""
    verdict = found.verdict
    marks = {verdict.worst: "worst", verdict.best: "best"}
    rows = [_HEADS, *(_row(one, marks.get(one.key, ""), shown_in) for one in found.lines)]
    wide = [max(len(row[at]) for row in rows) for at in range(len(_HEADS))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip() for row in rows]
    unusable = [f"  {one.rule.name} {one.rule.kind}: {one.why}" for one in found.refused]
    lines = [found.rig.project.title, "", *table, ""]
    lines += ["can't be used here:", *unusable, ""] if unusable else []
    return [*lines, *(words for words in (verdict.best_words, verdict.worst_words, verdict.gain_words) if words)]


def _row(one: Ruled, mark: str, shown_in: Units) -> tuple[str, ...]:
    robust, seen = one.margins, one.prediction
    settings = ", ".join(str(text) for text in one.edits.values())
    figures = (robust.gain, robust.phase, robust.sensitivity, seen.overshoot, seen.settling, seen.load_deviation)
    told = ["–" if each is None else value_of(each, shown_in) for each in (*figures, one.restless, seen.starts)]
    return (mark, one.title, settings, *told)
