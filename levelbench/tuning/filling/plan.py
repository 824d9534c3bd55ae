"""The fills that every way does, so that they can be compared: same rigs, same seeds, same volumes to begin with."""

from dataclasses import dataclass
from threading import Event

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import written
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import Runner
from levelbench.tuning.doubt import DELAY, FLOW, Doubt
from levelbench.tuning.filling.law import CutOff, cut_off, full_flow
from levelbench.tuning.filling.runs import Fill, Filled, by_cut, by_pi, fill_of, lasting, with_weight

Floats = NDArray[np.float64]

RIGS = 6  # out of what is not known; the first is the rig as entered
LEARNING, COUNTED = 6, 6  # fills on each rig
WEIGHTS = (0.0, 0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Way:
    """A way of filling. weight: of the set point, None for a cut-off; learns: from its fills; begins: with the model's
    lead, or at the set point.
    """

    key: str
    name: str
    weight: float | None = None
    learns: bool = False
    begins_ahead: bool = False


CUT = Way("cut", "a cut at the set point")
LATE = Way("late", "a cut at the set point, learning", learns=True)
LEARNED = Way("learning", "the learning cut-off", learns=True, begins_ahead=True)


def ways_of(rig: Rig) -> tuple[Way, ...]:
    """Give the ways: the PI controller as set, with other weights, and the cut-offs."""
    own = float(rig.panel[kernel.P_WEIGHT])
    others = [
        Way(f"pi {round(100 * one)}", f"the PI with b = {written(one, 'g')}", one) for one in WEIGHTS if one != own
    ]
    return (Way("pi", f"the PI as set, b = {written(own, 'g')}", own), *others, CUT, LATE, LEARNED)


@dataclass(frozen=True)
class Track:
    """One fill to look at: time since the order [s], volume as the controller sees it without noise [m3], output."""

    name: str
    time: Floats
    volume: Floats
    output: Floats


@dataclass(frozen=True)
class Plan:
    """The fills of one size, from low to high [m3], each watched so long [s], and the cut-off's law."""

    rig: Rig
    low: float
    high: float
    seconds: float
    law: CutOff

    @classmethod
    def of(cls, rig: Rig, low: float, high: float) -> "Plan":
        """Plan the fills of a rig between two volumes [m3]; raises RigError when the pump gives no flow."""
        slow = Doubt(1 - FLOW, 1 + DELAY).of(rig)
        return cls(
            rig, low, high, max(lasting(slow, low, high), 2 * (high - low) / full_flow(slow, high)), cut_off(rig, high)
        )

    @property
    def tolerance(self) -> float:
        """Half an entry step [m3]: nearer to what was asked than to its neighbour."""
        return float(self.rig.panel[kernel.P_SP_STEP]) / 2

    def fill(self, number: int, at: int) -> Fill:
        """Give the fill `at` on the rig `number` out of what is not known; it begins near the low end."""
        flow, delay = np.random.default_rng(number).uniform(-1.0, 1.0, 2) if number else (0.0, 0.0)
        rig = Doubt(1 + FLOW * float(flow), 1 + DELAY * float(delay)).of(self.rig)
        seed = 1000 * number + at + 1
        off = float(np.random.default_rng(seed).uniform(-1.0, 1.0)) * self.tolerance
        return fill_of(rig, (max(self.low + off, 0.0), self.high), self.seconds, seed)

    def fills(self, runner: Runner, way: Way, number: int) -> list[Filled]:
        """Do the fills of one way on one rig: those that are counted, and for `LATE` those before, too."""
        if way.weight is not None:
            fills = [self.fill(number, LEARNING + at) for at in range(COUNTED)]
            return [by_pi(runner, with_weight(one, way.weight))[0] for one in fills]
        lead, found = (self.law.lead if way.begins_ahead else 0.0), list[Filled]()
        for at in range(LEARNING + COUNTED):
            found.append(by_cut(runner, self.fill(number, at), self.law, lead)[0])
            lead = self.law.learned(lead, found[-1].learned) if way.learns else lead
        return found if way is LATE else found[LEARNING:]

    def track(self, way: Way) -> Track:
        """Give one fill of the rig as entered to look at; the cut-off with its lead from the model."""
        runner, one = Runner(Event()), self.fill(0, LEARNING)
        lead = self.law.lead if way.begins_ahead else 0.0
        if way.weight is not None:
            _, rows = by_pi(runner, with_weight(one, way.weight))
        else:
            _, rows = by_cut(runner, one, self.law, lead)
        tail = rows[-max((one.scans - one.order) // 8, 1) :]
        seen = rows[:, 3] + float(np.mean(tail[:, 2] - tail[:, 3]))
        return Track(way.name, rows[:, 0] - one.order * one.rig.scan, seen, rows[:, 5].copy())
