"""One experiment, everything decided, and what follows from that by the loop model and the pump's own flows."""

import math
from dataclasses import dataclass
from functools import cached_property

from levelbench.project import units
from levelbench.quantity import Dimension, Figure
from levelbench.rig import Rig, kernel
from levelbench.rig.panel import BITS
from levelbench.tuning.experiments.guard import Guard
from levelbench.tuning.experiments.limit_cycle import Cycle, Relay, cycle_of_integrating
from levelbench.tuning.loop import draw_at, loop_model, operating_point
from levelbench.tuning.process import Integrating

BUMP, RELAY, STEP = "bump", "relay", "step"
KINDS = {BUMP: "open-loop step", RELAY: "relay", STEP: "set point step"}
CYCLES = 5  # of a relay that are measured; the first is not
_RESTS = 4.0  # time constants after which a level has come to rest, to 2 %


@dataclass(frozen=True)
class Wishes:
    """What a person wants otherwise than the plan would have it; None leaves it to the plan.

    size: jump of the output, half the relay's, or step of the set point [1, or m3]; bias of a relay [1]; hysteresis,
    half its width [m3]; lasts: each stretch of a bump, or the time after each set point step [s]; cycles of a relay;
    repeats with another seed; opening of the drain's valve [1]; draw [m3/s].
    """

    size: float | None = None
    bias: float = 0.0
    hysteresis: float | None = None
    lasts: float | None = None
    cycles: int = CYCLES
    repeats: int = 5
    opening: float | None = None
    draw: float | None = None


@dataclass(frozen=True)
class Plan:
    """One experiment on one rig, everything decided.

    rig: with the draw that it needs; size, hysteresis, lasts, cycles, repeats as in `Wishes`; high and low: the outputs
    that it goes between [1]; balance: that at which the level should stand still [1]; drain: the panel entry and value
    that somebody must set for it first, if any; figures: what will be seen; says: what will be done, and what to heed.
    """

    rig: Rig
    kind: str
    size: float
    hysteresis: float
    lasts: float
    cycles: int
    repeats: int
    balance: float
    high: float
    low: float
    drain: tuple[str, float] | None
    guard: Guard
    settling: float
    figures: tuple[Figure, ...]
    says: tuple[str, ...]

    @property
    def volume(self) -> float:
        """Where it begins and ends [m3]."""
        return float(self.rig.panel[kernel.P_SET_POINT])

    @cached_property
    def regulation(self) -> float:
        """Time constant by which the drain lets the level come to rest by itself [s]; infinite when it does not."""
        near = 0.01 * self.volume
        more = draw_at(self.rig, self.volume + near) - draw_at(self.rig, self.volume - near)
        return 2 * near / more if more > 1e-6 * self.rig.params.pump.largest_flow else math.inf

    @cached_property
    def settles(self) -> bool:
        """Whether a stretch of a bump is long enough for the level to come to rest by itself."""
        return self.kind == BUMP and self.lasts >= _RESTS * self.regulation + self.model.dead_time

    def away(self, size: float) -> float:
        """Give how far a stretch of a bump takes the PV for a jump [1] of the output [m3]."""
        slope, rests = self.model.slope, self.regulation
        return slope * size * (self.lasts if math.isinf(rests) else rests * -math.expm1(-self.lasts / rests))

    @cached_property
    def model(self) -> Integrating:
        """The process as the project has it, its whole delay as dead time."""
        found = loop_model(self.rig)
        return Integrating(found.slope.si, found.total_delay.si)


def expected(made: Plan) -> float:
    """Give how long the experiment itself lasts [s], from the balance to the end."""
    if made.kind == BUMP:
        return (3 if made.settles else 4) * made.lasts
    if made.kind == STEP:
        return 2.25 * made.lasts
    return (made.cycles + 1.5) * relay_cycle(made).period


def relay_cycle(made: Plan) -> Cycle:
    """Give the cycle that a relay is expected to make, by the loop model and the pump's own flows."""
    rise, fall = rates(made)
    slope = made.model.slope
    return cycle_of_integrating(made.model, Relay(rise / slope, fall / slope, made.hysteresis))


def rates(made: Plan) -> tuple[float, float]:
    """Give how fast the volume rises and falls between the two outputs [m3/s], both positive when they do."""
    drawn = draw_at(made.rig, made.volume)
    return flow_at(made.rig, made.high) - drawn, drawn - flow_at(made.rig, made.low)


def flow_at(rig: Rig, output: float) -> float:
    """Give what the pump gives at an output [m3/s], running, at the lift of the starting set point."""
    pump = rig.params.pump
    state = rig.start()
    state.conditions |= 1 << BITS["pump allowed"] | 1 << BITS["pump running"]
    flow = float(kernel.pump_wants(rig.params, state, 1.0 if pump.on_off else output, operating_point(rig).lift))
    return flow * output if pump.on_off else flow


def flow_words(rig: Rig, si: float) -> str:
    """Show a flow [m3/s] to two digits."""
    return units(rig.project).show(si, Dimension.FLOW, 10.0 ** math.floor(math.log10(si) - 1) if si > 0 else 0.0)
