"""`levelbench shifts`: shifts by chance through the ladder of a project, beside the published figures for alarms."""

import argparse
from collections.abc import Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from levelbench.alarms.measures import FAR_OVER, MET, OVER, Measure
from levelbench.alarms.proof import OfAlarm, Proof, prove, worst_recording
from levelbench.alarms.shifts import Use
from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import figure_line, print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.project import load, units
from levelbench.quantity import QuantityError, Units, read
from levelbench.records import journal_path, write_csv
from levelbench.rig import assemble

KEPT, NOT_KEPT = 0, 1
_MARKS = {MET: "✓", OVER: "▲", FAR_OVER: "■", "": " "}
_HEADS = (*("alarm", "priority", "a shift", "came", "chatter", "fleeting", "without cause", "due", "missed", "stood"),)


def do(asked: argparse.Namespace) -> int:
    """Run the shifts and print what came: 1 when a published figure is not kept, else 0."""
    project = load(asked.file)
    rig = assemble(project)
    use = _use(asked.use)
    tell_if_first()
    with progress("running shifts") as show:
        found = prove(rig, shifts=asked.shifts, seed=asked.seed, use=use, progress=show)
    files = _save(found, asked.save, units(project))
    if asked.json:
        print_json(as_json(found, units(project)) | {"files": files})
    else:
        print_lines([*as_lines(found, units(project)), *(f"written  {name}" for name in files)])
    return NOT_KEPT if any(one.word in (OVER, FAR_OVER) for one in found.measures) else KEPT


def _use(words: Sequence[str]) -> Use:
    """Read what stands behind --use, "reaction=2 min". Raises UsageError for what can't be read or can't be."""
    use, kinds = Use(), {one.name: one.metadata["dimension"] for one in fields(Use)}
    for one in words:
        key, _, text = (part.strip() for part in one.partition("="))
        if key not in kinds:
            raise UsageError(f"--use “{one}”: there is no {key!r}. There are: {', '.join(kinds)}.")
        try:
            use = replace(use, **{key: read(text, kinds[key]).si})
        except QuantityError as error:
            raise UsageError(f"--use “{one}”: {error}") from error
    if trouble := use.trouble():
        raise UsageError(f"--use: {trouble}")
    return use


def _save(found: Proof, to: str | None, shown_in: Units) -> list[str]:
    """Write the worst shift with its lead-in, a row each second, and its journal; give the files."""
    if not to:
        return []
    write_csv(worst_recording(found), to, shown_in)
    return [to, str(journal_path(Path(to)))]


def as_json(found: Proof, shown_in: Units) -> dict[str, Any]:
    """Give the proof with every number's value, unit and source."""
    return {
        "project": found.users.rig.project.title,
        "shifts": found.shifts,
        "seed": found.users.seed,
        "verdict": found.verdict,
        "worst": {"alarm": found.advice.alarm, "words": found.advice.words, "edits": dict(found.advice.edits)},
        "measures": [_measure(one, shown_in) for one in found.measures],
        "alarms": [_alarm(one, shown_in) for one in found.alarms],
        "leads": [document.figure(one, shown_in) for one in found.leads],
        "worst_shift": found.worst.shift,
        "assumed": [document.figure(one, shown_in) for one in found.assumed],
    }


def _measure(one: Measure, shown_in: Units) -> dict[str, Any]:
    interval = one.interval and {
        end: document.number(each.si, each.dimension, shown_in, each.source)
        for end, each in zip(("low", "high"), one.interval, strict=True)
    }
    about = {"interval": interval, "norm": one.norm, "norm_source": one.source, "word": one.word}
    return document.figure(one.figure, shown_in) | about


def _alarm(one: OfAlarm, shown_in: Units) -> dict[str, Any]:
    figures = [document.figure(each, shown_in) for each in one.figures.values()]
    return {"alarm": one.alarm, "priority": one.priority, "figures": figures}


def as_lines(found: Proof, shown_in: Units) -> list[str]:
    """Give the proof for a person: the verdict, the measures beside their norms, and the alarms one by one."""
    lines = [found.users.rig.project.title, "", found.verdict, ""]
    rows = [("", "", "", "95 % between", "published")]
    rows += [
        (_MARKS[one.word], one.figure.name, value_of(one.figure, shown_in), between(one, shown_in), one.norm)
        for one in found.measures
    ]
    lines += [*_table(rows), "", *_table([_HEADS, *(row_of(one, shown_in) for one in found.alarms)])]
    figures = [figure_line(one, shown_in) for one in found.leads]
    assumed = [(one.key.rpartition(".")[2], value_of(one, shown_in), one.name) for one in found.assumed]
    return [*lines, "", *figures, "assumed, by the keys of --use:", *(f"  {line}" for line in _table(assumed))]


def between(one: Measure, shown_in: Units) -> str:
    """Give the interval of a measure in words, "" where it has none."""
    return " … ".join(value_of(each, shown_in) for each in one.interval) if one.interval else ""


def row_of(one: OfAlarm, shown_in: Units) -> tuple[str, ...]:
    """Give an alarm as a row under _HEADS."""
    return (one.alarm, one.priority, *(value_of(each, shown_in) for each in one.figures.values()))


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    wide = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip() for row in rows]
