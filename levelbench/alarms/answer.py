"""What a design from the noise gives back: the grid, the front, what is proposed, and a rate in two ways."""

from dataclasses import dataclass
from functools import cached_property

from levelbench.alarms.candidate import Candidate, candidate
from levelbench.alarms.grid import Grid, Place
from levelbench.alarms.noise import Spread
from levelbench.alarms.purpose import Purpose
from levelbench.project import Value
from levelbench.quantity import Figure
from levelbench.rig import Rig


@dataclass(frozen=True)
class Check:
    """One rate by a closed form and by the simulation, whose 99 % interval is low to high [1/h].

    rice: the same for somebody who watches without a pause; None for noise that is not smooth.
    """

    closed: Figure
    simulated: Figure
    rice: Figure | None
    low: float
    high: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All rates that there are."""
        return (self.closed, self.simulated) if self.rice is None else (self.closed, self.simulated, self.rice)

    @property
    def agrees(self) -> bool:
        """Whether the closed form lies in the interval."""
        return self.low <= self.closed.si <= self.high


@dataclass(frozen=True, eq=False)
class Design:
    """The answer: the grid, the front at the proposed limit, and which choice is proposed.

    front: places in the grid, the least seconds wrong first; knee: which of them is where the front bends; picked: what
    is proposed, the knee or what the rule on dead bands makes of it; both None when nothing may be proposed; present:
    the project's own choice, None when the alarm is not in use.
    """

    rig: Rig
    alarm: str
    spread: Spread
    purpose: Purpose
    grid: Grid
    front: tuple[Place, ...]
    knee: Place | None
    picked: Place | None
    present: Place | None
    check: Check | None

    @cached_property
    def pick(self) -> Candidate | None:
        """The choice that is proposed."""
        return None if self.picked is None else self.candidate(self.picked)

    @property
    def edits(self) -> dict[str, Value]:
        """What the proposal changes in the project; empty when it is what stands there, or nothing is proposed."""
        return {} if self.pick is None else dict(self.pick.edits)

    def candidate(self, at: Place) -> Candidate:
        """Give a choice with all its figures."""
        return candidate(self.rig, self.spread, self.purpose, self.grid, at)
