"""Proof over shifts: a thousand shifts by chance through the ladder, counted, judged, and what to change.

Same rig, use, seed and number of shifts: the same proof, however many threads work on it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from levelbench.alarms.advice import Advice, advice
from levelbench.alarms.counting import Floats, Wholes
from levelbench.alarms.measures import COUNTED, FAR_OVER, MET, OVER, Measure, Sums, measures
from levelbench.alarms.shifts import Person, Use, Users, habits
from levelbench.alarms.tally import CONSEQUENCES, Counter, Tally, in_use
from levelbench.quantity import Dimension, Figure, written
from levelbench.rig.assemble import Rig, key_of
from levelbench.rig.ensemble import THREADS, Lived, Runner, spread
from levelbench.rig.errors import RigError
from levelbench.rig.panel import ALARM_NAMES, ENTRIES
from levelbench.rig.recording import Action, Recording
from levelbench.rig.run import run

Progress = Callable[[float], bool]
SHIFTS, SEED = 1000, 1
COUNTS = {  # of each alarm, as `ByAlarm` has them
    "came": "times that it came",
    "chatter": "of these in chatter",
    "fleeting": "gone within seconds",
    "false": "stood without cause",
    "beyond": "times that it should have come",
    "missed": "times that it did not come",
}
_NAMES = {one.index: one.name for one in ENTRIES.values()}
_POINTS = 1500  # of the picture of a shift


@dataclass(frozen=True)
class OfAlarm:
    """One alarm of the ladder over all shifts; figures by COUNTS, with the share of the time that it stood."""

    alarm: str
    priority: str
    figures: Mapping[str, Figure]

    def count(self, what: str) -> int:
        """Give one of COUNTS as a whole number."""
        return round(self.figures[what].si)


@dataclass(frozen=True)
class Course:
    """How one shift went, a point every so often: time [s] from its beginning, volume and set point [m3]."""

    shift: int
    time: Floats
    volume: Floats
    set_point: Floats
    tens: Wholes  # annunciations in each ten minutes


@dataclass(frozen=True)
class Proof:
    """What came of all shifts."""

    users: Users
    shifts: int
    measures: tuple[Measure, ...]
    alarms: tuple[OfAlarm, ...]  # those in use, in the ladder's order
    spread: tuple[int, ...]  # alarms of each shift, least first
    leads: tuple[Figure, ...]  # least time from an alarm to each consequence that had one
    worst: Course
    advice: Advice
    verdict: str

    @property
    def assumed(self) -> tuple[Figure, ...]:
        """What was assumed of the use."""
        return habits(self.users.use, self.users.rig)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure, with the ends of its interval, and what was assumed."""
        whole = [each for one in self.measures for each in (one.figure, *(one.interval or ()))]
        return (*whole, *(each for one in self.alarms for each in one.figures.values()), *self.leads, *self.assumed)

    def measure(self, key: str) -> Measure:
        """Give a measure by the key of its figure, without "shifts."."""
        return next(one for one in self.measures if one.figure.key == f"shifts.{key}")


def prove(
    rig: Rig,
    *,
    shifts: int = SHIFTS,
    seed: int = SEED,
    use: Use | None = None,
    threads: int = THREADS,
    progress: Progress | None = None,
) -> Proof:
    """Run shifts of a rig and count their alarms.

    Raises RigError for a use that can't be, Cancelled when `progress`, told the share done, answers no.
    """
    users = Users(rig, use or Use(), seed)
    _check(users, shifts)
    tallies = count(users, shifts, threads=threads, progress=progress)
    priorities = [_priority(rig, alarm) for alarm in ALARM_NAMES]
    sums = Sums(tallies, users.use.lasts, priorities)
    alarms = tuple(_of_alarm(sums, alarm) for alarm in in_use(rig))
    found, worst = measures(sums), max(tallies, key=lambda one: one.bad)
    what = advice(sums, rig, faults=users.use.faults > 0)
    return Proof(
        users, shifts, found, alarms, tuple(sorted(one.alarms for one in tallies)), _leads(tallies),
        course(users, worst), what, _verdict(sums, found, what),
    )  # fmt: skip


def count(users: Users, shifts: int, *, threads: int = THREADS, progress: Progress | None = None) -> list[Tally]:
    """Run shifts, 0 to before `shifts`, and count each; raises Cancelled."""
    start, use = users.rig.start(), users.use
    counter = Counter(users.rig, use.lead_in, users.total)
    users.plan(0)  # what all shifts share is worked out before the threads begin

    def one(runner: Runner, shift: int) -> Tally:
        person = Person(users, shift)
        member = users.member(users.plan(shift), person, start)
        return counter.count(shift, runner.live(member, person, every=counter.every, heed=person.heed))

    return spread(range(shifts), one, threads=threads, progress=progress)


