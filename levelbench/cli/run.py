"""`levelbench run`: a run of a project's rig, its recording as CSV."""

import argparse
import sys
from pathlib import Path
from typing import Any

from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover.document import number
from levelbench.project import load, units
from levelbench.quantity import Dimension, QuantityError, Units, read
from levelbench.records import journal_path, read_actions, write_csv
from levelbench.rig import Recording, assemble, run, status_word

TO_OUTPUT = "-"


def do(asked: argparse.Namespace) -> int:
    """Run the rig, write the recording where it was asked for, and say how the run ended."""
    lasts = duration("--for", asked.duration)
    step = duration("--every", asked.every) if asked.every else 0.0
    if asked.json and asked.to == TO_OUTPUT:
        raise UsageError("--json and --to - would both write to the output. Give --to a file.")
    project = load(asked.file)
    rig = assemble(project)
    actions = read_actions(asked.actions, rig, lasts)
    tell_if_first()
    every = max(round(step / rig.scan), 1)
    with progress("running") as show:
        recording = run(rig, lasts, actions=actions, seed=asked.seed, every=every, progress=show)
    if asked.to == TO_OUTPUT:
        write_csv(recording, sys.stdout, units(project))
        return 0
    files = _write(recording, asked.to, units(project))
    if asked.json:
        print_json(as_json(recording, files, units(project)))
    else:
        print_lines(as_lines(recording, files, units(project)))
    return 0


def duration(option: str, text: str) -> float:
    """Read the time [s] after an option; raises UsageError when that is no time, or not above zero."""
    try:
        seconds = read(text, Dimension.TIME).si
    except QuantityError as error:
        raise UsageError(f"{option} “{text}”: {error}") from error
    if seconds <= 0:
        raise UsageError(f"{option} “{text}”: the time must be above zero. Give for example “30 min”.")
    return seconds


def _write(recording: Recording, to: str | None, units: Units) -> list[str]:
    """Write the recording and its journal, and give their names; none when nobody asked for them."""
    if to is None:
        return []
    write_csv(recording, to, units)
    return [to, str(journal_path(Path(to)))]


def _end(recording: Recording) -> int:
    return int(recording["conditions"][-1])


def as_json(recording: Recording, files: list[str], units: Units) -> dict[str, Any]:
    """Give how a run ended: every measured column's last value with unit and source, the status word, the journal."""
    source = f"simulated, seed {recording.seed}"
    measured = [(one.name, one.dimension) for one in recording.columns if one.dimension is not None]
    return {
        "project": recording.rig.project.title,
        "seed": recording.seed,
        "rows": len(recording),
        "files": files,
        "status": status_word(_end(recording)),
        "end": {name: number(float(recording[name][-1]), kind, units, source) for name, kind in measured},
        "journal": [
            {"time": one.time, "kind": one.kind, "what": one.what, "si": one.value, "who": one.who}
            for one in recording.journal
        ],
    }


def as_lines(recording: Recording, files: list[str], units: Units) -> list[str]:
    """Say in a few lines how a run ended."""

    def last(name: str, dimension: Dimension) -> str:
        return units.show(float(recording[name][-1]), dimension)

    spilled = float(recording["spilled"][-1])
    lines = [
        f"{recording.rig.project.title}, seed {recording.seed}",
        f"after     {last('time', Dimension.TIME)}: {status_word(_end(recording))}",
        f"set point {last('set_point', Dimension.VOLUME)}",
        f"PV        {last('pv', Dimension.VOLUME)}",
        f"output    {last('output', Dimension.PERCENT)}",
        f"spilled   {units.show(spilled, Dimension.VOLUME) if spilled > 0 else 'nothing'}",
    ]
    return lines + [f"written   {name}" for name in files]
