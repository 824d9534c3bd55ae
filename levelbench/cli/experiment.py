"""`levelbench experiment`: disturb a project's rig with care and measure what it does, or print how to by hand."""

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.given import if_given
from levelbench.cli.output import figure_line, print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.records import journal_path, write_csv
from levelbench.rig import assemble
from levelbench.tuning.experiments import STEP, Experiment, Part, Plan, Wishes, by_hand, plan, run_experiment
from levelbench.tuning.identify.result import Estimate

D = Dimension
DONE, STOPPED = 0, 1


def do(asked: argparse.Namespace) -> int:
    """Do the experiment on the simulated rig, or print its sheet: 1 when it was stopped at a limit, else 0."""
    project = load(asked.file)
    shown = units(project)
    tell_if_first()
    planned = plan(assemble(project), asked.kind, _wishes(asked))
    if asked.by_hand:
        if asked.save:
            raise UsageError("--by-hand and --save: by hand nothing is recorded here. Leave one of them out.")
        sheet = by_hand(planned)
        if asked.json:
            print_json(_about(planned, shown) | {"sheet": [{"title": one.title, "lines": one.lines} for one in sheet]})
        else:
            print_lines([*_plan_lines(planned, shown), *_sheet_lines(sheet)])
        return DONE
    with progress("experimenting") as show:
        done = run_experiment(planned, asked.seed, show)
    files = _save(done, asked.save, shown)
    if asked.json:
        print_json(as_json(done, files, shown))
    else:
        print_lines(as_lines(done, files, shown))
    return STOPPED if done.stopped else DONE


def _wishes(asked: argparse.Namespace) -> Wishes:
    """Read what was asked for otherwise than the plan would have it."""
    step = D.VOLUME if asked.kind == STEP else D.PERCENT
    return Wishes(
        size=if_given("--size", asked.size, step),
        bias=if_given("--bias", asked.bias, D.PERCENT) or 0.0,
        hysteresis=if_given("--hysteresis", asked.hysteresis, D.VOLUME),
        lasts=if_given("--lasts", asked.lasts, D.TIME),
        repeats=_count(asked.repeats),
        opening=if_given("--opening", asked.opening, D.PERCENT),
        draw=if_given("--draw", asked.draw, D.FLOW),
    )


def _count(asked: int) -> int:
    if not 1 <= asked <= 1000:
        raise UsageError(f"--repeats “{asked}”: give 1 to 1000.")
    return asked


def _save(done: Experiment, to: str | None, shown: Units) -> list[str]:
    if to is None:
        return []
    write_csv(done.recording, to, shown)
    return [to, str(journal_path(Path(to)))]


def _about(planned: Plan, shown: Units) -> dict[str, Any]:
    return {
        "project": planned.rig.project.title,
        "kind": planned.kind,
        "plan": {"says": planned.says, "figures": [document.figure(one, shown) for one in planned.figures]},
    }


def as_json(done: Experiment, files: list[str], shown: Units) -> dict[str, Any]:
    """Give an experiment with every number's value, unit and source."""
    return _about(done.plan, shown) | {
        "stopped": done.stopped or None,
        "happened": done.happened,
        "estimates": [_estimate(one, shown) for one in done.estimates],
        "figures": [document.figure(one, shown) for one in done.figures],
        "beside_the_model": [
            {"agrees": one.agrees, "text": one.words, "model": document.figure(one.model, shown)}
            for one in done.compared
        ],
        "files": files,
    }


def _estimate(one: Estimate, shown: Units) -> dict[str, Any]:
    figure = one.figure
    ends = {
        key: document.number(si, figure.dimension, shown, one.words)
        for key, si in (("low", one.low), ("high", one.high))
    }
    return document.figure(figure, shown) | ends | {"told_apart": one.told_apart}


def _plan_lines(planned: Plan, shown: Units) -> list[str]:
    figures = [f"  {figure_line(one, shown)}" for one in planned.figures]
    return [planned.rig.project.title, "", *planned.says, "", *figures]


def _sheet_lines(sheet: Sequence[Part]) -> list[str]:
    lines = []
    for part in sheet:
        lines += ["", part.title]
        lines += [f"  {f'{at}.' if part.steps else '–'} {line}" for at, line in enumerate(part.lines, start=1)]
    return lines


def as_lines(done: Experiment, files: list[str], shown: Units) -> list[str]:
    """Give an experiment for a person: the plan, what happened, what it says, and beside the model."""
    lines = [*_plan_lines(done.plan, shown), "", *done.happened, ""]
    if done.stopped:
        lines.append(f"STOPPED: {done.stopped}. Nothing is concluded from it.")
    lines += [
        f"{one.figure.name}: {one.value(shown)}, 95 %: {one.interval(shown)}; {beside.words if beside else one.words}"
        for one, beside in zip(done.estimates, (*done.compared, *[None] * len(done.estimates)), strict=False)
    ]
    lines += [figure_line(one, shown) for one in done.figures]
    return lines + [f"written: {name}" for name in files]
