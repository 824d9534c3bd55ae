"""Processes with dead time found from any record: integrating, or of first order.

Exact for an output that holds between stamps, however uneven they are; the dead time is no whole number of samples. A
constant flow that nobody measured, the start and a measured draw are found along with it. A loop may have been closed
or the record from ordinary running: the noise is described along with the process, so that what the controller did in
answer to noise isn't taken for the rig (L. Ljung, System Identification, 2nd edition (1999), section 13.4). Where PV is
a volume, a measured draw is taken off by the mass balance; else its effect is found.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from levelbench.records.measured import Measured
from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify.drive import without_draw
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.estimates import fit_of
from levelbench.tuning.identify.found import FIRST_ORDER, INTEGRATING, Found
from levelbench.tuning.identify.least import Bounds, Problem, Solved, search
from levelbench.tuning.identify.noise import WHITE, Noise, noise_of
from levelbench.tuning.identify.result import Fit
from levelbench.tuning.identify.rows import Ready, Rows, make_ready, must_move

_PART = 8000  # samples that a search looks at; the last steps look at all
_ROUNDS = 5  # of process and noise in turn
_FEWEST_BLOCKS = 100
_WORSE = 1.5  # times the plain fit's leftovers: the noise has eaten too much
_EXPLAINED = 0.2  # of what the PV did may be left over by a plain fit that is to be believed
Progress = Callable[[float], bool]


def fit(
    measured: Measured,
    model: str,
    *,
    rises: bool | None = None,
    longest_dead_time: float | None = None,
    progress: Progress | None = None,
) -> Fit:
    """Fit a process to a record and say what was found; `model` is one of `found.MODELS`.

    `rises` says whether a higher output lets the PV rise, where that is known; `longest_dead_time` [s] bounds the
    search, else a quarter of the record or 400 samples. `progress` is told the share done; raises Cancelled when it
    answers no, FitError when the record can't be fitted at all.
    """
    return fit_of(measured, find(measured, model, rises=rises, longest_dead_time=longest_dead_time, progress=progress))


def find(
    measured: Measured,
    model: str,
    *,
    rises: bool | None = None,
    longest_dead_time: float | None = None,
    progress: Progress | None = None,
) -> Found:
    """Find a process and its noise; everything as for `fit`."""
    must_move(measured)
    ready = make_ready(without_draw(measured)[0] if model == INTEGRATING else measured)
    steps = _Steps(progress, 3 + 2 * _ROUNDS)
    bounds = _bounds(ready, rises, longest_dead_time)
    problem = Problem(ready, bends=model == FIRST_ORDER, rises=rises)
    part = ready.lively(_PART)
    walk = Noise(np.ones(1)) if ready.even else Noise(np.zeros(0), 10 * ready.lasts)
    plain, *ideas = [_plain(problem, part, bounds, first, steps) for first in (WHITE, walk)]
    ideas = [_in_turn(one, bounds, steps) for one in (plain, *ideas)]
    block = max(one.rows.block for one in ideas)
    best = min((_again(one, block, bounds) for one in ideas), key=lambda one: one.criterion)
    if _takes_rig_for_noise(best, plain):
        best = plain
    ready = ready.without_starts(best.solved.point[0])
    return _on_all(Problem(ready, bends=problem.bends, rises=rises), best, bounds, steps)


def foretell(
    measured: Measured, whole: Measured, model: str, *, rises: bool | None = None, progress: Progress | None = None
) -> NDArray[np.float64]:
    """Fit a process to the first part of a record, and simulate the whole of it freely[n]; errors as of `fit`."""
    found = find(measured, model, rises=rises, progress=progress)
    _, coefficients = found.problem.whole(found.solved, shown=True)
    plain, drawn = without_draw(whole) if model == INTEGRATING else (whole, 0.0)
    ready = make_ready(plain)
    if len(ready.begins) != found.problem.starts:  # a later part begins where nothing is known of it
        raise FitError(
            "The record is broken where the model should foretell.", whole.name, "Take a part of it without gaps."
        )
    problem = Problem(ready, bends=found.problem.bends, rises=rises)
    columns, _ = problem.columns(found.solved.point, np.arange(len(ready.time)))
    if columns.shape[1] != len(coefficients):
        raise FitError("The draw only moves in the part that is to be foretold.", whole.name, "Take a longer record.")
    return np.asarray(columns @ coefficients - drawn)


def _on_all(problem: Problem, found: Found, bounds: Bounds, steps: "_Steps") -> Found:
    """Go on from what was found in a part, with all samples."""
    rows = problem.ready.rows().in_blocks(found.rows.block)
    noise, point = found.noise, found.solved.point
    for _ in range(2 if noise is not WHITE else 0):
        steps.next()
        solved = search(problem, rows, noise, bounds, [point])
        point = solved.point
        noise = noise_of(_left(problem, solved, rows), rows, problem.ready)
    steps.next()
    done = Found(problem, rows, noise, search(problem, rows, noise, bounds, [point]), bounds.dead_time)
    steps.end()
    return done


def _left(problem: Problem, solved: Solved, rows: Rows) -> NDArray[np.float64]:
    simulated, _ = problem.whole(solved)
    return np.asarray((problem.ready.pv - simulated)[rows.at])


def _plain(problem: Problem, rows: Rows, bounds: Bounds, noise: Noise, steps: "_Steps") -> Found:
    """Find a process with one idea of the noise, from many starts."""
    starts = bounds.starts(bends=problem.bends)
    squares = []
    for one in starts:
        squares.append(problem.solve(one, rows, noise).squares)
        steps.look()
    best = [starts[at] for at in np.argsort(squares)[:3].tolist()]
    return Found(problem, rows, noise, search(problem, rows, noise, bounds, best))


def _in_turn(found: Found, bounds: Bounds, steps: "_Steps") -> Found:
    """Find process and noise in turn, until neither changes."""
    problem, first = found.problem, found.solved.point
    for _ in range(_ROUNDS):
        steps.next()
        rows, before = found.rows, found.solved.point
        block = _block(problem.ready, before[0], rows)
        rows = rows.in_blocks(block)
        noise = noise_of(_left(problem, found.solved, rows), rows, problem.ready)
        solved = search(problem, rows, noise, bounds, [before, first])
        moved = max(abs(a - b) / max(abs(b), 1e-6) for a, b in zip(solved.point, before, strict=True))
        settled = block == found.rows.block and moved < 1e-3
        found = Found(problem, rows, noise, solved)
        if settled:
            break
    return found


def _takes_rig_for_noise(best: Found, plain: Found) -> bool:
    """Tell whether the noise has taken up what the rig does: without it the model explains the record far better.

    No rig is quite a process of first order, and with a record of little noise a noise that remembers can stand for
    the difference. Where something else moves the PV most, the plain fit explains little, and noise is what it is.
    """
    ready = best.problem.ready
    left = [
        float(np.std((ready.pv - one.problem.whole(one.solved, shown=True)[0])[plain.rows.at])) for one in (best, plain)
    ]
    return left[0] > _WORSE * left[1] and left[1] < _EXPLAINED * float(np.std(ready.pv[plain.rows.at]))


def _again(found: Found, block: int, bounds: Bounds) -> Found:
    """Look at another number of samples as one, so that criteria can be compared."""
    if found.rows.block == block:
        return found
    rows, problem = found.rows.in_blocks(block), found.problem
    noise = noise_of(_left(problem, found.solved, rows), rows, problem.ready)
    return Found(problem, rows, noise, search(problem, rows, noise, bounds, [found.solved.point]))


def _block(ready: Ready, dead_time: float, rows: Rows) -> int:
    """Give how many samples are looked at as one: as many as there are in the dead time, where that leaves enough.

    What happens within a dead time is none of a controller's business, and no real rig waits and then goes at once;
    finer samples would have the fit mind the rounding of its corner more than anything else. A block is never longer
    than the dead time, so that in a closed loop no noise of a block comes back within it.
    """
    return int(max(1, min(dead_time / ready.step, len(rows.at) / _FEWEST_BLOCKS)))


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

    def end(self) -> None:
        self._done = self._count
        self.look()

    def look(self) -> None:
        if self._progress is not None and not self._progress(min(self._done / self._count, 1.0)):
            raise Cancelled
