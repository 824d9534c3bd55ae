"""A process found with its noise, before anything is said about it."""

from dataclasses import dataclass

import numpy as np

from levelbench.tuning.identify.least import Problem, Solved
from levelbench.tuning.identify.noise import Noise, criterion, unevenness
from levelbench.tuning.identify.residuals import verdicts
from levelbench.tuning.identify.result import Verdict
from levelbench.tuning.identify.rows import Rows
from levelbench.tuning.identify.spread import Spread, spread_of

INTEGRATING, FIRST_ORDER = "integrating", "first-order"
MODELS = (INTEGRATING, FIRST_ORDER)


@dataclass(frozen=True, eq=False)
class Found:
    """A process with its noise, at its lowest point, on some rows."""

    problem: Problem
    rows: Rows
    noise: Noise
    solved: Solved

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
        ready, at = self.problem.ready, self.rows.at
        before = np.maximum(at - 1, 0)  # what the PV at a sample can answer to
        driven = ready.output[before][self.rows.since >= len(self.noise.weights)]
        return verdicts(self.solved.left, driven, self.noise.count, ready.step)

    def spread(self, *, hangs_together: bool) -> Spread:
        """Work out how surely the coefficients that count and then the searched numbers are known."""
        slopes = np.column_stack((self.solved.columns, self.solved.slopes))
        return spread_of(slopes, self.solved.left, hangs_together=hangs_together)
