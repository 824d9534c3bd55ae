"""What an operator has in hand on the running rig: every control acts at its next scan and lands in the journal."""

import math
from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.fields.typed_value import TypedValue
from levelbench.gui.look.parts import button, line, row, text
from levelbench.gui.look.switch import Switch
from levelbench.gui.look.theme import GRID
from levelbench.project import units
from levelbench.project.records import GRAVITY, Project
from levelbench.quantity import Dimension, Quantity, number_format


class Rehearsed(Protocol):
    """The running rig, as far as an operator reaches it."""

    def act(self, what: str, value: float) -> None:
        """Set a panel entry or press a button (see `levelbench.rig.panel.ENTRIES`)."""


@dataclass(frozen=True)
class Standing:
    """How the panel of the running rig stands: set point [m3], valve's opening, OP, mode and switches."""

    set_point: float
    opening: float
    output: float
    auto: bool
    stop: bool
    mains: bool


def _toggle(words: str, name: str, role: str = "") -> QPushButton:
    made = QPushButton(words)
    made.setProperty("role", role)
    made.setCheckable(True)
    made.setAutoDefault(False)
    made.setAccessibleName(name)
    made.setToolTip(name)
    Switch(made)
    return made


class OperatorControls(QWidget):
    """Set point, mode, output, drain, power, stop and the buttons beside them."""

    acted = Signal(str, float)

    def __init__(self, rehearsed: Rehearsed) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._rehearsed = rehearsed
        self._known: dict[str, float] = {}
        self._shown_as = number_format()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        self._build_loop(layout)
        self._build_drain(layout)
        self._build_power(layout)

    def begin(self, project: Project) -> None:
        """Stand as the panel stands at the start of a run of a project."""
        start, shown_in = project.start, units(project)
        self._known.clear()
        self.take(project)
        self.set_point.put(start.set_point.text)
        self.output.put(start.output.text)
        self.valve.put(project.drain.opening.text)
        self.draw.put(project.drain.draw.text)
        self.top_up.put(f"1 {shown_in.volume}")
        (self.auto if start.mode == "auto" else self.manual).setChecked(True)
        self._show_mode()
        self.stop.setChecked(False)
        self.mains.setChecked(True)
        self._say_switches()
        gravity = project.drain.kind in GRAVITY
        self.valve.setVisible(gravity)
        self.draw.setVisible(project.drain.kind == "forced draw")
        self.prime.setVisible(project.drain.kind == "siphon over the rim")

    def take(self, project: Project) -> None:
        """Go by the limits of an edited project; the run goes on."""
        self._project = project
        low, high = project.loop_settings.set_point_low, project.loop_settings.set_point_high
        self.set_point.explain(f"{low.shown} to {high.shown}, in steps of {project.loop_settings.entry_step.shown}")

    def follow(self, now: Standing) -> None:
        """Show what was changed elsewhere: on the drawing, on the bench bar, by an edit of the project."""
        if self._shown_as != number_format():
            self._known = dict.fromkeys(self._known, math.nan)  # all is written anew
            self._shown_as = number_format()
        shown_in = units(self._project)
        step = self._project.loop_settings.entry_step.si / 2
        if self._is_new("set point", now.set_point) and not self.set_point.box.isModified():
            self.set_point.put(shown_in.show(now.set_point, Dimension.VOLUME, step))
        if self._is_new("valve", now.opening) and not self.valve.box.isModified():
            self.valve.put(shown_in.show(now.opening, Dimension.PERCENT, 0.001))
        if self._is_new("output", round(now.output, 3)) and not self.output.box.isModified():
            self.output.put(shown_in.show(now.output, Dimension.PERCENT, 0.001))
        if self._is_new("auto", now.auto):
            (self.auto if now.auto else self.manual).setChecked(True)
            self._show_mode()
        for button_, on in ((self.stop, now.stop), (self.mains, now.mains)):
            if self._is_new(button_.accessibleName(), on):
                button_.setChecked(on)
        self._say_switches()

    def _is_new(self, name: str, value: float) -> bool:
        """Tell whether a value differs from the last one heard; the first one heard is what the run begins with."""
        before = self._known.get(name, value)
        self._known[name] = value
        return before != value

    def act(self, what: str, value: float = 1.0) -> None:
        """Act on the rig, and say so."""
        self._rehearsed.act(what, value)
        self.acted.emit(what, value)

    def _build_loop(self, layout: QVBoxLayout) -> None:
        self.set_point = TypedValue("set point", Dimension.VOLUME, lambda si: self.act("set point", si), "Enter")
        self.set_point.check = self._check_set_point
        self.auto = _toggle("Auto", "mode auto: the controller moves the pump")
        self.manual = _toggle("Manual", "mode manual: you move the pump")
        self._mode = QButtonGroup(self)
        self._mode.addButton(self.auto, 1)
        self._mode.addButton(self.manual, 0)
        self._mode.idClicked.connect(self._mode_clicked)
        name = text("mode", "quiet")
        name.setFixedWidth(96)
        name.setWordWrap(True)
        self.output = TypedValue("pump output", Dimension.PERCENT, lambda si: self.act("manual output", si))
        self.output.check = _between_0_and_100
        layout.addWidget(self.set_point)
        layout.addLayout(row(name, self.auto, self.manual, None))
        layout.addWidget(self.output)

    def _build_drain(self, layout: QVBoxLayout) -> None:
        self.valve = TypedValue("drain valve", Dimension.PERCENT, lambda si: self.act("valve opening", si))
        self.valve.check = _between_0_and_100
        self.draw = TypedValue("draw", Dimension.FLOW, lambda si: self.act("draw", si))
        self.draw.check = _not_negative
        self.top_up = TypedValue("reservoir", Dimension.VOLUME, lambda si: self.act("top up", si), "Pour in")
        self.top_up.check = _not_negative
        self.prime = button("Prime", lambda: self.act("prime"), "", "prime the siphon by hand")
        layout.addWidget(line())
        layout.addLayout(row(self.valve, self.prime))
        layout.addWidget(self.draw)
        layout.addWidget(self.top_up)

    def _build_power(self, layout: QVBoxLayout) -> None:
        self.stop = _toggle("STOP", "emergency stop: pressed, it stays in until it is released", "stop")
        self.stop.clicked.connect(self._stop_clicked)
        self.reset = button("Reset", lambda: self.act("reset"), "", "reset: clears what has tripped and is gone")
        self.start = button(
            "Power on", lambda: self.act("power on"), "", "power on: starts after a stop or a power cut"
        )
        self.silence = button("Silence", lambda: self.act("silence"), "", "silence the horn")
        self.mains = _toggle("Mains on", "mains: switched off, everything stops but the siphon")
        self.mains.clicked.connect(self._mains_clicked)
        layout.addWidget(line())
        layout.addLayout(row(self.stop, self.reset, self.start, None))
        layout.addLayout(row(self.mains, self.silence, None))

    def _check_set_point(self, quantity: Quantity) -> str:
        settings = self._project.loop_settings
        low, high = settings.set_point_low, settings.set_point_high
        if low.si <= quantity.si <= high.si:
            return ""
        return f"The operator can enter {low.shown} to {high.shown}. The set point stays where it is."

    def _mode_clicked(self, auto: int) -> None:
        self.act("auto", float(auto))
        self._show_mode()

    def _show_mode(self) -> None:
        self.output.allow(self.manual.isChecked(), "the controller moves it")

    def _stop_clicked(self) -> None:
        self._say_switches()
        self.act("stop", float(self.stop.isChecked()))

    def _mains_clicked(self) -> None:
        self._say_switches()
        self.act("mains", float(self.mains.isChecked()))

    def _say_switches(self) -> None:
        self.stop.setText("Release stop" if self.stop.isChecked() else "STOP")
        self.mains.setText("Mains on" if self.mains.isChecked() else "Mains off")


def _between_0_and_100(quantity: Quantity) -> str:
    return "" if 0.0 <= quantity.si <= 1.0 else "Type 0 % to 100 %."


def _not_negative(quantity: Quantity) -> str:
    return "" if quantity.si >= 0.0 else "Type 0 or more."
