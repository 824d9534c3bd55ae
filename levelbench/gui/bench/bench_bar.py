"""The bar along the foot of the window that never moves: run, clock, figures, status word, lamps, silence, stop.

It stands there before there is anything to run, and imports nothing that brings the compiler in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QComboBox, QFrame, QLabel, QPushButton, QSizePolicy, QWidget

from levelbench.gui.bench.abnormal import STOPS, abnormal, kept_apart, named, to_acknowledge
from levelbench.gui.bench.speeds import SPEEDS, speed_words
from levelbench.gui.bench.stack_light import COLOURS, NO_SIGNAL, StackLight, StatusWord
from levelbench.gui.look.parts import button, column, restyle, row, text
from levelbench.gui.look.switch import Switch
from levelbench.gui.look.theme import GRID
from levelbench.gui.trend.clock import clock
from levelbench.quantity import Dimension

if TYPE_CHECKING:
    from levelbench.gui.bench.live import LiveRun, LiveView
    from levelbench.gui.trend.scales import Scales
    from levelbench.rig import Rig

PREPARING = "preparing the bench"
HEIGHT = 88  # px
_TOLD = 2  # alarms that are named on the bar; the others are counted


class BigFigure(QFrame):
    """A small name over a big value with its unit beside it; the digits keep their places."""

    def __init__(self, name: str, digits: str) -> None:
        super().__init__()
        self.name = name
        self.label = text(name, "small")
        self.value, self.unit = text("–", "figure"), text("", "quiet")
        self.value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        beside = row(self.value, self.unit, None, gap=GRID // 2)
        beside.setAlignment(self.unit, Qt.AlignmentFlag.AlignBottom)
        self.unit.setContentsMargins(0, 0, 0, 4)
        self.setLayout(column(self.label, beside, gap=0))
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
        self.make_room(digits)

    def make_room(self, widest: str) -> None:
        """Keep the room for the widest value that can come, whatever is shown."""
        self.value.ensurePolished()
        self.value.setMinimumWidth(self.value.fontMetrics().horizontalAdvance(re.sub(r"\d", "0", widest)))

    def tell(self, si: float, dimension: Dimension, shown_by: Scales) -> None:
        """Show a value (SI; nan: none)."""
        _set(self.value, "–" if math.isnan(si) else shown_by.bare(si, dimension))
        _set(self.unit, shown_by.units.of(dimension))
        self.setAccessibleName(f"{self.label.text()}: {self.value.text()} {self.unit.text()}")

    def tell_old(self, old: bool) -> None:
        """Say of a value that it is the last good one, or that it is of now."""
        _set(self.label, f"▲ last good {self.name.split()[-1]}" if old else self.name)
        restyle(self.label, role="attention" if old else "small")


NO_BREAK = "\u2011"  # a hyphen that "high-high" is not broken at
_MEANS = (
    ("process value (PV): the volume as the controller sees it", "pv-process-value"),
    ("set point (SP): the volume that the controller works to", "sp-set-point"),
    ("output (OP): how far the pump is driven", "op-output"),
)  # of the three figures: in words, and the heading in the glossary


class BenchBar(QFrame):
    """Shows a live run and takes its orders. Until there is one it says why not."""

    def __init__(self) -> None:
        super().__init__()
        self._run: LiveRun | None = None
        self._scales: Scales | None = None
        self._stop_wanted: bool | None = None
        self._tips: dict[QWidget, str] = {}
        self.setProperty("role", "bench")
        self.setFixedHeight(HEIGHT)
        self._build()
        self.say_waiting(PREPARING)

    def take(self, run: LiveRun) -> None:
        """Show this run from here on, and hand it the orders."""
        self._run = run
        run.advanced.connect(self.show_view)
        run.started_again.connect(self._start_again)
        run.state_changed.connect(self._show_state)

    def _order(self, order: Callable[[LiveRun], object]) -> None:
        if self._run is not None:
            order(self._run)

    def _build(self) -> None:
        self.run_button = button("▶ Run", lambda: self._order(lambda run: run.toggle()), "main", "run or pause (F5)")
        self.run_button.setFixedSize(94, 56)
        tip = "pause, and run one scan of the controller"
        self.scan_button = button("One scan", lambda: self._order(lambda run: run.scan_once()), tip=tip)
        self.speed = QComboBox()
        self.speed.setAccessibleName("speed")
        self.speed.setToolTip("how many times faster than the clock on the wall")
        self.speed.addItems([speed_words(speed) for speed in SPEEDS])
        self.speed.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
        self.speed.activated.connect(lambda at: self._order(lambda run: run.set_speed(SPEEDS[at])))
        self.state, self.clock = text("", wrap=True), text(clock(0.0), "quiet")
        self.pv, self.sp = BigFigure("volume PV", "0.00"), BigFigure("set point SP", "0.00")
        self.op = BigFigure("pump OP", "100")
        for figure, (means, page) in zip((self.pv, self.sp, self.op), _MEANS, strict=True):
            figure.setToolTip(means)
            figure.setProperty("help", f"glossary#{page}")  # the page that F1 opens
        self.status, self.lamps = StatusWord(), StackLight()
        self.alarm, self.horn = text("no alarms", wrap=True), text("horn silent", "quiet")
        self.alarm.setFixedWidth(104)
        self.silence = button(
            "Silence", lambda: self._order(lambda run: run.act("silence")), "tight", "silence the horn; the alarm stays"
        )
        self.acknowledge = button("Acknowledge", lambda: self._order(lambda run: run.act("acknowledge")), "tight")
        self.stop = QPushButton("STOP")
        self.stop.setProperty("role", "stop")
        self.stop.setCheckable(True)
        self.stop.setFixedSize(80, 56)
        self.stop.clicked.connect(self._press_stop)
        for one in (self.run_button, self.stop):
            Switch(one)
        self._name_stop(False)
        self._place()

    def _place(self) -> None:
        self.state.setFixedWidth(96)
        layout = row(self.run_button, gap=GRID)
        layout.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        for inner in (column(self.speed, self.scan_button, gap=4), column(None, self.state, self.clock, None, gap=2)):
            layout.addLayout(inner)
        for figure in (self.pv, self.sp, self.op):
            layout.addStretch(1)
            layout.addWidget(figure)
        layout.addStretch(2)
        layout.addWidget(self.status)
        layout.addWidget(self.lamps)
        layout.addLayout(column(None, self.alarm, self.horn, None, gap=2))
        layout.addLayout(column(self.acknowledge, self.silence, gap=2))
        layout.addWidget(self.stop)
        self.setLayout(layout)

    # What it says --------------------------------------------------------------------------------------------------

    def say_waiting(self, words: str) -> None:
        """Say why there is nothing to run yet, and offer nothing that can't be done."""
        _set(self.state, words)
        for one in (self.run_button, self.scan_button, self.speed, self.acknowledge, self.silence, self.stop):
            self._tips.setdefault(one, one.toolTip())
            one.setEnabled(False)
            one.setToolTip(f"Not yet: {words}.")

    def _open(self) -> None:
        for one, tip in self._tips.items():
            one.setEnabled(one not in (self.silence, self.acknowledge))
            one.setToolTip(tip)
        self._tips.clear()

    def take_scales(self, rig: Rig) -> None:
        """Show values in the units of a rig and to its steps."""
        from levelbench.gui.trend.scales import scales  # noqa: PLC0415  brings the compiler in

        self._scales = shown_by = scales(rig)
        widest = max((shown_by.bare(float(one), Dimension.VOLUME) for one in rig.strapping.volumes[[0, -1]]), key=len)
        self.pv.make_room(widest)
        self.sp.make_room(widest)
        if self._run is not None and self._run.view is not None:
            self.show_view(self._run.view)

    def _start_again(self, rig: Rig) -> None:
        self.take_scales(rig)
        assert self._scales is not None
        self._stop_wanted = None
        self._open()
        self.clock.setText(clock(0.0))
        for figure in (self.pv, self.sp):
            figure.tell(math.nan, Dimension.VOLUME, self._scales)
        self.op.tell(math.nan, Dimension.PERCENT, self._scales)
        self.status.show_word("")
        self._show_state()

    def _show_state(self) -> None:
        run = self._run
        if self._scales is None or run is None:
            return
        self.run_button.setText("❚❚ Pause" if run.running else "▶ Run")
        with QSignalBlocker(self.speed):
            self.speed.setCurrentIndex(SPEEDS.index(run.speed))
        self.state.setText(f"running {run.speed} ×" if run.running else "paused")

    def show_view(self, view: LiveView) -> None:
        """Show how things stand."""
        shown_by, run = self._scales, self._run
        if shown_by is None or run is None:
            return
        self.clock.setText(clock(view["time"], parts=not run.running))
        held = view.has("sensor failed")
        self.pv.tell_old(held)
        self.pv.tell(view["pv"], Dimension.VOLUME, shown_by)
        self.sp.tell(view["set_point"], Dimension.VOLUME, shown_by)
        self.op.tell(view["output"], Dimension.PERCENT, shown_by.coarse())
        self.status.show_word(NO_SIGNAL if held else view.status)  # of an old PV nothing else is said
        self.lamps.show_modes(lamp_modes(view))
        self._show_alarms(view)
        self._show_stop(view.has("stop pressed"))

    def _show_alarms(self, view: LiveView) -> None:
        found, apart = abnormal(view), kept_apart(view)
        more = f" and {len(found) - _TOLD} more" if len(found) > _TOLD else ""
        none = f"no alarms, {len(apart)} kept apart" if apart else "no alarms"
        words = f"{named(found[:_TOLD])}{more}" if found else none
        _set(self.alarm, words.replace("-", NO_BREAK))
        self.alarm.setToolTip("\n".join([*(f"{one.mark} {one}" for one in found), *apart]))
        worst = "stop-strong" if any(one.name in STOPS for one in found) else "attention-strong"
        restyle(self.alarm, role=worst if found else "body")
        self._show_waiting(to_acknowledge(view))
        sounding, silenced = view.has("horn"), view.has("silenced")
        _set(self.horn, "♪ horn sounds" if sounding else "horn silenced" if silenced else "horn silent")
        restyle(self.horn, role="attention-strong" if sounding else "quiet")
        self.silence.setEnabled(sounding)
        self.silence.setToolTip("silence the horn; the alarm stays" if sounding else "Nothing to silence: no horn.")

    def _show_waiting(self, waiting: int) -> None:
        if self.acknowledge.isEnabled() == (waiting > 0) and self.acknowledge.toolTip() == _acknowledge_tip(waiting):
            return
        self.acknowledge.setEnabled(waiting > 0)
        self.acknowledge.setToolTip(_acknowledge_tip(waiting))
        self.acknowledge.setAccessibleName(_acknowledge_tip(waiting))

    # The emergency stop --------------------------------------------------------------------------------------------

    def _press_stop(self, pressed: bool) -> None:
        self._stop_wanted = pressed
        self._name_stop(pressed)
        self._order(lambda run: run.act("stop", 1.0 if pressed else 0.0))

    def _show_stop(self, pressed: bool) -> None:
        """Follow the panel, once it has taken what was pressed here."""
        if self._stop_wanted is not None and pressed != self._stop_wanted:
            return
        self._stop_wanted = None
        if pressed != self.stop.isChecked():
            self.stop.setChecked(pressed)
        self._name_stop(pressed)

    def _name_stop(self, pressed: bool) -> None:
        words = "STOP\npressed" if pressed else "STOP"
        if self.stop.text() == words and self.stop.accessibleName():
            return
        self.stop.setText(words)
        self.stop.setAccessibleName("emergency stop, pressed" if pressed else "emergency stop, released")
        self.stop.setToolTip(
            "Press again to release. The rig stays stopped until it is reset and started again."
            if pressed
            else "Rehearse the emergency stop. In the real panel it is hard-wired and does not pass through this."
        )


def _acknowledge_tip(waiting: int) -> str:
    if not waiting:
        return "No alarm waits to be acknowledged."
    alarms = "one alarm" if waiting == 1 else f"all {waiting} alarms"
    return f"acknowledge {alarms}: seen, the horn falls silent, and the journal says who"


def lamp_modes(view: LiveView) -> dict[str, str]:
    """Give how every lamp of the stack light stands: "off", "steady" or "flashing"."""
    return {lamp: _mode(view, lamp) for lamp in COLOURS}


def _mode(view: LiveView, lamp: str) -> str:
    return "flashing" if view.has(f"{lamp} flashing") else "steady" if view.has(f"{lamp} steady") else "off"


def _set(label: QLabel, words: str) -> None:
    if label.text() != words:
        label.setText(words)
