"""The lives of all alarms over a run, worked out by the table of `levelbench.alarms.lifecycle` from the journal alone.

What the scan has to say itself is only which conditions held, whether the rig was started and in automatic.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from levelbench.alarms.lifecycle import Event, Life
from levelbench.rig import Entry, Recording
from levelbench.rig.panel import ALARM_NAMES, BITS, ENTRIES

Moved = tuple[str, float, str]  # alarm, new state, who
_QUIET_WHILE = {0: (), 1: ("started",), 2: ("automatic",), 3: ("started", "automatic")}


@dataclass
class Member:
    """One alarm with the settings that people can change."""

    life: Life
    in_use: bool
    suppression: int
    out_of_service: bool = False
    shelf_until: float = 0.0  # the scan


@dataclass
class Lives:
    """All alarms of a rig; `moves` are those of the scan in hand."""

    recording: Recording
    members: dict[str, Member] = field(default_factory=dict)
    moves: list[Moved] = field(default_factory=list)
    seen: set[tuple[str, Event, bool, bool]] = field(default_factory=set)  # state, event, latching, by hand

    def __post_init__(self) -> None:
        rig = self.recording.rig
        self._scan, self._most = rig.scan, rig.project.alarm_handling.shelve_at_most.si
        self._by_hand = rig.project.alarm_handling.acknowledge == "by hand"
        for name in ALARM_NAMES:
            typed = {
                part: float(rig.panel[ENTRIES[f"{name} {part}"].index])
                for part in ("in use", "latching", "suppression")
            }
            life = Life(latching=typed["latching"] > 0, by_hand=self._by_hand)
            self.members[name] = Member(life, typed["in use"] > 0, int(typed["suppression"]))

    def run(self) -> Iterator[tuple[int, dict[str, int], list[Moved]]]:
        """Give for every scan the state of each alarm and what moved in it, in order."""
        bits = self.recording["conditions"].astype(np.int64)
        acts: dict[int, list[Entry]] = {}
        for one in self.recording.journal:
            if one.kind == "action":
                acts.setdefault(round(one.time / self._scan), []).append(one)
        for at, conditions in enumerate(bits.tolist()):
            self.moves = []
            for act in acts.get(at, ()):
                self._act(at, act)
            for name, member in self.members.items():
                if member.in_use:
                    self._pass(at, name, member, conditions)
            yield at, {name: one.life.code for name, one in self.members.items()}, self.moves

    def _happen(self, name: str, event: Event, who: str) -> None:
        life = self.members[name].life
        before = life.code
        self._let(life, event)
        if life.code != before:
            self.moves.append((name, float(life.code), who))

    def _let(self, life: Life, event: Event) -> None:
        self.seen.add((life.letter, event, life.latching, life.by_hand))
        life.happen(event)

    def _act(self, at: int, act: Entry) -> None:
        """Take one thing that somebody did."""
        if act.what == "acknowledge by hand":
            for member in self.members.values():
                member.life.by_hand = act.value > 0
            return
        if act.what in ("acknowledge", "reset"):
            event = Event.RESET if act.what == "reset" else Event.ACKNOWLEDGED
            for name in self.members:
                self._happen(name, event, act.who)
            return
        for name in sorted(self.members, key=len, reverse=True):  # "high-high …" is no "high …"
            if act.what.startswith(name + " "):
                self._act_on(at, name, act.what.removeprefix(name + " "), act)
                return

    def _act_on(self, at: int, name: str, part: str, act: Entry) -> None:
        member = self.members[name]
        if part == "latching":
            member.life.latching = act.value > 0
        elif part == "suppression":
            member.suppression = int(act.value)
        elif part == "in use":
            self._use(name, member, act)
        elif part == "acknowledge":
            self._happen(name, Event.ACKNOWLEDGED, act.who)
        elif part == "out of service":
            member.out_of_service = act.value > 0
            if member.in_use:
                self._happen(name, Event.OUT_OF_SERVICE if act.value > 0 else Event.IN_SERVICE, act.who)
        elif part == "shelve" and member.in_use:
            member.shelf_until = at + min(act.value, self._most) / self._scan
            self._happen(name, Event.SHELVED if act.value > 0 else Event.UNSHELVED, act.who)

    def _use(self, name: str, member: Member, act: Entry) -> None:
        begins = act.value > 0 and not member.in_use
        member.in_use = act.value > 0
        if not member.in_use:
            self._happen(name, Event.OUT_OF_USE, act.who)
        elif begins and member.out_of_service:
            self._happen(name, Event.OUT_OF_SERVICE, act.who)

    def _pass(self, at: int, name: str, member: Member, conditions: int) -> None:
        """Let the process, the design and the clock do what they do in a scan; it counts as one move."""
        life = member.life
        before = life.letter
        present = bool(conditions >> BITS[name] & 1)
        if present != life.present:
            self._let(life, Event.COMES if present else Event.GOES)
        quiet = any(not conditions >> BITS[one] & 1 for one in _QUIET_WHILE[member.suppression])
        if quiet != life.suppressed:
            self._let(life, Event.SUPPRESSED if quiet else Event.UNSUPPRESSED)
        if life.shelved and at > member.shelf_until - 0.5:
            self._let(life, Event.UNSHELVED)
        if not life.by_hand:
            self._let(life, Event.NEEDS_NOBODY)
        if life.letter != before:
            who = "design" if "H" in (before, life.letter) else "clock" if before == "G" else "process"
            self.moves.append((name, float(life.code), who))


def check_lives(recording: Recording) -> Lives:
    """Compare states and journal of a run, scan by scan, with the table."""
    told: dict[int, list[Moved]] = {}
    for one in recording.journal:
        if one.kind == "alarm":
            told.setdefault(round(one.time / recording.rig.scan), []).append((one.what, one.value, one.who))
    states = {name: recording.alarm(name) for name in ALARM_NAMES}
    lives = Lives(recording)
    for at, wanted, moves in lives.run():
        assert {name: int(states[name][at]) for name in ALARM_NAMES} == wanted, at
        assert told.get(at, []) == moves, at
    return lives
