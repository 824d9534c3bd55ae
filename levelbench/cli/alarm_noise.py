"""The noise part of `levelbench alarms`: dead bands and delays of every limit, chosen from how the PV scatters."""

import argparse
from collections.abc import Mapping
from typing import Any

from levelbench.alarms.answer import Design
from levelbench.alarms.candidate import Candidate
from levelbench.alarms.design import design, spread_near
from levelbench.alarms.errors import AlarmError
from levelbench.alarms.purpose import DESIGNED, band_of, purpose_of
from levelbench.alarms.why import why
from levelbench.cli.output import figure_line
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.quantity import Units
from levelbench.records.any_csv import look, read_measured
from levelbench.records.column_words import read_columns
from levelbench.records.measured import Measured
from levelbench.rig import Rig

Answers = Mapping[str, Design | AlarmError]


def wanted(asked: argparse.Namespace) -> bool:
    """Tell whether the noise was asked for."""
    return bool(asked.noise or asked.record is not None)


def designs(rig: Rig, asked: argparse.Namespace) -> Answers:
    """Design every limit in use from the noise of the rig, or of the record that was named; errors in their places."""
    measured = _measured(rig, asked)
    found: dict[str, Design | AlarmError] = {}
    names = [alarm for alarm in DESIGNED if band_of(rig, alarm) is not None]
    for at, alarm in enumerate(names):
        with progress(f"limit {at + 1} of {len(names)}, {alarm.replace('_', '-')}") as show:
            try:
                purpose = purpose_of(rig, alarm)
                spread = spread_near(rig, purpose, measured, seed=asked.seed)
                found[alarm] = design(rig, spread, purpose, seed=asked.seed, progress=show)
            except AlarmError as error:
                found[alarm] = error
    return found


def _measured(rig: Rig, asked: argparse.Namespace) -> Measured | None:
    if asked.record is None:
        return None
    guess = look(asked.record)
    columns = read_columns(asked.columns, guess) if asked.columns else guess.columns
    with progress("reading") as show:
        return read_measured(asked.record, columns, rig, show)


def as_json(found: Answers, shown_in: Units) -> list[dict[str, Any]]:
    """Give every design with every number's value, unit and source."""
    return [_one(alarm, each, shown_in) for alarm, each in found.items()]


def _one(alarm: str, found: Design | AlarmError, shown_in: Units) -> dict[str, Any]:
    if isinstance(found, AlarmError):
        return {"alarm": alarm, "refused": str(found)}
    check = found.check
    return {
        "alarm": alarm,
        "noise": [document.figure(one, shown_in) for one in found.spread.figures(shown_in)],
        "kind": found.spread.kind,
        "notes": list(found.spread.notes),
        "purpose": [document.figure(one, shown_in) for one in found.purpose.figures()],
        "why": why(found),
        "proposed": None if found.pick is None else _candidate(found.pick, shown_in),
        "present": None if found.present is None else _candidate(found.candidate(found.present), shown_in),
        "front": [_candidate(found.candidate(at), shown_in) for at in found.front],
        "check": check and {
            "figures": [document.figure(one, shown_in) for one in check.figures],
            "low": check.low, "high": check.high, "agrees": check.agrees,
        },
    }  # fmt: skip


def _candidate(one: Candidate, shown_in: Units) -> dict[str, Any]:
    return {
        "settings": dict(one.words),
        "edits": dict(one.edits),
        "refused": one.refused,
        "figures": [document.figure(each, shown_in) for each in one.figures],
    }


def as_lines(found: Answers, shown_in: Units) -> list[str]:
    """Give every design for a person."""
    lines = ["from the noise of the PV:"]
    for alarm, each in found.items():
        lines += ["", f"{alarm.replace('_', '-')}"]
        lines += [f"  ■ {each}"] if isinstance(each, AlarmError) else _told(each, shown_in)
    return [*lines, *([] if found else ["  There is no limit on the volume in use."])]


def _told(found: Design, shown_in: Units) -> list[str]:
    lines = [f"  {figure_line(one, shown_in)}" for one in found.spread.figures(shown_in)]
    lines += [f"  ▲ {note}" for note in found.spread.notes]
    lines.append(f"  {why(found)}")
    if found.present is not None and found.pick is not None:
        now = {one.key: value_of(one, shown_in) for one in found.candidate(found.present).figures}
        lines += [f"    {one.name}: {now[one.key]} → {value_of(one, shown_in)}" for one in found.pick.figures]
    lines += [f"  in the project: {key} = {value}" for key, value in found.edits.items()]
    if found.check is not None:
        mark = "●" if found.check.agrees else "▲"
        both = " against ".join(value_of(one, shown_in) for one in (found.check.closed, found.check.simulated))
        lines.append(f"  {mark} crossings of 2 σ an hour, closed form against counted: {both}")
    return lines
