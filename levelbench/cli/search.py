"""`levelbench search`: the settings that are fast and calm for a rig, with what is not known of it."""

import argparse
from dataclasses import replace
from typing import Any

from levelbench.cli.first import tell_if_first
from levelbench.cli.given import given
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.rig import assemble
from levelbench.tuning.search import Candidate, Found, Limits, default_box, default_limits, search

FOUND, NOTHING_HOLDS = 0, 1


def do(asked: argparse.Namespace) -> int:
    """Search and print the curve: 1 when no settings keep the limits, else 0."""
    project = load(asked.file)
    rig = assemble(project)
    limits = _limits(asked, default_limits(rig))
    tell_if_first()
    with progress("searching") as show:
        found = search(rig, default_box(rig), limits, show, digits=asked.digits, seed=asked.seed)
    if asked.json:
        print_json(as_json(found, units(project)))
    else:
        print_lines(as_lines(found, units(project)))
    return FOUND if found.front else NOTHING_HOLDS


def _limits(asked: argparse.Namespace, limits: Limits) -> Limits:
    """Give the limits with those that were asked for in their places."""
    for option, dimension in (
        ("overshoot", Dimension.VOLUME),
        ("sensitivity", Dimension.NUMBER),
        ("travel", Dimension.PERCENT_RATE),
        ("starts", Dimension.START_RATE),
    ):
        text = getattr(asked, option)
        if text is not None:
            limits = replace(limits, **{option: given(f"--{option}", text, dimension)})
    return limits


def as_json(found: Found, shown_in: Units) -> dict[str, Any]:
    """Give the answer with every number's value, unit and source."""
    return {
        "project": found.rig.project.title,
        "runs": found.runs,
        "why": found.why,
        "box": [
            {
                "key": one.key,
                "name": one.name,
                "from": document.number(one.least, one.dimension, shown_in, one.why),
                "to": document.number(one.most, one.dimension, shown_in, one.why),
            }
            for one in found.box.ranges
        ],
        "picked": found.picked,
        "front": [_candidate(one, found, shown_in) for one in found.front],
        "present": _candidate(found.present, found, shown_in),
        "nearest": None if found.nearest is None else _candidate(found.nearest, found, shown_in),
    }


def _candidate(one: Candidate, found: Found, shown_in: Units) -> dict[str, Any]:
    return {
        "settings": dict(one.words),
        "edits": dict(one.edits),
        "worst_corner": {key: found.scenarios[at].name for key, at in one.worst.items()},
        "figures": [document.figure(each, shown_in) for each in one.figures],
    }


def as_lines(found: Found, shown_in: Units) -> list[str]:
    """Give the answer for a person: the box, then a line or two for each candidate."""
    lines = [found.rig.project.title, "", "not known for sure:"]
    for one in found.box.ranges:
        ends = (shown_in.show(end, one.dimension, (one.most or 1.0) / 1000) for end in (one.least, one.most))
        lines.append(f"  {one.name}: {' to '.join(ends)} ({one.why})")
    lines += ["", found.why, "", "now", *_told(found.present, shown_in)]
    for at, each in enumerate(found.front):
        mark = ", proposed" if at == found.picked else ""
        lines += ["", f"{at + 1} of {len(found.front)}{mark}", *_told(each, shown_in)]
    if found.nearest is not None:
        lines += ["", "nearest miss", *_told(found.nearest, shown_in)]
    return [*lines, "", f"{found.runs} simulations; each figure is of its worst corner"]


def _told(one: Candidate, shown_in: Units) -> list[str]:
    settings = ", ".join(f"{name} {text}" for name, text in one.words)
    return [f"  {settings}", *(f"  {each.name}: {value_of(each, shown_in)}" for each in one.figures)]
