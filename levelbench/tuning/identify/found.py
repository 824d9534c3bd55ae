"""A process found with its noise, before anything is said about it."""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from levelbench.tuning.identify.least import Problem, Solved
from levelbench.tuning.identify.noise import Noise, criterion, noise_of, steady, unevenness
from levelbench.tuning.identify.residuals import verdicts
from levelbench.tuning.identify.result import Verdict
from levelbench.tuning.identify.rows import Rows
from levelbench.tuning.identify.spread import NONE, Spread, spread_of

INTEGRATING, FIRST_ORDER = "integrating", "first-order"
MODELS = (INTEGRATING, FIRST_ORDER)
_OUTWARDS = 12  # steps of a quarter more, to 12 times as far


@dataclass(frozen=True, eq=False)
class Found:
    """A process with its noise, at its lowest point, on some rows; dead times up to `longest` [s] were looked at."""

    problem: Problem
    rows: Rows
    noise: Noise
    solved: Solved
    longest: float = np.inf

    @property
    def parameters(self) -> int:
        """How many numbers were found: coefficients, searched ones, those of the noise, and its size."""
        return int(self.solved.kept.sum()) + len(self.solved.point) + self.noise.count + 1

    @property
    def criterion(self) -> float:
        """The corrected Akaike criterion, for as many samples as there are rows; less is better."""
        each = len(self.solved.left) / len(self.rows)
        lost = unevenness(self.rows, self.problem.ready, self.noise)
        return criterion(self.solved.squares / each, len(self.rows), self.parameters) + lost

    def judged(self) -> tuple[Verdict, ...]:
        """Judge what is left over."""
        ready, rows = self.problem.ready, self.rows
        before = np.maximum(rows.at - 1, 0)  # what the PV at a sample can answer to
        driven = rows.means(ready.output[before])[rows.run >= len(self.noise.weights)]
        return verdicts(self.solved.left, driven, self.noise.count, ready.step * rows.block)

    def spread(self, *, hangs_together: bool) -> Spread:
        """Work out how surely the coefficients that count and then the searched numbers are known.

        When what is left of the rows still `hangs_together`, that is described once more and counted in.
        """
        slopes = np.column_stack((self.solved.columns, self.solved.slopes))
        ready, left, step = self.problem.ready, self.solved.left, self.problem.ready.step * self.rows.block
        wider = self.noise.wider(step, len(self.rows), slopes.shape[1])
        weights = NONE
        if hangs_together:
            every = np.arange(len(left))
            weights = steady(noise_of(left, Rows(every, every), ready), step)
        return spread_of(slopes, left, weights, wider=wider)

    def dead_times(self, half: float) -> tuple[float, float]:
        """Give the least and the largest dead time [s] that the record goes with, where Student's bound is `half` [s].

        How well a dead time is told changes from one sample to the next, so the bound by slopes alone is too near: it
        is moved out to where the squares have grown by as much as at the bound they should have (likelihood profile;
        D. M. Bates, D. G. Watts, Nonlinear Regression Analysis (1988), section 6.1).
        """
        at, spare = self.solved.point[0], max(len(self.solved.left) - self.parameters, 1)
        limit = self.solved.squares * (1.0 + float(stdtrit(spare, 0.975)) ** 2 / spare)
        return tuple(self._out(at, sign, half, limit) for sign in (-1.0, 1.0))  # type: ignore[return-value]

    def _out(self, at: float, sign: float, half: float, limit: float) -> float:
        """Go out from a dead time [s] until the squares are beyond a limit."""
        reached = half
        for _ in range(_OUTWARDS):
            dead_time = at + sign * reached
            if not 0.0 < dead_time < self.longest:
                break
            if self._squares(dead_time) > limit:
                break
            reached *= 1.25
        return float(np.clip(at + sign * reached, 0.0, self.longest))

    def _squares(self, dead_time: float) -> float:
        """Give the least squares with a dead time [s], the time constant going along with it."""
        point = (dead_time, *self.solved.point[1:])
        solved = self.problem.solve(point, self.rows, self.noise)
        for _ in range(2 * (len(point) - 1)):  # downhill in the time constant alone
            slope = solved.slopes[:, 1] - solved.base @ (solved.base.T @ solved.slopes[:, 1])
            step = float(slope @ solved.left) / max(float(slope @ slope), 1e-300)
            tried = self.problem.solve(
                (dead_time, solved.point[1] + float(np.clip(step, -1.0, 1.0))), self.rows, self.noise
            )
            if tried.squares >= solved.squares:
                break
            solved = tried
        return solved.squares
