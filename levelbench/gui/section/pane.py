"""The section with the buttons that belong to it: what is seen, and how it gets out of the window."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from levelbench.drawing.frame import Fit
from levelbench.gui.look.elided import Elided
from levelbench.gui.look.parts import button, column, row
from levelbench.gui.look.theme import GRID
from levelbench.gui.section import output as section_output
from levelbench.gui.section.hand import Take
from levelbench.gui.section.keys import copy_drawing, drawing_of
from levelbench.gui.section.view import SectionView

TRUE = "Heights and widths have one scale, the reservoir's too. Drag on empty ground (or Ctrl and arrows) to move it."

NEWS = 6000  # ms that what was done is said


class SectionPane(QWidget):
    """A row of small buttons over the drawing."""

    def __init__(self, take: Take) -> None:
        super().__init__()
        self.view = SectionView(take)
        self.seen = Elided("small")
        commands: dict[str, tuple[Callable[[], object], str]] = {
            "Fit tank": (partial(self.view.fit, Fit.TANK), "show the tank as large as it can be, everything true"),
            "Fit all": (partial(self.view.fit, Fit.ALL), "show everything, down to the reservoir's floor"),
            "+": (partial(self.view.zoom, 1), "zoom in (wheel, Ctrl + on the drawing)"),
            "−": (partial(self.view.zoom, -1), "zoom out (wheel, Ctrl − on the drawing)"),
            "Copy": (partial(copy_drawing, self.view), "copy the whole section as SVG and PNG (Ctrl+C on the drawing)"),
            "Save as …": (self._save, "save the whole section as SVG or PNG"),
            "Print …": (self._print, "print the whole section"),
        }
        made = [button(words, do, "link", tip) for words, (do, tip) in commands.items()]
        line = row(*made[:4], self.seen, *made[4:], gap=GRID)
        line.setContentsMargins(GRID, 0, GRID, 0)
        line.setStretchFactor(self.seen, 1)
        layout = column(line, self.view, gap=0)
        layout.setStretch(1, 1)
        self.setLayout(layout)
        self.quiet = QTimer(self, singleShot=True, interval=NEWS)  # then it says again what is seen
        self.quiet.timeout.connect(self.view.refresh)
        self.view.seen.connect(self._say)

    def _say(self, words: str) -> None:
        self.quiet.start() if words.startswith("✓") else self.quiet.stop()
        self.seen.setText(words)
        self.seen.setToolTip(f"{words}\n{TRUE}")

    def _save(self) -> None:
        scene = drawing_of(self.view)
        if scene is not None:
            section_output.ask_save(scene, self, lambda: self._say("✓ saved whole"))

    def _print(self) -> None:
        scene = drawing_of(self.view)
        rig = self.view.rig
        if scene is None or rig is None:
            return
        if section_output.ask_print(scene, rig.project.sheet.paper, self):
            self._say("✓ sent to the printer")
