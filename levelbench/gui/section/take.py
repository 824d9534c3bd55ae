"""What becomes of something moved or typed on the section: an edit of the project, or the operator's entry.

One rule: before a run the set point on the drawing is the one a run starts with, an entry of the project. Once a run
has begun it is the operator's, and goes to the loop; the project keeps its start.
"""

from collections.abc import Callable

from levelbench.drawing.column import SET_POINT
from levelbench.gui.document.document import Document
from levelbench.project import ProjectProblems
from levelbench.project.controls import LoopSettings
from levelbench.quantity import Dimension, QuantityError, read, without_doubt

Enter = Callable[[float], None]  # takes a set point [m3] to the loop


def take(document: Document, enter: Enter | None, key: str, words: str) -> str:
    """Take a text for an entry; `enter` is given once a run has begun. Gives why it was refused, "" when it was not."""
    try:
        if key == SET_POINT and enter is not None:
            value = read(without_doubt(words), Dimension.VOLUME).si
            refusal = _beyond(document.project.loop_settings, value)
            if not refusal:
                enter(value)
            return refusal
        document.edit(key, words)
    except ProjectProblems as error:
        return error.problems[0].message
    except QuantityError as error:
        return str(error)
    return ""


def _beyond(loop: LoopSettings, value: float) -> str:
    """Say why the operator can't enter a set point [m3]."""
    low, high = loop.set_point_low, loop.set_point_high
    inside = low.si * (1 - 1e-9) <= value <= high.si * (1 + 1e-9)
    return "" if inside else f"The operator can enter {low.shown} to {high.shown}."
