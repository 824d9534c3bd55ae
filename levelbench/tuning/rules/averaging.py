"""Averaging level: the volume may swing within a room that is given, so that the flow changes as little as can be.

Sources:
[1] T. E. Marlin, "Process Control" (2nd ed. 2000), chapter 18: K = 0.736·Δq/ΔV with Ti = 4/(k'·K) (quoted from memory);
    2/e = 0.7358 is the closed form of the critically damped loop.
"""

import math

from levelbench.rig.settings import Settings
from levelbench.tuning.process import Integrating, Process
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused

AVERAGING = "T. E. Marlin, Process Control (2nd ed. 2000), chapter 18 (quoted from memory)"
TRAVEL = "T. E. Marlin, Process Control (2nd ed. 2000), chapter 18: gain = travel/allowed deviation (from memory)"
_LEAST_TURN = 2 / math.e  # peak of a critically damped PI loop = 2/e·Δu/K


def averaging_p(process: Process, choices: Choices) -> Settings:
    """Give K = Δu/ΔV, the integral off: the PV has moved by all of ΔV when the output has moved by Δu [1]."""
    _, least = _least_gain(process, choices)
    return Settings(least, math.inf, 0.0)


def averaging_pi(process: Process, choices: Choices) -> Settings:
    """Give K = 2/e·Δu/ΔV = 0.736·Δu/ΔV, Ti = 4/(k'·K): critically damped, its largest deviation is ΔV [1]."""
    one, least = _least_gain(process, choices)
    gain = _LEAST_TURN * least
    return Settings(gain, 4 / (one.slope * gain), 0.0)


def _least_gain(process: Process, choices: Choices) -> tuple[Integrating, float]:
    if not isinstance(process, Integrating):
        raise RuleRefused("Averaging level is made for a tank; this process comes to rest by itself.", "Use lambda.")
    if choices.room <= 0 or choices.move <= 0:
        raise RuleRefused(
            "Averaging level asks how far the volume may swing, and for which change of the load.",
            "Give the allowed deviation, and a largest draw above the present one (duty.largest_draw).",
        )
    return process, choices.move / choices.room


AVERAGING_LEVEL = (
    Rule("averaging_p", "averaging level", "P", Aim.SMOOTH, "K = Δu/ΔV, integral off", TRAVEL, averaging_p),
    Rule(
        "averaging_pi", "averaging level", "PI", Aim.SMOOTH, "K = 0.736·Δu/ΔV, Ti = 4/(k'·K)", AVERAGING, averaging_pi
    ),
)
