"""What a tried change would do, before → after, with the choice to adopt it or to leave it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QVBoxLayout, QWidget

from levelbench.gui.findings.finding_note import WORDS
from levelbench.gui.findings.what_if import difference, key_figures
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.look.theme import GRID

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.gui.findings.what_if import WhatIf
    from levelbench.gui.work.answers import Checked, Tuned
    from levelbench.quantity import Figure, Units
    from levelbench.review.finding import Finding

_LOOK = {"stop": "stop-strong", "attend": "attention-strong", "good": "strong"}


class BeforeAfter(QFrame):
    """The outcome of one try: this finding, the others that change, the key figures; nothing is edited yet."""

    adopted = Signal()
    left = Signal()

    def __init__(self, title: str) -> None:
        super().__init__()
        self.setProperty("role", "note")
        self._inside = QVBoxLayout(self)
        self._inside.setContentsMargins(GRID, GRID, GRID, GRID)
        self._inside.setSpacing(GRID // 2)
        self._title = title
        self.state = text("Trying it: review and prediction of the changed rig …", "quiet", wrap=True)
        self._inside.addWidget(text("What if", "subheading"))
        self._inside.addWidget(self.state)
        self.adopt = button("Adopt", self.adopted.emit, "main", f"adopt the change, one undo step: {title}")
        self.leave = button("Leave it", self.left.emit, "", f"leave it as it is: {title}")
        self.adopt.setEnabled(False)
        self._choice = row(self.adopt, self.leave, None)
        self._inside.addLayout(self._choice)

    def refuse(self, reason: str) -> None:
        """Say why it can't be tried."""
        self.state.setText(f"■ It could not be tried: {reason}")

    def show_outcome(self, before: tuple[Checked, Tuned | None], outcome: WhatIf, key: str, units: Units) -> None:
        """Show what the finding with a key, the other findings and the key figures become."""
        checked, tuned = before
        found = difference(checked, outcome.checked, key)
        self.state.setText("Nothing is edited yet.")
        parts: list[QWidget] = [_verdict(*found.this, told=True)]
        parts.append(_table(found.this[0].figures, found.this[1].figures, units))
        if found.others:
            parts.append(text("Other findings that change", "quiet"))
            parts += [_verdict(*pair, told=pair[0].severity is pair[1].severity) for pair in found.others]
        else:
            parts.append(text("No other finding changes.", "quiet"))
        if outcome.trouble:
            parts.append(text(f"■ No prediction with it: {outcome.trouble}", "stop", wrap=True))
        elif tuned is not None:
            parts += _prediction(key_figures(tuned), key_figures(outcome.tuned), units)
        for at, part in enumerate(parts):
            self._inside.insertWidget(2 + at, part)
        self.adopt.setEnabled(True)
        self.adopt.setFocus()


def _prediction(before: Sequence[Figure], after: Sequence[Figure], units: Units) -> list[QWidget]:
    """Lay out the key figures that change; the others are only named."""
    then = {one.key: one for one in after}
    moved = [one for one in before if _shown(one, units) != _shown(then.get(one.key), units)]
    same = [one.name for one in before if one not in moved]
    parts: list[QWidget] = []
    if moved:
        kept = {one.key for one in moved}
        parts = [text("Key figures", "quiet"), _table(moved, [one for one in after if one.key in kept], units)]
    if same:
        parts.append(text(f"The same as before: {', '.join(same)}.", "small", wrap=True))
    return parts


def _verdict(before: Finding, after: Finding, *, told: bool) -> QWidget:
    """Lay out one finding: its severity before and after, and what it says then."""
    made = QWidget()
    made.setProperty("role", "on-note")
    layout = QVBoxLayout(made)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(2)
    was, then = before.severity, after.severity
    words = f"{was.mark} {WORDS[was.word]} → {then.mark} {WORDS[then.word]}: {after.title}"
    if was is then:
        words = f"{then.mark} stays {WORDS[then.word]}: {after.title}"
    layout.addWidget(text(words, _LOOK[then.word], wrap=True))
    if told and after.text:
        layout.addWidget(text(after.text, "small", wrap=True, selectable=True))
    return made


def _table(before: Sequence[Figure], after: Sequence[Figure], units: Units) -> QWidget:
    """Lay out figures before → after; one that there is only before or only after stands alone."""
    made = QWidget()
    made.setProperty("role", "on-note")
    grid = QGridLayout(made)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setVerticalSpacing(2)
    grid.setHorizontalSpacing(GRID // 2)
    then = {one.key: one for one in after}
    now = {one.key: one for one in before}
    for at, key in enumerate(dict.fromkeys((*now, *then))):
        one = now.get(key) or then[key]
        was = _shown(now.get(key), units)
        will = _shown(then.get(key), units)
        grid.addWidget(text(one.name, wrap=True), at, 0)
        grid.addWidget(_right(was, "body"), at, 1)
        grid.addWidget(text("→", "quiet"), at, 2)
        grid.addWidget(_right(will, "strong" if was != will else "body"), at, 3)
    grid.setColumnStretch(0, 1)
    return made


def _shown(figure: Figure | None, units: Units) -> str:
    return units.tell(figure) if figure is not None else "–"


def _right(words: str, role: str) -> QLabel:
    made = text(words, role)
    made.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    return made
