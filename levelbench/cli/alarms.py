"""`levelbench alarms`: the time that each alarm leaves, what it is there for, and its record as CSV."""

import argparse
from typing import Any

from levelbench.alarms.rationale import Row, distribution, rationale
from levelbench.alarms.record_csv import write_record
from levelbench.alarms.starting import Start, Starting, starting
from levelbench.alarms.timing import SAID, Timed
from levelbench.cli import alarm_noise
from levelbench.cli.output import print_json, print_lines
from levelbench.handover import document
from levelbench.handover.told import value_of
from levelbench.project import load, units
from levelbench.quantity import Dimension, Units
from levelbench.rig import Rig, assemble

_NONE = "This project has no alarms: its section “bands” is empty."


def do(asked: argparse.Namespace) -> int:
    """Print the alarms, and write their record where it is asked for: always 0."""
    project = load(asked.file)
    rig = assemble(project)
    rows, begun, shown_in = rationale(rig), starting(rig), units(project)
    if asked.csv is not None:
        write_record(rig, asked.csv)
    noise = alarm_noise.designs(rig, asked) if alarm_noise.wanted(asked) else None
    if asked.json:
        more: dict[str, Any] = {} if noise is None else {"noise": alarm_noise.as_json(noise, shown_in)}
        more |= {"file": str(asked.csv)} if asked.csv is not None else {}
        print_json(as_json(rig, rows, begun, shown_in) | more)
    else:
        print_lines(as_lines(rig, rows, begun, shown_in))
        print_lines([] if noise is None else ["", *alarm_noise.as_lines(noise, shown_in)])
        print_lines(["", f"written   {asked.csv}"] if asked.csv is not None else [])
    return 0


def as_json(rig: Rig, rows: tuple[Row, ...], begun: Starting, shown_in: Units) -> dict[str, Any]:
    """Give times, reasons and starting values with every number's value, unit and source."""
    return {
        "project": rig.project.title,
        "time_to_act": document.number(
            rig.project.duty.time_to_act.si, Dimension.TIME, shown_in, "typed in the project"
        ),
        "protection": rig.project.alarm_handling.protection,
        "alarms": [_row(row, shown_in) for row in rows],
        "priorities": distribution(rows),
        "starting_values": {
            "figures": [document.figure(one, shown_in) for one in (begun.dead_band, begun.delay, *begun.practice)],
            "limits": [_start(one, shown_in) for one in begun.lines],
        },
    }


def _row(row: Row, shown_in: Units) -> dict[str, Any]:
    timed = row.timed
    return {
        "key": row.key, "name": row.name, "tag": row.tag, "type": row.kind, "is_alarm": row.is_alarm,
        "typed": dict(row.typed), "priority": row.priority, "suggested_priority": row.suggested,
        "cause": row.cause, "consequence": row.consequence, "operator_action": row.action, "basis": row.basis,
        "time_available": None if row.time_typed is None else row.time_typed.shown,
        "says_the_same_as": list(row.same_as), "rising": timed.rising, "next_level": timed.next_rung,
        "what_must_not_happen": timed.end, "verdict": timed.stands, "verdict_words": SAID[timed.stands][1],
        "place": [document.figure(one, shown_in) for one in row.place],
        "times": [document.figure(one, shown_in) for one in timed.figures],
        "delay": [document.figure(one, shown_in) for one in timed.parts],
    }  # fmt: skip


def _start(one: Start, shown_in: Units) -> dict[str, Any]:
    return {
        "key": one.key, "passed": list(one.crossed), "would_do": one.fits, "words": one.words,
        "figures": [document.figure(each, shown_in) for each in (one.moved, one.left, one.returns)],
    }  # fmt: skip


def as_lines(rig: Rig, rows: tuple[Row, ...], begun: Starting, shown_in: Units) -> list[str]:
    """Give times, reasons and starting values for a person."""
    project = rig.project
    if not rows:
        return [project.title, "", _NONE]
    given = f"People are given {project.duty.time_to_act.shown}; where an alarm leaves less, the policy is: "
    lines = [project.title, "", *_times([row.timed for row in rows], shown_in), ""]
    lines += [f"{given}{project.alarm_handling.protection}.", "", "what each is there for:"]
    lines += [line for row in rows for line in _reasons(row)]
    lines += ["", distribution(rows), "", *_begun(begun, shown_in)]
    return lines


def _times(timed: list[Timed], shown_in: Units) -> list[str]:
    head: tuple[str, ...] = ("alarm", "tag", "worst rate", "to next", "to end", "delay", "left", "")
    cells = [head]
    for one in timed:
        figures = (one.rate, one.to_next, one.to_end, one.late, one.left)
        said = " ".join(SAID[one.stands])
        ends = f"{said}; next {one.next_rung}, then {one.end}" if one.next_rung != one.end else f"{said}; {one.end}"
        cells.append((one.name, one.tag, *(value_of(each, shown_in) for each in figures), ends))
    wide = [max(len(row[at]) for row in cells) for at in range(len(head))]
    return ["  ".join(cell.ljust(room) for cell, room in zip(row, wide, strict=True)).rstrip() for row in cells]


def _reasons(row: Row) -> list[str]:
    priority = row.priority if row.priority == row.suggested else f"{row.priority}, suggested {row.suggested}"
    mark = "" if row.is_alarm else "  ▲ not an alarm: nobody has anything to do"
    lines = [f"  {row.name} {row.tag}, priority {priority}{mark}"]
    lines += [f"    {name}: {text}" for name, text in row.said if text]
    if row.time_typed is not None:
        lines.append(f"    time available as typed: {row.time_typed.shown}")
    return [*lines, f"    ▲ says the same as {', '.join(row.same_as)}"] if row.same_as else lines


def _begun(begun: Starting, shown_in: Units) -> list[str]:
    band, delay = value_of(begun.dead_band, shown_in), value_of(begun.delay, shown_in)
    lines = [f"published starting values for a level, dead band {band} (5 % of the span) and delay {delay}:"]
    lines += [f"  {one.name}: {value_of(one.moved, shown_in)} in it. {one.words}" for one in begun.lines]
    return [*lines, *(f"  {one.name}: {value_of(one, shown_in)}" for one in begun.practice)]
