"""The life of an alarm as a table of states, events and what follows; the compiled scan is tested against it.

States are those of ANSI/ISA-18.2-2016 and IEC 62682:2014, by their letters: A normal, B unacknowledged, C acknowledged,
D returned unacknowledged, E latched unacknowledged, F latched acknowledged, G shelved, H suppressed by design, I out of
service. The list of states is in the standard; the transitions are quoted from memory, those into and out of G, H and I
with the precedence out of service, suppressed, shelved (common practice, no source).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from levelbench.project.alarms import ALARM_LETTERS, ALARM_STATES

SOURCE = "ANSI/ISA-18.2-2016 and IEC 62682:2014, alarm state transition diagram (quoted from memory)"
BACK = "back"  # to where the alarm belongs once it is no longer kept apart


class Event(Enum):
    """What can happen to an alarm, in words."""

    COMES = "the condition comes"
    GOES = "the condition goes"
    ACKNOWLEDGED = "somebody acknowledges it"
    NEEDS_NOBODY = "alarms acknowledge themselves from now on"
    RESET = "somebody presses reset"
    SHELVED = "somebody puts it on the shelf, for a time"
    UNSHELVED = "it comes off the shelf, by hand or when its time is over"
    SUPPRESSED = "the rig comes into a state in which the design suppresses it"
    UNSUPPRESSED = "the rig leaves that state"
    OUT_OF_SERVICE = "somebody takes it out of service"
    IN_SERVICE = "somebody brings it back into service"
    OUT_OF_USE = "somebody takes it out of use"


@dataclass(frozen=True)
class Rule:
    """From any of these states, when this happens, to that state; `latching` and `by_hand`: only so (None: either)."""

    states: str
    event: Event
    to: str
    latching: bool | None = None
    by_hand: bool | None = None

    def fits(self, state: str, event: Event, *, latching: bool, by_hand: bool) -> bool:
        """Tell whether the rule is about this."""
        return (
            state in self.states
            and event is self.event
            and self.latching in (None, latching)
            and self.by_hand in (None, by_hand)
        )


RULES = (
    Rule("A", Event.COMES, "B"),
    Rule("B", Event.ACKNOWLEDGED, "C"),
    Rule("B", Event.GOES, "D", latching=False, by_hand=True),
    Rule("B", Event.GOES, "A", latching=False, by_hand=False),
    Rule("B", Event.GOES, "E", latching=True, by_hand=True),
    Rule("B", Event.GOES, "F", latching=True, by_hand=False),
    Rule("C", Event.GOES, "A", latching=False),
    Rule("C", Event.GOES, "F", latching=True),
    Rule("D", Event.ACKNOWLEDGED, "A"),
    Rule("D", Event.NEEDS_NOBODY, "A"),
    Rule("D", Event.COMES, "B"),
    Rule("E", Event.ACKNOWLEDGED, "F"),
    Rule("E", Event.NEEDS_NOBODY, "F"),
    Rule("EF", Event.COMES, "B"),
    Rule("F", Event.RESET, "A"),
    Rule("ABCDEF", Event.SHELVED, "G"),
    Rule("G", Event.UNSHELVED, BACK),
    Rule("ABCDEFG", Event.SUPPRESSED, "H"),
    Rule("H", Event.UNSUPPRESSED, BACK),
    Rule("ABCDEFGH", Event.OUT_OF_SERVICE, "I"),
    Rule("I", Event.IN_SERVICE, BACK),
    Rule("BCDEFGHI", Event.OUT_OF_USE, "A"),
)

_FLAGS = {
    Event.COMES: ("present", True),
    Event.GOES: ("present", False),
    Event.SHELVED: ("shelved", True),
    Event.UNSHELVED: ("shelved", False),
    Event.SUPPRESSED: ("suppressed", True),
    Event.UNSUPPRESSED: ("suppressed", False),
}


@dataclass
class Life:
    """One alarm, followed from event to event."""

    latching: bool = False
    by_hand: bool = True
    letter: str = "A"
    present: bool = False  # its condition, which is followed in every state
    shelved: bool = False
    suppressed: bool = False

    @property
    def code(self) -> int:
        """The state's place in `ALARM_STATES`, as a recording has it."""
        return ALARM_LETTERS.index(self.letter)

    def happen(self, event: Event) -> str:
        """Let something happen, and give the letter of the state after it; what no rule is about changes nothing."""
        if event is Event.OUT_OF_USE:
            self.present = self.shelved = self.suppressed = False
        elif event in _FLAGS:
            name, value = _FLAGS[event]
            setattr(self, name, value)
        for rule in RULES:
            if rule.fits(self.letter, event, latching=self.latching, by_hand=self.by_hand):
                self.letter = rule.to if rule.to != BACK else self._back()
                break
        return self.letter

    def _back(self) -> str:
        if self.suppressed:
            return "H"
        if self.shelved:
            return "G"
        return "B" if self.present else "A"


def in_words() -> Iterator[tuple[str, str, str]]:
    """Give the table as a person reads it: from which states, what happens, to which state it leads."""
    for rule in RULES:
        only = [
            words
            for wanted, words in (
                (rule.latching, "latching" if rule.latching else "not latching"),
                (rule.by_hand, "acknowledged by hand" if rule.by_hand else "acknowledged by itself"),
            )
            if wanted is not None
        ]
        event = rule.event.value + (f" ({', '.join(only)})" if only else "")
        many = f"{rule.states[0]} to {rule.states[-1]}"
        states = many if len(rule.states) > 2 else ", ".join(map(named, rule.states))
        yield states, event, _BACK_FROM[rule.states] if rule.to == BACK else named(rule.to)


_BACK_FROM = {
    "G": "B while its condition holds, A when not",
    "H": "G while it is on the shelf; else B or A by its condition",
    "I": "H while it is suppressed, G while it is on the shelf; else B or A by its condition",
}


def named(letter: str) -> str:
    """Give a state's letter with its name: "B unacknowledged"."""
    return f"{letter} {ALARM_STATES[ALARM_LETTERS.index(letter)]}"
