"""The bar along the foot of the window that never moves: run, clock, figures, status word, lamps, silence, stop."""

import math

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QComboBox, QFrame, QLabel, QPushButton, QSizePolicy, QVBoxLayout

from levelbench.gui.live import SPEEDS, LiveRun, LiveView
from levelbench.gui.parts import button, column, restyle, row, text
from levelbench.gui.scales import Scales, scales
from levelbench.gui.stack_light import COLOURS, StackLight, StatusWord
from levelbench.gui.theme import GRID
from levelbench.gui.trend_axes import clock
from levelbench.quantity import Dimension
from levelbench.rig import Rig
from levelbench.rig.panel import BAND_NAMES

PREPARING = "preparing the bench"
HEIGHT = 88  # px
ALARMS = {
    "stop latched": "emergency stop",
    "switch latched": "overflow switch",
    "sensor failed": "sensor failed",
    **{name: name for name in BAND_NAMES},
    "pump dry": "pump dry",
    "spilling": "spilling",
    "reservoir spilling": "reservoir spilling",
}
STOPS = ("stop latched", "switch latched", "sensor failed", "spilling", "reservoir spilling")


class BigFigure(QFrame):
    """A small name over a big value with its unit beside it."""

    def __init__(self, name: str, digits: str) -> None:
        super().__init__()
        self.name = name
        self.value, self.unit = text("–", "figure"), text("", "quiet")
        self.value.ensurePolished()
        self.value.setMinimumWidth(self.value.fontMetrics().horizontalAdvance(digits))
        self.value.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom)
        beside = row(self.value, self.unit, gap=GRID // 2)
        beside.setAlignment(self.unit, Qt.AlignmentFlag.AlignBottom)
        self.unit.setContentsMargins(0, 0, 0, 4)
        self.setLayout(column(text(name, "small"), beside, gap=0))
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)

    def tell(self, si: float, dimension: Dimension, shown_by: Scales) -> None:
        """Show a value (SI; nan: none)."""
        self.value.setText("–" if math.isnan(si) else shown_by.bare(si, dimension))
        self.unit.setText(shown_by.units.of(dimension))
        self.setAccessibleName(f"{self.name}: {self.value.text()} {self.unit.text()}")


