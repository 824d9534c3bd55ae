"""What is abnormal on a running rig: trips, and alarms that stand, each with the mark of its state.

It imports nothing that brings the compiler in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.project.alarms import ALARM_LETTERS, ALARM_STATES

if TYPE_CHECKING:
    from levelbench.gui.bench.live_pacer import LiveView

_FIRST = {"stop latched": "emergency stop", "switch latched": "overflow switch", "sensor failed": "sensor failed"}
_LAST = {"pump dry": "pump dry", "spilling": "spilling", "reservoir spilling": "reservoir spilling"}
TRIPS = _FIRST | _LAST
"""Conditions that are told whether or not an alarm tells of them, with the words for them."""
STOPS = ("stop latched", "switch latched", "sensor failed", "spilling", "reservoir spilling", "switch", "spill")
_SAME = {"switch latched": "switch", "sensor failed": "bad signal", "spilling": "spill", "reservoir spilling": "spill"}
_MARKS = "✓▲●△■□◷◌✕"  # of the states, in their order
STANDING, TO_ACKNOWLEDGE, APART = (1, 2, 3, 4, 5), (1, 3, 4), (6, 7, 8)  # places in ALARM_STATES


def state_words(state: int) -> str:
    """Give the state of an alarm with its mark and its letter after ANSI/ISA-18.2: "▲ unacknowledged (B)"."""
    return f"{_MARKS[state]} {ALARM_STATES[state]} ({ALARM_LETTERS[state]})"


@dataclass(frozen=True)
class Abnormal:
    """One thing that is not as it should be: its condition or alarm, what it is called, and the alarm's state."""

    name: str
    words: str
    state: int | None  # place in ALARM_STATES; None: no alarm tells of it

    @property
    def mark(self) -> str:
        """The mark of the state."""
        return _MARKS[1 if self.state is None else self.state]

    def __str__(self) -> str:
        """Say what it is, with the state of its alarm."""
        return self.words if self.state is None else f"{self.words}: {ALARM_STATES[self.state]}"


def abnormal(view: LiveView) -> list[Abnormal]:
    """Give everything that is abnormal, trips first; an alarm that tells of a trip is told with it."""
    states = view.alarms
    standing = {name: state for name, state in states.items() if state in STANDING}
    holding = [name for name in TRIPS if view.has(name)]
    told = {_SAME[name] for name in holding if name in _SAME}
    trips = {name: Abnormal(name, TRIPS[name], standing.get(_SAME.get(name, ""))) for name in holding}
    alarms = [Abnormal(name, name, state) for name, state in standing.items() if name not in told]
    return [
        *(trips[name] for name in _FIRST if name in trips), *alarms, *(trips[name] for name in _LAST if name in trips)
    ]  # fmt: skip


def kept_apart(view: LiveView) -> list[str]:
    """Give the alarms that are shelved, suppressed or out of service, in words."""
    return [f"{name}: {state_words(state)}" for name, state in view.alarms.items() if state in APART]


def to_acknowledge(view: LiveView) -> int:
    """Give how many alarms wait for somebody to acknowledge them."""
    return sum(state in TO_ACKNOWLEDGE for state in view.alarms.values())


def named(found: Sequence[Abnormal]) -> str:
    """Name them one after another, with the mark of a state wherever it is another than that before."""
    before, words = "", []
    for one in found:
        words.append(one.words if one.mark == before else f"{one.mark} {one.words}")
        before = one.mark
    return ", ".join(words)
