"""What a design review would say of one thing moved on the drawing, cheap enough for every step of a drag."""

import re
from dataclasses import replace
from typing import Any

from levelbench.alarms.ladder import ladder
from levelbench.drawing.deviation import DEVIATION
from levelbench.gui.section.handles import FACE, INLET, SWITCH, Handle
from levelbench.quantity import LevelBenchError, Quantity
from levelbench.review import RULES
from levelbench.review.finding import Finding, Severity
from levelbench.review.order import order, spacing
from levelbench.rig import Rig, assemble

_SENTENCE = re.compile(r"(?<=\.) (?=[A-Z“])")
OWN = {
    FACE: ("sensor.dead_zone", "sensor.drowning"),
    INLET: ("drain.air_draw",),
    DEVIATION: ("bands.deviation",),
    SWITCH: ("switch.coast_down", "switch.clear_of_set_point"),
}
"""Rules that speak of one part only, by its key; all of a tenth of a millisecond."""


def warning(rig: Rig, handle: Handle, value: float) -> str:
    """Say what the review has against a handle at a value (SI), first the order of the ladder; "" when it is good."""
    name = next((rung.name for rung in ladder(rig) if rung.entry == handle.key), "")
    own = OWN.get(handle.key, ())
    if not name and not own:
        return ""
    quantity = Quantity(handle.typed(value), value, handle.unit, handle.dimension)
    try:
        moved = assemble(_with(rig.project, handle.key.split("."), quantity))
        said = [(finding, _about(finding, name)) for finding in ((order(moved), spacing(moved)) if name else ())]
        said += [(finding, finding.text) for finding in (RULES[key](moved) for key in own)]
    except LevelBenchError as error:
        return f"{Severity.STOP.mark} {error}"
    bad = [(one, text) for one, text in said if one.severity is not Severity.GOOD and text]
    return f"{bad[0][0].severity.mark} {bad[0][1]}" if bad else ""


def _about(finding: Finding, name: str) -> str:
    """Give the first sentence of a finding that is about a rung."""
    return next((one for one in _SENTENCE.split(finding.text) if _names(one, name)), "")


def _names(sentence: str, name: str) -> bool:
    """Tell whether a sentence is about a rung: “high” is not found in “high-high”."""
    return re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-]|, )", sentence) is not None


def _with(record: Any, path: list[str], quantity: Quantity) -> Any:
    """Give a record with the quantity at the end of a path of names."""
    head, *rest = path
    return replace(record, **{head: _with(getattr(record, head), rest, quantity) if rest else quantity})
