"""Published tuning rules for integrating and first-order processes, and what each of them does on a rig."""

from levelbench.tuning.rules.averaging import AVERAGING_LEVEL
from levelbench.tuning.rules.cycling import CYCLING
from levelbench.tuning.rules.model_based import MODEL_BASED
from levelbench.tuning.rules.rule import Aim, Choices, Rule, RuleRefused
from levelbench.tuning.rules.step_response import STEP_RESPONSE

RULES = (*MODEL_BASED, *STEP_RESPONSE[:4], *CYCLING, *STEP_RESPONSE[4:], *AVERAGING_LEVEL)

__all__ = ["RULES", "Aim", "Choices", "Rule", "RuleRefused"]
