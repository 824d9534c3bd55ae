"""`levelbench fit`: which model a record of a rig comes down to, how surely, and what the record can't tell."""

import argparse
from collections.abc import Sequence
from typing import Any

from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.project import load, units
from levelbench.quantity import Units
from levelbench.records.any_csv import look, read_measured
from levelbench.records.column_words import as_lines as columns_as_lines
from levelbench.records.column_words import as_text, open_questions, read_columns
from levelbench.records.measured import Measured
from levelbench.rig import assemble
from levelbench.tuning.identify.every import ALL, TWO_TANKS, Weighed, models_for, shown_error, weigh
from levelbench.tuning.identify.result import Estimate, Fit
from levelbench.tuning.process import FirstOrder, Process

_SI = Units("m3", "m", "m3/s")


def do(asked: argparse.Namespace) -> int:
    """Fit and print; always 0, since a record that tells little is no fault."""
    project = None if asked.project is None else load(asked.project)
    rig = None if project is None else assemble(project)
    if rig is not None and asked.model == TWO_TANKS:
        raise UsageError("--model two-tanks: a described rig has one tank; leave --project out.")
    guess = look(asked.record)
    columns = read_columns(asked.columns, guess) if asked.columns else guess.columns
    tell_if_first()
    with progress("reading") as show:
        measured = read_measured(asked.record, columns, rig, show)
    models = models_for(rig) if asked.model == ALL else (asked.model,)
    with progress("fitting") as show:
        weighed = weigh(measured, models, rig, show)
    shown_in = _SI if project is None else units(project)
    if asked.json:
        about = {
            "record": str(asked.record),
            "columns": as_text(columns),
            "questions": open_questions(guess, columns),
            "notes": list(measured.notes),
            "project": project and project.title,
        }
        print_json(about | as_json(weighed, measured, shown_in))
    else:
        print_lines([*columns_as_lines(guess, columns), *measured.notes, *as_lines(weighed, measured, shown_in)])
    return 0


def as_json(weighed: Weighed, measured: Measured, shown_in: Units) -> dict[str, Any]:
    """Give every fit with every number's value, unit and source."""
    return {
        "samples": len(measured),
        "step": measured.step,
        "fits": [_fit(one, shown_in) for one in weighed.fits],
        "held_out": [
            None if one is None else _number(document.figure(one, shown_in), measured.pv_unit)
            for one in weighed.foretold
        ],
        "take": weighed.fits[weighed.taken].model,
        "why": weighed.words,
        "refused": dict(weighed.refused),
    }


def _fit(one: Fit, shown_in: Units) -> dict[str, Any]:
    return {
        "model": one.model,
        "title": one.title,
        "process": _process(one.process),
        "estimates": [_estimate(each, shown_in) for each in one.estimates],
        "rmse": _number(document.figure(one.rmse, shown_in), one.unit),
        "tests": [
            {"passed": each.passed, "words": each.words} | document.figure(each.figure, shown_in) for each in one.tests
        ],
        "warnings": list(one.warnings),
        "edits": dict(one.edits),
    }


def _number(about: dict[str, Any], unit: str) -> dict[str, Any]:
    """Give a figure its record's own unit where it has no dimension."""
    return about if about["unit"] else about | {"unit": unit}


def _estimate(one: Estimate, shown_in: Units) -> dict[str, Any]:
    figure = one.figure
    about = _number(document.figure(figure, shown_in), one.unit)
    low, high = (
        document.number(end, figure.dimension, shown_in, figure.source)["value"] for end in (one.low, one.high)
    )
    return about | {"low": low, "high": high, "told_apart": one.told_apart, "words": one.words}


def _process(one: Process | None) -> dict[str, Any] | None:
    """Give what tuning rules need, in SI or the record's own unit."""
    if one is None:
        return None
    kind = "first-order" if isinstance(one, FirstOrder) else "integrating"
    return {"kind": kind} | {
        key: list(value) if isinstance(value, tuple) else float(value) for key, value in vars(one).items()
    }


def as_lines(weighed: Weighed, measured: Measured, shown_in: Units) -> list[str]:
    """Give everything as lines for a person."""
    lines: list[str] = []
    for at, (one, error) in enumerate(zip(weighed.fits, weighed.foretold, strict=True)):
        mark = "▶ " if at == weighed.taken and len(weighed.fits) > 1 else ""
        lines += ["", f"{mark}{one.title}"]
        lines += _table([(e.figure.name, e.value(shown_in), e.interval(shown_in), e.words) for e in one.estimates])
        lines.append(f"  left over: {shown_error(one.rmse, one.unit, shown_in)} (root mean square)")
        if error is not None:
            lines.append(f"  strays from the part held out by {shown_error(error, measured.pv_unit, shown_in)}")
        lines += [f"  {'●' if each.passed else '▲'} {each.words}" for each in one.tests]
        failed = {each.words for each in one.tests}
        lines += [f"  ▲ {words}" for words in one.warnings if words not in failed and words not in measured.notes]
        lines += [f"  in the project: {key} = {value}" for key, value in one.edits.items()]
    lines += [f"– {key}: {words}" for key, words in weighed.refused.items()]
    return [*lines, "", weighed.words] if weighed.words else lines


def _table(rows: Sequence[tuple[str, str, str, str]]) -> list[str]:
    """Set names, values and intervals under each other, words behind."""
    widths = [max(len(row[at]) for row in rows) for at in range(3)]
    return [
        f"  {name:{widths[0]}}  {value:>{widths[1]}}  {interval:^{widths[2]}}  {words}".rstrip()
        for name, value, interval, words in rows
    ]
