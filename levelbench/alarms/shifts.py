"""Shifts by chance: how a small tank is used for some hours, by people of whom nothing is known but some habits.

What the users do is drawn before the shift begins: draws, stretches with the drain shut, set points. What the person
who looks after the rig does follows from what happens: an alarm comes, and after a reaction time somebody stands
there, silences, acknowledges, resets, primes, tops up. The run stops where something happens and goes on with that
(`rig.ensemble.Runner.live`), so an answer never comes before its alarm, and an alarm that does not come has none.

The person does no more than that: nobody opens the drain of a tank that is too full, nor shuts it under one that runs
empty. What the ladder can't hold off is seen as it is.

Every stream of chance is Philox with a key of its own, (seed, shift): no shift knows of another, nor of threads.
Source: Salmon, Moraes, Dror & Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11 (2011).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from levelbench.project.records import GRAVITY
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, written
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.bench import Bench, wide_open
from levelbench.rig.ensemble import LOOK, Member, Turn, whole_scans
from levelbench.rig.panel import ENTRIES

D = Dimension
Floats = NDArray[np.float64]
_SET_POINTS, _DRAWS, _PERSON, _FAULTS = range(4)  # streams of chance of one shift
_NOISE_APART = 1_000_003  # seeds of the noise of two seeds' shifts lie so far apart; a prime
_CALLS = {  # what somebody comes for beside an alarm: a condition that comes, 1, or goes, 0
    *((condition, 1) for condition in (kernel.SWITCH_LATCHED, kernel.SENSOR_LATCHED, kernel.HORN)),
    *((condition, 0) for condition in (kernel.STARTED, kernel.PRIMED)),
}
_WAITS = (kernel.UNACKNOWLEDGED, kernel.RETURNED, kernel.LATCHED_UNACKNOWLEDGED)  # states of an alarm
FAULTS = ("echo lost", "signal held", "airlock", "switch wire open")
_LONGEST = 12.0  # times its median, that anything drawn from a lognormal may last


def _habit(says: str, dimension: Dimension, default: float, *, low: float = 0.0, high: float = math.inf) -> float:
    found: float = field(default=default, metadata={"says": says, "dimension": dimension, "low": low, "high": high})
    return found


@dataclass(frozen=True)
class Use:
    """How a rig is used and looked after; every default is common practice, without a source. All SI."""

    lasts: float = _habit("length of a shift", D.TIME, 8 * 3600.0, low=600.0, high=24 * 3600.0)
    lead_in: float = _habit("run before it is counted", D.TIME, 600.0, high=4 * 3600.0)
    draws_apart: float = _habit(
        "from the end of a draw to the next, mean", D.TIME, 900.0, low=1.0, high=30 * 24 * 3600.0
    )
    draw_lasts: float = _habit("a draw lasts, median", D.TIME, 300.0, low=1.0, high=24 * 3600.0)
    draw_spread: float = _habit("spread of draws and faults, σ of the logarithm", D.NUMBER, 0.8, high=3.0)
    draw_least: float = _habit("a draw takes at least, of the largest", D.PERCENT, 0.2, high=1.0)
    draw_most: float = _habit("a draw takes at most, of the largest", D.PERCENT, 1.0, high=2.0)
    shut: float = _habit("of the draws, the drain is shut instead", D.PERCENT, 0.15, high=1.0)
    changes_least: float = _habit("set point changes in a shift, from", D.NUMBER, 3.0, high=500.0)
    changes_most: float = _habit("set point changes in a shift, to", D.NUMBER, 15.0, high=500.0)
    reaction: float = _habit("somebody comes after an alarm, median", D.TIME, 60.0, low=1.0, high=24 * 3600.0)
    reaction_spread: float = _habit("spread of that, σ of the logarithm", D.NUMBER, 0.7, high=3.0)
    reaction_least: float = _habit("nobody comes sooner than", D.TIME, 5.0, low=1.0, high=3600.0)
    round_every: float = _habit("somebody looks in every", D.TIME, 1800.0, low=60.0, high=24 * 3600.0)
    top_up_below: float = _habit("liquid is topped up when less is left of the charge than", D.PERCENT, 0.8, high=1.0)
    faults: float = _habit("faults of each kind in a shift, mean", D.NUMBER, 0.0, high=100.0)
    fault_lasts: float = _habit("a fault lasts, median", D.TIME, 120.0, low=1.0, high=24 * 3600.0)

    def trouble(self) -> str:
        """Say what is wrong with it, "" when nothing is."""
        for one in fields(self):
            value, low, high = getattr(self, one.name), one.metadata["low"], one.metadata["high"]
            if not low <= value <= high:
                return (
                    f"“{one.metadata['says']}” has to be from {written(low, 'g')} to {written(high, 'g')} (SI units)."
                )
        if self.draw_least > self.draw_most:
            return "A draw can't take at least more than it takes at most."
        if self.changes_least > self.changes_most:
            return "The least number of set point changes is more than the most."
        return ""


def habits(use: Use, rig: Rig) -> tuple[Figure, ...]:
    """Give everything that is assumed of the use, as Figures, and what the draws are shares of."""
    assumed = "assumed; change it where you know better"
    found = [
        Figure(
            f"shifts.use.{one.name}",
            one.metadata["says"],
            getattr(use, one.name),
            one.metadata["dimension"],
            assumed,
            (),
            COMMON_PRACTICE,
        )
        for one in fields(use)
    ]
    largest = rig.project.duty.largest_draw.si
    return (
        *found,
        Figure("shifts.largest_draw", "largest draw", largest, D.FLOW, "as the duty says", (), "the project"),
    )


def chance(seed: int, shift: int, stream: int) -> np.random.Generator:
    """Give a stream of chance of one shift: no two of them share a number."""
    return np.random.Generator(np.random.Philox(key=[seed % 2**64, shift], counter=[0, 0, 0, stream]))


# --- what the users of the liquid do ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Drains:
    """How the drain is opened for a flow: flows[volumes, openings] [m3/s] of one that works by gravity."""

    rig: Rig

    @cached_property
    def _table(self) -> tuple[Floats, Floats, Floats]:
        bench, settings = Bench(self.rig), self.rig.project.loop_settings
        volumes = np.linspace(settings.set_point_low.si, settings.set_point_high.si, 5)
        openings = np.linspace(0.0, 1.0, 26)
        flows = np.array([[wide_open(bench, volume, one) for one in openings.tolist()] for volume in volumes.tolist()])
        return volumes, openings, flows

    def turned(self, flow: float, volume: float) -> tuple[str, float] | None:
        """Give what is set at the panel so that about a flow [m3/s] is drawn at a volume [m3]; None without a drain."""
        kind = self.rig.project.drain.kind
        if kind == "forced draw":
            return "draw", flow
        if kind not in GRAVITY:
            return None
        volumes, openings, flows = self._table
        nearest = int(np.argmin(np.abs(volumes - volume)))
        return "valve opening", float(np.interp(flow, np.maximum.accumulate(flows[nearest]), openings))

    @property
    def between(self) -> tuple[str, float] | None:
        """Give what is set between two draws: what the project says."""
        drain = self.rig.project.drain
        if drain.kind == "forced draw":
            return "draw", float(self.rig.panel[kernel.P_DRAW])
        return ("valve opening", float(self.rig.panel[kernel.P_VALVE])) if drain.kind in GRAVITY else None


def set_points(rig: Rig) -> Floats:
    """Give every set point [m3] that the operator can enter and the rig can reach, in entry steps.

    The liquid must not be in the tank at which the switch trips or the tank spills, nor all that the pump can give.
    """
    settings, bench = rig.project.loop_settings, Bench(rig)
    step = settings.entry_step.si
    most = min(
        settings.set_point_high.si,
        bench.spill_volume,
        rig.project.reservoir.charge.si - rig.params.reservoir.suction_volume,
    )
    if bench.trip is not None:
        most = min(most, bench.volume_at(bench.trip))
    first, last = math.ceil(settings.set_point_low.si / step - 1e-9), math.floor(most / step + 1e-9)
    return np.arange(first, last + 1, dtype=np.float64) * step


@dataclass(frozen=True)
class Plan:
    """What is settled before a shift begins: (time [s], panel entry, value), in time, and the seed of the noise."""

    shift: int
    noise: int
    wishes: tuple[tuple[float, str, float], ...]


@dataclass(frozen=True)
class Users:
    """Everything from which shifts of a rig are drawn."""

    rig: Rig
    use: Use
    seed: int

    @cached_property
    def drains(self) -> Drains:
        """How its drain is opened."""
        return Drains(self.rig)

    @cached_property
    def choices(self) -> Floats:
        """The set points to choose from [m3]."""
        return set_points(self.rig)

    @property
    def total(self) -> float:
        """How long a shift runs with its lead-in [s]."""
        return self.use.lead_in + self.use.lasts

    def plan(self, shift: int) -> Plan:
        """Draw one shift."""
        points = list(self._points(chance(self.seed, shift, _SET_POINTS)))
        wishes = [(at, "set point", value) for at, value in points]
        wishes += self._draws(chance(self.seed, shift, _DRAWS), points)
        wishes += self._faults(chance(self.seed, shift, _FAULTS))
        wishes = [one for one in wishes if one[0] < self.total]
        noise = (self.seed * _NOISE_APART + shift) % 2**32
        return Plan(shift, noise, tuple(sorted(wishes, key=lambda one: one[0])))

    def member(self, plan: Plan, person: "Person", start: kernel.State) -> Member:
        """Give the run of a plan in which a person looks in, from a state that is not used up."""
        rows = [(max(round(at / self.rig.scan), 0), ENTRIES[what].index, value) for at, what, value in plan.wishes]
        actions = np.array(sorted([*rows, person.first_round()], key=lambda one: one[0]), dtype=np.float64)
        return Member(self.rig, start, whole_scans(self.rig, self.total), plan.noise, actions)

    def _points(self, dice: np.random.Generator) -> Iterator[tuple[float, float]]:
        """Draw the changes of the set point, each to another value than before."""
        use, choices = self.use, self.choices
        count = int(dice.integers(round(use.changes_least), round(use.changes_most) + 1))
        times = np.sort(dice.uniform(use.lead_in, self.total, count))
        before = float(self.rig.panel[kernel.P_SET_POINT])
        for at in times.tolist():
            others = choices[np.abs(choices - before) > 1e-9 * max(before, 1e-9)]
            if others.size == 0:
                return
            before = float(dice.choice(others))
            yield at, before

    def _draws(
        self, dice: np.random.Generator, points: Sequence[tuple[float, float]]
    ) -> Iterator[tuple[float, str, float]]:
        """Draw when and how much is taken: the pauses are exponential, so that no moment is likelier than another."""
        use, between = self.use, self.drains.between
        if between is None:
            return
        at, largest = 0.0, self.rig.project.duty.largest_draw.si
        while (at := at + float(dice.exponential(use.draws_apart))) < self.total:
            volume = float(self.rig.panel[kernel.P_SET_POINT])
            volume = next((value for time, value in reversed(points) if time <= at), volume)
            flow = largest * float(dice.uniform(use.draw_least, use.draw_most))
            shut = bool(dice.uniform() < use.shut)
            turned = self.drains.turned(0.0 if shut else flow, volume)
            assert turned is not None
            yield at, *turned
            at += lognormal(dice, use.draw_lasts, use.draw_spread)
            yield at, *between

    def _faults(self, dice: np.random.Generator) -> Iterator[tuple[float, str, float]]:
        for fault in FAULTS:
            for begin in dice.uniform(self.use.lead_in, self.total, int(dice.poisson(self.use.faults))).tolist():
                yield begin, fault, 1.0
                yield begin + lognormal(dice, self.use.fault_lasts, self.use.draw_spread), fault, 0.0


def lognormal(dice: np.random.Generator, median: float, spread: float) -> float:
    """Draw a time [s] of so large a median; spread: the standard deviation of its logarithm."""
    return min(float(dice.lognormal(math.log(median), spread)), _LONGEST * median)


# --- who looks after the rig -----------------------------------------------------------------------------------------


class Person:
    """Who comes after an alarm, and looks in now and then: silences, acknowledges, resets, primes, tops up.

    Whoever is on the way sees on arrival all that has happened until then.
    """

    def __init__(self, users: Users, shift: int) -> None:
        self._rig, self._use = users.rig, users.use
        self._dice = chance(users.seed, shift, _PERSON)
        self._round = max(round(self._use.round_every / self._rig.scan), 1)  # scans from one round to the next
        self._next_round = int(self._dice.integers(self._round))
        self._comes = -1  # in this scan; -1: nobody is on the way
        self._charge = users.rig.project.reservoir.charge.si

    @property
    def heed(self) -> int:
        """Scans after an event in which nobody can have come yet."""
        return max(round(self._use.reaction_least / self._rig.scan), 1)

    def first_round(self) -> Turn:
        """Give the first look, for which nothing has to happen."""
        return self._next_round, LOOK, 0.0

    def answer(self, scan: int, events: NDArray[np.int64], state: kernel.State) -> list[Turn]:
        """Be told what happened, or look at the rig; give what will be done."""
        if len(events):
            return self._hear(events)
        turns: list[Turn] = []
        if scan >= self._comes >= 0:
            self._comes = -1
        if scan >= self._next_round:
            self._next_round += self._round
            turns.append((self._next_round, LOOK, 0.0))
        turns += self._tend(scan, state)
        if self._amiss(state) and self._comes < 0:
            turns += self._set_out(scan)
        return turns

    def _hear(self, events: NDArray[np.int64]) -> list[Turn]:
        """Set out when something calls, unless somebody is on the way."""
        if self._comes >= 0:
            return []
        calls = [scan for scan, what, value in events.tolist() if _calls(what, value)]
        return self._set_out(min(calls)) if calls else []

    def _set_out(self, scan: int) -> list[Turn]:
        wait = self._use.reaction_least + lognormal(self._dice, self._use.reaction, self._use.reaction_spread)
        self._comes = scan + max(round(wait / self._rig.scan), self.heed)
        return [(self._comes, LOOK, 0.0)]

    def _tend(self, scan: int, state: kernel.State) -> list[Turn]:
        """Do what is to be done at the rig."""
        turns = [(scan, kernel.P_SILENCE, 1.0)] if kernel.holds(state, kernel.HORN) else []
        states = [kernel.state_of(state, alarm) for alarm in range(kernel.ALARMS)]
        if any(one in _WAITS for one in states):
            turns.append((scan, kernel.P_ACKNOWLEDGE, 1.0))
        latched = kernel.LATCHED_UNACKNOWLEDGED in states or kernel.LATCHED_ACKNOWLEDGED in states
        if _stopped(state) or latched:
            turns.append((scan, kernel.P_RESET, 1.0))
        if _stopped(state):
            turns.append((scan, kernel.P_START, 1.0))
        if self._broken(state) and state.tank > self._rig.params.drain.inlet_volume:
            turns.append((scan, kernel.P_PRIME, 1.0))
        missing = self._charge - float(state.tank) - float(state.reservoir)
        if missing > (1.0 - self._use.top_up_below) * self._charge:
            room = self._rig.params.reservoir.capacity - float(state.reservoir)
            turns.append((scan, kernel.P_TOP_UP, min(missing, room)))
        return turns

    def _broken(self, state: kernel.State) -> bool:
        return self._rig.params.drain.kind == 2 and not kernel.holds(state, kernel.PRIMED)

    def _amiss(self, state: kernel.State) -> bool:
        """Tell whether somebody will have to come again: what could not be put right now."""
        held = kernel.holds(state, kernel.SWITCH_OPEN) or kernel.holds(state, kernel.SENSOR_FAILED)
        dry = self._broken(state) and state.tank <= self._rig.params.drain.inlet_volume
        return (_stopped(state) and held) or dry


def _calls(what: int, value: int) -> bool:
    """Tell whether an event calls somebody: an alarm begins to wait for an answer, or the rig stands."""
    if what >= kernel.CONDITIONS_USED:
        return value & 15 == kernel.UNACKNOWLEDGED
    return (what, value) in _CALLS


def _stopped(state: kernel.State) -> bool:
    return not kernel.holds(state, kernel.STARTED)
