"""What a way of a stage is made of, and how it is offered before it is made.

A way is a module `way_<key>.py` in the folder of its stage with one class, a `Way`; it comes in and is made when it is
first chosen. So that a further way appears, it is named in the `Offers` of its stage (`gui/tuning/ways.py`,
`gui/bands/ways.py`) and has its page in the help, "tune-<key>" or "alarms-<key>":

    class Rules(Way):  # way_rules.py, named in OFFERS as Offer("rules", "Rules", "published tuning rules …", SETTINGS)

        def __init__(self, document: Document, answers: Answers) -> None:
            super().__init__(document, answers)
            self.table = RulesTable()
            self.wide = self.table  # shown in place of drawing and trend while this way is chosen
            self.body.addWidget(button("Compare", self._compare))  # under one another, and they scroll
            answers.rig_changed.connect(lambda _rig: self.when_seen(self._out_of_date))

        def left(self) -> None:
            self.table.close_menus()  # nothing of it is in sight from here on

A way that works on the rig is an `OnRig`, one with a button that begins the work an `Asked` (`on_rig.py`); "take
these" is one `document.edit_several({…})`, one undo step.
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
    """One way through a stage: a column on the card, and maybe something wide in the room of drawing and trend."""

    wide_changed = Signal()  # what `wide` gives is another now
    looked_at = Signal(str)  # the key of an entry of the project, which the drawing marks
    tried = Signal(str, str)  # key, text of what is typed or dragged, for the drawing; "" when it is given up

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

    key: str  # of the module way_<key>
    name: str  # on its button
    says: str  # what it is for
    line: str = ""  # in which line of words it stands, where there are several


@dataclass(frozen=True)
class Offers:
    """The ways of a stage; the first is there from the start."""

    folder: str  # of levelbench.gui, in which the modules are
    stage: str  # the page of the help of the stage and of its first way; the others have "<stage>-<key>"
    every: tuple[Offer, ...]

    @property
    def first(self) -> str:
        """The key of the way with which the stage begins."""
        return self.every[0].key

    def page(self, key: str) -> str:
        """Give the page of the help of a way."""
        return self.stage if key == self.first else f"{self.stage}-{key}"

    def make(self, key: str, document: Document, answers: Answers) -> Way:
        """Make a way; its class has the name of its key."""
        made = cast("Way", getattr(import_module(self._module(key)), key.capitalize())(document, answers))
        for part in (made, made.wide):
            if part is not None:
                part.setProperty("help", self.page(key))
        return made

    def bring_in(self) -> None:
        """Import every way that there is, so that nobody waits for it who chooses one."""
        for offer in self.every:
            import_module(self._module(offer.key))

    def _module(self, key: str) -> str:
        return f"levelbench.gui.{self.folder}.way_{key}"
