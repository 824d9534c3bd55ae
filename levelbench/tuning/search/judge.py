"""Candidates before the judge: each runs through all corners on the same noise, until it is clear that it loses.

Common random numbers: every corner has one seed, the same for all candidates, so that they differ by their settings
alone (Law & Kelton, Simulation Modeling and Analysis, chapter 11; quoted from memory). A candidate is left off as soon
as the corners seen so far are enough to say that it breaks a limit, or that one of the best is both faster and calmer:
the worst corner can only get worse with further ones, so nothing is lost by it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from levelbench.rig.ensemble import Runner, spread
from levelbench.tuning.response import raw_margins
from levelbench.tuning.search.box import Limits
from levelbench.tuning.search.scenario import Measures, Scenario
from levelbench.tuning.search.screen import worst_sensitivity
from levelbench.tuning.search.target import Loop, Target, Typed

Progress = Callable[[float], bool]

GUARD = 0.9  # the share of the asked overshoot, travel and starts that the corners may use: noise has other seeds too
UNSETTLED = 10.0  # how far beyond a limit a run counts that never settles


@dataclass(frozen=True)
class Trial:
    """A candidate and what its runs say, in the order of the scenarios; `whole` when it ran through all of them.

    sensitivity: largest Ms of all corners.
    """

    typed: Typed
    loop: Loop
    sensitivity: float
    measures: tuple[Measures, ...]
    whole: bool

    def worst(self, key: str) -> float:
        """Give the largest of one measure in all corners seen."""
        return max((float(getattr(one, key)) for one in self.measures), default=0.0)

    def corner(self, key: str) -> int:
        """Give which scenario has the largest of one measure."""
        return max(range(len(self.measures)), key=lambda at: float(getattr(self.measures[at], key)))

    @property
    def travel(self) -> float:
        """Output travel in the worst corner [1/s]."""
        return self.worst("travel")


@dataclass(frozen=True)
class Norm:
    """What a settling time [s], a deviation [m3] and its area [m3.s] are counted in: those of the reference."""

    settling: float
    deviation: float
    area: float

    def slowness(self, trial: Trial) -> float:
        """Give how slow it is in the worst corner, 1 as the reference: half the settling, a quarter each the others."""
        parts = ((0.5, "settling"), (0.25, "deviation"), (0.25, "area"))
        return sum(share * self._of(trial, key) for share, key in parts)

    def _of(self, trial: Trial, key: str) -> float:
        one = float(getattr(self, key))
        return trial.worst(key) / one if one > 0 else 0.0


def use_of_limits(measures: Sequence[Measures], sensitivity: float, limits: Limits) -> dict[str, float]:
    """Give how far each limit is used, 1 at the limit; a run that never settles uses its own up ten times."""
    worst = {key: max((float(getattr(one, key)) for one in measures), default=0.0) for key in _LIMITED}
    used = {
        "overshoot": worst["overshoot"] / limits.overshoot,
        "largest sensitivity Ms": min(sensitivity / limits.sensitivity, UNSETTLED),
        "settling": UNSETTLED if math.isinf(worst["settling"]) else 0.0,
    }
    if limits.travel is not None:
        used["output travel"] = worst["travel"] / limits.travel
    if limits.starts is not None:
        used["pump starts"] = worst["starts"] / limits.starts
    return used


_LIMITED = ("overshoot", "settling", "travel", "starts")


def breaks(measures: Sequence[Measures], sensitivity: float, limits: Limits, guard: float = 1.0) -> bool:
    """Tell whether a limit is broken; `guard` is the share that may be used of those that noise has a part in."""
    used = use_of_limits(measures, sensitivity, limits)
    return any(share > (1.0 if key in ("largest sensitivity Ms",) else guard) for key, share in used.items())


class Judge:
    """Lets candidates run through the scenarios of one rig, and keeps what was said of each."""

    def __init__(self, scenarios: Sequence[Scenario], target: Target, limits: Limits, threads: int) -> None:
        self.scenarios, self.target, self.limits = tuple(scenarios), target, limits
        self.threads = threads
        self.known: dict[Typed, Trial] = {}
        self.runs, self.work = 0, 0.0
        self.norm = Norm(1.0, 1.0, 1.0)
        self.order = tuple(range(len(self.scenarios)))
        self._told = [0] * len(self.scenarios)  # how often each corner was the worst in something
        self._looked: dict[Typed, float] = {}

    def judge(self, asked: Sequence[Typed], best: Sequence[Trial], progress: Progress | None = None) -> None:
        """Judge those that are not known yet; the best so far let others be left off."""
        marks = [(self.norm.slowness(one), one.travel) for one in best]
        fresh = list(dict.fromkeys(one for one in asked if one not in self.known))
        calm = [one for one in fresh if self._screened(one)]
        self._keep(
            spread(calm, lambda runner, one: self._one(runner, one, marks), threads=self.threads, progress=progress)
        )

    def in_full(self, asked: Sequence[Typed], progress: Progress | None = None) -> list[Trial]:
        """Run candidates through every scenario, whatever they break."""
        fresh = [one for one in dict.fromkeys(asked) if one not in self.known or not self.known[one].whole]
        self._keep(spread(fresh, self._whole, threads=self.threads, progress=progress))
        return [self.known[one] for one in asked]

    def loop_in_full(self, loop: Loop) -> Trial:
        """Run a loop that can't be typed, or has a derivative, through every scenario."""
        asked = self.target.typed(loop)
        return spread([loop], lambda runner, one: self._ran(runner, asked, one, None), threads=1)[0]

    def holds(self, trial: Trial) -> bool:
        """Tell whether a candidate ran through all and keeps every limit."""
        return trial.whole and not breaks(trial.measures, trial.sensitivity, self.limits, GUARD)

    def exact_sensitivity(self, loop: Loop) -> tuple[float, int]:
        """Give the largest Ms of all corners by `raw_margins`, and in which scenario."""
        found = [raw_margins(one.linear(loop)).sensitivity for one in self.scenarios]
        return max(found), found.index(max(found))

    def _screened(self, typed: Typed) -> bool:
        """Look at the linear loops first; who breaks the limit there is not simulated."""
        loop = self.target.loop_at(typed)
        most = self._looked[typed] = self._sensitivity(loop, self.limits.sensitivity)
        if most <= self.limits.sensitivity:
            return True
        self.known[typed] = Trial(typed, loop, most, (), whole=False)
        return False

    def _sensitivity(self, loop: Loop, most: float) -> float:
        return worst_sensitivity((self.scenarios[at].linear(loop) for at in self.order), most)

    def _one(self, runner: Runner, typed: Typed, marks: list[tuple[float, float]]) -> Trial:
        return self._ran(runner, typed, self.target.loop_at(typed), marks)

    def _whole(self, runner: Runner, typed: Typed) -> Trial:
        return self._ran(runner, typed, self.target.loop_at(typed), None)

    def _ran(self, runner: Runner, typed: Typed, loop: Loop, marks: list[tuple[float, float]] | None) -> Trial:
        """Run through the scenarios in the order that tells most; `marks` None: through all of them."""
        sensitivity = self._sensitivity(loop, math.inf) if marks is None else self._looked[typed]
        found: dict[int, Measures] = {}
        for at in self.order:
            one = self.scenarios[at]
            found[at] = one.measure(runner.run(one.member(loop)))
            seen = Trial(typed, loop, sensitivity, tuple(found.values()), whole=False)
            if marks is not None and self._lost(seen, marks):
                return seen
        return Trial(typed, loop, sensitivity, tuple(found[at] for at in range(len(self.scenarios))), whole=True)

    def _lost(self, seen: Trial, marks: list[tuple[float, float]]) -> bool:
        if breaks(seen.measures, seen.sensitivity, self.limits, GUARD):
            return True
        slow, busy = self.norm.slowness(seen), seen.travel
        return any(mark[0] <= slow and mark[1] <= busy for mark in marks)

    def _keep(self, trials: Sequence[Trial]) -> None:
        for one in trials:
            self.known[one.typed] = one
            self.runs += len(one.measures)
            self.work += len(one.measures) * self.scenarios[0].work
            if one.whole:
                for key in ("settling", "deviation", "area", "travel", "overshoot"):
                    self._told[one.corner(key)] += 1
        self.order = tuple(sorted(self.order, key=lambda at: -self._told[at]))
