"""One finding on the card: its title opens and closes it; figures with why?, the change, go there, try it."""

from __future__ import annotations

from collections import deque
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QLayout, QVBoxLayout, QWidget

from levelbench.gui.fields.entry_keys import in_words, name_of
from levelbench.gui.findings.before_after import BeforeAfter
from levelbench.gui.findings.finding_note import WORDS
from levelbench.gui.findings.findings_text import place_name
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.look.theme import GRID

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from levelbench.quantity import Units
    from levelbench.review.finding import Finding

_LOOK = {"stop": "stop-strong", "attend": "attention-strong", "good": "body"}
_INDENT = GRID * 2 + GRID // 2
FEW = 6  # parts inside that are made at once: some 3 ms
OTHERS = 3  # parts inside, at most, beside the figures
_KEYS = "Arrow keys: next and previous finding. Enter: open or close. T: try it. G: go there."


class FindingBox(QFrame):
    """One finding, closed at first; `more` makes what is inside part by part, `toggle` whatever is not there yet."""

    go_to = Signal(str)  # key
    try_it = Signal(object)  # this box
    adopted = Signal(object)  # Finding
    stepped = Signal(object, int)  # this box, +1 to the next, −1 to the one before

    def __init__(self, finding: Finding, shown_in: Units) -> None:
        super().__init__()
        self.setProperty("role", "finding")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        word = finding.severity.word
        self.setAccessibleName(f"{WORDS[word]}: {finding.title}")
        self.setAccessibleDescription(_KEYS)
        self.setToolTip(_KEYS)
        self.title = finding.title
        self.finding = finding
        self.outcome: BeforeAfter | None = None
        self._units = shown_in
        self._inside = QWidget()
        self._column = QVBoxLayout(self._inside)
        self._to_come = deque(self._parts())
        self.fold = button("open", self._toggle, "link", f"open or close: {WORDS[word]}: {finding.title}")
        self.fold.setCheckable(True)
        self.fold.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(2, GRID // 2, 2, GRID // 2)
        self._layout.setSpacing(GRID // 2)
        self._layout.addLayout(self._head())
        if word != "good":
            self._layout.addWidget(_indented(text(finding.text, wrap=True, selectable=True)))
        self._hold_inside()

    def _head(self) -> QHBoxLayout:
        role = _LOOK[self.finding.severity.word]
        mark = text(self.finding.severity.mark, role)
        mark.setFixedWidth(GRID * 2)
        mark.setAlignment(Qt.AlignmentFlag.AlignTop)
        made = row(mark, text(self.finding.title, role, wrap=True), self.fold, gap=GRID // 2)
        made.setStretch(1, 1)
        return made

    def says(self, finding: Finding, shown_in: Units) -> bool:
        """Whether it says the very same, and nothing is being tried in it."""
        return self.finding == finding and self._units == shown_in and self.outcome is None

    def toggle(self) -> None:
        """Open it when closed, close it when open."""
        self.fold.toggle()
        self._toggle()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Move among the findings, open, try, go there."""
        key, keys = event.key(), Qt.Key
        if key in (keys.Key_Down, keys.Key_Up):
            self.stepped.emit(self, 1 if key == keys.Key_Down else -1)
        elif key in (keys.Key_Return, keys.Key_Enter, keys.Key_Space):
            self.toggle()
        elif key == keys.Key_T and self.finding.what_if:
            self.try_it.emit(self)
        elif key == keys.Key_G and self.finding.go_to:
            self.go_to.emit(self.finding.go_to)
        elif key == keys.Key_Escape and self.outcome is not None:
            self.leave()
        else:
            super().keyPressEvent(event)

    def begin_outcome(self) -> BeforeAfter:
        """Open the place where the outcome of a try is shown."""
        if not self.fold.isChecked():
            self.toggle()
        self.leave()
        self.outcome = BeforeAfter(self.title)
        self.outcome.adopted.connect(lambda: self.adopted.emit(self.finding))
        self.outcome.left.connect(self.leave)
        self._column.addWidget(self.outcome)
        return self.outcome

    def leave(self) -> None:
        """Put the outcome of a try away."""
        if self.outcome is not None:
            self.outcome.hide()
            self.outcome.deleteLater()
            self.outcome = None
            self.setFocus()

    def _hold_inside(self) -> None:
        self._inside.setProperty("role", "on-card")
        self._column.setContentsMargins(_INDENT, 0, 0, GRID // 2)
        self._column.setSpacing(GRID // 2 + 1)
        self._layout.addWidget(self._inside)
        self._inside.hide()

    @property
    def whole(self) -> bool:
        """Whether everything inside is there."""
        return not self._to_come

    def more(self) -> None:
        """Make a few parts of what is inside."""
        for _ in range(min(FEW, len(self._to_come))):
            part = self._to_come.popleft()()
            if isinstance(part, QWidget):
                self._column.addWidget(part)
            else:
                self._column.addLayout(part)

    def _toggle(self) -> None:
        opened = self.fold.isChecked()
        self.fold.setText("close" if opened else "open")
        while opened and not self.whole:
            self.more()
        self._inside.setVisible(opened)

    def _parts(self) -> Iterator[Callable[[], QWidget | QLayout]]:
        """Give what makes the parts inside, from the top."""
        finding = self.finding
        if finding.severity.word == "good":
            yield partial(text, finding.text, wrap=True, selectable=True)
        for figure in finding.figures:
            yield partial(FigureRow, figure, self._units)
        if finding.change:
            yield partial(text, finding.change, "strong", wrap=True, selectable=True)
        yield lambda: row(*self._buttons(), None)

    def _buttons(self) -> list[QWidget]:
        made: list[QWidget] = []
        finding = self.finding
        if finding.what_if:
            what = " · ".join(f"{name_of(key)} {in_words(value)}" for key, value in finding.what_if.items())
            tip = f"try it, nothing is edited yet: {what}"
            made.append(button("Try it", lambda: self.try_it.emit(self), "main", tip))
        if finding.go_to:
            tip = f"go to the entry: {place_name(finding.go_to)}"
            made.append(button("Go there", lambda: self.go_to.emit(finding.go_to), "", tip))
        return made


def _indented(label: QLabel) -> QLabel:
    label.setContentsMargins(_INDENT, 0, 0, 0)
    return label
