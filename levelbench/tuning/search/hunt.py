"""How candidates are chosen: a coarse grid first, then round after round beside the best, with ever smaller steps.

What is sought is the curve of those that nothing beats: no other is both faster and calmer. It ends when the work that
was allowed is done, counted in steps of the physics and not in seconds: the answer is the same on every machine.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from levelbench.rig.settings import Settings
from levelbench.tuning.search.judge import GUARD, Judge, Norm, Progress, Trial, use_of_limits
from levelbench.tuning.search.target import Loop, Typed

BUDGET = 30_000_000  # sub-steps of the physics; some five seconds on two cores
_GAINS = (0.85, 0.64, 0.48, 0.36, 0.27, 0.2, 0.15, 0.1, 0.06)  # of 1/(k'·delay)
_PRODUCTS = (4.0, 7.0, 2.6, 14.0)  # k'·K·Ti
_WEIGHTS = (1.0, 0.5, 0.0)
_FILTERS = (0.0, 0.5, 1.2, 2.4)  # of the delay
_ROUNDS = ((1.25, 0.25, 1.6), (1.12, 0.15, 1.3), (1.06, 0.1, 1.2), (1.03, 0.05, 1.1), (1.015, 0.05, 1.05))
_COARSE = 0.35  # of the budget, at most
_BATCH = 32
_MOST_KEPT = 14
_MOST_MISSES = 96  # tries that are run through all corners to find the nearest
_SLOWEST = 3.0  # of the fastest: beyond it nobody asks how calm it is


@dataclass(frozen=True)
class Process:
    """The fastest process of the box: slope k' [m3/s] and total delay [s], PV filter left out."""

    slope: float
    delay: float


