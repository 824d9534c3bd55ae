"""What a fit to a record gives, whichever model was fitted."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from levelbench.project import Value
from levelbench.quantity import Figure, Units, show
from levelbench.tuning.process import Process


@dataclass(frozen=True)
class Estimate:
    """One parameter with its interval of 95 %: it lies from `low` to `high` (SI unit of its figure, or `unit`).

    `told_apart` is False when the record can't tell the parameter; `words` then say why and what would. `unit` is that
    of a figure that is a plain number here because its record has a unit of its own ("V/s"), else "".
    """

    figure: Figure
    low: float
    high: float
    told_apart: bool
    words: str
    unit: str = ""

    def value(self, units: Units) -> str:
        """Show the value in a person's units."""
        return self._shown(self.figure.si, units)

    def interval(self, units: Units) -> str:
        """Show the interval in a person's units."""
        return f"{self._shown(self.low, units)} … {self._shown(self.high, units)}"

    def _shown(self, si: float, units: Units) -> str:
        if self.unit:
            return f"{show(si, self.figure.dimension, '', self.figure.step)} {self.unit}"
        return units.show(si, self.figure.dimension, self.figure.step)


@dataclass(frozen=True)
class Verdict:
    """One test of what is left over: its figure (how likely noise alone is to do this), passed or not, in words."""

    figure: Figure
    passed: bool
    words: str


@dataclass(frozen=True)
class Fit:
    """A model fitted to a record.

    model is its key, title its name for people; process is what loop rules and search may use, when the model has one;
    time [s], simulated and measured[n] in SI when the record's unit is known, else in its own; used[n] is False where
    a sample was left out. edits are the typed texts of the project's keys that it would change in one undo step; none
    when the record is not of this rig. criterion is the corrected Akaike criterion (less is better, between models of
    one record only).
    """

    model: str
    title: str
    process: Process | None
    estimates: tuple[Estimate, ...]
    time: NDArray[np.float64]
    simulated: NDArray[np.float64]
    measured: NDArray[np.float64]
    used: NDArray[np.bool_]
    rmse: Figure
    tests: tuple[Verdict, ...]
    warnings: tuple[str, ...]
    criterion: float
    unit: str = ""
    edits: Mapping[str, Value] = field(default_factory=dict)

    @property
    def residuals(self) -> NDArray[np.float64]:
        """What the model does not explain: measured less simulated[n]."""
        return self.measured - self.simulated
