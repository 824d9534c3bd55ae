"""The stack light's truth table proved: every display that any combination of states gives; how long a horn stays out.

States that hold at once add up, flashing over steady, so the displays are followed instead of the combinations: there
are at most 81 of them, however many alarms there are. The horn is not counted in telling displays apart, because it can
be silenced. Without mains everything is dark, and nothing is proved about that.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from levelbench.project.records import LAMP_COLOURS, LAMP_MODES, LampRow, Project
from levelbench.rig import Action, Rig, run

Modes = tuple[int, ...]  # of red, yellow, green, blue: 0 off, 1 steady, 2 flashing
Choices = Sequence[tuple[str, tuple[tuple[str, Modes], ...]]]  # states, each with the ways in which it is shown
_DARK: Modes = (0,) * len(LAMP_COLOURS)
_STEADY, _FLASHING = LAMP_MODES.index("steady"), LAMP_MODES.index("flashing")
_LATCHES = {
    "stop pressed": "",
    "switch tripped": "switch",
    "sensor failed": "bad_signal",
}  # with the alarm that adds it
_ALARM_ROWS = {
    "high-high": "high_high",
    "high": "high",
    "low": "low",
    "low-low": "low_low",
    "deviation": "deviation",
    "rate of change": "rate_of_change",
    "frozen signal": "frozen_signal",
    "no rise": "no_rise",
    "spill": "spill",
}
EMERGENCIES = frozenset({"stop pressed", "switch tripped", "high-high", "spill"})
"""States of which common practice says that somebody must act at once: red in IEC 60073."""
_CAUSES = (("stop pressed", "stop"), ("switch tripped", "switch wire open"), ("sensor failed", "loop wire open"))
_ROWS = 1000  # kept of a run; the journal has every moment at which the horn sounds
_SILENCED_AT = 2.0  # [s] after the cause; a sensor's failure is awaited on top of it


@dataclass(frozen=True)
class Show:
    """What the light shows, with the fewest states that give it ("low, acknowledged" where that makes a difference)."""

    modes: Modes
    states: tuple[str, ...]

    @property
    def shape(self) -> tuple[int, int]:
        """Give what somebody who sees no colours sees: how many lamps are steady, and how many flash."""
        return self.modes.count(_STEADY), self.modes.count(_FLASHING)

    @property
    def words(self) -> str:
        """Say what is lit: "red flashing, blue steady"."""
        lit = (
            f"{colour} {LAMP_MODES[mode]}" for colour, mode in zip(LAMP_COLOURS, self.modes, strict=True) if mode > 0
        )
        return ", ".join(lit) or "dark"


@dataclass(frozen=True)
class Silence:
    """A horn that was silenced and left alone: seconds [s] until it sounded again, and the longest allowed."""

    state: str
    seconds: float | None  # None: it did not sound again
    allowed: float

    @property
    def holds(self) -> bool:
        """Whether it sounded again in time."""
        return self.seconds is not None and self.seconds <= self.allowed


@dataclass(frozen=True)
class Proved:
    """What every combination of a table shows. `combinations` counts them, `shows` are the different displays."""

    combinations: int
    shows: tuple[Show, ...]
    dark: tuple[str, ...]  # states that light nothing when they are alone; with each other they light nothing either
    against_meaning: tuple[str, ...]  # states whose colours contradict IEC 60073

    @property
    def alike(self) -> tuple[tuple[Show, ...], ...]:
        """Displays that differ, but only by colour."""
        groups: dict[tuple[int, int], list[Show]] = {}
        for show in self.shows:
            groups.setdefault(show.shape, []).append(show)
        return tuple(tuple(group) for group in groups.values() if len(group) > 1)


def states_of(project: Project) -> tuple[str, ...]:
    """Give the states of the truth table that can come on a rig, in the table's order."""
    return (*_latches(project), "waiting for start", *_alarms(project), "manual", "normal")


def prove_lamps(project: Project) -> Proved:
    """Follow every combination of states that can hold at once through the table, acknowledged or not."""
    rows = {row.state: row for row in project.stack_light}
    alarms, latches = _choices(rows, _alarms(project)), _choices(rows, _latches(project))
    by_alarm = [(state, shown) for state, shown in latches if _by_alarm(project, state)]
    free = _Displays().may_hold(alarms).may_hold(by_alarm)
    running = free.with_one(_choices(rows, ("normal",)), only_alone=True)
    waiting = free.with_one(_choices(rows, ("waiting for start",)))
    latched = _Displays().may_hold(latches).without_none().may_hold(alarms)
    manual = _choices(rows, ("manual",))
    found: dict[Modes, tuple[str, ...]] = {}
    combinations = 0
    for each in (running, waiting, latched):
        whole = each.may_hold(manual)
        combinations += whole.combinations
        for modes, states in whole.shortest.items():
            _keep(found, modes, states)
    shows = tuple(Show(modes, states) for modes, states in sorted(found.items(), reverse=True))
    states = states_of(project)
    dark = tuple(state for state in states if state != "manual" and _modes(rows, state) == _DARK)
    return Proved(combinations, shows, dark, _against_meaning(rows, states))


def shown_by(project: Project, states: Sequence[str], *, acknowledged: bool = False) -> tuple[Show, bool]:
    """Give what states show that hold at once, and whether the horn sounds; all of them acknowledged, or none."""
    rows = {row.state: row for row in project.stack_light}
    modes = _DARK
    for _, ways in _choices(rows, states):
        modes = _over(modes, ways[-1 if acknowledged else 0][1])
    horn = not acknowledged and any(rows[state].horn for state in states if state in rows)
    return Show(modes, tuple(states)), horn


