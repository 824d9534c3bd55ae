"""What is measured over all shifts, each beside the published figure for it, with how sure it is.

The published figures are for one operator with everything that he looks after. A small tank is a small part of that.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from levelbench.alarms.counting import CHATTER, FLOOD_OVER, FLOOD_UNDER, Wholes
from levelbench.alarms.intervals import WIDENED, WILSON, of_share, of_sum
from levelbench.alarms.tally import CONSEQUENCES, FLEETING, STATUS, Tally
from levelbench.project.alarms import PRIORITIES
from levelbench.quantity import Dimension, Figure, written
from levelbench.rig.panel import BAND_NAMES

D = Dimension
ISA = "ANSI/ISA-18.2-2016 (IEC 62682:2014), as an open training text on alarms gives it"
ISA_2009 = "ANSI/ISA-18.2-2009; the edition of 2016 has no figures for a day"
EEMUA = "EEMUA Publication 191, quoted from memory"
COUNTED = "counted in the simulated shifts"
PURPOSE = "what an alarm is for"
MET, OVER, FAR_OVER, NONE = "met", "over", "far over", ""
What = tuple[str, str, str]  # key of a figure, its name and its formula
_ASKED = {"high": "about 5 %", "medium": "about 15 %", "low": "about 80 %"}


@dataclass(frozen=True)
class Measure:
    """One figure over all shifts; low and high are the ends of its 95 % interval, None where it has none.

    norm: what is published for it, in words, and after whom; word: MET, OVER, FAR_OVER or NONE.
    """

    figure: Figure
    interval: tuple[Figure, Figure] | None = None
    norm: str = ""
    source: str = ""
    word: str = NONE


@dataclass(frozen=True)
class Sums:
    """The tallies of all shifts, with what they are shifts of."""

    tallies: Sequence[Tally]
    lasts: float  # [s] one shift
    priorities: Sequence[str]  # of each alarm, "" where it is not in use

    @property
    def hours(self) -> float:
        """All hours counted."""
        return len(self.tallies) * self.lasts / 3600.0

    def by_alarm(self, name: str) -> Wholes:
        """Sum what is counted for each alarm, in the order of ALARM_NAMES."""
        return np.asarray(np.sum([getattr(one.each, name) for one in self.tallies], axis=0))

    def outcomes(self, name: str) -> Wholes:
        """Sum what is counted for each consequence, in the order of CONSEQUENCES."""
        return np.asarray(np.sum([getattr(one.outcome, name) for one in self.tallies], axis=0))

    def dispersion(self, counts: Sequence[float]) -> float:
        """Give variance over mean of a count in each shift: 1 for Poisson's, 1 where there is nothing to go by."""
        mean = float(np.mean(counts))
        return float(np.var(counts, ddof=1)) / mean if len(counts) > 1 and mean > 0 else 1.0


def measures(sums: Sums) -> tuple[Measure, ...]:
    """Give every measure, the most telling first."""
    return (*_rates(sums), *_tens(sums), *_kinds(sums), *_priorities(sums), *_consequences(sums), *_status(sums))


def _figure(sums: Sums, what: What, si: float, dimension: Dimension = D.NUMBER) -> Figure:
    key, name, formula = what
    inputs = (("shifts", str(len(sums.tallies))), ("hours of each", written(sums.lasts / 3600.0, "g")))
    return Figure(f"shifts.{key}", name, si, dimension, formula, inputs, COUNTED)


def _between(figure: Figure, ends: tuple[float, float], source: str) -> tuple[Figure, Figure]:
    low, high = (
        Figure(f"{figure.key}.{end}", f"{figure.name}, {words}", si, figure.dimension, source, figure.inputs, source)
        for end, words, si in (("low", "at least", ends[0]), ("high", "at most", ends[1]))
    )
    return low, high


def rate(sums: Sums, what: What, counts: Sequence[float], parts: float = 1.0) -> Measure:
    """Give how often something comes in each of so many parts of a shift, from its counts in each shift."""
    count, among = int(sum(counts)), len(sums.tallies) * parts
    ends = of_sum(count, sums.dispersion(counts))
    figure = _figure(sums, what, count / among)
    return Measure(figure, _between(figure, (ends[0] / among, ends[1] / among), WIDENED))


def share(sums: Sums, what: What, count: int, among: int) -> Measure:
    """Give a share, so many of so many, with Wilson's interval; nan where there is nothing to count."""
    figure = _figure(sums, what, count / among if among else math.nan, D.PERCENT)
    return Measure(figure, _between(figure, of_share(count, among), WILSON) if among else None)


def judged(one: Measure, norm: str, source: str, good: float, most: float = math.inf) -> Measure:
    """Put a published figure beside a measure: up to `good` it is met, beyond `most` it is far over."""
    word = MET if one.figure.si <= good + 1e-12 else OVER if one.figure.si <= most else FAR_OVER
    return replace(one, norm=norm, source=source, word=word)


def _rates(sums: Sums) -> tuple[Measure, ...]:
    counts, day = [float(one.alarms) for one in sums.tallies], sums.lasts / 86400.0
    per = "entries into “unacknowledged” ÷ {}"
    hour = rate(sums, ("per_hour", "alarms an hour", per.format("hours")), counts, sums.lasts / 3600.0)
    whole = rate(sums, ("per_shift", "alarms a shift", per.format("shifts")), counts)
    good, most = 150 * day, 300 * day
    norm = f"{written(good, '.3g')} acceptable, {written(most, '.3g')} the most (150 and 300 a day)"
    return (
        judged(hour, "about 6 acceptable, 12 the most that can be managed", f"{ISA}; {EEMUA} has the same", 6, 12),
        judged(whole, norm, ISA_2009, good, most),
    )


