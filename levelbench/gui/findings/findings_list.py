"""The findings as boxes, one under another; after another review only those are made anew that say something else."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QVBoxLayout, QWidget
from shiboken6 import delete

from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.work.slices import Slices

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
        self.layout = QVBoxLayout()
        self.layout.setSpacing(0)

    def boxes(self) -> list[FindingBox]:
        """Give the findings that are on the card, in their order."""
        items = [self.layout.itemAt(at) for at in range(self.layout.count())]
        widgets = [item.widget() for item in items if item is not None]
        return [one for one in widgets if isinstance(one, FindingBox)]

    def show(self, findings: Iterable[Finding], shown_in: Units) -> None:
        """Show these findings; what was open stays open, and the keyboard stays with its finding."""
        findings = tuple(findings)
        before = {box.finding.key: box for box in self.boxes()}
        opened = {key for key, box in before.items() if box.fold.isChecked()}
        held = next((key for key, box in before.items() if box.isAncestorOf(self._card.focusWidget())), "")
        fresh = {one.key for one in findings if one.severity.word == "stop"} | {one.key for one in findings[:1]}
        opened |= fresh - set(before)
        steps: list[Callable[[], object]] = []
        for at, one in enumerate(findings):
            box = before.pop(one.key, None)
            if box is not None and box.says(one, shown_in):
                steps.append(partial(self._put, at, box))
                continue
            new = partial(FindingBox, one, shown_in, opened=one.key in opened)
            steps.append(partial(self._put_new, at, new, box, one.key == held))
        self._slices.do([*steps, *(partial(delete, box) for box in before.values())])

    def sift(self) -> None:
        """Let those be in sight that are wanted now."""
        steps = [partial(self._sift, box) for box in self.boxes()]
        (self._slices.also if self._slices.busy else self._slices.do)(steps)

    def later(self, step: Callable[[], object]) -> None:
        """Do something when everything is there."""
        self._slices.also((step,))

    def _put(self, at: int, box: FindingBox) -> None:
        if self.layout.indexOf(box) != at:
            self.layout.insertWidget(at, box)

    def _put_new(self, at: int, make: Callable[[], FindingBox], old: FindingBox | None, held: bool) -> None:
        box = make()
        self._made(box)
        self.layout.insertWidget(at, box)
        if old is not None:
            delete(old)
        if not self._wanted(box.finding):
            box.hide()
        elif held:
            box.setFocus()

    def _sift(self, box: FindingBox) -> None:
        box.setVisible(self._wanted(box.finding))
