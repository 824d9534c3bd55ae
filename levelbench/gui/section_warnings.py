"""What a design review would say of one thing moved on the drawing, cheap enough for every step of a drag."""

import re
from dataclasses import replace
from typing import Any

from levelbench.gui.section_handles import Handle
from levelbench.quantity import LevelBenchError, Quantity
from levelbench.review.finding import Severity
from levelbench.review.ladder import ladder
from levelbench.review.order import order, spacing
from levelbench.rig import Rig, assemble

_SENTENCE = re.compile(r"(?<=\.) (?=[A-Z“])")


def warning(rig: Rig, handle: Handle, value: float) -> str:
    """Say whether the ladder would be out of order or too close with a handle at a value (SI); "" when it is good."""
    name = next((rung.name for rung in ladder(rig) if rung.entry == handle.key), "")
    if not name:
        return ""
    quantity = Quantity(handle.typed(value), value, handle.unit, handle.dimension)
    try:
        moved = assemble(_with(rig.project, handle.key.split("."), quantity))
        findings = [rule(moved) for rule in (order, spacing)]
    except LevelBenchError as error:
        return f"■ {error}"
    for finding in findings:
        about = [one for one in _SENTENCE.split(finding.text) if _names(one, name)]
        if finding.severity is not Severity.GOOD and about:
            return f"{finding.severity.mark} {about[0]}"
    return ""


def _names(sentence: str, name: str) -> bool:
    """Tell whether a sentence is about a rung: “high” is not found in “high-high”."""
    return re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-]|, )", sentence) is not None


def _with(record: Any, path: list[str], quantity: Quantity) -> Any:
    """Give a record with the quantity at the end of a path of names."""
    head, *rest = path
    return replace(record, **{head: _with(getattr(record, head), rest, quantity) if rest else quantity})