def _tens(sums: Sums) -> tuple[Measure, ...]:
    tens = np.concatenate([one.tens for one in sums.tallies])
    many = f"ten minutes with more than {FLOOD_OVER} alarms"
    over = share(
        sums, ("tens_over", many, "such ÷ all stretches of ten minutes"), int((tens > FLOOD_OVER).sum()), len(tens)
    )
    peak = max(one.peak for one in sums.tallies)
    flooded = sum(one.flooded for one in sums.tallies) / (sums.hours * 3600.0)
    lasts = f"from more than {FLOOD_OVER} in ten minutes to fewer than {FLOOD_UNDER}"
    count = rate(sums, ("floods", "floods a shift", "floods ÷ shifts"), [float(one.floods) for one in sums.tallies])
    worst = max(one.alarms for one in sums.tallies)
    most = Measure(
        replace(_figure(sums, ("peak", "most alarms in any ten minutes", "over all shifts"), peak), resolution=1)
    )
    time = Measure(_figure(sums, ("flooded", "time in a flood", lasts), flooded, D.PERCENT))
    return (
        judged(over, "under 1 %", ISA, 0.01),
        judged(most, f"at most {FLOOD_OVER}", ISA, FLOOD_OVER),
        judged(time, "under 1 %", ISA, 0.01),
        judged(count, "should be none", ISA, 0),
        Measure(replace(_figure(sums, ("worst", "most alarms in one shift", "over all shifts"), worst), resolution=1)),
    )


def _kinds(sums: Sums) -> tuple[Measure, ...]:
    def each(key: str, name: str, formula: str) -> Measure:
        return rate(sums, (key, name, formula), [float(getattr(one.each, key).sum()) for one in sums.tallies])

    came, stood = sums.by_alarm("came"), int(sums.by_alarm("stood")[: len(BAND_NAMES)].sum())
    chatter = each("chatter", "chattering alarms a shift", f"{CHATTER} or more of one alarm in a minute, each of them")
    fleeting = each("fleeting", "fleeting alarms a shift", f"gone within {written(FLEETING, 'g')} s")
    whole = each("whole", "alarms that stood all the shift", "from its first to its last second ÷ shifts")
    most = share(
        sums,
        ("most_frequent", "share of the most frequent alarm", "annunciations of it ÷ all"),
        int(came.max()),
        int(came.sum()),
    )
    formula = "limits on the volume, which in truth was never beyond ÷ all of them that stood"
    false = share(sums, ("false", "alarms without cause", formula), int(sums.by_alarm("false").sum()), stood)
    return (
        judged(chatter, "should be none", ISA, 0),
        judged(fleeting, "should be none; “within seconds” is taken as 10 s", ISA, 0),
        replace(whole, norm="fewer than 5 stale on any day; stale is over 24 h, longer than a shift", source=ISA),
        replace(most, norm="the ten most frequent: 1 to 5 % of all, where there are hundreds", source=ISA),
        false,
    )


def _priorities(sums: Sums) -> tuple[Measure, ...]:
    came, found = sums.by_alarm("came"), []
    source = f"{ISA}; EEMUA 191 asks the same of the alarms that are configured"
    for priority in PRIORITIES:
        count = int(sum(came[at] for at, one in enumerate(sums.priorities) if one == priority))
        what = (f"priority.{priority}", f"alarms of {priority} priority", "of all annunciations")
        found.append(replace(share(sums, what, count, int(came.sum())), norm=_ASKED[priority], source=source))
    return tuple(found)


def _consequences(sums: Sums) -> tuple[Measure, ...]:
    found = []
    for at, what in enumerate(CONSEQUENCES):
        key = what.replace(" ", "_")
        counts = [float(one.outcome.happened[at]) for one in sums.tallies]
        found.append(rate(sums, (f"happened.{key}", f"{what}, a shift", "in the rig itself, seen or not"), counts))
        blind = [float(one.outcome.unwarned[at]) for one in sums.tallies]
        without = "no alarm that tells of it stood when it began"
        one = rate(sums, (f"unwarned.{key}", f"{what} without its alarm, a shift", without), blind)
        found.append(judged(one, "should be none", PURPOSE, 0))
    beyond, missed = (int(sums.by_alarm(name).sum()) for name in ("beyond", "missed"))
    formula = (
        "the true volume was beyond a limit for longer than on-delay and sensor take, and no alarm came ÷ all such"
    )
    one = share(sums, ("missed", "alarms missed", formula), missed, beyond)
    return (*found, one if beyond == 0 else judged(one, "should be none", PURPOSE, 0))


def _status(sums: Sums) -> tuple[Measure, ...]:
    times = np.sum([one.status for one in sums.tallies], axis=0) / (sums.hours * 3600.0)
    return tuple(
        Measure(_figure(sums, (f"status.{word}", f"time at {word}", "of all the time"), float(times[at]), D.PERCENT))
        for at, word in enumerate(STATUS)
    )
