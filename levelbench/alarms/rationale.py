"""The record of why each alarm is there, as ISA-18.2 and IEC 62682 ask for it: one row an alarm, every field.

What the person typed stands as it was typed; what can be worked out stands beside it. An alarm on which the operator
has nothing to do is none, and is marked as such.

Sources:
[1] ANSI/ISA-18.2-2016 and IEC 62682:2014, rationalization: cause, consequence, action, time; as open training texts on
    alarms quote them.
[2] The same and EEMUA Publication 191: about 80 % of the alarms low, 15 % medium, 5 % high.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import combinations

from levelbench.alarms.names import name_of
from levelbench.alarms.timing import Timed, timing
from levelbench.project.fields import entries
from levelbench.project.records import PRIORITIES, Alarm
from levelbench.quantity import Dimension, Figure, Quantity
from levelbench.rig import Rig
from levelbench.rig.bench import Bench, signal_at
from levelbench.rig.sources import GEOMETRY, SIGNAL

V, T, L, A = Dimension.VOLUME, Dimension.TIME, Dimension.LENGTH, Dimension.CURRENT
SHARES = {"high": 0.05, "medium": 0.15, "low": 0.80}  # [2]
SHARES_SOURCE = "EEMUA 191 and ISA-18.2: about 5 % high, 15 % medium, 80 % low (as open training texts quote them)"
FEW = 20  # alarms; of fewer than one in 20 a share of 5 % can't be made
REASONS = ("priority", "cause", "consequence", "operator_action", "time_available", "basis")
"""Entries of an alarm that say what it is there for; none of them is set in a controller."""
NO_ALARM = "not an alarm"
TYPES = {
    "high_high": "HH", "high": "H", "low": "L", "low_low": "LL", "deviation": "deviation", "rate_of_change": "rate",
    "frozen_signal": "frozen", "bad_signal": "bad signal", "no_rise": "no rise", "switch": "switch", "spill": "spill",
}  # fmt: skip

_GRAVE, _MIDDLING, _SLIGHT = 0, 1, 2
_GRADES = {
    "switch": _GRAVE, "spill": _GRAVE, "bad_signal": _GRAVE, "frozen_signal": _GRAVE, "high_high": _GRAVE,
    "high": _MIDDLING, "low": _MIDDLING, "low_low": _MIDDLING, "no_rise": _MIDDLING,
    "deviation": _SLIGHT, "rate_of_change": _SLIGHT,
}  # fmt: skip
_MATRIX = {_GRAVE: ("high", "high", "medium"), _MIDDLING: ("medium", "medium", "low"), _SLIGHT: ("low", "low", "low")}
_AMPLE = 3.0  # times the time to act
MATRIX_SOURCE = "a matrix of consequence and time of our own; common practice, no source"

_BEHIND = "the switch trips, and the rig stands"
PROPOSED: dict[str, tuple[str, str, str]] = {
    "high_high": (
        "the loop did not stop at its set point: sensor reads low, or the pump is left in manual",
        _BEHIND,
        "stop the pump, open the drain to below the high limit, compare the reading with a dip stick",
    ),
    "high": (
        "a pump left in manual, a set point slip, or liquid from elsewhere",
        _BEHIND,
        "look at the mode; stop the pump or open the drain",
    ),
    "low": (
        "more is drawn than the pump gives, or the reservoir is empty",
        "the drain takes air, and a siphon loses its prime",
        "close the drain, look at reservoir and pump",
    ),
    "low_low": (
        "more is drawn than the pump gives, and nobody answered the low alarm",
        "the drain takes air, and a siphon loses its prime",
        "close the drain at once; prime it again when the level is back",
    ),
    "deviation": (
        "draw larger than the pump can follow, air in the drain, or a pump that wears",
        "the volume is not the one that was asked for",
        "look at drain, prime and pump; check what was made meanwhile",
    ),
    "rate_of_change": (
        "the sensor jumps: foam, condensation, a second echo",
        "the loop follows a reading that is wrong",
        "compare the reading with a dip stick; go to manual until they agree",
    ),
    "frozen_signal": (
        "the sensor holds an old value",
        "the loop fills or starves the tank blindly",
        "stop the pump; compare the reading with a dip stick",
    ),
    "bad_signal": (
        "broken wire or failed sensor",
        "the pump stands, and the users draw the tank empty",
        "dip the tank; repair the sensor; reset",
    ),
    "no_rise": (
        "pump without prime, air lock, reservoir empty, or a hose off",
        "the pump runs dry, and the level falls",
        "stop the pump; look at reservoir and hose; prime and start again",
    ),
    "switch": (
        "the level reached the switch, or its wire is broken",
        "the rig stands until somebody resets it",
        "drain to below the highest set point, find the cause, reset; never bridge the switch",
    ),
    "spill": (
        "more came in than the drain and the switch could stop",
        "liquid on the floor: slipping, damage, loss",
        "press the emergency stop; close the supply; wipe up after the house's rules",
    ),
}
"""Cause, consequence and action that a person may take over and put in their own words; common practice, no source."""


def proposed(rig: Rig, key: str) -> tuple[str, str, str]:
    """Give cause, consequence and action that a person may take over for an alarm of this rig."""
    cause, consequence, action = PROPOSED[key]
    alone = consequence == _BEHIND and not rig.project.overflow_switch.fitted
    return cause, "the tank spills" if alone else consequence, action


@dataclass(frozen=True)
class Row:
    """One alarm with everything that is said of it.

    `typed` pairs the label of each entry with its text as it was typed; volume, height and signal are the place of its
    limit (empty for an alarm that has none); `time` is worked out, `time_typed` what the person gave.
    """

    key: str
    name: str
    tag: str
    kind: str
    typed: tuple[tuple[str, str], ...]
    place: tuple[Figure, ...]
    priority: str
    suggested: str
    cause: str
    consequence: str
    action: str
    basis: str
    time: Figure
    time_typed: Quantity | None
    timed: Timed
    same_as: tuple[str, ...]

    @property
    def is_alarm(self) -> bool:
        """Whether the operator has something to do about it."""
        return bool(self.action.strip())

    @property
    def said(self) -> tuple[tuple[str, str], ...]:
        """What the person says of it in words, with the name of each."""
        return (
            ("cause", self.cause),
            ("consequence", self.consequence),
            ("operator action", self.action),
            ("basis of the limit", self.basis),
        )


def rationale(rig: Rig) -> tuple[Row, ...]:
    """Give the record of every alarm in use, in the order of the ladder."""
    bench, same = Bench(rig), duplicates(rig)
    rows = []
    for timed in timing(rig):
        alarm: Alarm = getattr(rig.project.bands, timed.key)
        others = tuple(name_of(two if one == timed.key else one) for one, two in same if timed.key in (one, two))
        rows.append(
            Row(
                timed.key, timed.name, timed.tag, TYPES[timed.key], _typed(alarm), _place(bench, timed), alarm.priority,
                suggested(rig, timed), alarm.cause, alarm.consequence, alarm.operator_action, alarm.basis, timed.left,
                alarm.time_available, timed, others,
            )
        )  # fmt: skip
    return tuple(rows)


def _typed(alarm: Alarm) -> tuple[tuple[str, str], ...]:
    """Give label and text of every entry of an alarm but those that have a place of their own in the record."""
    found = []
    for key, entry in entries(type(alarm)).items():
        value = getattr(alarm, key)
        if key not in REASONS:
            shown = value.shown if isinstance(value, Quantity) else {True: "yes", False: "no"}.get(value, str(value))
            found.append((entry.label, shown))
    return tuple(found)


def _place(bench: Bench, timed: Timed) -> tuple[Figure, ...]:
    """Give volume, height and signal at which an alarm comes that stands at a place in the tank."""
    if timed.key not in ("high_high", "high", "low", "low_low", "switch", "spill"):
        return ()
    volume = timed.start.si
    level = bench.trip if timed.key == "switch" and bench.trip is not None else bench.level_at(volume)
    level = bench.spill if timed.key == "spill" else level
    height = bench.figure(
        f"alarm.height.{timed.key}", "height", (level, L), "h(V) by the tank's table", GEOMETRY,
        inputs=[("V", volume, V)], resolution=1e-3,
    )  # fmt: skip
    signal = bench.figure(
        f"alarm.signal.{timed.key}", "signal", (signal_at(bench, level), A), "4 mA + 16 mA × (h − h(4 mA))/span",
        SIGNAL, inputs=[("h", level, L)], resolution=1e-5,
    )  # fmt: skip
    return (timed.start, height, signal)


def suggested(rig: Rig, timed: Timed) -> str:
    """Suggest a priority from what follows when nobody answers and from the time that there is.

    The high limit counts as grave where nothing stands behind it that would stop a rise.
    """
    grade = _GRADES[timed.key]
    if timed.key == "high" and rig.project.bands.high_high is None and not rig.project.overflow_switch.fitted:
        grade = _GRAVE
    ample = timed.left.si >= _AMPLE * timed.needed
    return _MATRIX[grade][2 if ample else 1 if timed.left.si >= timed.needed else 0]


def duplicates(rig: Rig) -> tuple[tuple[str, str], ...]:
    """Give pairs of alarms that tell the operator the same: at one place in one direction, or in the same words."""
    timed = {one.key: one for one in timing(rig)}
    found = []
    for one, two in combinations(timed, 2):
        first, second = timed[one], timed[two]
        own_places = all(key in ("high_high", "high", "low", "low_low", "switch") for key in (one, two))
        at_once = own_places and first.rising == second.rising and first.start.si == second.start.si
        words = [
            tuple(" ".join(text.split()).casefold() for text in (alarm.cause, alarm.consequence, alarm.operator_action))
            for alarm in (getattr(rig.project.bands, key) for key in (one, two))
        ]
        if at_once or (words[0] == words[1] and words[0][2]):
            found.append((one, two))
    return tuple(found)


def counts(rows: tuple[Row, ...]) -> dict[str, int]:
    """Count the alarms of each priority, the most urgent first; what is not an alarm is not counted."""
    found = Counter(row.priority for row in rows if row.is_alarm)
    return {priority: found[priority] for priority in PRIORITIES}


def distribution(rows: tuple[Row, ...]) -> str:
    """Say how the priorities are spread beside what is published, and that a few alarms can't be spread so."""
    told = counts(rows)
    total = sum(told.values())
    shares = ", ".join(f"{priority} {told[priority]} of {total}" for priority in PRIORITIES)
    published = ", ".join(f"{round(100 * share)} % {priority}" for priority, share in SHARES.items())
    small = f" With fewer than {FEW} alarms no such spread can be made: count them, don't divide them."
    return f"Priorities: {shares}. Published: about {published}.{small if total < FEW else ''}"
