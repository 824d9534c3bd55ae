"""Rules that ask for slope and dead time, or gain, time constant and dead time, as a step of the output shows them.

Sources (quoted from memory; the formulas are checked against published examples in the tests):
[1] K. J. Åström, T. Hägglund, "Revisiting the Ziegler-Nichols step response method for PID control", J. Process Control
    14 (2004) 635-650: AMIGO.
[2] J. G. Ziegler, N. B. Nichols, Trans. ASME 64 (1942) 759-768: the step method.
[3] G. H. Cohen, G. A. Coon, Trans. ASME 75 (1953) 827-834.
"""

from levelbench.rig.settings import Settings
from levelbench.tuning.process import FirstOrder, Integrating, Process
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused, waits

AMIGO = "K. J. Åström, T. Hägglund, J. Process Control 14 (2004) 635-650 (quoted from memory)"
STEP = "J. G. Ziegler, N. B. Nichols, Trans. ASME 64 (1942) 759-768, step method (quoted from memory)"
COHEN_COON = "G. H. Cohen, G. A. Coon, Trans. ASME 75 (1953) 827-834 (quoted from memory)"


def amigo_pi(process: Process, _choices: Choices) -> Settings:
    """Give K = (0.15 + (0.35 − θT/(θ + T)²)·T/θ)/k, Ti = 0.35θ + 13θT²/(T² + 12θT + 7θ²) [1]."""
    one = process.reduced()
    dead = waits(one, "AMIGO")
    if isinstance(one, Integrating):
        return Settings(0.35 / (one.slope * dead), 13.4 * dead, 0.0)
    t = one.time_constant
    gain = (0.15 + (0.35 - dead * t / (dead + t) ** 2) * t / dead) / one.gain
    return Settings(gain, 0.35 * dead + 13 * dead * t**2 / (t**2 + 12 * dead * t + 7 * dead**2), 0.0)


def amigo_pid(process: Process, _choices: Choices) -> Settings:
    """Give K = (0.2 + 0.45·T/θ)/k, Ti = θ·(0.4θ + 0.8T)/(θ + 0.1T), Td = 0.5θT/(0.3θ + T) [1]."""
    one = process.reduced()
    dead = waits(one, "AMIGO")
    if isinstance(one, Integrating):
        return Settings(0.45 / (one.slope * dead), 8 * dead, 0.5 * dead)
    t = one.time_constant
    integral = dead * (0.4 * dead + 0.8 * t) / (dead + 0.1 * t)
    return Settings((0.2 + 0.45 * t / dead) / one.gain, integral, 0.5 * dead * t / (0.3 * dead + t))


def step_pi(process: Process, _choices: Choices) -> Settings:
    """Give K = 0.9/(k'·θ), Ti = θ/0.3 [2]."""
    one = process.reduced()
    dead = waits(one, "Ziegler-Nichols")
    return Settings(0.9 / (one.slope * dead), dead / 0.3, 0.0)


def step_pid(process: Process, _choices: Choices) -> Settings:
    """Give K = 1.2/(k'·θ), Ti = 2θ, Td = θ/2 [2]."""
    one = process.reduced()
    dead = waits(one, "Ziegler-Nichols")
    return Settings(1.2 / (one.slope * dead), 2 * dead, dead / 2)


def cohen_coon_pi(process: Process, _choices: Choices) -> Settings:
    """Give K = (0.9 + r/12)/(k·r), Ti = θ·(30 + 3r)/(9 + 20r) with r = θ/T [3]."""
    one, r = _at_rest(process)
    return Settings((0.9 + r / 12) / (one.gain * r), one.dead_time * (30 + 3 * r) / (9 + 20 * r), 0.0)


def cohen_coon_pid(process: Process, _choices: Choices) -> Settings:
    """Give K = (4/3 + r/4)/(k·r), Ti = θ·(32 + 6r)/(13 + 8r), Td = 4θ/(11 + 2r) with r = θ/T [3]."""
    one, r = _at_rest(process)
    integral = one.dead_time * (32 + 6 * r) / (13 + 8 * r)
    return Settings((4 / 3 + r / 4) / (one.gain * r), integral, 4 * one.dead_time / (11 + 2 * r))


def _at_rest(process: Process) -> tuple[FirstOrder, float]:
    """Give a process that comes to rest by itself, and its ratio of dead time to time constant."""
    one = process.reduced()
    if isinstance(one, Integrating):
        raise RuleRefused(
            "Cohen-Coon asks for the gain and the time constant of a process that comes to rest by itself; a tank "
            "integrates and has neither.",
            "Use a rule for integrating processes.",
        )
    return one, waits(one, "Cohen-Coon") / one.time_constant


STEP_RESPONSE = (
    Rule("amigo_pi", "AMIGO", "PI", Aim.HOLD, "K = 0.35/(k'·θ), Ti = 13.4·θ", AMIGO, amigo_pi),
    Rule("amigo_pid", "AMIGO", "PID", Aim.HOLD, "K = 0.45/(k'·θ), Ti = 8·θ, Td = 0.5·θ", AMIGO, amigo_pid),
    Rule("step_pi", "Ziegler-Nichols step", "PI", Aim.HOLD, "K = 0.9/(k'·θ), Ti = θ/0.3", STEP, step_pi),
    Rule("step_pid", "Ziegler-Nichols step", "PID", Aim.HOLD, "K = 1.2/(k'·θ), Ti = 2·θ, Td = θ/2", STEP, step_pid),
    Rule("cohen_coon_pi", "Cohen-Coon", "PI", Aim.HOLD, "none: it asks for k and T", COHEN_COON, cohen_coon_pi),
    Rule("cohen_coon_pid", "Cohen-Coon", "PID", Aim.HOLD, "none: it asks for k and T", COHEN_COON, cohen_coon_pid),
)
