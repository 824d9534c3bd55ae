"""Automatic or manual of the rig on the bench, and its output by hand, beside the settings that rule it otherwise."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QPushButton, QWidget

from levelbench.gui.fields.typed_value import TypedValue
from levelbench.gui.look.parts import column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Dimension, Quantity, show


class ModeSwitch(QWidget):
    """Two buttons and a box; what is pressed acts on the running rig and lands in its journal."""

    acted = Signal(str, float)  # what, value: see `levelbench.rig.ENTRIES`

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._known: tuple[bool, str] | None = None
        self.auto = self._button("Automatic", "the controller sets the output of the running rig")
        self.manual = self._button("Manual", "the output of the running rig is set by hand")
        self._group = QButtonGroup(self)
        for each in (self.auto, self.manual):
            self._group.addButton(each)
        self.auto.clicked.connect(lambda: self.acted.emit("auto", 1.0))
        self.manual.clicked.connect(lambda: self.acted.emit("auto", 0.0))
        self.now = text("no run on the bench yet", "quiet")
        self.output = TypedValue("output by hand", Dimension.PERCENT, self._send)
        self.output.check = _within
        self.setLayout(column(row(self.auto, self.manual, self.now, None), self.output, gap=GRID // 2))
        self._allow(False)

    def follow(self, *, auto: bool, output: float) -> None:
        """Show how the running rig stands; `output` is its OP as a fraction."""
        shown = show(output, Dimension.PERCENT, "%", 0.01)
        if self._known == (auto, shown):
            return
        self._known = (auto, shown)
        self.auto.setEnabled(True)
        self.manual.setEnabled(True)
        (self.auto if auto else self.manual).setChecked(True)
        self.now.setText(f"OP {shown}")
        self.output.allow(not auto, "Choose Manual first.")

    def _allow(self, allowed: bool) -> None:
        self.auto.setEnabled(allowed)
        self.manual.setEnabled(allowed)
        self.output.allow(allowed, "It can be set while a rig is on the bench.")

    def _send(self, output: float) -> None:
        self.acted.emit("manual output", output)

    @staticmethod
    def _button(words: str, tip: str) -> QPushButton:
        made = QPushButton(words)
        made.setCheckable(True)
        made.setAutoDefault(False)
        made.setAccessibleName(f"{words}: {tip}")
        made.setToolTip(tip)
        return made


def _within(quantity: Quantity) -> str:
    return "" if 0 <= quantity.si <= 1 else "An output lies between 0 % and 100 %."
