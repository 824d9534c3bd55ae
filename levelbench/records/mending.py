"""What is wrong with the rows of a record: cells without a number, and times that step back or stand still.

Rows are left out, never moved; each kind of trouble is counted and its lines are named.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import rounded
from levelbench.records.columns import TIME, Columns
from levelbench.records.measured import GAP
from levelbench.records.rows import Rows

Floats = NDArray[np.float64]
Places = NDArray[np.int64]
_NAMED = 12  # stretches of lines that are named before the rest is counted only


@dataclass(frozen=True)
class Mended:
    """The rows that are kept, with their times [s] and values; and by kind those that are not, as places of rows."""

    keep: Places
    time: Floats
    values: dict[str, Floats]
    bad: dict[str, Places]  # by role: rows with no number there
    back: Places  # rows whose time is out of order
    doubled: Places  # rows with the time of the row before


def in_order(time: Floats, values: dict[str, Floats]) -> Mended:
    """Keep the rows that have all their values and whose times rise."""
    every = {TIME: time} | values
    sums = [float(column.sum()) for column in every.values()]  # finite only where every number is
    if all(map(math.isfinite, sums)) and bool(np.all(time[1:] > time[:-1])):
        return Mended(np.arange(len(time)), time, values, {}, _none(), _none())
    bad = {role: np.flatnonzero(~np.isfinite(column)) for role, column in every.items()}
    whole = np.all([np.isfinite(column) for column in every.values()], axis=0)
    keep = np.flatnonzero(whole)
    ahead = _out_of_order(time[keep])
    back, keep = keep[ahead], keep[~ahead]
    still = np.concatenate(([False], np.diff(time[keep]) <= 0)) if len(keep) else np.zeros(0, dtype=np.bool_)
    doubled, keep = keep[still], keep[~still]
    bad = {role: places for role, places in bad.items() if len(places)}
    return Mended(keep, time[keep], {role: column[keep] for role, column in values.items()}, bad, back, doubled)


def _none() -> Places:
    return np.zeros(0, dtype=np.int64)


def _out_of_order(time: Floats) -> NDArray[np.bool_]:
    """Mark rows that break the order: those behind an earlier one, or those ahead of a later one, whichever are fewer.

    One stamp that jumps ahead then costs one row and not all that follow.
    """
    if not len(time):
        return np.zeros(0, dtype=np.bool_)
    behind = time < np.maximum.accumulate(time)
    ahead = time > np.minimum.accumulate(time[::-1])[::-1]
    return behind if behind.sum() <= ahead.sum() else ahead


def told(rows: Rows, columns: Columns, mended: Mended) -> list[str]:
    """Say for a person what was left out and why, line by line as far as that can be read; and where gaps are."""
    notes = []
    gone = len(rows) - len(mended.keep) + len(rows.odd)
    steps = np.diff(mended.time)
    if not gone and (not len(steps) or steps.max() <= GAP * steps.min()):
        return []
    usual = float(np.median(steps)) if len(steps) else 0.0
    gaps = np.flatnonzero(steps > GAP * usual)
    if not gone and not len(gaps):
        return []
    lines = rows.lines()
    if gone:
        notes.append(f"{gone} of {len(rows) + len(rows.odd)} rows were left out.")
    if rows.odd:
        width = rows.odd[0][1]
        places = stretches([line for line, _ in rows.odd])
        notes.append(f"{places}: {width} cells where {columns.dialect.width} belong.")
    notes += [_cells(rows, lines, columns, role, places) for role, places in mended.bad.items()]
    if len(mended.back):
        notes.append(f"{stretches(lines[mended.back])}: the time steps out of order.")
    if len(mended.doubled):
        notes.append(f"{stretches(lines[mended.doubled])}: the same time as the row before; the first was kept.")
    if len(gaps):
        notes.append(_gaps(lines[mended.keep], steps, gaps, usual))
    return notes


def _cells(rows: Rows, lines: Places, columns: Columns, role: str, places: Places) -> str:
    """Say which cells of a column had no number, and what stood there."""
    pick = columns.time.at if role == TIME else getattr(columns.pick(role), "at", None)
    if pick is None:
        return f"{stretches(lines[places])}: no {role}."
    texts = list(dict.fromkeys(rows.cell(int(line), pick) for line in lines[places[:200]]))
    shown = ", ".join(f"“{_short(one)}”" if one else "nothing" for one in texts[:4])
    more = " and others" if len(texts) > 4 else ""
    name = columns.dialect.names[pick].name
    what = "no time that can be read" if role == TIME else "no number"
    return f"{stretches(lines[places])}: {what} in “{_short(name)}”, column {pick + 1}: {shown}{more}."


def _gaps(lines: Places, steps: Floats, gaps: Places, usual: float) -> str:
    longest = int(gaps[np.argmax(steps[gaps])])
    begin, end = lines[longest], lines[longest + 1]
    count = f"{len(gaps)} gaps, the longest" if len(gaps) > 1 else "A gap"
    every = f"rows are {rounded(usual, 3)} s apart as a rule"
    return f"{count} of {rounded(float(steps[longest]), 4)} s between lines {begin} and {end}; {every}."


def _short(text: str) -> str:
    return text if len(text) <= 24 else text[:23] + "…"


def stretches(lines: Sequence[int] | Places) -> str:
    """Name lines with their stretches: "Lines 4, 17–43 and 60".

    >>> stretches([3]), stretches([3, 4, 5, 9])
    ('Line 3', 'Lines 3–5 and 9')
    """
    found = np.asarray(lines, dtype=np.int64)
    cuts = np.flatnonzero(np.diff(found) != 1) + 1
    parts = [(int(one[0]), int(one[-1])) for one in np.split(found, cuts) if len(one)]
    words = [str(low) if low == high else f"{low}–{high}" for low, high in parts[:_NAMED]]
    left = sum(high - low + 1 for low, high in parts[_NAMED:])
    if left:
        words.append(f"{left} more")
    head = "Line" if len(found) == 1 else "Lines"
    return f"{head} {words[0]}" if len(words) == 1 else f"{head} {', '.join(words[:-1])} and {words[-1]}"
