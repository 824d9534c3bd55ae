"""Sections of the project file about the alarms: the ladder, how alarms are handled, the stack light.

An alarm has a limit or another cause, delays, a handling, and the reason for which it is there (ANSI/ISA-18.2-2016
calls the last a rationalization: cause, consequence, what the operator does, how long there is for it).
"""

from dataclasses import dataclass

from levelbench.project.fields import entry
from levelbench.quantity import Dimension, Quantity

D = Dimension
ALARM_STATES = (
    "normal",
    "unacknowledged",
    "acknowledged",
    "returned unacknowledged",
    "latched unacknowledged",
    "latched acknowledged",
    "shelved",
    "suppressed by design",
    "out of service",
)
ALARM_LETTERS = "ABCDEFGHI"  # of ANSI/ISA-18.2-2016, in the same order
PRIORITIES = ("high", "medium", "low")
SUPPRESSIONS = ("never", "not started", "manual", "not started or manual")
_STILL = "How long the signal may stand still."
_RISING = "Time within which the volume must rise."


@dataclass(frozen=True)
class Alarm:
    """What every member of the ladder has: delays, handling, and the reason for which it is there."""

    on_delay: Quantity = entry("on-delay", "Time beyond the limit before it comes.", D.TIME, default="0 s", low=0)
    off_delay: Quantity = entry("off-delay", "Time on the safe side before it goes.", D.TIME, default="0 s", low=0)
    priority: str = entry("priority", "How urgent the operator's answer is.", choices=PRIORITIES, default="medium")
    latching: bool = entry(
        "latching", "It stays after its cause has gone, until somebody presses reset.", default=False
    )
    suppressed_while: str = entry(
        "suppressed while",
        "The state of the rig in which it means nothing: then it neither lights nor sounds, and the journal says so.",
        choices=SUPPRESSIONS,
        default="never",
    )
    cause: str = entry("cause", "What most likely makes it come.", default="", sentences=True)
    consequence: str = entry("consequence", "What happens when nobody answers.", default="", sentences=True)
    operator_action: str = entry(
        "operator action", "What the operator does about it. Without one it is no alarm.", default="", sentences=True
    )
    time_available: Quantity | None = entry(
        "time available", "From its coming to the consequence; left out, it is worked out.", D.TIME, above=0
    )
    basis: str = entry("basis of the limit", "Why it stands where it stands.", default="", sentences=True)


@dataclass(frozen=True)
class _VolumeLimit:
    """A limit on the volume and how far back it goes."""

    limit: Quantity = entry(
        "limit", "Volume at which it comes (deviation: distance from the set point).", D.VOLUME, required=True, above=0
    )
    dead_band: Quantity = entry("dead band", "It goes again so far on the safe side.", D.VOLUME, default="0 l", low=0)


@dataclass(frozen=True)
class Band(Alarm, _VolumeLimit):
    """One limit on the volume."""


@dataclass(frozen=True)
class _RateLimit:
    """A limit on how fast the volume changes."""

    limit: Quantity = entry(
        "limit", "Change of volume per time, up or down, at which it comes.", D.FLOW, required=True, above=0
    )
    dead_band: Quantity = entry(
        "dead band", "It goes when the change is slower by so much.", D.FLOW, default="0 l/min", low=0
    )
    averaged_over: Quantity = entry(
        "averaged over", "Time constant over which the change is smoothed.", D.TIME, default="5 s", above=0
    )


@dataclass(frozen=True)
class RateAlarm(Alarm, _RateLimit):
    """The volume changes faster than any proper use of the rig can make it."""


@dataclass(frozen=True)
class _StillLimit:
    """How little a signal must move to count as frozen."""

    limit: Quantity = entry(
        "smallest change", "A change of no more than this counts as none.", D.VOLUME, default="0 l", low=0
    )


@dataclass(frozen=True)
class FrozenAlarm(Alarm, _StillLimit):
    """The reading stands still, which a live signal never does for long."""

    on_delay: Quantity = entry("on-delay", _STILL, D.TIME, default="1 min", above=0)


