"""A card with the ways of a stage: a row of words to choose one by, and the one that is chosen."""

from __future__ import annotations

from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QFrame, QGridLayout, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from levelbench.gui.look.parts import choice, holder, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.wrapping import Wrapping
from levelbench.gui.ways.way import Offer, Offers, Way
from levelbench.gui.work.slices import Slices

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers


class Choice(QFrame):
    """The ways of a stage, one at a time; each is made when it is first chosen, the first when it is asked to begin."""

    looked_at = Signal(str)  # key
    tried = Signal(str, str)  # key, text of what is typed or dragged in a way; "" when it is given up
    wide_changed = Signal()  # something else belongs into the room of drawing and trend

    def __init__(self, heading: str, offers: Offers, document: Document, answers: Answers) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.offers = offers
        self._document, self._answers = document, answers
        self.aside = text("", "quiet")
        self.buttons: dict[str, QPushButton] = {}
        self.ways: dict[str, Way] = {}
        self._group = QButtonGroup(self)
        self._making = Slices(self)
        self._stack = QStackedWidget()
        self._build(heading)
        answers.state_changed.connect(self._say)
        self._say()

    def _build(self, heading: str) -> None:
        lines = QGridLayout()
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setHorizontalSpacing(GRID)
        lines.setVerticalSpacing(2)
        lines.setColumnStretch(1, 1)
        for at, (title, offers) in enumerate(groupby(self.offers.every, lambda one: one.line)):
            if title:
                lines.addWidget(text(title, "small"), at, 0)
            lines.addWidget(holder(Wrapping(2).add(*map(self._button, offers))), at, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addLayout(row(text(heading, "heading"), None, self.aside))
        layout.addWidget(holder(lines))
        layout.addWidget(self._stack, 1)

    def _button(self, offer: Offer) -> QPushButton:
        made = choice(offer.name, partial(self._wanted, offer.key), f"{offer.name}: {offer.says}", offer.says)
        self._group.addButton(made)
        self.buttons[offer.key] = made
        return made

    @property
    def way(self) -> Way | None:
        """The way that is chosen."""
        found = self._stack.currentWidget()
        return found if isinstance(found, Way) else None

    @property
    def wide(self) -> QWidget | None:
        """What belongs into the room of drawing and trend; None: they stay."""
        return None if self.way is None else self.way.wide

    def begin(self) -> None:
        """Show the first way, unless one is shown."""
        if self.way is None:
            self.choose(self.offers.first)

    def choose(self, key: str) -> Way:
        """Show one of the ways, and give it."""
        self._making.do(())
        before, way = self.way, self._placed(key)
        self.buttons[key].setChecked(True)
        if way is not before:
            self._stack.setCurrentWidget(way)
            if before is not None:
                before.left()
            way.chosen()
            self.wide_changed.emit()
        return way

    def _wanted(self, key: str) -> None:
        """Make a way, place it and show it, each in a turn of the event loop of its own."""
        self._making.do((partial(self.make, key), partial(self._placed, key), partial(self.choose, key)))

    def make(self, key: str) -> Way:
        """Give a way, made when there is none yet, and not shown."""
        if key not in self.ways:
            self.ways[key] = self.offers.make(key, self._document, self._answers)
            self._join(self.ways[key])
        return self.ways[key]

    def _join(self, way: Way) -> None:
        """Hear a new way."""
        way.looked_at.connect(self.looked_at)
        way.wide_changed.connect(self.wide_changed)

    def _placed(self, key: str) -> Way:
        way = self.make(key)
        if self._stack.indexOf(way) < 0:
            self._stack.addWidget(way)
        return way

    def _say(self) -> None:
        project, working = self._document.project, " · working …" if self._answers.working else ""
        self.aside.setText(f"{project.first_letter}IC-{project.loop}{working}")