def lived(users: Users, shift: int) -> Lived:
    """Live one shift, and give what was done in it; its rows are the reader's own."""
    found: list[Lived] = []
    start, counter = users.rig.start(), Counter(users.rig, users.use.lead_in, users.total)

    def one(runner: Runner, at: int) -> None:
        person = Person(users, at)
        member = users.member(users.plan(at), person, start)
        found.append(runner.live(member, person, every=counter.every, heed=person.heed))

    spread([shift], one, threads=1)
    return found[0]


def replay(users: Users, shift: int, *, every: int = 1) -> Recording:
    """Give the recording of one shift, every so many-th row: the same scans, from what people did in it."""
    done = lived(users, shift).done
    actions = [Action(scan * users.rig.scan, _NAMES[entry], value) for scan, entry, value in done]
    noise = users.plan(shift).noise
    return run(users.rig, users.total, actions=actions, seed=noise, every=every)


def worst_recording(proof: Proof) -> Recording:
    """Give the worst shift as a recording with everything that was done and that happened, a row each second."""
    users = proof.users
    return replay(users, proof.worst.shift, every=Counter(users.rig, users.use.lead_in, users.total).every)


def course(users: Users, tally: Tally) -> Course:
    """Give how a shift went, for a picture."""
    rows = lived(users, tally.shift).rows
    rows = rows[rows[:, 0] >= users.use.lead_in]
    rows = rows[:: max(len(rows) // _POINTS, 1)]
    return Course(tally.shift, rows[:, 0] - users.use.lead_in, rows[:, 3].copy(), rows[:, 1].copy(), tally.tens)


def _check(users: Users, shifts: int) -> None:
    trouble = users.use.trouble()
    if trouble:
        raise RigError(trouble, "how the rig is used", "Give another value.")
    if shifts < 1:
        raise RigError("There is no shift to run.", "shifts", "Ask for one at least.")
    if users.seed < 0:
        raise RigError(f"{users.seed} is no seed.", "seed", "Give a whole number from 0 on.")
    if not in_use(users.rig):
        raise RigError("There is no alarm whose work could be proved.", "bands", "Give the ladder an alarm.")


def _priority(rig: Rig, alarm: str) -> str:
    found = getattr(rig.project.bands, key_of(alarm))
    return "" if found is None else str(found.priority)


def _of_alarm(sums: Sums, alarm: str) -> OfAlarm:
    at = ALARM_NAMES.index(alarm)
    inputs = (("shifts", str(len(sums.tallies))), ("hours", written(sums.hours, "g")))

    def figure(key: str, name: str, si: float, dimension: Dimension = Dimension.NUMBER) -> Figure:
        full = f"shifts.alarm.{key}.{key_of(alarm)}"
        return Figure(full, f"{alarm}: {name}", si, dimension, name, inputs, COUNTED, 1.0 if key in COUNTS else 0.0)

    counts = {key: figure(key, name, float(sums.by_alarm(key)[at])) for key, name in COUNTS.items()}
    each = figure("per_shift", "alarms a shift", counts["came"].si / len(sums.tallies))
    stands = float(sums.by_alarm("standing")[at]) / (3600.0 * sums.hours)
    standing = figure("standing", "share of the time that it stood", stands, Dimension.PERCENT)
    return OfAlarm(alarm, sums.priorities[at], {"per_shift": each, **counts, "standing": standing})


def _leads(tallies: Sequence[Tally]) -> tuple[Figure, ...]:
    """Give the least time from an alarm to each consequence that had one."""
    found = []
    for at, what in enumerate(CONSEQUENCES):
        least = min(float(one.outcome.lead[at]) for one in tallies)
        if least < np.inf:
            key, name = f"shifts.lead.{what.replace(' ', '_')}", f"least time from an alarm to {what}"
            found.append(Figure(key, name, least, Dimension.TIME, "its beginning − the alarm's", (), COUNTED, 0.1))
    return tuple(found)


def _verdict(sums: Sums, found: Sequence[Measure], what: Advice) -> str:
    """Say in a few sentences what the ladder is worth."""
    hours, shifts = written(sums.lasts / 3600.0, "g"), len(sums.tallies)
    hourly = next(one for one in found if one.figure.key == "shifts.per_hour")
    over = [one for one in found if one.word in (OVER, FAR_OVER)]
    first = (
        f"In {shifts} shifts of {hours} h this tank gave {written(hourly.figure.si, '.3g')} alarms an hour; with "
        "everything else that an operator looks after it should be no more than about 6."
    )
    if not over:
        met = sum(one.word == MET for one in found)
        return f"{first} All {met} published figures are kept. {what.words}".strip()
    names = "; ".join(one.figure.name for one in over)
    return f"{first} Not kept: {names}. {what.words}".strip()
