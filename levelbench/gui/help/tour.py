"""The tour: a strip under the header that asks for one thing after another, or does it, and can be left at any time.

Nothing is locked meanwhile. What somebody does in the window counts, however it is done; a few times a second the tour
looks whether the step in hand is done.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QByteArray, Qt, QTimer
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from levelbench.gui.help.tour_steps import Scene, Step, steps
from levelbench.gui.look.parts import Fitted, button, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import in_prose

if TYPE_CHECKING:
    from levelbench.gui.bench.live import LiveRun
    from levelbench.gui.help.helped import HelpedWindow
    from levelbench.gui.preferences import Preferences
    from levelbench.gui.stages.operator import Rehearsed

_LOOK = 250  # ms from one look to the next
_OFFERED = "tour"  # the part of the window under which it is remembered that the tour was offered
_PLACE = 1  # in the window's column: under the header
_OFFER = "New here? Two minutes show the whole way on a sample: run it, break it, mend it, print its sheet."
_END = (
    "That was the whole way. Undo takes the changes back; File ▸ New begins a project of your own; F1 explains what "
    "you have in hand."
)


class Tour(Fitted):
    """The strip. It is offered, taken, left or finished; hidden otherwise."""

    def __init__(self, window: HelpedWindow, rehearsed: Rehearsed) -> None:
        super().__init__()
        self.setProperty("role", "strip")
        self.setAccessibleName("tour")
        self.setProperty("help", "start")
        self._scene = Scene(window, lambda: _live_of(rehearsed))
        self._steps: tuple[Step, ...] = steps(self._scene, window.rail.choose)
        self._at = -1
        self._helping = False
        self._timer = QTimer(self, interval=_LOOK)
        self._timer.timeout.connect(self.look)
        self.number, self.words = text("", "strong"), text("", wrap=True)
        self.do_it = button("Do it for me", self._do, "main", "let the tour do this step")
        self.leave = button("Leave the tour", self.end, "", "leave the tour; nothing that was done is taken back")
        self._lay_out()
        window.closed.connect(self.end)
        cast("QVBoxLayout", window.inside.layout()).insertWidget(_PLACE, self)

    def _lay_out(self) -> None:
        layout = QHBoxLayout(self)
        layout.setContentsMargins(2 * GRID + 4, GRID, 2 * GRID, GRID)
        layout.setSpacing(2 * GRID)
        layout.addWidget(self.number)
        layout.addWidget(self.words, 1)
        for one in (self.do_it, self.leave):
            one.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a press here leaves the cursor where the step needs it
            layout.addWidget(one)
        self.hide()

    @property
    def at(self) -> int:
        """The step in hand, from 0; -1 when none is."""
        return self._at

    @property
    def length(self) -> int:
        """How many steps there are."""
        return len(self._steps)

    def offer(self) -> None:
        """Offer the tour, once and for as long as nobody answers."""
        self._tell("", _OFFER, "Show me", "Not now")
        self.show()

    def offer_once(self, preferences: Preferences) -> None:
        """Offer the tour at the very first start; a person is not asked again."""
        if preferences.layout(_OFFERED) is None:
            preferences.remember_layout(_OFFERED, QByteArray(b"offered"))
            self.offer()

    def begin(self) -> None:
        """Begin with the first step, also when the tour is on its way."""
        self._at = -1
        self._go_on()
        self._timer.start()
        self.show()

    def end(self) -> None:
        """Leave the tour. What was done stays."""
        self._timer.stop()
        self._at = -1
        self.hide()

    def _do(self) -> None:
        if self._at < 0:
            self.begin()
            return
        self._helping = True
        self.do_it.setEnabled(False)
        self.look()

    def look(self) -> None:
        """See whether the step in hand is done; when asked to, do what can be done for it now."""
        step = self._steps[self._at]
        if step.done():
            self._go_on()
        elif self._helping:
            self._helping = not step.once
            self.do_it.setEnabled(step.once)
            step.help()

    def _go_on(self) -> None:
        self._at += 1
        self._helping = False
        self.do_it.setEnabled(True)
        if self._at == self.length:
            self._timer.stop()
            self._at = -1
            self._tell("✓", _END, "Once more", "Close")
            return
        self._scene.begin_step()
        self._tell(f"{self._at + 1} of {self.length}", self._steps[self._at].words, "Do it for me", "Leave the tour")

    def _tell(self, number: str, words: str, do: str, leave: str) -> None:
        self.number.setText(number)
        self.number.setVisible(bool(number))
        words = in_prose(words)
        self.words.setText(words)
        self.setAccessibleDescription(f"{number} {words}".strip())
        self.do_it.setText(do)
        self.leave.setText(leave)


def _live_of(rehearsed: Rehearsed) -> LiveRun | None:
    """Give the live run of a bench, None before the rig is prepared."""
    return cast("LiveRun | None", getattr(rehearsed, "live", None))
