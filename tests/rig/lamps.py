"""The stack light and the horn worked out slowly from the project's truth table and the names of what holds: an oracle.

It knows nothing of the kernel: only the rules that the project file states in words, and the states of the alarms.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from levelbench.project import Project
from levelbench.project.records import LampRow
from levelbench.rig import Action, Recording, has
from levelbench.rig.lamps import CHOICES
from levelbench.rig.panel import ALARM_NAMES, ALARM_STATES

_LATCHES = {"stop pressed": "stop latched", "switch tripped": "switch latched", "sensor failed": "sensor latched"}
_ROWS = {name: name for name in ALARM_NAMES} | {"bad signal": "sensor failed", "switch": "switch tripped"}
COLOURS = ("red", "yellow", "green", "blue")
UNANSWERED = ("unacknowledged", "returned unacknowledged", "latched unacknowledged")
ANSWERED = ("acknowledged", "latched acknowledged")
COME = "unacknowledged"
Alarms = Mapping[str, str]  # the state of each alarm, in words


def simple(conditions: int) -> Alarms:
    """The states of alarms that acknowledge themselves and of which nobody has acknowledged, shelved … one."""
    return {name: "unacknowledged" for name in ALARM_NAMES if has(conditions, name)}


def states(conditions: int, alarms: Alarms | None = None) -> set[str]:
    """Which rows of the truth table hold."""
    alarms = simple(conditions) if alarms is None else alarms
    held = {row for row, latch in _LATCHES.items() if has(conditions, latch)}
    if not held and not has(conditions, "started"):
        held.add("waiting for start")
    held |= {_ROWS[name] for name, state in alarms.items() if state in UNANSWERED + ANSWERED}
    if not held:
        held.add("normal")
    if not has(conditions, "automatic"):
        held.add("manual")
    return held


def expected(
    project: Project,
    conditions: int,
    *,
    alarms: Alarms | None = None,
    answered: Iterable[str] = (),
    lamp_test: bool = False,
) -> dict[str, str]:
    """What each colour shows; rows add up, flashing over steady; everything is dark without mains."""
    if not has(conditions, "mains on"):
        return dict.fromkeys(COLOURS, "off")
    rows = [row for row in project.stack_light if row.state in states(conditions, alarms)]
    calm = {row.state for row in rows if row.acknowledged == "steady" and row.state in answered}
    shown = {}
    for colour in COLOURS:
        modes = {
            "steady" if getattr(row, colour) == "flashing" and row.state in calm else getattr(row, colour)
            for row in rows
        }
        modes |= {"steady"} if lamp_test else set()
        shown[colour] = "flashing" if "flashing" in modes else "steady" if "steady" in modes else "off"
    return shown


def shown(conditions: int) -> dict[str, str]:
    """What each colour shows in a set of conditions."""
    one = {}
    for colour in COLOURS:
        steady, flashing = has(conditions, f"{colour} steady"), has(conditions, f"{colour} flashing")
        assert not (steady and flashing)
        one[colour] = "flashing" if flashing else "steady" if steady else "off"
    return one


def horn_wanted(project: Project, conditions: int) -> bool:
    """Whether any row that holds asks for the horn, where nobody has acknowledged anything."""
    held = states(conditions)
    return has(conditions, "mains on") and any(row.horn for row in project.stack_light if row.state in held)


class Light:
    """The lamps and the horn over a run: who acknowledged what, and how long the horn may stay silenced."""

    def __init__(self, project: Project, scan: float) -> None:
        self._project, self._scan = project, scan
        self._silence = project.alarm_handling.silence_at_most.si
        self._alarms: Alarms = {}
        self._held: set[str] = set()
        self._answered: set[str] = set()
        self._sounding: set[str] = set()
        self._testing = False
        self._table = {row.state: row for row in project.stack_light}
        self.silenced_until: float | None = None  # the scan

    def act(self, at: int, what: str, value: float) -> None:
        """Take what a person does in a scan, before it runs."""
        if what == "silence":
            self.silenced_until = at + self._silence / self._scan
        elif what == "silence time":
            self._silence = value
        elif what == "lamp test":
            self._testing = value > 0.0
        elif what.startswith("lamps "):
            self._change(what.removeprefix("lamps "), CHOICES[int(value)].split(", "))
        elif what == "acknowledge":
            self._answered = set(self._held)

    def _change(self, state: str, words: list[str]) -> None:
        """Take another row of the table, in words."""
        lit = dict(one.split(" ") for one in words if one.endswith(("steady", "flashing")))
        calms = "steady once acknowledged" in words
        modes = {colour: lit.get(colour, "off") for colour in COLOURS}
        row = LampRow(state, **modes, horn="horn" in words, acknowledged="steady" if calms else "stays")
        self._table[state] = row

    def check(self, at: int, conditions: int, alarms: Alarms) -> None:
        """Compare what a scan shows with what it should."""
        mains = has(conditions, "mains on")
        self._held = states(conditions, alarms) if mains else set()
        self._answered &= self._held
        for name, state in alarms.items():
            if state in ANSWERED and mains:
                self._answered.add(_ROWS[name])
        self._answered -= {_ROWS[name] for name, state in alarms.items() if state in UNANSWERED}
        project = replace(self._project, stack_light=tuple(self._table.values()))
        rows = [row for row in project.stack_light if row.state in self._held]
        sounding = {row.state for row in rows if row.horn and row.state not in self._answered}
        came = {_ROWS[name] for name, state in alarms.items() if state == COME and self._alarms.get(name) != COME}
        self._alarms = dict(alarms)
        if not sounding or sounding & came or sounding - self._sounding:
            self.silenced_until = None
        if self.silenced_until is not None and at > self.silenced_until - 0.5:
            self.silenced_until = None
        self._sounding = sounding
        silenced = self.silenced_until is not None
        assert has(conditions, "silenced") == silenced, at
        assert has(conditions, "horn") == (bool(sounding) and not silenced), at
        lamps = expected(project, conditions, alarms=alarms, answered=self._answered, lamp_test=self._testing)
        assert shown(conditions) == lamps, at


def in_words(packed: int) -> Alarms:
    """The state of each alarm from a row's `alarms`, four bits each."""
    return {name: ALARM_STATES[(packed >> (4 * at)) & 15] for at, name in enumerate(ALARM_NAMES)}


def check_light(recording: Recording, actions: Iterable[Action]) -> int:
    """Follow the lamps and the horn through a run with all its rows; gives how many scans were looked at."""
    light = Light(recording.rig.project, recording.rig.scan)
    bits, alarms = recording["conditions"].astype(np.int64), recording["alarms"].astype(np.int64)
    scan = recording.rig.scan
    todo = sorted(((round(one.time / scan), one.what, one.value) for one in actions), key=lambda one: one[0])
    changes = np.flatnonzero((np.diff(bits, prepend=-1) != 0) | (np.diff(alarms, prepend=-1) != 0)).tolist()
    looks = sorted({*changes, *(at for at, _, _ in todo if at < len(bits))})
    looked = 0
    while looks:
        at = looks.pop(0)
        while todo and todo[0][0] <= at:
            light.act(*todo.pop(0))
        light.check(at, int(bits[at]), in_words(int(alarms[at])))
        looked += 1
        due = light.silenced_until
        if due is not None and due - 0.5 < len(bits) - 1 and (not looks or looks[0] > due - 0.5):
            looks.insert(0, max(int(np.ceil(due - 0.5)), at + 1))
    return looked
