"""Relay with hysteresis and bias: the output jumps when the PV has gone far enough past the set point."""

import numpy as np

from levelbench.tuning.experiments.bench import Bench, Stopped


def relay(bench: Bench, balance: float) -> None:
    """Do it on a rig that stands still at the balance [1]. Raises Stopped at a limit or when it won't swing, Cancelled.

    The balance found stands in the place of the planned one; jump and bias stay as they were planned.
    """
    plan = bench.plan
    moved = balance - plan.balance
    high, low = min(max(plan.high + moved, 0.0), 1.0), min(max(plan.low + moved, 0.0), 1.0)
    bench.act("auto", 0.0)
    up, switched = float(np.mean(bench.last(plan.model.dead_time)[0])) < plan.volume, 0
    bench.act("manual output", high if up else low)
    patience = bench.time + 4 * plan.lasts
    while switched < 2 * plan.cycles + 3:
        pv, _ = bench.scan()
        away = pv - plan.volume
        if (up and away >= plan.hysteresis) or (not up and away <= -plan.hysteresis):
            up, switched, patience = not up, switched + 1, bench.time + 4 * plan.lasts
            if switched < 2 * plan.cycles + 3:
                bench.act("manual output", high if up else low)
        elif bench.time > patience:
            raise Stopped(
                "the PV doesn't turn: the output is not about the balance, or the draw has moved", high=away > 0
            )
