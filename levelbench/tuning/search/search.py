"""The search itself: corners, hunt, fresh runs, and the answer."""

import math
from collections.abc import Callable, Sequence

from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import THREADS
from levelbench.rig.errors import RigError
from levelbench.tuning.search.box import Box, Limits
from levelbench.tuning.search.chance import Count, count_breaks, fresh
from levelbench.tuning.search.found import Found, candidate, told
from levelbench.tuning.search.hunt import BUDGET, Hunt, thinned
from levelbench.tuning.search.judge import Judge, Trial
from levelbench.tuning.search.scenario import Scenario, Scenarios
from levelbench.tuning.search.target import DIGITS, Target, loop_of

Progress = Callable[[float], bool]

SEED = 1
MOST_SHOWN = 14
_TRIED, _COUNTED, _PICK_COUNTED = 60, 100, 400  # fresh runs: that choose, that count, that count for the proposed one
_ROUNDS = 4
_PROOF = 26_000_000  # sub-steps of the physics that fresh runs may take; on slow rigs there are fewer of them
_FEWEST = 10


def judge_of(
    rig: Rig, box: Box, limits: Limits, *, digits: int = DIGITS, seed: int = SEED, threads: int = THREADS
) -> tuple[Judge, Scenarios]:
    """Give the judge of a rig in a box, and what makes further scenarios.

    Raises RigError for a controller that drives the volume away, for a rig whose pump gives no flow at the set point,
    and for limits or digits that are none.
    """
    if rig.params.control.direction < 0:
        raise RigError(
            "The controller's action is direct: with a pump that fills, no settings hold the volume.",
            "loop_settings.action",
            "Set the action to reverse, then search.",
        )
    low, high = rig.span
    makes = Scenarios(rig, box)
    scenarios = [makes.at(one.point, seed * 1000 + at, one.name) for at, one in enumerate(box.corners())]
    return Judge(scenarios, Target(rig.project.loop_settings, high - low, digits), limits, threads), makes


def search(
    rig: Rig,
    box: Box,
    limits: Limits,
    progress: Progress | None = None,
    *,
    digits: int = DIGITS,
    seed: int = SEED,
    threads: int = THREADS,
    budget: int = BUDGET,
) -> Found:
    """Search the settings of a rig that are fast, calm and keep the limits everywhere in the box.

    `progress` is told the share done and answers whether to go on; raises Cancelled when it says no, and RigError as
    `judge_of`. The answer follows from rig, box, limits, digits, seed and budget, not from threads or time.
    """
    judge, makes = judge_of(rig, box, limits, digits=digits, seed=seed, threads=threads)
    present = loop_of(rig)
    hunt = Hunt(judge, budget, _part(progress, 0.0, 0.8))
    hunt.go(present)
    front = _proven(judge, makes, hunt, seed, _part(progress, 0.8, 0.9))
    picked = _pick(judge, front)
    proof = fresh(makes, _runs(judge, _PICK_COUNTED), seed * 10 + 3)
    counts = _counts(judge, proof, front, picked, _part(progress, 0.9, 1.0))
    shown = tuple(candidate(judge, one, rig, count) for one, count in zip(front, counts, strict=True))
    nearest = None if front else candidate(judge, hunt.nearest(1)[0], rig, None)
    same = count_breaks([present], proof[: _runs(judge, _COUNTED)], limits, threads=threads)[0]
    now = candidate(judge, judge.loop_in_full(present), rig, same, typed=False)
    why = told(shown, picked, nearest)
    return Found(rig, box, limits, judge.scenarios, shown, picked, now, nearest, why, judge.runs)


def _proven(judge: Judge, makes: Scenarios, hunt: Hunt, seed: int, progress: Progress | None) -> list[Trial]:
    """Give the curve without those that break a limit somewhere in the box, or whose exact Ms is beyond the limit.

    What takes their places is tried as well; after some rounds the ones that broke are left out unreplaced.
    """
    scenarios = fresh(makes, _runs(judge, _TRIED), seed * 10 + 2)
    good: set[Trial] = set()
    for at in range(_ROUNDS):
        front = hunt.curve(MOST_SHOWN)
        asked = [one for one in front if one not in good]
        told_of = _part(progress, at / _ROUNDS, (at + 1) / _ROUNDS)
        counts = count_breaks(
            [one.loop for one in asked], scenarios, judge.limits, threads=judge.threads, progress=told_of
        )
        judge.runs += len(asked) * len(scenarios)
        for one, count in zip(asked, counts, strict=True):
            if count.broken or judge.exact_sensitivity(one.loop)[0] > judge.limits.sensitivity:
                hunt.banned.add(one.typed)
            else:
                good.add(one)
        if len(good.intersection(front)) == len(front):
            break
    return thinned([one for one in hunt.curve() if one in good], MOST_SHOWN)


def _runs(judge: Judge, wanted: int) -> int:
    """Give how many fresh runs there are for one set of settings: as wanted, or fewer where a run takes long."""
    every = MOST_SHOWN * (_TRIED + _COUNTED) + _PICK_COUNTED
    return max(round(wanted * min(1.0, _PROOF / (every * judge.scenarios[0].work))), min(wanted, _FEWEST))


def _pick(judge: Judge, front: Sequence[Trial]) -> int | None:
    """Give where the curve bends: the furthest below the straight line between its ends, both axes logarithmic."""
    if not front:
        return None
    points = [(math.log(judge.norm.slowness(one)), math.log(max(one.travel, 1e-9))) for one in front]
    (fast, busy), (slow, calm) = points[0], points[-1]
    if not (slow > fast and busy > calm):
        return 0
    below = [1 - (one - fast) / (slow - fast) - (other - calm) / (busy - calm) for one, other in points]
    return max(range(len(front)), key=lambda at: below[at])


def _counts(
    judge: Judge, many: Sequence[Scenario], front: Sequence[Trial], picked: int | None, progress: Progress | None
) -> list[Count]:
    """Count broken limits in runs that had no say in the choice, more of them for the one that is proposed."""
    if picked is None:
        return []
    few = many[: _runs(judge, _COUNTED)]
    loops = [one.loop for one in front]
    first, then = _part(progress, 0.0, 0.7), _part(progress, 0.7, 1.0)
    counts = count_breaks(loops, few, judge.limits, threads=judge.threads, progress=first)
    rest = many[len(few) :]
    more = count_breaks([loops[picked]], rest, judge.limits, threads=judge.threads, progress=then)[0]
    judge.runs += len(loops) * len(few) + len(rest)
    counts[picked] = Count(counts[picked].broken + more.broken, counts[picked].runs + more.runs)
    return counts


def _part(progress: Progress | None, begin: float, end: float) -> Progress | None:
    """Give the progress of one part of the whole."""
    return None if progress is None else lambda share: progress(begin + (end - begin) * share)