class Hunt:
    """One search: asks the judge about candidates, and keeps the curve of the best."""

    def __init__(self, judge: Judge, budget: int, progress: Progress | None) -> None:
        self._judge, self._budget, self._progress = judge, budget, progress
        self.banned: set[Typed] = set()  # broke a limit in a run that is none of the judge's
        loops = [one.linear(Loop(Settings(1.0, math.inf, 0.0), 1.0, 0.0)) for one in judge.scenarios]
        self.process = Process(max(one.slope for one in loops), max(one.dead_time + sum(one.lags) for one in loops))

    def reference(self) -> Loop:
        """Give the settings that others are counted in: a closed loop as slow as the delay, Ti of eight delays.

        Source: S. Skogestad, J. Process Control 13 (2003) 291-309, integrating process (quoted from memory).
        """
        return self._loop(0.5, 4.0, 1.0, 0.0)

    def begin(self, present: Loop) -> None:
        """Judge the reference: it sets the norm, and which corners are asked first."""
        judge = self._judge
        trial = judge.loop_in_full(self.reference())
        first = judge.scenarios[0]
        longest = (first.load_at - first.step_at) * first.rig.scan
        settling = trial.worst("settling")
        judge.norm = Norm(
            settling if 0 < settling < math.inf else longest, trial.worst("deviation"), trial.worst("area")
        )
        telling = dict.fromkeys(trial.corner(key) for key in ("overshoot", "settling", "travel", "deviation", "area"))
        judge.order = tuple(dict.fromkeys((*telling, *range(len(judge.scenarios)))))
        self._ask([judge.target.typed(one) for one in (present, self.reference())])

    def go(self, present: Loop) -> None:
        """Do the whole search; the present settings are among those that are tried."""
        self.begin(present)
        self._coarse(present)
        self._refine()

    def _coarse(self, present: Loop) -> None:
        """Judge a grid over all settings, the present filter among its filters."""
        filters = dict.fromkeys((*(one * self.process.delay for one in _FILTERS), present.pv_filter))
        grid = [
            self._judge.target.typed(self._loop(gain, product, weight, smoothing))
            for product in _PRODUCTS
            for smoothing in filters
            for gain in _GAINS
            for weight in _WEIGHTS
        ]
        self._ask(grid, share=_COARSE)

    def _refine(self) -> None:
        """Go on beside the best with smaller and smaller steps; where nothing holds, beside what misses least."""
        for at, (factor, weight, filter_factor) in enumerate(_ROUNDS):
            for _ in range(2):
                near = self.curve(_MOST_KEPT) or self.nearest(4)
                around = (typed for one in near for typed in self._around(one, factor, weight, filter_factor))
                self._ask([*self._between(near), *around], share=_COARSE + (1 - _COARSE) * (at + 1) / len(_ROUNDS))
        near = self.curve(_MOST_KEPT)
        self._ask([typed for one in near for typed in self._judge.target.beside(one.typed)])

    def curve(self, most: int = 0) -> list[Trial]:
        """Give those that keep every limit and that nothing beats, the fastest first; `most`: so many, well spread."""
        slowness = self._judge.norm.slowness
        held = sorted(
            (one for one in self._judge.known.values() if one.typed not in self.banned and self._judge.holds(one)),
            key=lambda one: (slowness(one), one.travel),
        )
        found: list[Trial] = []
        for one in held:
            if slowness(one) > _SLOWEST * slowness(held[0]):
                break
            if not found or one.travel < found[-1].travel:
                found.append(one)
        return thinned(found, most) if most else found

    def nearest(self, most: int) -> list[Trial]:
        """Give those that come nearest to keeping every limit, each run through all corners."""
        ranked = sorted(self._judge.known.values(), key=self._miss)[:_MOST_MISSES]
        whole: list[Trial] = []
        for at in range(0, len(ranked), _BATCH):
            whole = sorted(
                (*whole, *self._judge.in_full([one.typed for one in ranked[at : at + _BATCH]])), key=self._miss
            )
            following = ranked[at + _BATCH : at + _BATCH + 1]
            if following and self._miss(whole[0]) <= self._miss(following[0]):
                break  # what is known of the following can only get worse
        return whole[:most]

    def _miss(self, trial: Trial) -> float:
        """Give how far the limit that is missed most is missed; what was not simulated has its sensitivity alone."""
        return max(use_of_limits(trial.measures, trial.sensitivity, self._judge.limits).values())

    def _ask(self, asked: Sequence[Typed], share: float = 1.0) -> None:
        """Have candidates judged in batches, each with the best so far, until a share of the budget is spent."""
        fresh = [one for one in dict.fromkeys(asked) if one not in self._judge.known]
        for at in range(0, len(fresh), _BATCH):
            if self._judge.work >= share * self._budget:
                return
            done = min(self._judge.work / self._budget, 1.0)
            self._judge.judge(fresh[at : at + _BATCH], self.curve(), self._standing_at(done))

    def _standing_at(self, done: float) -> Progress | None:
        """Give a progress that tells one share, and hears whether to go on."""
        progress = self._progress
        return None if progress is None else lambda _share: progress(done)

    def _loop(self, gain: float, product: float, weight: float, pv_filter: float) -> Loop:
        """Give the loop of a gain of 1/(k'·delay), a product k'·K·Ti, a weight and a filter [s]; it delays as well."""
        delay = self.process.delay + pv_filter
        one = gain / (self.process.slope * delay)
        return Loop(Settings(one, product / (self.process.slope * one), 0.0), weight, pv_filter)

    def _around(self, trial: Trial, factor: float, weight: float, filter_factor: float) -> Iterator[Typed]:
        """Give what lies a step beside a trial in one setting, or in two that make up for each other."""
        loop, target = trial.loop, self._judge.target
        gain, time = loop.settings.gain, loop.settings.integral_time
        for up, longer in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, -1), (-1, 1)):
            yield target.typed(replace(loop, settings=Settings(gain * factor**up, time * factor**longer, 0.0)))
        for sign in (1, -1):
            smoothing = loop.pv_filter * filter_factor**sign or 0.15 * self.process.delay * (sign > 0)
            yield target.typed(replace(loop, weight=loop.weight + sign * weight))
            yield target.typed(replace(loop, pv_filter=smoothing))
            lower = Settings(gain / factor**sign, time * factor**sign, 0.0)
            yield target.typed(replace(loop, pv_filter=smoothing, settings=lower))

    def _between(self, near: Sequence[Trial]) -> Iterator[Typed]:
        """Give what lies half-way between neighbours on the curve, and as far beyond its calm end."""
        pairs = [(one.loop, other.loop, 0.5) for one, other in pairwise(near)]
        if len(near) > 1:
            pairs.append((near[-2].loop, near[-1].loop, 1.5))
        for one, other, share in pairs:
            gain, time = (
                getattr(one.settings, key) ** (1 - share) * getattr(other.settings, key) ** share
                for key in ("gain", "integral_time")
            )
            smoothing = max(one.pv_filter + share * (other.pv_filter - one.pv_filter), 0.0)
            weight = one.weight + share * (other.weight - one.weight)
            yield self._judge.target.typed(Loop(Settings(gain, time, 0.0), weight, smoothing))


def thinned(curve: Sequence[Trial], most: int) -> list[Trial]:
    """Give at most so many of a curve, both ends among them, evenly by their travel's logarithm."""
    if len(curve) <= most:
        return list(curve)
    low, high = math.log(max(curve[-1].travel, 1e-9)), math.log(max(curve[0].travel, 1e-9))
    kept: dict[int, Trial] = {}
    for step in range(most):
        wanted = high + (low - high) * step / (most - 1)
        at = min(range(len(curve)), key=lambda one: abs(math.log(max(curve[one].travel, 1e-9)) - wanted))
        kept[at] = curve[at]
    return [kept[at] for at in sorted(kept)]


def guarded(share: float) -> float:
    """Give how far a limit is used of what the corners may use of it."""
    return share / GUARD
