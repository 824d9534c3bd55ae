"""Proof over shifts: a thousand shifts by chance through the ladder, counted, judged, and what to change.

Same rig, use, seed and number of shifts: the same proof, however many threads work on it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from levelbench.alarms.advice import Advice, advice
from levelbench.alarms.counting import Floats, Wholes
from levelbench.alarms.measures import FAR_OVER, MET, OVER, Measure, Sums, measures
from levelbench.alarms.shifts import Person, Use, Users, habits
from levelbench.alarms.tally import CONSEQUENCES, Counter, Tally, in_use, key_of
from levelbench.quantity import Figure, written
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import THREADS, Lived, Runner, spread
from levelbench.rig.errors import RigError
from levelbench.rig.panel import ALARM_NAMES, ENTRIES
from levelbench.rig.recording import Action, Recording
from levelbench.rig.run import run

Progress = Callable[[float], bool]
SHIFTS, SEED = 1000, 1
_NAMES = {one.index: one.name for one in ENTRIES.values()}
_POINTS = 1500  # of the picture of a shift


@dataclass(frozen=True)
class OfAlarm:
    """One alarm of the ladder over all shifts: everything is a count but `standing`, a share of the time."""

    alarm: str
    priority: str
    came: int
    per_shift: float
    chatter: int
    fleeting: int
    false: int
    missed: int
    beyond: int
    standing: float


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
    leads: Mapping[str, float]  # consequence: least time from its alarm [s]
    worst: Course
    advice: Advice
    verdict: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure, with the ends of its interval, and what was assumed."""
        found = [each for one in self.measures for each in (one.figure, *(one.interval or ()))]
        return (*found, *habits(self.users.use, self.users.rig))

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
    leads = {
        name: least
        for at, name in enumerate(CONSEQUENCES)
        if (least := min(float(one.outcome.lead[at]) for one in tallies)) < np.inf
    }
    return Proof(
        users, shifts, found, alarms, tuple(sorted(one.alarms for one in tallies)), leads,
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
    at, shifts = ALARM_NAMES.index(alarm), len(sums.tallies)
    came, chatter, fleeting, false, missed, beyond = (
        int(sums.by_alarm(name)[at]) for name in ("came", "chatter", "fleeting", "false", "missed", "beyond")
    )
    standing = float(sums.by_alarm("standing")[at]) / (3600.0 * sums.hours)
    return OfAlarm(alarm, sums.priorities[at], came, came / shifts, chatter, fleeting, false, missed, beyond, standing)


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
