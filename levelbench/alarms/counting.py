"""Counting alarms: how many in ten minutes, which chatter, when it is a flood. Plain functions of times [s].

Definitions: ANSI/ISA-18.2-2016 and IEC 62682, as quoted in an open training text on alarms; the standard leaves open
how the ten minutes are laid, so that here they lie anywhere, which counts most.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]
Bools = NDArray[np.bool_]
Spans = NDArray[np.float64]  # [n, (from, to)] [s], in order, none overlaps the next

TEN = 600.0  # [s]
FLOOD_OVER, FLOOD_UNDER = 10, 5  # begins with more than so many in ten minutes, ends with fewer than so many
CHATTER, CHATTER_WITHIN = 3, 60.0  # so often in so long [s]


def in_last(times: Floats, within: float) -> Wholes:
    """Give for each time[n] [s], rising, how many lie in the last `within` [s] up to it, itself among them."""
    return np.arange(1, len(times) + 1) - np.searchsorted(times, times - within, side="right")


def most_in(times: Floats, within: float = TEN) -> int:
    """Give the most that lie in any stretch of `within` [s], times[n] rising."""
    return int(in_last(times, within).max(initial=0))


def in_tens(times: Floats, begin: float, end: float, within: float = TEN) -> Wholes:
    """Count the times[n] [s] in each whole stretch of `within` [s] from `begin` to `end` [s]."""
    whole = int((end - begin) / within + 1e-9)
    at = np.floor((times - begin) / within).astype(np.int64)
    return np.bincount(at[(at >= 0) & (at < whole)], minlength=whole).astype(np.int64)


def chattering(times: Floats) -> Bools:
    """Tell of each time[n] [s] of one alarm, rising, whether it is one of three or more within a minute."""
    found = np.zeros(len(times), dtype=np.bool_)
    last = CHATTER - 1
    if len(times) > last:
        for first in np.flatnonzero(times[last:] - times[:-last] <= CHATTER_WITHIN).tolist():
            found[first : first + CHATTER] = True
    return found


def floods(times: Floats, end: float) -> Spans:
    """Give the floods[n, (from, to)] [s]: from the eleventh alarm in ten minutes until fewer than five lie in them.

    times[n] [s] of all alarms, rising; one that still lasts goes to `end` [s].
    """
    found: list[tuple[float, float]] = []
    begins = times[in_last(times, TEN) > FLOOD_OVER]
    for begin in begins.tolist():
        if found and begin < found[-1][1]:
            continue
        found.append((begin, min(_calm_after(times, begin), end)))
    return np.array(found, dtype=np.float64).reshape(-1, 2)


def _calm_after(times: Floats, begin: float) -> float:
    """Give when fewer than five lie in the last ten minutes, for the first time after a flood began [s].

    Just after the fifth last has left the ten minutes: that is when it comes to pass, unless a new one came before.
    """
    ends = times + TEN
    for at in np.flatnonzero(ends > begin).tolist():
        moment = float(ends[at])
        if int(np.searchsorted(times, moment, side="right")) - at - 1 < FLOOD_UNDER:
            return moment
    return begin


# --- spans -----------------------------------------------------------------------------------------------------------


def spans_of(changes: Sequence[tuple[float, bool]], at_first: bool, begin: float, end: float) -> Spans:
    """Give the spans in which something held, from when it came (True) and went (False), cut to begin and end [s]."""
    found: list[tuple[float, float]] = []
    since = begin if at_first else None
    for time, holds in changes:
        if holds and since is None:
            since = time
        elif not holds and since is not None:
            found.append((since, time))
            since = None
    if since is not None:
        found.append((since, end))
    cut = [(max(one, begin), min(other, end)) for one, other in found if other > begin and one < end]
    return np.array(cut, dtype=np.float64).reshape(-1, 2)


def spans_where(time: Floats, holds: Bools) -> Spans:
    """Give the spans in which rows hold: time[n] [s] of the rows, holds[n]; from the first to the last that does."""
    edges = np.diff(np.concatenate(([0], holds.astype(np.int8), [0])))
    begins, ends = np.flatnonzero(edges > 0), np.flatnonzero(edges < 0) - 1
    return np.column_stack((time[begins], time[ends])).astype(np.float64).reshape(-1, 2)


def joined(spans: Spans, gap: float) -> Spans:
    """Join spans[n, 2] that are at most `gap` [s] apart."""
    if len(spans) < 2:
        return spans
    apart = np.flatnonzero(spans[1:, 0] - spans[:-1, 1] > gap)
    begins, ends = np.concatenate(([0], apart + 1)), np.concatenate((apart, [len(spans) - 1]))
    return np.column_stack((spans[begins, 0], spans[ends, 1]))


def union(*several: Spans) -> Spans:
    """Give the spans[n, 2] in which at least one of several holds."""
    every = np.concatenate(several)
    merged: list[list[float]] = []
    for begin, end in every[np.argsort(every[:, 0], kind="stable")].tolist():
        if merged and begin <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], end)
        else:
            merged.append([begin, end])
    return np.array(merged, dtype=np.float64).reshape(-1, 2)


def common(one: Spans, other: Spans) -> float:
    """Give for how long [s] both hold; the spans of each don't overlap."""
    if len(one) == 0 or len(other) == 0:
        return 0.0
    begins = np.maximum(one[:, None, 0], other[None, :, 0])
    ends = np.minimum(one[:, None, 1], other[None, :, 1])
    return float(np.maximum(ends - begins, 0.0).sum())


def total(spans: Spans) -> float:
    """Give how long spans[n, 2] last together [s]."""
    return float((spans[:, 1] - spans[:, 0]).sum())


def meets(spans: Spans, begin: float, end: float) -> bool:
    """Tell whether any span[n, 2] has a moment in common with one from `begin` to `end` [s]."""
    return bool(np.any((spans[:, 0] <= end) & (spans[:, 1] >= begin)))
