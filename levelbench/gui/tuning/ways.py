"""The ways of tuning that the Tune card offers, and what each of them is made of.

A way is a module `way_<key>.py` beside this one with one class, a `Way`; it comes in and is made when it is first
chosen. So that a further way appears, it is named in `OFFERS` and has its page "tune-<key>" in the help:

    class Rules(Way):  # way_rules.py, named in OFFERS as Offer("rules", "Rules", "published tuning rules …", SETTINGS)

        def __init__(self, document: Document, answers: Answers) -> None:
            super().__init__(document, answers)
            self.table = RulesTable()
            self.wide = self.table  # shown in place of drawing and trend while this way is chosen
            self.body.addWidget(button("Compare", self._compare))  # under one another, and they scroll
            answers.rig_changed.connect(lambda _rig: self.when_seen(self._out_of_date))

        def left(self) -> None:
            self.table.close_menus()  # nothing of it is in sight from here on

Long work is a `Job` with the way as its owner; "take these" is one `document.edit_several({…})`, one undo step.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.look.parts import Seen, column, holder, scrolling
from levelbench.gui.look.theme import GRID

if TYPE_CHECKING:
    from pathlib import Path

    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers


class Way(Seen):
    """One way of tuning: a column on the card, and maybe something wide in the room of drawing and trend."""

    wide_changed = Signal()  # what `wide` gives is another now
    looked_at = Signal(str)  # the key of an entry of the project, which the drawing marks

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.document, self.answers = document, answers
        self._wide: QWidget | None = None
        self.body, self.foot = QVBoxLayout(), column(gap=GRID)  # what scrolls, and what stays in sight under it
        self.body.setContentsMargins(0, 0, GRID, GRID)
        self.body.setSpacing(GRID)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addWidget(scrolling(holder(self.body)), 1)
        layout.addLayout(self.foot)

    @property
    def wide(self) -> QWidget | None:
        """What is shown in the room of drawing and trend while this way is chosen; None: drawing and trend stay."""
        return self._wide

    @wide.setter
    def wide(self, shown: QWidget | None) -> None:
        if shown is not self._wide:
            self._wide = shown
            self.wide_changed.emit()

    def take_file(self, path: Path) -> None:
        """Take a file that was let go on the window; only a way that reads files does something with it."""

    def chosen(self) -> None:
        """Hear that this way comes into sight."""

    def left(self) -> None:
        """Hear that another way was chosen."""


@dataclass(frozen=True)
class Offer:
    """A way that can be chosen, before it is made."""

    key: str  # of the module way_<key> and of the page tune-<key> of the help
    name: str  # on its button
    says: str  # what it is for
    line: str  # in which it stands: SETTINGS, which are found, or EVIDENCE of what the rig does

    @property
    def module(self) -> str:
        """The module in which the way is."""
        return f"levelbench.gui.tuning.way_{self.key}"

    def make(self, document: Document, answers: Answers) -> Way:
        """Make the way; its class has the name of its key."""
        made = cast("Way", getattr(import_module(self.module), self.key.capitalize())(document, answers))
        made.setProperty("help", self.page)
        if made.wide is not None:
            made.wide.setProperty("help", self.page)
        return made

    @property
    def page(self) -> str:
        """The page of the help."""
        return "tune" if self.key == HAND else f"tune-{self.key}"


HAND = "hand"
SETTINGS, EVIDENCE = "settings", "evidence"
OFFERS = (
    Offer(HAND, "By hand", "change the settings and see what comes of it", SETTINGS),
    Offer("rules", "Rules", "published tuning rules side by side, each tried on this rig", SETTINGS),
    Offer("search", "Search", "the best settings for this rig, with what is not known of it", SETTINGS),
    Offer("filling", "Filling", "fill with the drain shut, where what is too much stays", SETTINGS),
    Offer("experiment", "Experiment", "disturb the loop with care and measure what it does", EVIDENCE),
    Offer("record", "Record", "read a record of the real rig and find out what it is", EVIDENCE),
    Offer("proof", "Proof", "before and after, on the same runs", EVIDENCE),
)


def bring_in() -> None:
    """Import every way that there is, so that nobody waits for it who chooses one."""
    for offer in OFFERS:
        import_module(offer.module)
