"""The two simple processes that tuning rules and simple fits speak of, and the one that a rig comes down to.

Sources:
[1] S. Skogestad, J. Process Control 13 (2003) 291-309: the half rule (quoted from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from levelbench.rig.assemble import Rig
from levelbench.tuning.loop import loop_model


@dataclass(frozen=True)
class Integrating:
    """slope·e^(−θs)/(s·(τs + 1)): slope k' [PV unit/s per 1 of output], dead_time θ [s], lag τ [s]."""

    slope: float
    dead_time: float
    lag: float = 0.0


@dataclass(frozen=True)
class FirstOrder:
    """gain·e^(−θs)/((Ts + 1)·(τs + 1)): gain [PV unit per 1 of output], time_constant T, dead_time θ and lag τ [s]."""

    gain: float
    time_constant: float
    dead_time: float
    lag: float = 0.0


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


def of_rig(rig: Rig, *, with_lag: bool = False) -> Integrating:
    """Give a rig's process about its starting set point; its lags count into the dead time by the half rule [1].

    With `with_lag` one lag is kept apart, for rules that answer it with a derivative. The PV unit is m3.
    Raises RigError when the pump gives no flow at the set point.
    """
    model = loop_model(rig)
    kept, dead_time = half_rule(model.lags, model.dead_time, 1 if with_lag else 0)
    return Integrating(model.slope.si, dead_time, kept[0] if kept else 0.0)
