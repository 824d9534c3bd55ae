"""Closed-loop step: another set point and back in automatic, as the loop is set."""

from levelbench.tuning.experiments.bench import Bench


def set_point_step(bench: Bench, _balance: float) -> None:
    """Do it on a rig that holds its set point. Raises Stopped at a limit, Cancelled."""
    plan = bench.plan
    bench.wait(plan.lasts / 4)
    for volume in (plan.volume + plan.size, plan.volume):
        bench.act("set point", volume)
        bench.wait(plan.lasts)
