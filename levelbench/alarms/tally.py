"""What one shift says of its alarms: counted from its events and rows, a second apart, and then let go.

"True" is what the tank holds, not what the controller sees. A row every second says when the truth was beyond a limit:
a shorter visit is none, since every limit is judged with the delay of its sensor.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from levelbench.alarms.counting import (
    Floats,
    Spans,
    Wholes,
    chattering,
    common,
    floods,
    in_tens,
    joined,
    meets,
    most_in,
    spans_of,
    spans_where,
    total,
    union,
)
from levelbench.project.records import Band
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig, key_of
from levelbench.rig.ensemble import Lived
from levelbench.rig.panel import ALARM_NAMES, BAND_NAMES, BITS, COLUMNS

STATUS = ("OK", "HIGH", "LOW")
ROW = 1.0  # [s] from one row to the next, or a scan where that is longer
FLEETING = 10.0  # [s] an alarm that goes again within it (the standard says "within seconds")
APART = 60.0  # [s] two spills, or two draws of air, with less between them are one
EDGES = (1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0)  # [s] classes of stands and pauses
CONSEQUENCES = ("spill", "switch trip", "air at the inlet")
_NO_SIGNAL = ("frozen signal", "bad signal")
_ANY_SIDE = ("rate of change", *_NO_SIGNAL)
_WARNS = {  # which alarms tell of what is coming, or that nobody can tell
    "spill": ("high-high", "high", "switch", *_ANY_SIDE),
    "switch trip": ("high-high", "high", *_ANY_SIDE),
    "air at the inlet": ("low-low", "low", "no rise", *_ANY_SIDE),
}
_SETTLES = 3.0  # time constants of the PV filter after which 95 % of a change is seen
_STANDS = (kernel.UNACKNOWLEDGED, kernel.ACKNOWLEDGED)
_TIME, _SET_POINT, _VOLUME, _LEVEL, _BITS, _STATES = (
    next(at for at, column in enumerate(COLUMNS) if column.name == name)
    for name in ("time", "set_point", "volume", "level", "conditions", "alarms")
)


@dataclass(frozen=True)
class ByAlarm:
    """What is counted for each alarm; each array has a place for each of ALARM_NAMES."""

    came: Wholes  # [alarms] annunciations: entries into “unacknowledged”
    stood: Wholes  # [alarms] how often it stood, as an alarm that is heard
    false: Wholes  # [alarms] of these, without the truth ever being beyond
    beyond: Wholes  # [alarms] the truth was beyond for longer than on-delay and sensor take
    missed: Wholes  # [alarms] of these, without the alarm
    chatter: Wholes  # [alarms] annunciations of three or more in a minute
    fleeting: Wholes  # [alarms] gone within seconds
    whole: Wholes  # [alarms] 1: stood from the beginning to the end
    standing: Floats  # [alarms] [s]
    lasted: Wholes  # [alarms, classes] stands by EDGES
    gaps: Wholes  # [alarms, classes] pauses between stands by EDGES


@dataclass(frozen=True)
class Outcome:
    """What happened of that which alarms are there to prevent; each array has a place for each of CONSEQUENCES."""

    happened: Wholes  # [consequences]
    unwarned: Wholes  # [consequences] without an alarm that stood before it
    lead: Floats  # [consequences] least time from the alarm to the consequence [s], inf when there was none


@dataclass(frozen=True)
class Tally:
    """One shift, counted."""

    shift: int
    each: ByAlarm
    outcome: Outcome
    tens: Wholes  # [n] annunciations in each ten minutes
    peak: int  # most in any ten minutes
    floods: int
    flooded: float  # [s]
    status: Floats  # [3] [s] with each word of STATUS

    @property
    def alarms(self) -> int:
        """All annunciations of the shift."""
        return int(self.each.came.sum())

    @property
    def bad(self) -> tuple[int, int]:
        """How bad a shift was: what came without an alarm first, then how many alarms came."""
        return int(self.outcome.unwarned.sum()) + int(self.each.missed.sum()), self.alarms


def sensor_delay(rig: Rig) -> float:
    """Give how long [s] the PV needs until it shows 95 % of a change: the whole average, and three filter times."""
    sensor = rig.params.sensor
    return sensor.averaging * sensor.update + _SETTLES * float(rig.panel[kernel.P_PV_FILTER])


def in_use(rig: Rig) -> tuple[str, ...]:
    """Give the alarms that the project has."""
    return tuple(one for one in ALARM_NAMES if getattr(rig.project.bands, key_of(one)) is not None)


@dataclass(frozen=True)
class Counter:
    """Counts the shifts of a rig; times are counted from `begin` [s], where the lead-in ends, to `end` [s]."""

    rig: Rig
    begin: float
    end: float

    @property
    def every(self) -> int:
        """Scans from one row that is kept to the next."""
        return max(round(ROW / self.rig.scan), 1)

    def count(self, shift: int, lived: Lived) -> Tally:
        """Count one shift."""
        rows = lived.rows[lived.rows[:, 0] >= self.begin]
        heard = Heard(self.rig, lived.events, self.begin, self.end)
        every = np.sort(np.concatenate([heard.came(one) for one in ALARM_NAMES]))
        flooded = floods(every, self.end)
        return Tally(
            shift,
            self._each(heard, self._truth(rows)),
            self._outcome(heard, rows),
            in_tens(every, self.begin, self.end),
            most_in(every),
            len(flooded),
            total(flooded),
            self._status(heard),
        )

    def _truth(self, rows: Floats) -> dict[str, Spans]:
        """Give the spans in which the truth was beyond each limit on the volume that could be heard."""
        time, target, volume = (rows[:, at] for at in (_TIME, _SET_POINT, _VOLUME))
        bits, states = rows[:, _BITS].astype(np.int64), rows[:, _STATES].astype(np.int64)
        good = (bits >> kernel.SENSOR_FAILED) & 1 == 0
        held = (bits >> kernel.AUTOMATIC) & (bits >> kernel.STARTED) & 1 == 1
        found: dict[str, Spans] = {}
        for alarm in (one for one in BAND_NAMES if one in in_use(self.rig)):
            limit = _band(self.rig, alarm).limit.si
            if alarm == "deviation":
                beyond = held & (np.abs(volume - target) > limit)
            else:
                beyond = volume > limit if alarm.startswith("high") else volume < limit
            heard = (states >> 4 * ALARM_NAMES.index(alarm)) & 15 < kernel.SHELVED
            found[alarm] = spans_where(time, good & heard & beyond)
        return found

    def _each(self, heard: "Heard", truth: Mapping[str, Spans]) -> ByAlarm:
        """Count everything that is counted for each alarm."""
        several = [self._one(alarm, heard, truth.get(alarm)) for alarm in ALARM_NAMES]
        return ByAlarm(*(np.array(one) for one in zip(*several, strict=True)))

    def _one(self, alarm: str, heard: "Heard", truth: Spans | None) -> tuple[Any, ...]:
        """Count one alarm, in the order of ByAlarm."""
        times, spans = heard.came(alarm), heard.stood(alarm)
        lengths, gone = spans[:, 1] - spans[:, 0], spans[:, 1] < self.end
        return (
            len(times),
            len(spans),
            *((0, 0, 0) if truth is None else self._judged(alarm, heard, truth)),
            int(chattering(times).sum()),
            int(np.count_nonzero(gone & (lengths < FLEETING))),
            int(len(spans) == 1 and lengths[0] >= self.end - self.begin - ROW),
            float(lengths.sum()),
            classes(lengths[gone]),
            classes(spans[1:, 0] - spans[:-1, 1]),
        )

    def _judged(self, alarm: str, heard: "Heard", truth: Spans) -> tuple[int, int, int]:
        """Give how many stands were false, how often the truth was beyond for long, and how often nobody was told.

        Told is also who hears that the signal is not to be trusted.
        """
        allowed = _band(self.rig, alarm).on_delay.si + sensor_delay(self.rig)
        stood = heard.stood(alarm)
        told = union(stood, *map(heard.stood, _NO_SIGNAL))
        false = sum(not meets(truth, begin - allowed - ROW, end + ROW) for begin, end in stood.tolist())
        long = truth[truth[:, 1] - truth[:, 0] > allowed]
        missed = sum(not meets(told, begin, end + allowed) for begin, end in long.tolist())
        return false, len(long), missed

    def _status(self, heard: "Heard") -> Floats:
        """Give how long each word of STATUS stood [s]; HIGH goes before LOW, as on the panel."""
        high = union(heard.spans("high"), heard.spans("high-high"))
        low = union(heard.spans("low"), heard.spans("low-low"))
        lows = total(low) - common(high, low)
        return np.array([self.end - self.begin - total(high) - lows, total(high), lows])

    def _outcome(self, heard: "Heard", rows: Floats) -> Outcome:
        """Count what the alarms are there to prevent, and whether one that tells of it stood before."""
        happened, unwarned = (np.zeros(len(CONSEQUENCES), dtype=np.int64) for _ in range(2))
        lead = np.full(len(CONSEQUENCES), np.inf)
        spilt = joined(heard.spans("spilling"), APART)
        for at, spans in enumerate((spilt, self._trips(heard, rows), joined(self._air(heard, rows), APART))):
            begins = spans[spans[:, 0] > self.begin, 0].tolist()
            happened[at] = len(begins)
            for begin in begins:
                since = [_since(heard.stood(alarm), begin) for alarm in _WARNS[CONSEQUENCES[at]]]
                leads = [begin - one for one in since if one is not None]
                unwarned[at] += not leads
                lead[at] = min(lead[at], max(leads, default=np.inf))
        return Outcome(happened, unwarned, lead)

    def _trips(self, heard: "Heard", rows: Floats) -> Spans:
        """Give the spans of a switch that liquid has tripped; a broken wire is none of an alarm's business."""
        spans = heard.spans("switch latched")
        at = np.clip(np.searchsorted(rows[:, _TIME], spans[:, 0]), 0, len(rows) - 1)
        return np.asarray(spans[rows[at, _LEVEL] > self.rig.params.switch.closes_at])

    def _air(self, heard: "Heard", rows: Floats) -> Spans:
        """Give the spans in which the drain took air: a siphon breaks, another has nothing over its inlet."""
        drain = self.rig.params.drain
        if drain.kind == 2:
            primed = heard.spans("siphon primed")
            begins, ends = np.append(self.begin, primed[:, 1]), np.append(primed[:, 0], self.end)
            return np.asarray(np.column_stack((begins, ends))[ends > begins])
        if drain.kind == 1:
            return spans_where(rows[:, _TIME], rows[:, _VOLUME] <= drain.inlet_volume)
        return np.zeros((0, 2))