class BenchBar(QFrame):
    """Shows a live run and takes its orders. Until there is one it says why not."""

    def __init__(self, run: LiveRun) -> None:
        super().__init__()
        self._run = run
        self._scales: Scales | None = None
        self._stop_wanted: bool | None = None
        self.setProperty("role", "bench")
        self.setFixedHeight(HEIGHT)
        self._build()
        self._connect()
        self.say_waiting(PREPARING)

    def _build(self) -> None:
        self.run_button = button("▶ Run", self._run.toggle, "main", "run or pause (F5)")
        self.run_button.setFixedSize(88, 56)
        self.scan_button = button("One scan", self._run.scan_once, tip="pause, and run one scan of the controller")
        self.speed = QComboBox()
        self.speed.setAccessibleName("speed")
        self.speed.setToolTip("how many times faster than the clock on the wall")
        self.speed.addItems([f"{speed} ×" for speed in SPEEDS])
        self.state, self.clock = text(""), text(clock(0.0), "quiet")
        self.pv = BigFigure("volume PV", "00.00")
        self.sp = BigFigure("set point SP", "00.00")
        self.op = BigFigure("pump OP", "100")
        self.status, self.lamps = StatusWord(), StackLight()
        self.alarm, self.horn = text("no alarms"), text("horn silent", "quiet")
        self.alarm.setWordWrap(True)
        self.alarm.setFixedWidth(120)
        self.silence = button("Silence", lambda: self._run.act("silence"), tip="silence the horn; the alarm stays")
        self.stop = QPushButton("STOP")
        self.stop.setProperty("role", "stop")
        self.stop.setCheckable(True)
        self.stop.setAccessibleName("emergency stop, released")
        self.stop.setFixedSize(92, 56)
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
        words = QVBoxLayout()
        for one in (self.alarm, self.horn):
            words.addWidget(one)
        words.setSpacing(2)
        words.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        layout.addLayout(words)
        layout.addWidget(self.silence)
        layout.addWidget(self.stop)
        self.setLayout(layout)

    def _connect(self) -> None:
        self._run.advanced.connect(self.show_view)
        self._run.started_again.connect(self._start_again)
        self._run.state_changed.connect(self._show_state)
        self.speed.activated.connect(lambda at: self._run.set_speed(SPEEDS[at]))
        self.stop.clicked.connect(self._press_stop)

    # What it says --------------------------------------------------------------------------------------------------

    def say_waiting(self, words: str) -> None:
        """Say why there is nothing to run yet, and offer nothing that can't be done."""
        self.state.setText(words)
        self.state.setWordWrap(True)
        self._allow(False)

    def _allow(self, on: bool) -> None:
        for one in (self.run_button, self.scan_button, self.speed, self.silence, self.stop):
            one.setEnabled(on)

    def _start_again(self, rig: Rig) -> None:
        self._scales = scales(rig)
        self._stop_wanted = None
        self.state.setWordWrap(False)
        self._allow(True)
        self.clock.setText(clock(0.0))
        for figure, dimension in (
            (self.pv, Dimension.VOLUME),
            (self.sp, Dimension.VOLUME),
            (self.op, Dimension.PERCENT),
        ):
            figure.tell(math.nan, dimension, self._scales)
        self.status.show_word("")
        self._show_state()

    def _show_state(self) -> None:
        if self._scales is None:
            return
        running = self._run.running
        self.run_button.setText("❚❚ Pause" if running else "▶ Run")
        with QSignalBlocker(self.speed):
            self.speed.setCurrentIndex(SPEEDS.index(self._run.speed))
        self.state.setText(f"running {self._run.speed} ×" if running else "paused")

    def show_view(self, view: LiveView) -> None:
        """Show how things stand."""
        shown_by = self._scales
        if shown_by is None:
            return
        self.clock.setText(clock(view["time"], parts=not self._run.running))
        self.pv.tell(view["pv"], Dimension.VOLUME, shown_by)
        self.sp.tell(view["set_point"], Dimension.VOLUME, shown_by)
        self.op.tell(view["output"], Dimension.PERCENT, shown_by.coarse())
        self.status.show_word(view.status)
        self.lamps.show_modes({lamp: _mode(view, lamp) for lamp in COLOURS})
        self._show_alarms(view)
        self._show_stop(view.has("stop pressed"))

    def _show_alarms(self, view: LiveView) -> None:
        holding = [name for name in ALARMS if view.has(name)]
        marked = f"▲ {', '.join(ALARMS[name] for name in holding)}" if holding else "no alarms"
        _set(self.alarm, marked)
        worst = "stop-strong" if any(name in STOPS for name in holding) else "attention-strong"
        restyle(self.alarm, role=worst if holding else "body")
        sounding, silenced = view.has("horn"), view.has("silenced")
        _set(self.horn, "♪ horn sounds" if sounding else "horn silenced" if silenced else "horn silent")
        restyle(self.horn, role="attention-strong" if sounding else "quiet")
        self.silence.setEnabled(sounding)

    # The emergency stop --------------------------------------------------------------------------------------------

    def _press_stop(self, pressed: bool) -> None:
        self._stop_wanted = pressed
        self._name_stop(pressed)
        self._run.act("stop", 1.0 if pressed else 0.0)

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
        if self.stop.text() != words:
            self.stop.setText(words)
            self.stop.setAccessibleName("emergency stop, pressed" if pressed else "emergency stop, released")
            self.stop.setToolTip(
                "Turn to release. The rig stays stopped until it is reset and started again."
                if pressed
                else "Rehearse the emergency stop. In the real panel it is hard-wired and does not pass through this."
            )


def _mode(view: LiveView, lamp: str) -> str:
    return "flashing" if view.has(f"{lamp} flashing") else "steady" if view.has(f"{lamp} steady") else "off"


def _set(label: QLabel, words: str) -> None:
    if label.text() != words:
        label.setText(words)
