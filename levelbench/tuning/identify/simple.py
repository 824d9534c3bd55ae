"""Processes with dead time found from any record: integrating, or of first order.

Exact for an output that holds between stamps, however uneven they are; the dead time is no whole number of samples. A
constant flow that nobody measured, the start and a measured draw are found along with it. A loop may have been closed
or the record from ordinary running: the noise is described along with the process, so that what the controller did in
answer to noise isn't taken for the rig (L. Ljung, System Identification, 2nd edition (1999), section 13.4).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from levelbench.records.measured import Measured
from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.estimates import fit_of
from levelbench.tuning.identify.found import FIRST_ORDER, Found
from levelbench.tuning.identify.least import Bounds, Problem, Solved, search
from levelbench.tuning.identify.noise import WHITE, Noise, noise_of
from levelbench.tuning.identify.result import Fit
from levelbench.tuning.identify.rows import Ready, Rows, make_ready

_PART = 8000  # samples that a search looks at; the last steps look at all
_ROUNDS = 5  # of process and noise in turn
_FEWEST_BLOCKS = 100
Progress = Callable[[float], bool]


def fit(
    measured: Measured,
    model: str,
    *,
    rises: bool | None = None,
    longest_dead_time: float | None = None,
    progress: Progress | None = None,
) -> Fit:
    """Fit a process to a record; `model` is one of `found.MODELS`.

    `rises` says whether a higher output lets the PV rise, where that is known; `longest_dead_time` [s] bounds the
    search, else a quarter of the record or 400 samples. `progress` is told the share done; raises Cancelled when it
    answers no, FitError when the record can't be fitted at all.
    """
    _check(measured)
    ready = make_ready(measured)
    steps = _Steps(progress, 3 + 2 * _ROUNDS)
    bounds = _bounds(ready, rises, longest_dead_time)
    problem = Problem(ready, bends=model == FIRST_ORDER, rises=rises)
    part = ready.lively(_PART)
    walk = Noise(np.ones(1)) if ready.even else Noise(np.zeros(0), 10 * ready.lasts)
    ideas = [_in_turn(problem, part, bounds, first, steps) for first in (WHITE, walk)]
    block = max(one.rows.block for one in ideas)
    found = min((_again(one, block, bounds) for one in ideas), key=lambda one: one.criterion)
    ready = ready.without_starts(found.solved.point[0])
    last = Problem(ready, bends=problem.bends, rises=rises)
    whole = ready.rows().in_blocks(found.rows.block)
    noise, point = found.noise, found.solved.point
    for _ in range(2):
        steps.next()
        solved = search(last, whole, noise, bounds, [point])
        point = solved.point
        noise = noise_of(_left(last, solved, whole), whole, ready)
    steps.next()
    done = Found(last, whole, noise, search(last, whole, noise, bounds, [point]))
    return fit_of(measured, done, bounds)


def _check(measured: Measured) -> None:
    if np.ptp(measured.output) == 0.0:
        raise FitError(
            "The output stays the same through the whole record, so nothing can be told of what it does.",
            measured.name,
            "Take a record in which it moves: a step by hand of 10 % and back will do.",
        )
    if np.ptp(measured.pv) == 0.0:
        raise FitError(
            "The PV stays the same through the whole record.",
            measured.name,
            "Look whether the right column was taken, and whether the sensor was alive.",
        )


def _left(problem: Problem, solved: Solved, rows: Rows) -> NDArray[np.float64]:
    simulated, _ = problem.whole(solved)
    return np.asarray((problem.ready.pv - simulated)[rows.at])


def _in_turn(problem: Problem, rows: Rows, bounds: Bounds, noise: Noise, steps: "_Steps") -> Found:
    """Find process and noise in turn, from one idea of the noise, until neither changes."""
    starts = bounds.starts(bends=problem.bends)
    squares = []
    for one in starts:
        squares.append(problem.solve(one, rows, noise).squares)
        steps.look()
    best = [starts[at] for at in np.argsort(squares)[:3].tolist()]
    solved = search(problem, rows, noise, bounds, best)
    for _ in range(_ROUNDS):
        steps.next()
        block = _block(problem.ready, solved.point[0], rows)
        noise = noise_of(_left(problem, solved, rows), rows.in_blocks(block), problem.ready)
        newer = search(problem, rows.in_blocks(block), noise, bounds, [solved.point, best[0]])
        moved = max(abs(a - b) / max(abs(b), 1e-6) for a, b in zip(newer.point, solved.point, strict=True))
        solved, settled = newer, block == rows.block and moved < 1e-3
        rows = rows.in_blocks(block)
        if settled:
            break
    return Found(problem, rows, noise, solved)


def _again(found: Found, block: int, bounds: Bounds) -> Found:
    """Look at another number of samples as one, so that criteria can be compared."""
    if found.rows.block == block:
        return found
    rows, problem = found.rows.in_blocks(block), found.problem
    noise = noise_of(_left(problem, found.solved, rows), rows, problem.ready)
    return Found(problem, rows, noise, search(problem, rows, noise, bounds, [found.solved.point]))


def _block(ready: Ready, dead_time: float, rows: Rows) -> int:
    """Give how many samples are looked at as one: the dead time's half, where that leaves enough of them.

    What happens within a dead time is none of a controller's business, and no real rig waits and then goes at once;
    finer samples would have the fit mind the rounding of its corner more than anything else. A block is never longer
    than the dead time, so that in a closed loop no noise of a block comes back within it.
    """
    return int(max(1, min(dead_time / 2 / ready.step, len(rows.at) / _FEWEST_BLOCKS)))


def _bounds(ready: Ready, rises: bool | None, longest: float | None) -> Bounds:
    dead = min(ready.lasts / 4, max(400 * ready.step, 120.0)) if longest is None else longest
    return Bounds(dead, ready.step / 5, 10 * ready.lasts, rises)


class _Steps:
    """How far a fit is, told after each of its steps; and a way out between any two looks."""

    def __init__(self, progress: Progress | None, count: int) -> None:
        self._progress, self._count, self._done = progress, count, 0

    def next(self) -> None:
        self._done += 1
        self.look()

    def look(self) -> None:
        if self._progress is not None and not self._progress(min(self._done / self._count, 1.0)):
            raise Cancelled
