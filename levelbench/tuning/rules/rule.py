"""What a published tuning rule is, and what a person chooses for those that ask."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from levelbench.quantity import LevelBenchError
from levelbench.rig.settings import Settings
from levelbench.tuning.process import Process


class RuleRefused(LevelBenchError):  # noqa: N818  it is the rule that says no
    """A rule that can't be used on a process. `what` says why not, `do` what to use instead."""

    def __init__(self, what: str, do: str) -> None:
        self.what, self.do = what, do
        super().__init__(f"{what} {do}")


class Aim(Enum):
    """What a rule is made for."""

    HOLD = "holds the volume"
    SMOOTH = "lets the volume swing to spare the flow"


@dataclass(frozen=True)
class Choices:
    """What a person chooses; None takes the rule's own.

    closed_loop_time: τc of the internal-model rules [s], else the dead time; arrest_time: λ [s], else three dead times;
    room: how far an averaging rule may let the PV move [any unit]; move: the output that the largest load asks for [1].
    """

    closed_loop_time: float | None = None
    arrest_time: float | None = None
    room: float = 0.0
    move: float = 0.0


@dataclass(frozen=True)
class Rule:
    """A published rule: what it gives and after whom. `formula` is what it does with an integrating process."""

    key: str  # stable, for --json and tests: "simc_pi"
    name: str
    kind: str  # "P", "PI", "PID"
    aim: Aim
    formula: str
    source: str
    compute: Callable[[Process, Choices], Settings]

    def settings(self, process: Process, choices: Choices | None = None) -> Settings:
        """Give the settings in the standard form, the gain per PV unit.

        Raises RuleRefused when the rule is not made for such a process, or lacks what it asks for.
        """
        return self.compute(process, choices or Choices())


def waits(process: Process, name: str) -> float:
    """Give a process's dead time [s]. Raises RuleRefused when there is none: the rule would give an endless gain."""
    if process.dead_time <= 0:
        raise RuleRefused(
            f"{name} divides by the dead time, and this process has none.", "Use lambda with an arrest time."
        )
    return process.dead_time
