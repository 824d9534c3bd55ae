"""Tune: the ways to the loop settings, one at a time; the settings and what they do by hand come first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.tuning.way_hand import Hand
from levelbench.gui.tuning.ways import HAND, OFFERS
from levelbench.gui.ways.choice import Choice

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers


class Tune(Choice):
    """The card of the ways of tuning."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Tune the loop", OFFERS, document, answers)

    @property
    def hand(self) -> Hand:
        """The settings by hand, which are chosen at first."""
        found = self.make(HAND)
        assert isinstance(found, Hand)
        return found

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Put the cursor into the field of a loop setting; False when the entry is none."""
        self.choose(HAND)
        return self.hand.go_to(key, focus=focus)
