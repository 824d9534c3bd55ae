"""What is not known for sure about a rig, as ranges: the box that good settings must hold in; and what is asked.

A box has a corner wherever each range is at one of its ends. Ranges that act alike go together: a strong pump is one
with much flow and little wear, a long delay one that spins up slowly behind a sensor that averages long.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from levelbench.project.records import Project
from levelbench.quantity import Dimension, in_prose
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import RigError
from levelbench.tuning.loop import draw_at, loop_model
from levelbench.tuning.process import of_rig

D = Dimension

SPREAD_OF_FLOW = 0.10
FURTHER_WEAR = 0.10
SPREAD_OF_SPIN_UP = (0.75, 1.5)
SPREAD_OF_NOISE = (0.5, 2.0)
SPREAD_OF_AVERAGING = 1.5
MOST_SENSITIVITY = 2.0
_SHORTEST = 0.1  # of the described delay


@dataclass(frozen=True)
class Point:
    """One rig out of the box.

    flow: pump's flow as a share of the entered one; wear: share of it that is lost; draw [m3/s]; spin_up [s]; noise,
    standard deviation [m]; averaging: readings.
    """

    flow: float
    wear: float
    draw: float
    spin_up: float
    noise: float
    averaging: int


@dataclass(frozen=True)
class Range:
    """From one value to another (SI) that is no smaller, and why; of which dimension, and what it is called."""

    key: str
    name: str
    dimension: Dimension
    least: float
    most: float
    why: str

    def at(self, share: float) -> float:
        """Give the value at a share of the way, 0 to 1."""
        return self.least + share * (self.most - self.least)


@dataclass(frozen=True)
class Corner:
    """A point of the box and what it is called: "weak pump, largest draw, long delay"."""

    name: str
    point: Point


@dataclass(frozen=True)
class Box:
    """The ranges that the settings must hold in. `ranges` gives them in the order in which a person reads them."""

    flow: Range
    wear: Range
    draw: Range
    spin_up: Range
    noise: Range
    averaging: Range

    @property
    def ranges(self) -> tuple[Range, ...]:
        """All ranges."""
        return (self.flow, self.wear, self.draw, self.spin_up, self.noise, self.averaging)

    def corners(self) -> tuple[Corner, ...]:
        """Give the corners of pump, draw and delay, all with the most noise, and the middle; equal ones only once."""
        found = {
            self._at(pump, draw, delay): self._called(pump, draw, delay)
            for pump, draw, delay in product((0, 1), repeat=3)
        }
        middle = self.point((0.5,) * 6)
        found.setdefault(middle, "middle of everything")
        return tuple(Corner(name, point) for point, name in found.items())

    def point(self, shares: tuple[float, ...]) -> Point:
        """Give the point at a share of each range, 0 to 1, in the order of `ranges`."""
        flow, wear, draw, spin_up, noise, averaging = (
            one.at(share) for one, share in zip(self.ranges, shares, strict=True)
        )
        return Point(flow, wear, draw, spin_up, noise, max(round(averaging), 1))

    def random(self, count: int, seed: int) -> tuple[Point, ...]:
        """Give points drawn evenly from the whole box."""
        shares = np.random.default_rng(seed).random((count, 6))
        return tuple(self.point(tuple(row)) for row in shares.tolist())

    def _at(self, pump: int, draw: int, delay: int) -> Point:
        return self.point((pump, 1 - pump, draw, delay, 1, delay))

    def _called(self, pump: int, draw: int, delay: int) -> str:
        parts = (
            (self.flow, self.wear, ("weak pump", "strong pump")[pump]),
            (self.draw, self.draw, ("least draw", "largest draw")[draw]),
            (self.spin_up, self.averaging, ("short delay", "long delay")[delay]),
        )
        told = [word for one, other, word in parts if one.least != one.most or other.least != other.most]
        return ", ".join(told) or "the rig as entered"


@dataclass(frozen=True)
class Limits:
    """What the settings must keep to in every corner; None: no limit.

    overshoot [m3]; sensitivity Ms; travel: output changes over the step and the load [1/s]; starts of the pump while
    it holds [1/s].
    """

    overshoot: float
    sensitivity: float = MOST_SENSITIVITY
    travel: float | None = None
    starts: float | None = None

    def __post_init__(self) -> None:
        """Refuse limits that nothing can keep to. Raises RigError."""
        if not self.overshoot > 0:
            raise RigError("The overshoot asked is not above zero.", "search.overshoot", "Ask for a volume above 0.")
        if not self.sensitivity > 1:
            advice = in_prose("Ask for 1.2 to 2.5: 1.4 is calm, 2 is lively.")
            raise RigError("The largest sensitivity Ms asked is not above 1.", "search.sensitivity", advice)


def default_limits(rig: Rig) -> Limits:
    """Give the limits that a person starts from.

    Half an entry step of overshoot: on a panel that shows entry steps it reads as none. Ms at most 2 in every corner,
    the upper end of what is usual (Åström & Hägglund 1995: 1.2 to 2.0; quoted from memory). Starts as the pump's data
    sheet has them.
    """
    most = rig.project.pump.most_starts
    return Limits(float(rig.panel[kernel.P_SP_STEP]) / 2, starts=None if most is None else most.si)


def default_box(rig: Rig) -> Box:
    """Give the box that a person starts from, each range from the project and with its reason."""
    project, sensor = rig.project, rig.params.sensor
    spread, noise, averaging = project.pump.spin_up.si, sensor.noise, float(sensor.averaging)
    wear = project.pump.wear.si
    (short, long), (calm, rough) = SPREAD_OF_SPIN_UP, SPREAD_OF_NOISE
    return Box(
        Range("flow", "pump's flow, of the entered", D.PERCENT, 1 - SPREAD_OF_FLOW, 1 + SPREAD_OF_FLOW, _WHY["flow"]),
        Range("wear", "pump's wear", D.PERCENT, wear, min(wear + FURTHER_WEAR, 0.9), _WHY["wear"]),
        Range("draw", "draw", D.FLOW, *_draws(rig, project), _WHY["draw"]),
        Range("spin_up", "pump's spin-up", D.TIME, short * spread, long * spread, _WHY["spin_up"]),
        Range("noise", "sensor's noise", D.LENGTH, calm * noise, rough * noise, _WHY["noise"]),
        Range(
            "averaging",
            "readings averaged",
            D.NUMBER,
            averaging,
            min(float(int(averaging * SPREAD_OF_AVERAGING)), float(kernel.RING)),
            _WHY["averaging"],
        ),
    )


def box_from_record(rig: Rig, slopes: tuple[float, float] | None, dead_times: tuple[float, float] | None = None) -> Box:
    """Give the box with flow and delay as a record tells them: intervals of its rate per output [m3/s], dead time [s].

    Where an interval lies beside what is described, so does the range. What makes up a delay no record tells, so
    spin-up and averaging are both stretched as the dead time is by that of the described rig (the half rule's).
    """
    box = default_box(rig)
    if slopes is not None:
        slope = loop_model(rig).slope.si
        least, most = (max(one / slope, 0.1) for one in slopes)
        why = "from a record: its rate per output, by the described one; interval of 95 %"
        box = replace(box, flow=replace(box.flow, least=least, most=most, why=why))
    if dead_times is not None:
        least, most = (max(one / of_rig(rig).dead_time, _SHORTEST) for one in dead_times)
        why = "from a record: stretched as its dead time is, by the described one; interval of 95 %"
        spin_up, averaging = rig.project.pump.spin_up.si, rig.params.sensor.averaging
        readings = (min(max(round(one * averaging), 1), kernel.RING) for one in (least, most))
        few, many = readings
        box = replace(
            box,
            spin_up=replace(box.spin_up, least=least * spin_up, most=most * spin_up, why=why),
            averaging=replace(box.averaging, least=float(few), most=float(many), why=why),
        )
    return box


_WHY = {
    "flow": "bucket and watch come within some 10 % (common practice, no source)",
    "wear": "the pump loses flow before it is looked at again: a further tenth (common practice, no source)",
    "draw": "from the draw at the start, or half the largest if that is less, to the duty's largest draw",
    "spin_up": "seldom measured: from three quarters to half as much again",
    "noise": "half to twice the entered: splashing and foam come and go",
    "averaging": "as entered, up to half as much again: it gets turned up when a reading looks restless",
}


def _draws(rig: Rig, project: Project) -> tuple[float, float]:
    """Give the draws of the box [m3/s]; nothing for a rig without a drain."""
    if rig.params.drain.kind == 0:
        return 0.0, 0.0
    largest = project.duty.largest_draw.si
    return min(draw_at(rig, float(rig.panel[kernel.P_SET_POINT])), largest / 2), largest
