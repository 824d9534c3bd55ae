"""Which alarm of a ladder is the worst, and what to change about it, from what the shifts have counted."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from levelbench.alarms.measures import Sums
from levelbench.alarms.tally import CONSEQUENCES, EDGES, FLEETING
from levelbench.quantity import Dimension, written
from levelbench.rig.assemble import Rig, key_of
from levelbench.rig.bench import Bench
from levelbench.rig.panel import ALARM_NAMES

_ENOUGH = 0.9  # of the pauses, or of the short stands, that a delay should take away
_MINUTE = 60.0  # [s] longest pause that makes chatter
_GUARDS = {"spill": "high-high", "switch trip": "high-high", "air at the inlet": "low-low"}
_MANY_MISSED = 0.05  # share from which missing is worse than chatter
_OFTEN = 6.0  # alarms an hour that an operator with everything in his care should have at most


@dataclass(frozen=True)
class Advice:
    """The alarm that is worst ("" when none is), what is the matter and what to do, and the edits that do it."""

    alarm: str
    words: str
    edits: Mapping[str, str] = field(default_factory=dict)


def advice(sums: Sums, rig: Rig, *, faults: bool) -> Advice:
    """Look for what hurts most: a consequence without its alarm, alarms missed, those of no use, too many.

    faults: whether there were faults in the shifts, which also hide what an alarm should see.
    """
    steps = (
        _unwarned(sums, rig),
        _missed(sums, faults, _MANY_MISSED),
        _restless(sums, rig),
        _useless(sums),
        _too_many(sums),
        _missed(sums, faults, 0.0),
    )
    return next((one for one in steps if one is not None), Advice("", ""))


def _unwarned(sums: Sums, rig: Rig) -> Advice | None:
    counts = sums.outcomes("unwarned")
    at = int(np.argmax(counts))
    if counts[at] == 0:
        return None
    guard = _GUARDS[CONSEQUENCES[at]]
    there = getattr(rig.project.bands, key_of(guard)) is not None
    do = f"Bring {guard} nearer to normal running, or shorten its on-delay." if there else f"Take {guard} into use."
    if rig.project.bands.frozen_signal is None or rig.project.bands.bad_signal is None:
        do += " Where the signal itself may stand still or fail, take frozen signal and bad signal into use."
    words = f"{_times(int(counts[at]))} no alarm that tells of it stood when it came to this: {CONSEQUENCES[at]}. {do}"
    return Advice(guard, words)


def _missed(sums: Sums, faults: bool, more: float) -> Advice | None:
    """Look for the alarm that missed most, when it missed more than this share of what it should have seen."""
    counts, beyond = sums.by_alarm("missed"), sums.by_alarm("beyond")
    at = int(np.argmax(counts))
    if counts[at] <= more * beyond[at]:
        return None
    why = "A fault hid it, or noise about the limit began" if faults else "Noise about the limit began"
    words = (
        f"{_named(at)} is the worst: {int(counts[at])} of the {int(beyond[at])} times that the volume was beyond its "
        f"limit for longer than on-delay and sensor take, it did not come. {why} its on-delay anew. Shorten its "
        "on-delay, or smooth the PV."
    )
    return Advice(ALARM_NAMES[at], words)


def _restless(sums: Sums, rig: Rig) -> Advice | None:
    """Look for chatter, which an off-delay joins, and for alarms gone within seconds, which an on-delay holds off."""
    chatter, fleeting = sums.by_alarm("chatter"), sums.by_alarm("fleeting")
    at = int(np.argmax(chatter + fleeting))
    if chatter[at] + fleeting[at] == 0:
        return None
    alarm = ALARM_NAMES[at]
    what = f"{_named(at)} is the worst: of the {int(sums.by_alarm('came')[at])} times that it came"
    if chatter[at] > 0:
        delay, share = _delay(sums.by_alarm("gaps")[at])
        name, where, verb = "off-delay", "off_delay", "would have joined"
        words = f"{what}, {int(chatter[at])} were chatter."
        of = "pauses under a minute"
    else:
        delay, share = _delay(sums.by_alarm("lasted")[at])
        name, where, verb = "on-delay", "on_delay", "would have held off"
        words = f"{what}, {int(fleeting[at])} were gone within {written(FLEETING, 'g')} s."
        of = "stands under a minute"
    band = getattr(rig.project.bands, key_of(alarm))
    longer, _ = Bench(rig).typed(getattr(band, where).si + delay, Dimension.TIME, up=True, digits=2)
    words += f" An {name} longer by {written(delay, 'g')} s {verb} about {written(100 * share, '.0f')} % of its {of}."
    if where == "on_delay":
        words += " It takes that from the time that is left to act."
    return Advice(alarm, words, {f"bands.{key_of(alarm)}.{where}": longer})


def _delay(counts: np.ndarray) -> tuple[float, float]:
    """Give the shortest delay [s] that takes away most of what is shorter than a minute, and the share it takes."""
    edges = [edge for edge in EDGES if edge <= _MINUTE]
    shares = np.cumsum(counts[: len(edges)]) / max(int(counts[: len(edges)].sum()), 1)
    at = min(int(np.searchsorted(shares, _ENOUGH)), len(edges) - 1)
    return edges[at], float(shares[at])


def _useless(sums: Sums) -> Advice | None:
    false, stood = sums.by_alarm("false"), sums.by_alarm("stood")
    at = int(np.argmax(false))
    if false[at] == 0 or false[at] < 0.05 * stood[at]:
        return None
    words = (
        f"{_named(at)} is the worst: {int(false[at])} of the {int(stood[at])} times that it stood, the true volume was "
        "never beyond its limit. Move the limit away from normal running, or smooth the PV."
    )
    return Advice(ALARM_NAMES[at], words)


def _too_many(sums: Sums) -> Advice | None:
    came = sums.by_alarm("came")
    at = int(np.argmax(came))
    if came.sum() <= _OFTEN * sums.hours:
        return None
    words = (
        f"{_named(at)} comes most often, {int(came[at])} times of {int(came.sum())}. Move its limit away from what "
        "proper use does, or ask whether anybody has to do something about it."
    )
    return Advice(ALARM_NAMES[at], words)


def _named(alarm: int) -> str:
    return ALARM_NAMES[alarm].capitalize()


def _times(count: int) -> str:
    return "Once" if count == 1 else f"{count} times"
