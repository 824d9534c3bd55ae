"""The limit cycle of a relay with hysteresis and bias, exactly: straight flanks or pieces of exponentials.

The relay turns the output to its low value when the PV reaches ε above the set point, and to its high value when it is
ε below. A dead time L later the PV turns. Nothing is approximated, so the forms can be turned round: from one measured
cycle back to the process. The describing function, which takes the PV for a sine, stands beside them with its error.

Integrating, flanks r₁ = k'·h up and r₂ = k'·l down (outputs h and l above and below the balance):
    peak ε + r₁·L, trough ε + r₂·L, output high for L + (2ε + r₂·L)/r₁, low for L + (2ε + r₁·L)/r₂
First order, resting at y₁ = K·h and y₂ = −K·l, E = e^(−L/T):
    peak y₁ − (y₁ − ε)·E, trough y₂ − (y₂ + ε)·E,
    high for L + T·ln((y₁ − trough)/(y₁ − ε)), low for L + T·ln((peak − y₂)/(−ε − y₂))

Sources:
[1] Y. Z. Tsypkin, Relay Control Systems (1984); Q.-G. Wang, C.-C. Hang, B. Zou, Ind. Eng. Chem. Res. 36 (1997) 2474:
    exact cycles from piecewise solutions (quoted from memory).
[2] K. J. Åström, T. Hägglund, Automatica 20 (1984) 645-651: the describing function of a relay, Ku = 4d/(π·a).
"""

import math
from dataclasses import dataclass

from levelbench.tuning.process import FirstOrder, Integrating
from levelbench.tuning.response import ultimate

EXACT = (
    "exact limit cycle of a relay, piecewise solution (Y. Z. Tsypkin, Relay Control Systems (1984), quoted from memory)"
)
DESCRIBING = "describing function of a relay, K. J. Åström, T. Hägglund, Automatica 20 (1984) 645-651"
INTEGRATING_ERROR = 8 / math.pi**2 - 1
"""Of the ultimate gain by describing function on an integrator with dead time, whatever its numbers: −18.9 %."""


@dataclass(frozen=True)
class Relay:
    """A relay about a balance: high above and low below it, both positive [1]; hysteresis ε, half its width [PV]."""

    high: float
    low: float
    hysteresis: float = 0.0

    @property
    def half(self) -> float:
        """Half of what the output jumps [1]."""
        return (self.high + self.low) / 2


@dataclass(frozen=True)
class Cycle:
    """A limit cycle: output high for on [s], low for off [s]; peak above and trough below the set point [PV], > 0."""

    on: float
    off: float
    peak: float
    trough: float

    @property
    def period(self) -> float:
        """Time of one cycle [s]."""
        return self.on + self.off

    @property
    def amplitude(self) -> float:
        """Half of what the PV swings [PV]."""
        return (self.peak + self.trough) / 2


def cycle_of_integrating(process: Integrating, relay: Relay) -> Cycle:
    """Give the cycle of an integrating process [1]; its lags must be counted into the dead time.

    >>> cycle_of_integrating(Integrating(0.02, 3.0), Relay(1.0, 1.0)).period
    12.0
    """
    rise, fall, dead, width = process.slope * relay.high, process.slope * relay.low, process.dead_time, relay.hysteresis
    peak, trough = width + rise * dead, width + fall * dead
    return Cycle(dead + (width + trough) / rise, dead + (width + peak) / fall, peak, trough)


def cycle_of_first_order(process: FirstOrder, relay: Relay) -> Cycle | None:
    """Give the cycle of a first-order process [1], None when its rest lies within the hysteresis and it doesn't cycle.

    >>> round(cycle_of_first_order(FirstOrder(1.0, 10.0, 1.0), Relay(1.0, 1.0)).amplitude, 6)
    0.095163
    """
    above, below = process.gain * relay.high, process.gain * relay.low
    width, constant, dead = relay.hysteresis, process.time_constant, process.dead_time
    if min(above, below) <= width:
        return None
    left = math.exp(-dead / constant)
    peak, trough = above - (above - width) * left, below - (below - width) * left
    return Cycle(
        dead + constant * math.log((above + trough) / (above - width)),
        dead + constant * math.log((below + peak) / (below - width)),
        peak,
        trough,
    )