@dataclass(frozen=True)
class _RiseLimit:
    """The rise that a working pump must bring."""

    limit: Quantity = entry(
        "least rise", "Volume that must come while the pump works.", D.VOLUME, required=True, above=0
    )
    dead_band: Quantity = entry(
        "dead band", "It goes when the volume has risen by so much more.", D.VOLUME, default="0 l", low=0
    )
    output_above: Quantity = entry(
        "output above",
        "Output from which the pump must win against every draw.",
        D.PERCENT,
        default="90 %",
        above=0,
        high=1,
    )


@dataclass(frozen=True)
class NoRiseAlarm(Alarm, _RiseLimit):
    """The pump is told to work, and the volume does not rise."""

    on_delay: Quantity = entry("on-delay", _RISING, D.TIME, default="1 min", above=0)


@dataclass(frozen=True)
class PlainAlarm(Alarm):
    """An alarm without a limit: something holds, or it does not."""


@dataclass(frozen=True)
class Bands:
    """The ladder of alarms, from which the status word, the lamps and the horn come; each may be left out."""

    high_high: Band | None = entry("high-high", "Near the switch.")
    high: Band | None = entry("high", "Status word HIGH.")
    low: Band | None = entry("low", "Status word LOW.")
    low_low: Band | None = entry("low-low", "Near the drain's inlet.")
    deviation: Band | None = entry("deviation", "PV away from SP.")
    rate_of_change: RateAlarm | None = entry("rate of change", "The volume changes too fast.")
    frozen_signal: FrozenAlarm | None = entry("frozen signal", "The reading stands still.")
    bad_signal: PlainAlarm | None = entry("bad signal", "The signal says itself that it has failed.")
    no_rise: NoRiseAlarm | None = entry("no rise", "The pump works, and nothing comes.")
    switch: PlainAlarm | None = entry("switch", "The hard-wired overflow switch is open.")
    spill: PlainAlarm | None = entry("spill", "Liquid over a rim: the tray gets wet.")


@dataclass(frozen=True)
class AlarmHandling:
    """The house's rules for living with alarms."""

    acknowledge: str = entry(
        "acknowledge",
        "By hand: an alarm that has gone stays listed until somebody has acknowledged it. By itself: it needs nobody.",
        choices=("by hand", "by itself"),
        default="by itself",
    )
    silence_at_most: Quantity = entry(
        "silence at most",
        "After it a silenced horn sounds again, if its cause is still there.",
        D.TIME,
        default="5 min",
        above=0,
    )
    shelve_at_most: Quantity = entry(
        "shelve at most", "Longest time for which an alarm can be put on the shelf.", D.TIME, default="60 min", above=0
    )
    protection: str = entry(
        "protection",
        "Where an alarm leaves less than the time to act (see the duty): the operator may act, or hardware must trip.",
        choices=("operator may act", "hardware must trip"),
        default="hardware must trip",
    )


LAMP_STATES = (
    "stop pressed",
    "switch tripped",
    "sensor failed",
    "waiting for start",
    "high-high",
    "high",
    "low",
    "low-low",
    "deviation",
    "rate of change",
    "frozen signal",
    "no rise",
    "spill",
    "manual",
    "normal",
)
LAMP_COLOURS = ("red", "yellow", "green", "blue")
LAMP_MODES = ("off", "steady", "flashing")
LAMP_ANSWERS = ("stays", "steady")


@dataclass(frozen=True)
class LampRow:
    """What the stack light and the horn do in one state; rows that hold at once add up, flashing over steady."""

    state: str = entry("state", "When this row holds.", choices=LAMP_STATES, required=True)
    red: str = entry("red", "Emergency: act at once (IEC 60073).", choices=LAMP_MODES, default="off")
    yellow: str = entry("yellow", "Abnormal: watch or step in (IEC 60073).", choices=LAMP_MODES, default="off")
    green: str = entry("green", "Normal (IEC 60073).", choices=LAMP_MODES, default="off")
    blue: str = entry(
        "blue", "Somebody must act, for example reset or start (IEC 60073).", choices=LAMP_MODES, default="off"
    )
    horn: bool = entry("horn", "Sounds until silenced or acknowledged.", default=False)
    acknowledged: str = entry(
        "acknowledged",
        "What becomes of flashing once somebody acknowledged: it stays, or it becomes steady (ISA-18.1, sequence A).",
        choices=LAMP_ANSWERS,
        default="stays",
    )
