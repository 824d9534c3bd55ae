"""The two simple processes that tuning rules and simple fits speak of, and the one that a rig comes down to.

Sources:
[1] S. Skogestad, J. Process Control 13 (2003) 291-309: the half rule (quoted from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from levelbench.rig.assemble import Rig
from levelbench.rig.settings import Settings
from levelbench.tuning.loop import loop_model
from levelbench.tuning.response import OpenLoop


@dataclass(frozen=True)
class Integrating:
    """slope·e^(−θs)/(s·Π(τs + 1)): slope k', of the PV at an output of 1 [any unit/s], dead_time θ [s], lags τ [s]."""

    slope: float
    dead_time: float
    lags: tuple[float, ...] = ()

    def reduced(self, keep: int = 0) -> "Integrating":
        """Give the process with so many lags kept, the others counted into the dead time by the half rule [1]."""
        lags, dead_time = half_rule(self.lags, self.dead_time, keep)
        return replace(self, dead_time=dead_time, lags=lags)


@dataclass(frozen=True)
class FirstOrder:
    """gain·e^(−θs)/((Ts + 1)·Π(τs + 1)): gain of the PV at an output of 1 [any unit], time_constant T [s], dead_time θ,
    lags τ [s].
    """

    gain: float
    time_constant: float
    dead_time: float
    lags: tuple[float, ...] = ()

    def reduced(self, keep: int = 0) -> "FirstOrder":
        """Give the process with so many lags kept beside its time constant, the others by the half rule [1]."""
        kept, dead_time = half_rule((self.time_constant, *self.lags), self.dead_time, keep + 1)
        return replace(self, time_constant=kept[0], dead_time=dead_time, lags=kept[1:])

    @property
    def slope(self) -> float:
        """How fast the PV begins to move at an output of 1 [any unit/s]."""
        return self.gain / self.time_constant


Process = Integrating | FirstOrder


def half_rule(lags: Sequence[float], dead_time: float, keep: int) -> tuple[tuple[float, ...], float]:
    """Keep the `keep` largest lags [s] and give them and the dead time [s] that stands for all else [1].

    The largest lag that goes is shared: half to the last one kept, half to the dead time; the smaller ones go whole.

    >>> half_rule([1.0, 0.5, 0.25], 2.0, 1)
    ((1.25,), 2.5)
    """
    ordered = sorted(lags, reverse=True)
    kept, gone = ordered[:keep], ordered[keep:]
    if gone and kept:
        kept[-1] += gone[0] / 2
    return tuple(kept), dead_time + (gone[0] / 2 + sum(gone[1:]) if gone else 0.0)


def of_rig(rig: Rig, *, whole: bool = False) -> Integrating:
    """Give a rig's process about its starting set point, its lags counted into the dead time by the half rule [1].

    `whole` keeps every lag apart. The PV unit is m3. Raises RigError when the pump gives no flow at the set point.
    """
    model = loop_model(rig)
    found = Integrating(model.slope.si, model.dead_time, model.lags)
    return found if whole else found.reduced()


def open_loop_of(process: Process, settings: Settings, derivative_filter: float = math.inf) -> OpenLoop:
    """Give a process and a controller for their frequency response; the gain is per PV unit."""
    pole = 1 / process.time_constant if isinstance(process, FirstOrder) else 0.0
    return OpenLoop(process.slope, process.dead_time, process.lags, settings, derivative_filter, pole)
