"""All rules on a rig in one answer."""

from collections.abc import Callable
from dataclasses import dataclass

from levelbench.rig.assemble import Rig
from levelbench.tuning.process import Process, of_rig
from levelbench.tuning.rules.averaging import AVERAGING_LEVEL
from levelbench.tuning.rules.compare import Refused, Ruled, lines_of, used_choices
from levelbench.tuning.rules.cycling import CYCLING
from levelbench.tuning.rules.model_based import MODEL_BASED
from levelbench.tuning.rules.rule import Choices
from levelbench.tuning.rules.step_response import STEP_RESPONSE
from levelbench.tuning.rules.verdict import Verdict, verdict_of

RULES = (*MODEL_BASED, *STEP_RESPONSE[:4], *CYCLING, *STEP_RESPONSE[4:], *AVERAGING_LEVEL)


@dataclass(frozen=True)
class Comparison:
    """What the rules do on a rig: the settings in force first, then each rule, then the slip; who can't, and why."""

    rig: Rig
    choices: Choices
    lines: tuple[Ruled, ...]
    refused: tuple[Refused, ...]
    verdict: Verdict


def compare(
    rig: Rig,
    process: Process | None = None,
    choices: Choices | None = None,
    progress: Callable[[float], bool] | None = None,
) -> Comparison:
    """Work out every rule for a process, the rig's own when none is given (PV unit m3), and judge it on the rig.

    `progress` is told the share done and answers whether to go on. Raises Cancelled when it says no, RigError when the
    pump gives no flow at the set point.
    """
    used = used_choices(rig, choices)
    lines, refused = lines_of(rig, RULES, process or of_rig(rig, whole=True), used, progress)
    return Comparison(rig, used, lines, refused, verdict_of(rig, lines))
