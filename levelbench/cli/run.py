"""`levelbench run`: a run of a project's rig, its recording as CSV, written piece by piece while it runs."""

import argparse
import sys
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.given import given
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover.document import number
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.records import journal_path, read_actions, write_csv
from levelbench.rig import Entry, Past, Recording, assemble, planned, status_word

TO_OUTPUT = "-"


@dataclass
class End:
    """How a run ended, told when its rows have gone by: their number, the last of them, the journal if asked for."""

    last: Recording  # one row, and no journal
    with_journal: bool
    rows: int = 0
    journal: list[Entry] = field(default_factory=list)

    def passed(self, pieces: Iterable[Recording]) -> Iterator[Recording]:
        """Hand the pieces on."""
        for piece in pieces:
            if len(piece):
                self.rows += len(piece)
                self.last = replace(piece, rows=piece.rows[-1:].copy(), journal=())
            if self.with_journal:
                self.journal += piece.journal
            yield piece

    @property
    def status(self) -> str:
        """The status word."""
        return status_word(int(self["conditions"]))

    def __getitem__(self, name: str) -> float:
        """Give a column's last value."""
        return float(self.last[name][-1])


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
    end = _run(planned(rig, lasts, actions=actions, seed=asked.seed, every=every), asked, units(project))
    if asked.to == TO_OUTPUT:
        return 0
    files = [] if asked.to is None else [asked.to, str(journal_path(Path(asked.to)))]
    if asked.json:
        print_json(as_json(end, files, units(project)))
    else:
        print_lines(as_lines(end, files, units(project)))
    return 0


def duration(option: str, text: str) -> float:
    """Read the time [s] after an option; raises UsageError when that is no time, or not above zero."""
    seconds = given(option, text, Dimension.TIME)
    if seconds <= 0:
        raise UsageError(f"{option} “{text}”: the time must be above zero. Give for example “30 min”.")
    return seconds


def _run(past: Past, asked: argparse.Namespace, units: Units) -> End:
    """Run, and write the rows as they come where somebody wants them; among rows on a screen there is no bar."""
    end = End(next(past.pieces()), asked.json)
    on_screen = asked.to == TO_OUTPUT and sys.stdout.isatty()
    with nullcontext() if on_screen else progress("running") as show:
        pieces = end.passed(past.pieces(progress=show))
        if asked.to is None:
            deque(pieces, maxlen=0)
        else:
            write_csv(pieces, sys.stdout if asked.to == TO_OUTPUT else asked.to, units)
    return end


def as_json(end: End, files: list[str], units: Units) -> dict[str, Any]:
    """Give how a run ended: every measured column's last value with unit and source, the status word, the journal."""
    last = end.last
    source = f"simulated, seed {last.seed}"
    measured = [(one.name, one.dimension) for one in last.columns if one.dimension is not None]
    return {
        "project": last.rig.project.title,
        "seed": last.seed,
        "rows": end.rows,
        "files": files,
        "status": end.status,
        "end": {name: number(end[name], kind, units, source) for name, kind in measured},
        "journal": [
            {"time": one.time, "kind": one.kind, "what": one.what, "si": one.value, "who": one.who}
            for one in end.journal
        ],
    }


def as_lines(end: End, files: list[str], units: Units) -> list[str]:
    """Say in a few lines how a run ended."""

    def last(name: str, dimension: Dimension) -> str:
        return units.show(end[name], dimension)

    lines = [
        f"{end.last.rig.project.title}, seed {end.last.seed}",
        f"after     {last('time', Dimension.TIME)}: {end.status}",
        f"set point {last('set_point', Dimension.VOLUME)}",
        f"PV        {last('pv', Dimension.VOLUME)}",
        f"output    {last('output', Dimension.PERCENT)}",
        f"spilled   {last('spilled', Dimension.VOLUME) if end['spilled'] > 0 else 'nothing'}",
    ]
    return lines + [f"written   {name}" for name in files]