def _band(rig: Rig, alarm: str) -> Band:
    """Give one limit on the volume, as the project has it."""
    found = getattr(rig.project.bands, key_of(alarm))
    assert isinstance(found, Band)
    return found


def classes(lengths: Floats) -> Wholes:
    """Count lengths[n] [s] by EDGES: in the first class are those under its edge, in the last those over all."""
    return np.bincount(np.searchsorted(EDGES, lengths, side="right"), minlength=len(EDGES) + 1).astype(np.int64)


def _since(spans: Spans, moment: float) -> float | None:
    """Give since when one of the spans holds at a moment [s], with what comes within a row of it; None: none holds."""
    holding = spans[(spans[:, 0] <= moment) & (spans[:, 1] >= moment - ROW)]
    return float(holding[-1, 0]) if len(holding) else None


class Heard:
    """The events of a shift, read by names: when alarms came and stood, and when conditions held."""

    def __init__(self, rig: Rig, events: Wholes, begin: float, end: float) -> None:
        self._begin, self._end = begin, end
        self._start = rig.start()
        self._changes: dict[int, list[tuple[float, int]]] = {}
        for scan, what, value in events.tolist():
            self._changes.setdefault(what, []).append((scan * rig.scan, value))

    def spans(self, condition: str) -> Spans:
        """Give the spans in which a condition held."""
        bit = BITS[condition]
        at_first = bool((int(self._start.conditions) >> bit) & 1)
        return self._cut([(time, value == 1) for time, value in self._changes.get(bit, [])], at_first)

    def stood(self, alarm: str) -> Spans:
        """Give the spans in which an alarm stood and was heard: unacknowledged or acknowledged."""
        at_first = kernel.state_of(self._start, ALARM_NAMES.index(alarm)) in _STANDS
        return self._cut([(time, state in _STANDS) for time, state in self._states(alarm)], at_first)

    def came(self, alarm: str) -> Floats:
        """Give when an alarm came [s]: when it began to wait for somebody's answer."""
        times = [time for time, state in self._states(alarm) if state == kernel.UNACKNOWLEDGED]
        return np.array([one for one in times if self._begin <= one < self._end], dtype=np.float64)

    def _states(self, alarm: str) -> list[tuple[float, int]]:
        changes = self._changes.get(kernel.CONDITIONS_USED + ALARM_NAMES.index(alarm), [])
        return [(time, value & 15) for time, value in changes]

    def _cut(self, changes: list[tuple[float, bool]], at_first: bool) -> Spans:
        return spans_of(changes, at_first, self._begin, self._end)
