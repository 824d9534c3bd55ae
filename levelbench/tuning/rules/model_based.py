"""Rules that ask how fast the closed loop should be: internal-model (SIMC) and lambda.

Sources (quoted from memory; the formulas are checked against the published examples in the tests):
[1] S. Skogestad, "Simple analytic rules for model reduction and PID controller tuning", J. Process Control 13 (2003)
    291-309.
[2] D. E. Rivera, M. Morari, S. Skogestad, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 252-265: lambda, self-regulating.
[3] J. Beall, "Loop tuning basics: integrating processes", InTech, March/April 2016: arrest time.
"""

import math

from levelbench.rig.settings import Settings, from_series
from levelbench.tuning.process import FirstOrder, Process
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused

SIMC = "S. Skogestad, J. Process Control 13 (2003) 291-309 (quoted from memory)"
LAMBDA = (
    "D. E. Rivera, M. Morari, S. Skogestad, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 252; J. Beall, InTech, "
    "March/April 2016 (both quoted from memory)"
)
ARREST = 3.0  # dead times


def simc_pi(process: Process, choices: Choices) -> Settings:
    """Give K = 1/(k'·(τc + θ)), Ti = min(T, 4·(τc + θ)) [1]; an integrating process has no T."""
    one = process.reduced()
    return Settings(*_simc(one, choices), 0.0)


def simc_pid(process: Process, choices: Choices) -> Settings:
    """Give the same for the process without its largest lag τ, in series form, and Td = τ [1]."""
    one = process.reduced(1)
    if not one.lags:
        raise RuleRefused("SIMC PID answers a second lag, and this process has none.", "Use SIMC PI.")
    return from_series(Settings(*_simc(one, choices), one.lags[0]))


def _simc(one: Process, choices: Choices) -> tuple[float, float]:
    closed = (one.dead_time if choices.closed_loop_time is None else choices.closed_loop_time) + one.dead_time
    if closed <= 0:
        raise RuleRefused("SIMC divides by τc + θ, and both are 0.", "Choose a closed-loop time above 0.")
    longest = one.time_constant if isinstance(one, FirstOrder) else math.inf
    return 1 / (one.slope * closed), min(longest, 4 * closed)


def lambda_pi(process: Process, choices: Choices) -> Settings:
    """Give K = T/(k·(λ + θ)), Ti = T [2]; integrating K = (2λ + θ)/(k'·(λ + θ)²), Ti = 2λ + θ [3]."""
    one = process.reduced()
    arrest = ARREST * one.dead_time if choices.arrest_time is None else choices.arrest_time
    whole = arrest + one.dead_time
    if whole <= 0:
        raise RuleRefused("Lambda divides by λ + θ, and both are 0.", "Choose an arrest time above 0.")
    if isinstance(one, FirstOrder):
        return Settings(one.time_constant / (one.gain * whole), one.time_constant, 0.0)
    integral = arrest + whole
    return Settings(integral / (one.slope * whole**2), integral, 0.0)


MODEL_BASED = (
    Rule("simc_pi", "SIMC", "PI", Aim.HOLD, "K = 1/(k'·(τc + θ)), Ti = 4·(τc + θ)", SIMC, simc_pi),
    Rule("simc_pid", "SIMC series", "PID", Aim.HOLD, "K' = 1/(k'·(τc + θ)), Ti' = 4·(τc + θ), Td' = τ", SIMC, simc_pid),
    Rule("lambda_pi", "lambda", "PI", Aim.HOLD, "K = (2λ + θ)/(k'·(λ + θ)²), Ti = 2λ + θ", LAMBDA, lambda_pi),
)
