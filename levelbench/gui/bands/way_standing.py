"""Standing: the alarms of the run on the bench, to acknowledge, shelve, take out of service and reset."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.bands.on_bench import OnBench
from levelbench.gui.bands.standing import StandingList
from levelbench.gui.look.parts import text

if TYPE_CHECKING:
    from levelbench.gui.bands.watch import Watch
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers

_HIGHEST = 380  # px of the list
_SAYS = (
    "Every alarm of the run that is not normal. Shelving keeps one quiet for a time, out of service until somebody "
    "brings it back; both stay listed here. The journal keeps who did what."
)


class Standing(OnBench):
    """The list on the card; drawing and trend of the run stay beside it."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.list = StandingList(_HIGHEST)
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addWidget(self.list)
        self.body.addStretch(1)

    def take(self, watch: Watch) -> None:
        """Follow the alarms of the run on the bench."""
        self.list.take(watch)
