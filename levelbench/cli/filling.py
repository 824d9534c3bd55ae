"""`levelbench filling`: how to fill a rig whose drain is shut, where what is too much stays."""

import argparse
from typing import Any

from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.rig import assemble
from levelbench.tuning.filling import Filling, Size, fill

D = Dimension


def do(asked: argparse.Namespace) -> int:
    """Fill the rig in every way, and print which wins: always 0."""
    project = load(asked.file)
    rig = assemble(project)
    tell_if_first()
    with progress("filling") as show:
        found = fill(rig, show)
    if asked.json:
        print_json(as_json(project.title, found, units(project)))
    else:
        print_lines(as_lines(project.title, found, units(project)))
    return 0


def as_json(title: str, found: Filling, shown_in: Units) -> dict[str, Any]:
    """Give the answer with every number's value, unit and source."""
    source = "the rig's own runs"
    return {
        "project": title,
        "verdict": found.verdict,
        "equation": list(found.equation),
        "law": [document.figure(one, shown_in) for one in found.figures],
        "learned": [document.number(one, D.VOLUME, shown_in, source) for one in found.learned],
        "sizes": [
            {
                "from": document.number(one.low, D.VOLUME, shown_in, source),
                "to": document.number(one.high, D.VOLUME, shown_in, source),
                "wins": one.wins.way.key,
                "why": one.words,
                "ways": [
                    {
                        "key": row.way.key,
                        "name": row.way.name,
                        "figures": [document.figure(each, shown_in) for each in row.figures],
                    }
                    for row in one.rows
                ],
            }
            for one in found.sizes
        ],
    }


def as_lines(title: str, found: Filling, shown_in: Units) -> list[str]:
    """Give the answer for a person: the verdict, a table for each size, and the law."""
    lines = [title, "", found.verdict]
    for one in found.sizes:
        lines += ["", *_table(one, shown_in), one.words]
    lines += ["", "the cut-off, as it is programmed:", *(f"  {words}" for words in found.equation)]
    lines += [f"  {one.name}: {value_of(one, shown_in)}" for one in found.figures]
    first = ", ".join(shown_in.show(one, D.VOLUME, found.tolerance / 100) for one in found.learned[:6])
    return [*lines, "", f"learned from a cut at the set point, mean error of fill 1, 2, …: {first}"]


def _table(one: Size, shown_in: Units) -> list[str]:
    step = (one.high - one.low) / 1000
    ends = " to ".join(shown_in.show(each, D.VOLUME, step) for each in (one.low, one.high))
    head = (ends, *(each.name for each in one.rows[0].figures))
    cells = [head, *((row.way.name, *(shown_in.tell(each) for each in row.figures)) for row in one.rows)]
    wide = [max(len(row[at]) for row in cells) for at in range(len(head))]
    return ["  ".join(cell.ljust(room) for cell, room in zip(row, wide, strict=True)).rstrip() for row in cells]
