"""What a record of an experiment is expected to look like, by the pump's own flows and the delay, without noise."""

import numpy as np

from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.records import Measured
from levelbench.tuning.experiments.planned import BUMP, KINDS, RELAY, Plan, expected, flow_at
from levelbench.tuning.loop import draw_at

_STEPS = 1500
_STILL = 20.0  # [s] of standing still before it


def foreseen(plan: Plan) -> Measured:
    """Give the record that is expected: the volume by its mass balance, seen a whole delay later."""
    lasts = _STILL + expected(plan)
    step = lasts / _STEPS
    flows = {one: flow_at(plan.rig, one) for one in (0.0, 1.0, plan.low, plan.high)}
    flows[plan.balance] = drawn = draw_at(plan.rig, plan.volume)
    late = [plan.volume] * (round(plan.model.dead_time / step) + 1)  # what the PV shows from here on
    volume, output, rows = plan.volume, plan.balance, []
    for at in range(_STEPS):
        seen = late[at]
        set_point, output = _moved(plan, at * step - _STILL, (seen, volume), output)
        volume += step * (flows[output] - drawn)
        late.append(volume)
        rows.append((at * step, seen, output, set_point))
    time, pv, given, wanted = np.array(rows).T
    name = f"expected of the {KINDS[plan.kind]}"
    return Measured(time, pv, given, wanted, None, units(plan.rig.project).volume, Dimension.VOLUME, name)


def _moved(plan: Plan, time: float, state: tuple[float, float], output: float) -> tuple[float, float]:
    """Give set point [m3] and output [1] at a time of the experiment [s], by the PV and the volume then [m3]."""
    pv, volume = state
    if time < 0:
        return plan.volume, plan.balance
    if plan.kind == RELAY:
        if output == plan.balance or pv <= plan.volume - plan.hysteresis:
            return plan.volume, plan.high
        return plan.volume, plan.low if pv >= plan.volume + plan.hysteresis else output
    if plan.kind == BUMP:
        outputs = (plan.balance, plan.high, plan.balance if plan.settles else plan.low, plan.balance)
        return plan.volume, outputs[min(int(time / plan.lasts), 3)]
    wanted = plan.volume + (plan.size if plan.lasts / 4 <= time < 1.25 * plan.lasts else 0.0)
    near = abs(plan.size) / 100
    return wanted, plan.balance if abs(wanted - volume) < near else float(wanted > volume)
