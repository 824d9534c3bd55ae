"""Alarms: the ways to limits that neither chatter nor come too late, one at a time; the ladder of all comes first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.bands.on_bench import OnBench
from levelbench.gui.bands.way_ladder import Ladder
from levelbench.gui.bands.ways import LADDER, OFFERS
from levelbench.gui.ways.choice import Choice

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Watch
    from levelbench.gui.document.document import Document
    from levelbench.gui.ways.way import Way
    from levelbench.gui.work.answers import Answers


class Alarms(Choice):
    """The card of the ways to the alarms."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Alarms", OFFERS, document, answers)
        self._watch: Watch | None = None

    def take(self, watch: Watch) -> None:
        """Show the alarms of the run on the bench from now on."""
        self._watch = watch
        for way in self.ways.values():
            if isinstance(way, OnBench):
                way.take(watch)

    def _join(self, way: Way) -> None:
        super()._join(way)
        if isinstance(way, Ladder):
            way.tried.connect(self.tried)
        if isinstance(way, OnBench) and self._watch is not None:
            way.take(self._watch)

    @property
    def ladder(self) -> Ladder:
        """The alarms one under another, which are chosen at first."""
        found = self.make(LADDER)
        assert isinstance(found, Ladder)
        return found

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the alarm that an entry belongs to, with the cursor in its field; False when it is no alarm's."""
        self.choose(LADDER)
        return self.ladder.go_to(key, focus=focus)

    def looks_at(self, key: str) -> bool:
        """Choose what was pressed on in the drawing, where it stands on the ladder of this card; False: it doesn't."""
        return self.way is self.ladder and self.ladder.look_at(key)

    def follow_drag(self, key: str, words: str) -> None:
        """Tell what would be with a height that is being dragged on the drawing; "": it is given up."""
        self.ladder.follow_drag(key, words)
