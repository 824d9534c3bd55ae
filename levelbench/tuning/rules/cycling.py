"""Rules that ask for the gain at which the loop just cycles, and the period of that cycle.

Sources (quoted from memory; the formulas are checked against published examples in the tests):
[1] J. G. Ziegler, N. B. Nichols, Trans. ASME 64 (1942) 759-768: the ultimate method.
[2] B. D. Tyreus, W. L. Luyben, Ind. Eng. Chem. Res. 31 (1992) 2625-2628; PID after M. L. Luyben, W. L. Luyben,
    "Essentials of Process Control" (1997).
"""

from levelbench.rig.settings import Settings
from levelbench.tuning.process import FirstOrder, Process
from levelbench.tuning.response import ultimate
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused

ULTIMATE = "J. G. Ziegler, N. B. Nichols, Trans. ASME 64 (1942) 759-768, ultimate method (quoted from memory)"
CALM = "B. D. Tyreus, W. L. Luyben, Ind. Eng. Chem. Res. 31 (1992) 2625-2628 (quoted from memory)"
CALM_PID = f"{CALM}; PID: M. L. Luyben, W. L. Luyben, Essentials of Process Control (1997) (quoted from memory)"


def from_cycle(gain: float, period: float, key: str) -> Settings:
    """Give the settings of one of these rules from an ultimate gain [any unit] and period [s], as a test found them.

    >>> from_cycle(0.95, 12.0, "ultimate_pid")
    Settings(gain=0.57, integral_time=6.0, derivative_time=1.5)
    """
    share, integral, derivative = _SHARES[key]
    return Settings(share * gain, integral * period, derivative * period)


_SHARES = {
    "ultimate_pi": (0.45, 1 / 1.2, 0.0),  # [1]
    "ultimate_pid": (0.6, 0.5, 0.125),  # [1]
    "tyreus_luyben_pi": (1 / 3.2, 2.2, 0.0),  # [2]
    "tyreus_luyben_pid": (1 / 2.2, 2.2, 1 / 6.3),  # [2]
}


def _rule(key: str, name: str, kind: str, formula: str, source: str) -> Rule:
    def compute(process: Process, _choices: Choices) -> Settings:
        if process.dead_time + sum(process.lags) <= 0:
            raise RuleRefused("A process without any delay never cycles.", "Use lambda with an arrest time.")
        pole = 1 / process.time_constant if isinstance(process, FirstOrder) else 0.0
        return from_cycle(*ultimate(process.slope, process.dead_time, process.lags, pole), key)

    return Rule(key, name, kind, Aim.HOLD, formula, source, compute)


CYCLING = (
    _rule("ultimate_pi", "Ziegler-Nichols ultimate", "PI", "K = 0.45·Ku, Ti = Pu/1.2", ULTIMATE),
    _rule("ultimate_pid", "Ziegler-Nichols ultimate", "PID", "K = 0.6·Ku, Ti = Pu/2, Td = Pu/8", ULTIMATE),
    _rule("tyreus_luyben_pi", "Tyreus-Luyben", "PI", "K = Ku/3.2, Ti = 2.2·Pu", CALM),
    _rule("tyreus_luyben_pid", "Tyreus-Luyben", "PID", "K = Ku/2.2, Ti = 2.2·Pu, Td = Pu/6.3", CALM_PID),
)
