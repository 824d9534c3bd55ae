"""Design rules that turn a rig into Findings.

Each rule is a function of a rig in the module of its subject; `RULES` lists them all. Thresholds and formulas stand
with their source in the rule; sources are spelled out in `levelbench.rig.sources`.
May import: `levelbench.tuning`, `levelbench.alarms`, `levelbench.records`, `levelbench.rig`, `levelbench.project`,
`levelbench.quantity`.
"""

from collections.abc import Callable

from levelbench.alarms.ladder import Rung, ladder
from levelbench.quantity import LevelBenchError
from levelbench.review import (
    acting,
    alarms,
    circuit,
    drain,
    known_faults,
    light,
    loop,
    order,
    pump,
    reasons,
    resolution,
    sensor,
    switch,
    wind_up,
)
from levelbench.review.finding import Finding, Severity, worst
from levelbench.review.scaling import ScalingRow, scaling_table
from levelbench.rig import Cancelled, Rig

__all__ = [
    "RULES",
    "Finding",
    "Rung",
    "ScalingRow",
    "Severity",
    "ladder",
    "review",
    "scaling_table",
    "worst",
]

Rule = Callable[[Rig], Finding]

RULES: dict[str, Rule] = {
    "switch.fitted": switch.fitted,
    "switch.coast_down": switch.coast_down,
    "switch.clear_of_set_point": switch.after_set_point,
    "ladder.order": order.order,
    "ladder.spacing": order.spacing,
    "ladder.time_to_act": acting.before_spill,
    "ladder.time_to_air": acting.before_air,
    "sensor.dead_zone": sensor.dead_zone,
    "sensor.drowning": sensor.drowning,
    "sensor.span": sensor.span,
    "sensor.two_points": sensor.two_points,
    "sensor.failure_levels": sensor.failure_levels,
    "sensor.air": sensor.air,
    "sensor.own_error": known_faults.sensor_off,
    "tank.leak": known_faults.leak,
    "resolution.entry_step": resolution.entry_step,
    "pump.capacity": pump.capacity,
    "pump.slowest_flow": pump.slowest,
    "pump.starts": pump.starts,
    "reservoir.room": circuit.room,
    "reservoir.stock": circuit.stock,
    "reservoir.lasts": circuit.lasts,
    "circuit.back_siphon": circuit.back_siphon,
    "circuit.forward_siphon": circuit.forward_siphon,
    "drain.capacity": drain.capacity,
    "drain.runaway": drain.runaway,
    "drain.air_draw": drain.air_draw,
    "drain.crest": drain.crest,
    "drain.after_stop": drain.after_stop,
    "loop.action": loop.action,
    "loop.delay": loop.delay,
    "loop.scan": loop.scan,
    "loop.slow_cycling": loop.slow_cycling,
    "loop.gain_ceiling": loop.gain_ceiling,
    "loop.set_point_weight": loop.set_point_weight,
    "loop.noise": loop.noise,
    "loop.derivative": loop.derivative,
    "loop.wind_up": wind_up.blocked,
    "bands.missing": order.missing_limits,
    "bands.dead_band": alarms.dead_bands,
    "bands.on_delay": alarms.on_delays,
    "bands.deviation": alarms.deviation,
    "alarms.action": reasons.actions,
    "alarms.priority": reasons.priorities,
    "alarms.same": reasons.same_twice,
    "alarms.time_available": reasons.times_typed,
    "light.truth_table": light.truth_table,
    "light.silence": light.silence,
}
"""Every rule by the key of its finding, in the order in which findings of equal severity are told."""


def review(rig: Rig, progress: Callable[[float], bool] | None = None) -> tuple[Finding, ...]:
    """Judge a rig by every rule: findings worst first, rules that have nothing to judge last.

    `progress` is told the share done and answers whether to go on; raises Cancelled when it says no. A rule that this
    program refuses to work out on this rig gives a finding that says why; no rule is passed over in silence.
    """
    found: list[Finding] = []
    for done, (key, rule) in enumerate(RULES.items()):
        if progress is not None and not progress(done / len(RULES)):
            raise Cancelled
        found.append(_judge(key, rule, rig))
    return tuple(sorted(found, key=lambda one: (not one.applies, one.severity.rank)))


def _judge(key: str, rule: Rule, rig: Rig) -> Finding:
    """Apply one rule; what it can't work out becomes a finding to attend to."""
    try:
        return rule(rig)
    except LevelBenchError as error:
        where = getattr(error, "where", "")
        text = f"This could not be worked out: {error}"
        return Finding(key, key.replace(".", ": ").replace("_", " "), Severity.ATTEND, text, go_to=where)
