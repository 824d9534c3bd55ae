"""A box for a value that goes to the running rig: typed in any unit, checked, sent with Enter or its button."""

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.fields.unit_menu import UnitButton, has_choice
from levelbench.gui.look.parts import button, column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Dimension, Quantity, QuantityError, read, without_doubt

Check = Callable[[Quantity], str]  # "" when the value may be sent, else the reason why not


class TypedValue(QWidget):
    """A named box with a button; a refused text stays, with the reason under it."""

    def __init__(self, name: str, dimension: Dimension, send: Callable[[float], None], verb: str = "Set") -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._dimension = dimension
        self._send = send
        self.check: Check = lambda _quantity: ""
        self.name = text(name, "quiet")
        self.name.setFixedWidth(96)
        self.name.setWordWrap(True)
        self.box = LineBox()
        self.box.setFixedWidth(112)
        self.box.setAccessibleName(name)
        self.box.returnPressed.connect(self.hand_in)
        self.go = button(verb, self.hand_in, "", f"{verb.lower()} {name}")
        self.now = text("", "small", wrap=True)
        self.reason = text("", "refusal", wrap=True)
        self.reason.hide()
        self.now.setContentsMargins(96 + GRID, 0, 0, 0)
        self.now.hide()
        line = row(self.name, self.box, self.go, None)
        self.units = UnitButton([self.box], [dimension], name, lambda: None) if has_choice([dimension]) else None
        if self.units is not None:
            line.insertWidget(2, self.units)
        self.setLayout(column(line, self.now, self.reason, gap=GRID // 4))

    def put(self, words: str) -> None:
        """Show a value that was not typed here."""
        self.box.setText(words)
        self._refuse("")

    def allow(self, allowed: bool, why_not: str) -> None:
        """Take texts or not; `why_not` is shown while it doesn't."""
        self.box.setEnabled(allowed)
        if self.units is not None:
            self.units.setEnabled(allowed)
        self.go.setEnabled(allowed)
        self.explain("" if allowed else why_not)

    def explain(self, words: str) -> None:
        """Say something about the value under its box."""
        self.now.setText(words)
        self.now.setVisible(bool(words))

    def hand_in(self) -> None:
        """Send what was typed; keep it, with the reason, when it can't be."""
        try:
            quantity = read(without_doubt(self.box.text()), self._dimension)
            reason = self.check(quantity)
        except QuantityError as error:
            reason = str(error)
        self._refuse(reason)
        if not reason:
            self.box.setModified(False)
            self._send(quantity.si)

    def _refuse(self, reason: str) -> None:
        self.reason.setText(f"✗ {reason}" if reason else "")
        self.reason.setVisible(bool(reason))
        restyle(self.box, state="refused" if reason else "")
