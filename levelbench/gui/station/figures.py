"""The left side of the station: PV, SP and OP large, the status word, lamps, alarms in words, and the horn."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from levelbench.gui.bench.abnormal import STOPS, abnormal
from levelbench.gui.bench.bench_bar import lamp_modes
from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.bench.stack_light import NO_SIGNAL, STATUS_MARKS
from levelbench.gui.look.parts import column, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.station.pad import large
from levelbench.gui.station.signs import Lamps
from levelbench.gui.trend.scales import Scales
from levelbench.quantity import Dimension

_TOLD = 3  # that are told in full; the others are counted
_ALARM_TIP = "what is abnormal now, and the state of its alarm"


class Figures(QWidget):
    """How the rig stands, in figures, words and shapes; and the button that silences the horn."""

    silence_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.pv_name = text("volume PV", "name")
        self.pv, self.pv_unit = text("–", "pv"), text("", "value")
        self.sp, self.op = text("–", "value"), text("–", "value")
        self.status = text(STATUS_MARKS[""], "word")
        self.status.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.lamps = Lamps()
        self.alarm, self.pump = text("✓ no alarms", "calm", wrap=True), text("", "calm", wrap=True)
        self.horn = text("horn silent", "calm")
        self.horn.setMinimumWidth(128)
        self.silence = large("Silence  F8", self.silence_wanted.emit, "silence the horn; the alarm stays (F8)")
        self._explain()
        self._place()

    def _explain(self) -> None:
        """Say of each figure what it is and what the trade calls it, to who points at it."""
        for one, words in (
            (self.pv, "process value (PV): the volume as the controller sees it"),
            (self.sp, "set point (SP): the volume that the controller works to"),
            (self.op, "output (OP): how far the pump is driven"),
            (self.status, "status word: HIGH and LOW from the limits of these names, OK between them"),
            (self.alarm, _ALARM_TIP),
            (self.pump, "what keeps the pump from being released, and what to do about it"),
            (self.horn, "the horn sounds until it is silenced or the cause is gone"),
        ):
            one.setToolTip(words)

    def _place(self) -> None:
        value = row(self.pv, self.pv_unit, None)
        value.setAlignment(self.pv_unit, Qt.AlignmentFlag.AlignBottom)
        self.pv_unit.setContentsMargins(0, 0, 0, 10)
        pair = row(gap=2 * GRID)
        for name, label in (("set point SP", self.sp), ("pump OP", self.op)):
            pair.addLayout(column(text(name, "name"), label, gap=0), 1)
        layout = column(self.pv_name, value, pair, self.status, None, self.lamps, None)
        layout.addWidget(self.alarm)
        layout.addWidget(self.pump)
        layout.addLayout(row(self.horn, self.silence))
        self.setLayout(layout)

    def show_view(self, view: LiveView, shown_by: Scales) -> None:
        """Show how things stand."""
        self.pv.setText(shown_by.bare(view["pv"], Dimension.VOLUME))
        self.pv_unit.setText(shown_by.units.of(Dimension.VOLUME))
        self.pv.setAccessibleName(f"volume PV: {self.pv.text()} {self.pv_unit.text()}")
        held = view.has("sensor failed")
        self.pv_name.setText("▲ volume PV: the last good value" if held else "volume PV")
        restyle(self.pv_name, role="attention" if held else "name")
        self.sp.setText(shown_by.show(view["set_point"], Dimension.VOLUME))
        self.op.setText(shown_by.coarse().show(view["output"], Dimension.PERCENT))
        self.status.setText(STATUS_MARKS[NO_SIGNAL if held else view.status])
        restyle(self.status, role="word" if view.status == "OK" and not held else "word-abnormal")
        self.lamps.show_modes(lamp_modes(view))
        self._show_alarms(view)

    def _show_alarms(self, view: LiveView) -> None:
        found = abnormal(view)
        told = "\n".join(f"{one.mark} {one}" for one in found[:_TOLD])
        more = f"\nand {len(found) - _TOLD} more" if len(found) > _TOLD else ""
        self.alarm.setText(f"{told}{more}" if found else "✓ no alarms")
        self.alarm.setToolTip("\n".join(f"{one.mark} {one}" for one in found) or _ALARM_TIP)
        stops = any(one.name in STOPS for one in found)
        restyle(self.alarm, role="stop" if stops else "attention" if found else "calm")
        why_not = pump_blocked_by(view)
        self.pump.setText(f"■ {why_not}" if why_not else "✓ pump released")
        restyle(self.pump, role="stop" if why_not else "calm")
        sounding = view.has("horn")
        self.horn.setText("♪ horn sounds" if sounding else "horn silenced" if view.has("silenced") else "horn silent")
        restyle(self.horn, role="attention" if sounding else "calm")


def pump_blocked_by(view: LiveView) -> str:
    """Say what keeps the pump from being released and what to do about it; "" when it is released."""
    if not view.has("mains on"):
        return "no mains: the pump stands"
    for condition, words in (
        ("stop pressed", "pump blocked: the emergency stop is pressed"),
        ("switch open", "pump blocked: the overflow switch is open"),
        ("sensor failed", "pump blocked: no good sensor signal"),
    ):
        if view.has(condition):
            return words
    if any(view.has(name) for name in ("stop latched", "switch latched", "sensor latched")):
        return "pump blocked: press Reset"
    return "" if view.has("started") else "pump stands: press Power on"