@dataclass(frozen=True)
class Balanced:
    """A process found from a cycle, and the output at which it rests at the set point [1]."""

    process: Integrating
    balance: float


def integrating_from(cycle: Cycle, high: float, low: float, hysteresis: float) -> Balanced:
    """Turn the cycle of an integrating process round [1]: outputs high and low [1], hysteresis [PV].

    What the PV swings goes up while the output is high and down while it is low, so both flanks are known; the balance
    is the mean output, since over a cycle nothing is gained.

    >>> found = integrating_from(cycle_of_integrating(Integrating(0.02, 3.0), Relay(0.3, 0.1, 0.01)), 0.7, 0.3, 0.01)
    >>> round(found.process.slope, 9), round(found.process.dead_time, 9), round(found.balance, 9)
    (0.02, 3.0, 0.4)
    """
    swing = cycle.peak + cycle.trough
    rise, fall = swing / cycle.on, swing / cycle.off
    balance = (high * cycle.on + low * cycle.off) / cycle.period
    return Balanced(Integrating((rise + fall) / (high - low), (swing - 2 * hysteresis) / (rise + fall)), balance)


def first_order_from(cycle: Cycle, relay: Relay, gain: float) -> FirstOrder:
    """Turn the cycle of a first-order process round [1], its gain [PV per 1] known: from a step, or `gain_from`.

    >>> cycle = cycle_of_first_order(FirstOrder(2.0, 10.0, 1.0), Relay(0.5, 0.3, 0.05))
    >>> found = first_order_from(cycle, Relay(0.5, 0.3, 0.05), 2.0)
    >>> round(found.time_constant, 9), round(found.dead_time, 9)
    (10.0, 1.0)
    """
    above, below = gain * relay.high, gain * relay.low
    swing = cycle.peak + cycle.trough
    left = (above + below - swing) / (above + below - 2 * relay.hysteresis)
    rises = math.log((above + cycle.trough) / (above - relay.hysteresis))
    falls = math.log((below + cycle.peak) / (below - relay.hysteresis))
    constant = cycle.period / (rises + falls - 2 * math.log(left))
    return FirstOrder(gain, constant, -constant * math.log(left))


def gain_from(mean_pv: float, mean_output: float) -> float:
    """Give the gain [PV per 1] of a self-regulating process from the means over whole cycles of a relay with a bias.

    Both are counted from the rest before the test; the relay must be biased, or both are nothing.
    """
    return mean_pv / mean_output


def describing_gain(relay: Relay, amplitude: float) -> float:
    """Give the ultimate gain [1/PV] by the describing function, 4d/(π·a) [2]; amplitude a [PV]."""
    return 4 * relay.half / (math.pi * amplitude)


def by_describing(relay: Relay, cycle: Cycle) -> Integrating:
    """Give the integrating process that the describing function makes of a cycle, taking the swing for a sine [2].

    G(iω) = −(π/(4d))·(√(a² − ε²) + iε) at ω = 2π/P, so k' = ω·π·a/(4d) and θ = (π/2 − asin(ε/a))/ω. On straight flanks
    k' comes out 23 % too large, the ratio of a triangle to its first harmonic.
    """
    turning = 2 * math.pi / cycle.period
    lag = math.pi / 2 - math.asin(min(relay.hysteresis / cycle.amplitude, 1.0))
    return Integrating(turning / describing_gain(relay, cycle.amplitude), lag / turning)


def describing_error(process: Integrating | FirstOrder) -> tuple[float, float]:
    """Give by which share the describing function misses the ultimate gain, and the period the ultimate period.

    For an ideal symmetric relay, against the exact frequency response; −18.9 % and 0 on an integrator with dead time,
    to +27 % where dead time is nearly all.
    """
    relay = Relay(1.0, 1.0)
    if isinstance(process, Integrating):
        cycle: Cycle | None = cycle_of_integrating(process, relay)
        gain, period = ultimate(process.slope, process.dead_time, process.lags)
    else:
        cycle = cycle_of_first_order(process, relay)
        pole = 1 / process.time_constant
        gain, period = ultimate(process.slope, process.dead_time, process.lags, pole)
    assert cycle is not None  # without hysteresis every process cycles
    return describing_gain(relay, cycle.amplitude) / gain - 1, cycle.period / period - 1
