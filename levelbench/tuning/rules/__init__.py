"""Published tuning rules for integrating and first-order processes, and what each of them does on a rig."""

from levelbench.tuning.rules.compare import NOW, SLIP, Linear, Refused, Ruled
from levelbench.tuning.rules.comparison import RULES, Comparison, compare
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused
from levelbench.tuning.rules.verdict import Verdict

__all__ = [
    "NOW", "RULES", "SLIP", "Aim", "Choices", "Comparison", "Linear", "Refused", "Rule", "RuleRefused", "Ruled",
    "Verdict", "compare",
]  # fmt: skip