def hold_together(states: Sequence[str]) -> bool:
    """Tell whether the scan can bring states about at once: "normal" only beside "manual", no waiting after a trip."""
    held = set(states)
    return not ("normal" in held and held - {"normal", "manual"}) and not (
        "waiting for start" in held and held & {"stop pressed"}
    )


def prove_silence(rig: Rig, progress: Callable[[float], bool] | None = None) -> tuple[Silence, ...]:
    """Silence the horn in the compiled scan, for each cause that a person or a broken wire gives, and leave it so.

    `progress` is told the share done and answers whether to go on; Cancelled is raised when it says no.
    """
    allowed = rig.project.alarm_handling.silence_at_most.si
    sounding = {row.state for row in rig.project.stack_light if row.horn}
    possible = _latches(rig.project)
    found = []
    causes = [(state, cause) for state, cause in _CAUSES if state in sounding and state in possible]
    for number, (state, cause) in enumerate(causes):
        share = None if progress is None else partial(_part, progress, number, len(causes))
        at = _SILENCED_AT + rig.project.sensor.failure_delay.si + rig.scan
        actions = [Action(0.0, cause, 1.0), Action(at, "silence", 1.0)]
        lasts = at + allowed + 2.0 + 2.0 * rig.scan
        made = run(rig, lasts, actions=actions, every=max(int(lasts / rig.scan) // _ROWS, 1), progress=share)
        heard = [(one.time, one.value > 0) for one in made.journal if one.what == "horn"]
        again = next((time for time, sounds in heard if sounds and time > at), None)
        if again is None and heard and heard[-1][1]:
            again = at + rig.scan  # a silence that was over before it began
        seconds = None if again is None else again - at
        found.append(Silence(state, seconds, allowed + 1.5 * rig.scan))
    return tuple(found)


def _part(progress: Callable[[float], bool], number: int, count: int, share: float) -> bool:
    """Tell how far the whole work is when one run of several is done to a share."""
    return progress((number + share) / count)


@dataclass(frozen=True)
class _Displays:
    """The displays that combinations of states give, each with its shortest one, and how many combinations they are."""

    shortest: Mapping[Modes, tuple[str, ...]] = field(default_factory=dict)  # of those in which something holds
    combinations: int = 1
    none: bool = True  # whether the combination in which nothing holds is among them

    def may_hold(self, choices: Choices) -> "_Displays":
        """Let each of these states hold as well, in any of its ways, or not."""
        shortest, combinations = dict(self.shortest), self.combinations
        for _, ways in choices:
            before = list(shortest.items()) + [(_DARK, ())] * self.none
            for modes, states in before:
                for words, more in ways:
                    _keep(shortest, _over(modes, more), (*states, words))
            combinations *= 1 + len(ways)
        return _Displays(shortest, combinations, self.none)

    def with_one(self, choices: Choices, *, only_alone: bool = False) -> "_Displays":
        """Let one state hold, in any of its ways, on top of each combination, or only where no other does."""
        ((_, ways),) = choices
        made = dict(self.shortest) if only_alone else {}
        under = [] if only_alone else list(self.shortest.items())
        for modes, states in under + [(_DARK, ())] * self.none:
            for words, more in ways:
                _keep(made, _over(modes, more), (*states, words))
        combinations = self.combinations - 1 + len(ways) if only_alone else self.combinations * len(ways)
        return _Displays(made, combinations, none=False)

    def without_none(self) -> "_Displays":
        """Leave out the one combination in which nothing holds."""
        return replace(self, combinations=self.combinations - 1, none=False)


def _keep(found: dict[Modes, tuple[str, ...]], modes: Modes, states: tuple[str, ...]) -> None:
    """Note a combination for a display, unless a shorter one is known."""
    if modes not in found or len(states) < len(found[modes]):
        found[modes] = states


def _over(one: Modes, other: Modes) -> Modes:
    """Add two displays up: flashing wins over steady, steady over off."""
    return tuple(max(pair) for pair in zip(one, other, strict=True))


def _modes(rows: Mapping[str, LampRow], state: str) -> Modes:
    """Give what a state's own row lights; a state without a row lights nothing."""
    if state not in rows:
        return _DARK
    return tuple(LAMP_MODES.index(getattr(rows[state], colour)) for colour in LAMP_COLOURS)


def _choices(rows: Mapping[str, LampRow], states: Iterable[str]) -> Choices:
    """Give each state with what it can light: as it is, and calmed once it is acknowledged."""
    found = []
    for state in states:
        modes = _modes(rows, state)
        ways = [(state, modes)]
        if state in rows and rows[state].acknowledged == "steady" and _FLASHING in modes:
            ways.append((f"{state}, acknowledged", tuple(min(mode, _STEADY) for mode in modes)))
        found.append((state, tuple(ways)))
    return found


def _alarms(project: Project) -> tuple[str, ...]:
    return tuple(state for state, key in _ALARM_ROWS.items() if getattr(project.bands, key) is not None)


def _latches(project: Project) -> tuple[str, ...]:
    return tuple(state for state in _LATCHES if state != "switch tripped" or project.overflow_switch.fitted)


def _by_alarm(project: Project, state: str) -> bool:
    """Whether an alarm can keep a latch's row alight after the latch was reset."""
    return bool(_LATCHES[state]) and getattr(project.bands, _LATCHES[state]) is not None


def _against_meaning(rows: Mapping[str, LampRow], states: Iterable[str]) -> tuple[str, ...]:
    """Give the states whose colours contradict IEC 60073: red is an emergency's, green says that all is normal."""
    odd = []
    for state in states:
        modes = dict(zip(LAMP_COLOURS, _modes(rows, state), strict=True))
        if not any(modes.values()):
            continue
        red = modes["red"] > 0
        if red != (state in EMERGENCIES) or (modes["green"] > 0 and state != "normal"):
            odd.append(state)
    return tuple(odd)
