"""The alarms of the run on the bench as a person deals with them: state, since when, who, and what can be done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from levelbench.alarms.names import tag_of
from levelbench.gui.bench.abnormal import APART, STANDING, TO_ACKNOWLEDGE
from levelbench.gui.bench.live import OPERATOR
from levelbench.project.alarms import PRIORITIES
from levelbench.rig.assemble import key_of
from levelbench.rig.panel import ALARM_NAMES, WHO
from levelbench.rig.telling import Teller

if TYPE_CHECKING:
    from levelbench.gui.bench.live import LiveRun, LiveView
    from levelbench.gui.preferences import Preferences
    from levelbench.project.records import Alarm
    from levelbench.rig import Rig


@dataclass(frozen=True)
class Stand:
    """How an alarm stands: its state as a place in ALARM_STATES, since when [s], and what is left of its shelf [s]."""

    name: str
    tag: str
    state: int
    since: float
    who: str  # "" for its condition
    left: float
    alarm: Alarm  # what the project says of it

    @property
    def waits(self) -> bool:
        """Whether somebody has to acknowledge it."""
        return self.state in TO_ACKNOWLEDGE

    @property
    def apart(self) -> bool:
        """Whether it is shelved, suppressed or out of service."""
        return self.state in APART

    @property
    def stands(self) -> bool:
        """Whether it lights and sounds, or did until somebody acknowledged it."""
        return self.state in STANDING

    @property
    def order(self) -> tuple[bool, bool, int, float]:
        """What stands first in a list: those that wait, then by priority, the newest first."""
        return not self.stands, not self.waits, PRIORITIES.index(self.alarm.priority), -self.since


class Watch(QObject):
    """Follows a live run, and acts on its alarms in the name of a person."""

    changed = Signal()
    named = Signal()  # the person is another

    def __init__(self, live: LiveRun, preferences: Preferences) -> None:
        super().__init__(live)
        self._live, self._preferences = live, preferences
        self._since: dict[str, tuple[float, str]] = {}
        self._tags: tuple[Rig | None, dict[str, str]] = (None, {})
        live.who = preferences.person or OPERATOR
        live.advanced.connect(self._take)
        live.started_again.connect(self._begin)
        live.state_changed.connect(self.changed)

    def _begin(self, _rig: Rig) -> None:
        self._since.clear()
        self.changed.emit()

    def _take(self, view: LiveView) -> None:
        for line in view.journal:
            if line.kind == "alarm":
                self._since[line.what] = line.time, "" if line.who == WHO[0] else line.who
        self.changed.emit()

    @property
    def view(self) -> LiveView | None:
        """How the run stands; None before the first."""
        return self._live.view

    @property
    def person(self) -> str:
        """The name that goes into the journal; "" when nobody has said one."""
        return self._preferences.person

    @person.setter
    def person(self, name: str) -> None:
        self._preferences.person = name
        self._live.who = self.person or OPERATOR
        self.named.emit()

    @property
    def shelf(self) -> tuple[str, float]:
        """The longest time on the shelf, as it was typed and in seconds."""
        rig = self._live.rig
        assert rig is not None
        longest = rig.project.alarm_handling.shelve_at_most
        return longest.shown, longest.si

    def stands(self) -> list[Stand]:
        """Give every alarm in use, those that stand first."""
        view, rig = self._live.view, self._live.newest
        if view is None or rig is None:
            return []
        if self._tags[0] is not rig:
            teller = Teller(rig)
            self._tags = rig, {name: tag_of(teller, key_of(name)) for name in ALARM_NAMES}
        made = []
        for at, (name, state) in enumerate(view.alarms.items()):
            alarm = getattr(rig.project.bands, key_of(name))
            if alarm is not None:
                since, who = self._since.get(name, (0.0, ""))
                made.append(Stand(name, self._tags[1][name], state, since, who, view.shelves[at], alarm))
        return sorted(made, key=lambda one: one.order)

    def acknowledge(self, alarm: str = "") -> None:
        """Acknowledge an alarm, or all of them."""
        self._live.act(f"{alarm} acknowledge".strip())

    def shelve(self, alarm: str, seconds: float) -> None:
        """Put an alarm on the shelf for so long [s]; 0 takes it down."""
        self._live.act(f"{alarm} shelve", seconds)

    def take_out(self, alarm: str, *, out: bool) -> None:
        """Take an alarm out of service, or bring it back."""
        self._live.act(f"{alarm} out of service", float(out))

    def act(self, what: str, value: float = 1.0) -> None:
        """Press or set anything else on the panel."""
        self._live.act(what, value)
