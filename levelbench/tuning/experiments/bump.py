"""Open-loop step: hold, up, down, hold. Where the level comes to rest by itself: hold, up until it rests, back."""

from levelbench.tuning.experiments.bench import Bench


def bump(bench: Bench, balance: float) -> None:
    """Do it on a rig that stands still at the balance [1]. Raises Stopped at a limit, Cancelled."""
    plan = bench.plan
    bench.act("auto", 0.0)
    for jump in (0.0, plan.size, 0.0) if plan.settles else (0.0, plan.size, -plan.size, 0.0):
        bench.act("manual output", min(max(balance + jump, 0.0), 1.0))
        bench.wait(plan.lasts)
