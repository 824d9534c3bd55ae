"""How likely settings are to break a limit all the same: fresh rigs from all over the box, their noise never seen.

Sources:
[1] C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404-413: exact limits for a share from a count.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scipy.special import betaincinv

from levelbench.rig.ensemble import spread
from levelbench.tuning.search.box import Limits
from levelbench.tuning.search.judge import breaks
from levelbench.tuning.search.scenario import Measures, Scenario, Scenarios
from levelbench.tuning.search.target import Loop

CLOPPER_PEARSON = "C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404-413"
CONFIDENCE = 0.95

Progress = Callable[[float], bool]


@dataclass(frozen=True)
class Count:
    """In how many of so many runs a limit was broken."""

    broken: int
    runs: int

    @property
    def chance(self) -> float:
        """The largest chance of a break that goes with the count: one-sided 95 % limit [1].

        None in n: 1 − 0.05^(1/n), for example 0.0295 for 100.

        >>> round(Count(0, 100).chance, 4)
        0.0295
        """
        if self.broken >= self.runs:
            return 1.0
        return float(betaincinv(self.broken + 1, self.runs - self.broken, CONFIDENCE))


def fresh(makes: Scenarios, count: int, seed: int) -> tuple[Scenario, ...]:
    """Give scenarios of random points of the box, each with noise of its own; another `seed`, other points."""
    points = makes.box.random(count, seed)
    return tuple(makes.at(point, seed * 1_000_003 + at, "random") for at, point in enumerate(points))


def count_breaks(
    loops: Sequence[Loop],
    scenarios: Sequence[Scenario],
    limits: Limits,
    *,
    threads: int,
    progress: Progress | None = None,
) -> list[Count]:
    """Run each loop through all scenarios, and count for each the runs that broke a limit of what can be seen in a run.

    The sensitivity is no matter of chance: it is worst in a corner, and judged there.
    """
    tasks = [(loop, scenario) for loop in loops for scenario in scenarios]
    seen: list[Measures] = spread(
        tasks, lambda runner, one: one[1].measure(runner.run(one[1].member(one[0]))), threads=threads, progress=progress
    )
    many = len(scenarios)
    broken = [sum(breaks([one], 0.0, limits) for one in seen[at * many : (at + 1) * many]) for at in range(len(loops))]
    return [Count(one, many) for one in broken]
