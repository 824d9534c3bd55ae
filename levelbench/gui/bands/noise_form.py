"""The boxes that say what a limit is for: where the PV rests, how slowly it creeps, how fast an excursion goes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from levelbench.alarms.purpose import SHIFT
from levelbench.gui.fields.typed import Typed
from levelbench.gui.look.parts import column
from levelbench.quantity import Dimension

if TYPE_CHECKING:
    from levelbench.alarms.purpose import Purpose
    from levelbench.quantity import Units

D = Dimension
_AT_REST = ("the set point nearest to the limit", "the set point itself: a deviation is counted from it")


class NoiseForm(QWidget):
    """Three boxes; what was typed stays when the project changes, the rest follows it."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.normal = Typed("PV at rest", D.VOLUME, 1)
        self.slow = Typed("creeps there in", D.TIME, 1)
        self.rate = Typed("worst net rate", D.FLOW, 1)
        self.setLayout(column(*self.boxes))

    @property
    def boxes(self) -> tuple[Typed, ...]:
        """All three."""
        return (self.normal, self.slow, self.rate)

    def propose(self, found: Purpose, shown_in: Units) -> None:
        """Show what the rig gives, where nothing was typed."""
        proposed = (
            (found.normal, shown_in.volume, _AT_REST[found.both]),
            (SHIFT, "h", "from rest to the limit, by itself; the slower, the more alarms"),
            (found.rate, shown_in.flow, "all in and nothing out, or all out and nothing in"),
        )
        for box, (value, unit, why) in zip(self.boxes, proposed, strict=True):
            box.propose((value,), unit, why)

    def forget(self) -> None:
        """Take back what was typed."""
        for box in self.boxes:
            box.touched = False

    def asked(self, found: Purpose) -> Purpose:
        """Give a purpose with what was typed in its places. Raises QuantityError, and shows it under the box."""
        normal, slow, rate = (box.values()[0] if box.touched else None for box in self.boxes)
        if normal is not None:
            if not (normal >= 0 and found.sign * (found.limit - normal) > 0):
                raise self.normal.refusal("That leaves no room to the limit.")
            found = replace(found, normal=normal)
        if slow is not None:
            if slow <= 0:
                raise self.slow.refusal("Give more than nothing.")
            found = replace(found, slow=abs(found.limit - found.normal) / slow)
        if rate is not None:
            if rate <= 0:
                raise self.rate.refusal("Give more than nothing.")
            found = replace(found, rate=rate)
        return found
