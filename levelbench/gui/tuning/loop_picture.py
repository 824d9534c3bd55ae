"""The margins as a picture, in the room of drawing and trend, with what is read under the cursor beneath it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout

from levelbench.gui.look.parts import button, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.loop_canvas import LoopCanvas
from levelbench.gui.tuning.loop_paint import Lines
from levelbench.gui.tuning.side_by_side import SideBySide

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned

_KEY = (
    "Strokes: the margins. Broken: a gain of 1, a phase of −180°, and round −1 the circle of Ms 2, which is lively. "
    "Full circle: the largest sensitivity of this loop, which its curve only touches. The dead time is exact."
)


class LoopPicture(QFrame):
    """Canvas, reading and key; `done` asks for drawing and trend back."""

    done = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self._tuned: tuple[Tuned, Tuned | None] | None = None
        self.canvas = LoopCanvas()
        self.table = SideBySide("as it is", "if taken")
        self.under = text("", "subheading")
        self.back = button("Drawing and trend", self.done.emit, "link", "show drawing and trend here again")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, 2 * GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addLayout(row(text("The loop and its margins", "heading"), None, self.back))
        layout.addWidget(self.canvas, 1)
        layout.addWidget(self.under)
        layout.addWidget(self.table)
        layout.addWidget(text(_KEY, "small", wrap=True))
        self.canvas.pointed.connect(self._read)
        self.setFocusProxy(self.canvas)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def show_tuning(self, tuned: Tuned, tried: Tuned | None) -> None:
        """Show the loop as it is, and as it would be if a value is tried."""
        from levelbench.tuning.loop_reading import sweep  # noqa: PLC0415  the rig has come in by now

        self._tuned = (tuned, tried)
        now, then = (
            None if one is None else Lines(sweep(one.loop, one.margins), one.margins) for one in (tuned, tried)
        )
        assert now is not None
        self.canvas.show_lines(now, then, tuned.units)
        self._read(self.canvas.period)

    def _read(self, period: float) -> None:
        """Say what the loop does at a period [s]."""
        from levelbench.quantity import Dimension  # noqa: PLC0415
        from levelbench.tuning.loop_reading import reading  # noqa: PLC0415

        if self._tuned is None:
            return
        tuned, tried = self._tuned
        words = f"A disturbance that comes and goes once in {tuned.units.show(period, Dimension.TIME, period / 50)}"
        self.under.setText(words)
        self.table.show_figures(reading(tuned.loop, period, tuned.units), tuned.units)
        self.table.compare(None if tried is None else reading(tried.loop, period, tried.units))
        said = "; ".join(f"{name} {then or now}" for name, now, then in self.table.words())
        self.canvas.setAccessibleDescription(f"{words}: {said}")
