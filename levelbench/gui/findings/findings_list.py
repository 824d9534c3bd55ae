"""The findings as boxes, one under another; after another review only those are made anew that say something else.

A new box is made out of sight, part by part, and takes the place of the old one when all of it is there. The boxes are
kept in a list, and the layout is never asked for its items: their Python halves outlive a box that is deleted, and then
stand for whatever comes to lie at their place in memory (PySide6 6.11.3; it ended the process).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QVBoxLayout, QWidget
from shiboken6 import delete

from levelbench.gui.findings.finding_box import FEW, OTHERS, FindingBox
from levelbench.gui.work.slices import Slices, Step

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.review import Finding


class FindingsList(QObject):
    """Makes the boxes a few at a time. `made` is told of each; `wanted` says which findings are in sight."""

    def __init__(
        self, parent: QWidget, made: Callable[[FindingBox], object], wanted: Callable[[Finding], bool]
    ) -> None:
        super().__init__(parent)
        self._card = parent
        self._made = made
        self._wanted = wanted
        self._slices = Slices(self)
        self._boxes: list[FindingBox] = []  # as they stand in the layout
        self._new: FindingBox | None = None  # that is being made
        self.layout = QVBoxLayout()
        self.layout.setSpacing(0)

    def boxes(self) -> list[FindingBox]:
        """Give the findings that are on the card, in their order."""
        return list(self._boxes)

    def show(self, findings: Iterable[Finding], shown_in: Units) -> None:
        """Show these findings; what was open stays open, and the keyboard stays with its finding."""
        findings = tuple(findings)
        before = {box.finding.key: box for box in self.boxes()}
        opened = {key for key, box in before.items() if box.fold.isChecked()}
        held = next((key for key, box in before.items() if box.isAncestorOf(self._card.focusWidget())), "")
        fresh = {one.key for one in findings if one.severity.word == "stop"} | {one.key for one in findings[:1]}
        opened |= fresh - set(before)
        steps: list[Step] = []
        for at, one in enumerate(findings):
            box = before.pop(one.key, None)
            if box is not None and box.says(one, shown_in):
                steps.append(partial(self._put, at, box))
                continue
            steps.append(partial(self._make, one, shown_in))
            if one.key in opened:
                steps += [self._more] * -(-(len(one.figures) + OTHERS) // FEW)
                steps.append(self._open)
            steps.append(partial(self._put_new, at, box, one.key == held))
        self._slices.do([self._let_go, *steps, *(partial(self._remove, box) for box in before.values())])

    def sift(self) -> None:
        """Let those be in sight that are wanted now."""
        steps = [partial(self._sift, box) for box in self.boxes()]
        (self._slices.also if self._slices.busy else self._slices.do)(steps)

    def later(self, step: Callable[[], object]) -> None:
        """Do something when everything is there."""
        self._slices.also((step,))

    def _let_go(self) -> None:
        """Let go of a box that was being made when other findings came."""
        if self._new is not None:
            delete(self._new)
            self._new = None

    def _make(self, finding: Finding, shown_in: Units) -> None:
        self._new = box = FindingBox(finding, shown_in)
        box.hide()
        box.setParent(self.layout.parentWidget())
        self._made(box)

    def _more(self) -> None:
        if self._new is not None:
            self._new.more()

    def _open(self) -> None:
        if self._new is not None:
            self._new.toggle()

    def _put(self, at: int, box: FindingBox) -> None:
        if self._boxes.index(box) != at:
            self._boxes.remove(box)
            self._boxes.insert(at, box)
            self.layout.insertWidget(at, box)

    def _put_new(self, at: int, old: FindingBox | None, held: bool) -> None:
        box, self._new = self._new, None
        assert box is not None
        self._boxes.insert(at, box)
        self.layout.insertWidget(at, box)
        if old is not None:
            if old.fold.isChecked() != box.fold.isChecked():  # pressed meanwhile
                box.toggle()
            self._remove(old)
        wanted = self._wanted(box.finding)
        box.setVisible(wanted)
        if wanted and held:
            box.setFocus()

    def _remove(self, box: FindingBox) -> None:
        self._boxes.remove(box)
        delete(box)

    def _sift(self, box: FindingBox) -> None:
        box.setVisible(self._wanted(box.finding))
