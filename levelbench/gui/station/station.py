"""The operator station: what an operator has in hand and nothing else, for a gloved finger, a mouse or keys alone."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QButtonGroup, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from levelbench.gui.bench.live_pacer import LiveView
from levelbench.gui.look.parts import column, holder, restyle, row, scrolling, text
from levelbench.gui.look.switch import Switch
from levelbench.gui.look.theme import GRID
from levelbench.gui.stages.operator import Rehearsed
from levelbench.gui.station import look as station_look
from levelbench.gui.station.arrangement import Columns
from levelbench.gui.station.entry import targets
from levelbench.gui.station.figures import Figures
from levelbench.gui.station.messages import Messages
from levelbench.gui.station.pad import Pad, large
from levelbench.gui.trend.scales import scales
from levelbench.project import Project
from levelbench.rig import Rig

_STOP_TIP = "rehearses the emergency stop (S); in the real panel it is hard-wired and does not pass through this"


class Station(QWidget):
    """Everything of the station, joined to a running rig through `rehearsed`.

    Head and foot with the stop stay in sight; what stands between them scrolls on a small screen.
    """

    left = Signal()  # the operator wants to leave
    full_screen_wanted = Signal()

    def __init__(self, rehearsed: Rehearsed) -> None:
        super().__init__()
        self._rehearsed = rehearsed
        self._view: LiveView | None = None
        self._heard: dict[str, float] = {}
        self._looks_like: tuple[station_look.StationLook, bool] | None = None
        self.setAccessibleName("operator station")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)  # its own ground, whatever it stands in
        self._build_signs()
        self._build_mode()
        self._build_power()
        self._place()
        self._give_keys()
        self._put_on_look()

    # Its parts -----------------------------------------------------------------------------------------------------

    def _build_signs(self) -> None:
        self.title, self.clock = text("", "title", wrap=True), text("", "calm")
        self.leave = large("Leave  Esc", self.go_back, "leave the station (Esc)")
        self.figures, self.messages, self.pad = Figures(), Messages(), Pad()
        self.figures.silence_wanted.connect(self._silence)
        self.messages.seen.connect(lambda: self._rehearsed.act("acknowledge", 1.0))
        self.pad.chose.connect(self._rehearsed.act)

    def _build_mode(self) -> None:
        self.auto = large("", lambda: self._set_mode(auto=True), "mode auto: the controller moves the pump (F6)")
        self.manual = large("", lambda: self._set_mode(auto=False), "mode manual: you move the pump (F7)")
        group = QButtonGroup(self)
        for one in (self.auto, self.manual):
            one.setCheckable(True)
            group.addButton(one)
        self.prime = large("Prime siphon  P", lambda: self._rehearsed.act("prime", 1.0), "prime the siphon by hand (P)")

    def _build_power(self) -> None:
        self.reset = large(
            "Reset  F10", lambda: self._rehearsed.act("reset", 1.0), "clears what has tripped and is gone (F10)"
        )
        self.start = large(
            "Power on  F12", lambda: self._rehearsed.act("power on", 1.0), "starts after a stop or a power cut (F12)"
        )
        self.stop = QPushButton()
        self.stop.setProperty("role", "stop")
        self.stop.setCheckable(True)
        self.stop.setAutoDefault(False)
        self.stop.setToolTip(_STOP_TIP)
        self.stop.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.stop.clicked.connect(self._press_stop)
        Switch(self.stop)
        self._say_stop()

    def _place(self) -> None:
        self.leave.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        right = column(text("mode", "name"), row(self.auto, self.manual), self.prime, self.messages)
        right.setStretch(3, 1)
        inside = QWidget()
        self._columns = Columns(((self.figures, 10), (self.pad, 14), (holder(right), 10)), 3 * GRID)
        inside.setLayout(self._columns)
        self.middle = scrolling(inside)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        layout.setSpacing(GRID)
        head = row(self.title, self.clock, self.leave, gap=2 * GRID)
        head.setStretch(0, 1)
        layout.addLayout(head)
        layout.addWidget(self.middle, 1)
        foot = row(self.reset, self.start, self.stop, gap=2 * GRID)
        for at, share in enumerate((10, 10, 14)):
            foot.setStretch(at, share)
        layout.addLayout(foot)

    def _give_keys(self) -> None:
        pad = self.pad
        keys: dict[str, Callable[[], object]] = {one: partial(pad.type, one) for one in "0123456789"}
        keys |= {one: partial(pad.type, ".") for one in (".", ",")}
        keys |= {"Backspace": pad.take_back, "Delete": pad.wipe, "Return": pad.hand_in, "Enter": pad.hand_in}
        keys |= {"Up": partial(pad.step, up=True), "Down": partial(pad.step, up=False)}
        keys |= {f"F{2 + at}": partial(pad.choose, at) for at in range(3)}
        keys |= {
            "F6": self.auto.click,
            "F7": self.manual.click,
            "F8": self.figures.silence.click,
            "P": self.prime.click,
        }
        keys |= {
            "F9": self.messages.acknowledge.click,
            "F10": self.reset.click,
            "F12": self.start.click,
            "S": self.stop.click,
        }
        keys |= {"PgUp": self.messages.newer.click, "PgDown": self.messages.older.click}
        keys |= {"F11": self.full_screen_wanted.emit, "Esc": self.go_back}
        for key, do in keys.items():
            QShortcut(QKeySequence(key), self).activated.connect(do)

    # Its looks -----------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Follow the program from light to dark, and take smaller letters on a small screen."""
        taken = super().event(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.Resize):
            self._put_on_look()
        return taken

    def _put_on_look(self) -> None:
        wanted = (
            station_look.current(),
            self.width() < station_look.ROOMY.width() or self.height() < station_look.ROOMY.height(),
        )
        if wanted != self._looks_like:
            self._looks_like = wanted
            look, compact = wanted
            self.setStyleSheet(station_look.style_sheet(look, compact=compact))
            self.figures.lamps.resize_lamps(compact=compact)
            self._columns.setSpacing(GRID if compact else 3 * GRID)  # three columns fit a screen of 1024 × 768
            for words in (self.pad.allowed, self.pad.note):  # the keys below keep their places
                words.setMinimumHeight(22 if compact else 44)

    # What it shows -------------------------------------------------------------------------------------------------

    def begin(self, rig: Rig) -> None:
        """Stand as at the start of a run of a rig."""
        project = rig.project
        self._scales = scales(rig)
        self._view = None
        _say_name(self, project)
        offered = targets(project)
        start = {"set point": project.start.set_point.si, "manual output": project.start.output.si}
        start |= {"valve opening": project.drain.opening.si, "draw": project.drain.draw.si}
        self.pad.begin(offered, {one.what: start[one.what] for one in offered})
        self.prime.setVisible(project.drain.kind == "siphon over the rim")
        self.messages.begin()
        self._show_mode(auto=project.start.mode == "auto")
        self._heard = {
            "set point": start["set point"],
            "valve opening": start["valve opening"],
            "output": start["manual output"],
            "auto": float(project.start.mode == "auto"),
            "stop": 0.0,
        }
        self.stop.setChecked(False)
        self._say_stop()

    def take(self, rig: Rig) -> None:
        """Go by the limits and steps of an edited project; the run goes on."""
        self._scales = scales(rig)
        _say_name(self, rig.project)
        self.pad.take(targets(rig.project))

    def say_run(self, words: str, *, running: bool) -> None:
        """Say whether time passes, and how fast."""
        self.clock.setText(words)
        restyle(self.clock, role="calm" if running else "attention")

    def show_view(self, view: LiveView) -> None:
        """Show how things stand."""
        self._view = view
        self.figures.show_view(view, self._scales)
        self._follow(view)

    def _follow(self, view: LiveView) -> None:
        """Take over what was changed, here or elsewhere; a report from before a press doesn't undo it."""
        if self._is_new("set point", view.set_point_wanted):
            self.pad.follow("set point", view.set_point_wanted)
        if self._is_new("valve opening", view.opening):
            self.pad.follow("valve opening", view.opening)
        if self._is_new("auto", float(view.has("automatic"))):
            self._show_mode(auto=view.has("automatic"))
        if self._is_new("stop", float(view.has("stop pressed"))):
            self.stop.setChecked(view.has("stop pressed"))
            self._say_stop()
        if self._is_new("output", view["output"]):
            self.pad.follow("manual output", view["output"])

    def _is_new(self, name: str, value: float) -> bool:
        before = self._heard[name]
        self._heard[name] = value
        return before != value

    # What is done to it --------------------------------------------------------------------------------------------

    def _silence(self) -> None:
        if self._view is not None and self._view.has("horn"):
            self._rehearsed.act("silence", 1.0)

    def _set_mode(self, *, auto: bool) -> None:
        self._show_mode(auto=auto)
        self._rehearsed.act("auto", float(auto))

    def _show_mode(self, *, auto: bool) -> None:
        self.pad.manual = not auto
        (self.auto if auto else self.manual).setChecked(True)
        self.auto.setText(f"{'●' if auto else '○'} Auto  F6")
        self.manual.setText(f"{'○' if auto else '●'} Manual  F7")

    def _press_stop(self, pressed: bool) -> None:
        self._say_stop()
        self._rehearsed.act("stop", float(pressed))

    def _say_stop(self) -> None:
        pressed = self.stop.isChecked()
        self.stop.setText(f"EMERGENCY STOP  S\n{'■ PRESSED: press to release' if pressed else '○ released'}")
        self.stop.setAccessibleName(f"emergency stop, {'pressed' if pressed else 'released'}")

    def go_back(self) -> None:
        """Keep the value if the pad asks, else leave."""
        if self.pad.asking:
            self.pad.say_no()
        else:
            self.left.emit()


def _say_name(station: Station, project: Project) -> None:
    """Say whose station it is, also where the desktop lists windows: two projects may have one each."""
    station.title.setText(f"{project.title}  ·  loop {project.first_letter}-{project.loop}")
    station.setWindowTitle(f"{project.title} – operator station")
