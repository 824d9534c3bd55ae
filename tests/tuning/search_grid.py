"""An exhaustive grid of settings before the same judge as a search, and how two curves compare."""

import math
from collections.abc import Sequence

import numpy as np

from levelbench.project import Project, Value, edit_many, load, sample
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.settings import Settings
from levelbench.tuning.search import Box, Limits
from levelbench.tuning.search.hunt import BUDGET, Hunt
from levelbench.tuning.search.search import judge_of
from levelbench.tuning.search.target import Loop, Typed, loop_of

Point = tuple[float, float]  # slowness, output travel [1/s]


def grid_curve(rig: Rig, box: Box, limits: Limits, size: tuple[int, int, int, int]) -> list[Point]:
    """Judge every setting of a grid of gains, products, weights and filters; give the curve of what nothing beats.

    The grid is laid out here, without the search's own: gains from 0.05 to 1 and k'·K·Ti from 2 to 20, both in
    equal ratios; weights from 0 to 1; filters from 0 to twice the delay.
    """
    judge, _ = judge_of(rig, box, limits)
    hunt = Hunt(judge, 10**15, None)
    hunt.begin(loop_of(rig))
    gains, products, weights, filters = size
    slope, delay = hunt.process.slope, hunt.process.delay
    every: list[Typed] = []
    for smoothing in np.linspace(0, 2, filters).tolist():
        for product in np.geomspace(2, 20, products).tolist():
            for share in np.geomspace(1.0, 0.05, gains).tolist():
                for weight in np.linspace(0, 1, weights).tolist():
                    gain = share / (slope * delay * (1 + smoothing))
                    loop = Loop(Settings(gain, product / (slope * gain), 0.0), weight, smoothing * delay)
                    every.append(judge.target.typed(loop))
    best: list[Point] = []
    for at in range(0, len(every), 200):
        judge.judge(every[at : at + 200], hunt.curve())
        best = [(judge.norm.slowness(one), one.travel) for one in hunt.curve()]
    return best


def search_curve(rig: Rig, box: Box, limits: Limits, budget: int = BUDGET) -> list[Point]:
    """Give the whole curve of a search, before it is thinned to what is shown and proven on fresh runs."""
    judge, _ = judge_of(rig, box, limits)
    hunt = Hunt(judge, budget, None)
    hunt.go(loop_of(rig))
    return [(judge.norm.slowness(one), one.travel) for one in hunt.curve()]


def covered(curve: Sequence[Point], reference: Point) -> float:
    """Give the area that a curve beats, up to a reference point, both axes logarithmic: the hypervolume indicator.

    Source: E. Zitzler, L. Thiele, IEEE Trans. Evolutionary Computation 3 (1999) 257-271 (quoted from memory).

    >>> round(covered([(1.0, 1.0)], (math.e, math.e)), 6)
    1.0
    """
    area, last = 0.0, math.log(reference[1])
    for slow, busy in sorted(curve):
        x, y = math.log(slow), math.log(max(busy, 1e-9))
        if x < math.log(reference[0]) and y < last:
            area += (math.log(reference[0]) - x) * (last - y)
            last = y
    return area


def compared(mine: Sequence[Point], grid: Sequence[Point]) -> tuple[float, float]:
    """Give the fastest of a curve by that of the grid, and the area that it covers by the grid's."""
    both = [*mine, *grid]
    reference = (3 * min(one[0] for one in both), 1.001 * max(one[1] for one in both))
    return min(mine)[0] / min(grid)[0], covered(mine, reference) / covered(grid, reference)


def random_rig(number: int) -> Rig:
    """Give a rig of a random kind: one of the samples with its pump, sensor, controller and drain changed."""
    chance = np.random.default_rng(9000 + number)
    project = load(sample("seedling_house" if number % 2 else "parts_washer"))
    return assemble(edit_many(project, _changes(project, chance)))


def _changes(project: Project, chance: np.random.Generator) -> dict[str, Value]:
    pump, sensor = project.pump, project.sensor
    noise = float(sensor.noise.si) * chance.uniform(0.3, 3) * 1000
    scan = float(chance.choice([0.1, 0.2, 0.5]))
    wanted: dict[str, Value] = {
        "pump.largest_flow": f"{pump.largest_flow.si * 60e3 * chance.uniform(0.85, 1.5):.4f} l/min",
        "pump.spin_up": f"{chance.uniform(0.2, 2):.2f} s",
        "sensor.averaging": int(chance.integers(2, 40)),
        "sensor.noise": f"{noise:.4f} mm",
        "loop_settings.scan": f"{scan} s",
        "loop_settings.pv_filter": f"{chance.uniform(0, 3):.2f} s",
        "loop_settings.set_point_weight": f"{chance.uniform(0, 1):.2f}",
    }
    if chance.random() < 0.4:
        draw = f"{project.duty.largest_draw.si * 60e3 / 2:.4f} l/min"
        wanted |= {"drain.kind": "forced draw", "drain.draw": draw}
    if chance.random() < 0.3:
        wanted |= {"loop_settings.form": "parallel", "loop_settings.integral": "2 1/min"}
    return wanted
