"""Lines of a long record on a small plot: as many points as can be seen, and where they lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPolygonF

from levelbench.drawing.ticks import nice_ticks
from levelbench.gui.look.plot_paper import Pane

Floats = NDArray[np.float64]
_PIECE = 16  # points that are drawn in one go
_ROOM = 0.06  # of the height of a pane, left free over and under its lines


@dataclass(frozen=True, eq=False)
class RecordLine:
    """A named line: values over time [n] in the unit they are shown in; `held` from sample to sample, or straight."""

    name: str
    time: Floats  # [s]
    values: Floats
    held: bool = False
    dashed: bool = False

    def broken(self, gaps: Floats) -> RecordLine:
        """Give the same line with a place without a value behind the begin of every gap [gaps, 2] [s]."""
        if not len(gaps):
            return self
        at = np.searchsorted(self.time, gaps[:, 0], side="right")
        return replace(self, time=np.insert(self.time, at, gaps[:, 0]), values=np.insert(self.values, at, np.nan))

    def part(self, begin: float, end: float, most: int) -> tuple[Floats, Floats]:
        """Give what can be seen from `begin` to `end` [s]: least and largest of each of at most `most` stretches."""
        first = max(int(np.searchsorted(self.time, begin, side="right")) - 1, 0)
        last = min(int(np.searchsorted(self.time, end, side="left")) + 1, len(self.time))
        time, values = self.time[first:last], self.values[first:last]
        if len(time) <= 3 * most:
            return time, values
        edges = np.linspace(0, len(time), most, endpoint=False).astype(np.int64)
        low, high = np.minimum.reduceat(values, edges), np.maximum.reduceat(values, edges)
        return np.repeat(time[edges], 2), np.stack((low, high), axis=1).ravel()


@dataclass(frozen=True)
class RecordPane(Pane):
    """One pane: times [s] across, values up, and its scale."""

    marks: list[tuple[float, str]]

    @classmethod
    def around(cls, lines: Sequence[RecordLine], times: tuple[float, float], box: QRectF, line: float) -> RecordPane:
        """Make a pane in a box for what can be seen of some lines; `line` is the height of a text [px]."""
        parts = [one.part(*times, 400)[1] for one in lines]
        seen = np.concatenate(parts) if parts else np.zeros(1)
        seen = seen[np.isfinite(seen)]
        low, high = (float(seen.min()), float(seen.max())) if len(seen) else (0.0, 1.0)
        room = max(_ROOM * (high - low), 1e-3 * max(abs(low), abs(high))) or 1.0  # a line of noughts has room too
        low, high = low - room, high + room
        most = max(2, int(box.height() / (2.2 * line)))
        up = [nice_ticks(low, high, count) for count in (most, most + 2, most + 4)]
        return cls(box, times, (low, high), next((one for one in up if len(one) > 1), up[-1]))  # one says no scale

    def polygons(self, line: RecordLine) -> list[QPolygonF]:
        """Give the points of a line, in parts: none goes over a place without a value."""
        time, values = line.part(*self.across, max(int(self.box.width()), 2))
        if line.held and len(time) < 3 * self.box.width():
            time, values = np.repeat(time, 2)[1:], np.repeat(values, 2)[:-1]
        breaks = np.flatnonzero(~np.isfinite(values))
        parts = zip(np.split(time, breaks), np.split(values, breaks), strict=True)
        length = _PIECE if not line.dashed else len(time) + 1  # the dashes of a piece would begin anew
        return [piece for part, of_part in parts for piece in _pieces(self, part, of_part, length)]


def _pieces(pane: RecordPane, time: Floats, values: Floats, length: int) -> list[QPolygonF]:
    """Give short pieces, each from where the last one ended: a long one that goes up and down takes Qt seconds."""
    good = np.isfinite(values)
    pairs = zip(time[good].tolist(), values[good].tolist(), strict=True)
    points = [pane.at(t, v) for t, v in pairs]
    return [QPolygonF(points[at : at + length + 1]) for at in range(0, max(len(points) - 1, 1), length)]
