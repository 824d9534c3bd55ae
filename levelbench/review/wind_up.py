"""The rule on wind-up: ten minutes blocked, then released, on the rig itself."""

import numpy as np

from levelbench.quantity import COMMON_PRACTICE, Dimension
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Action, Rig, run
from levelbench.rig.bench import Bench
from levelbench.tuning.loop import loop_model, settings_in

V, T = Dimension.VOLUME, Dimension.TIME
BLOCKED = 600.0  # [s] the stop stays pressed
_LONGEST = 7200.0  # [s] of simulated time after the release, whatever the pump
_MOST_SCANS = 1_000_000  # after the release: about a second of computing


def blocked(rig: Rig) -> Finding:
    """While a stop blocks the pump the integral must hold: or it winds up and overfills the tank after the release."""
    key, title, go_to = "loop.wind_up", "Wind-up while the pump is blocked", "loop_settings.integral"
    bench, start = Bench(rig), rig.project.start
    if not start.running or start.mode != "auto" or rig.project.loop_settings.action == "direct":
        return left_out(key, title, "the run does not begin in automatic, started and reverse acting.", "start.mode")
    set_point = start.set_point.si
    begin, peak, tripped = _after_release(bench)
    over = max(0.0, peak - max(set_point, begin))
    figures = (
        bench.figure(
            "loop.overshoot_after_block", "overshoot after ten minutes blocked", (over, V),
            "largest volume after the release − set point, from a run of this rig", COMMON_PRACTICE,
            inputs=[("set point", set_point, V), ("largest volume", peak, V), ("blocked", BLOCKED, T), ("seed", "0")],
            resolution=bench.volume_step / 10,
        ),
    )  # fmt: skip
    shown = bench.show(over, V, bench.volume_step / 10)
    high = rig.project.bands.high
    top = min(bench.spill_volume, high.limit.si if high is not None else bench.spill_volume)
    text = (
        f"Blocked for ten minutes and released, it overshoots by {shown}; the integral holds while the pump is blocked."
    )
    if tripped or peak >= bench.spill_volume * (1 - 1e-9):
        text = f"Blocked for ten minutes and released, it overshoots by {shown}, up to the switch or the spill."
        severity = Severity.STOP
    elif peak >= top and set_point < top:
        text = f"Blocked for ten minutes and released, it overshoots by {shown}, past the high limit."
        severity = Severity.ATTEND
    else:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    change = "Tune for less overshoot (see the gain and its integral time), or halve the set point weight."
    return Finding(key, title, severity, text, figures, change, go_to)


def _after_release(bench: Bench) -> tuple[float, float, bool]:
    """Run the rig ten minutes blocked and then released.

    Gives the volume at the release [m3], the largest after it [m3], and whether the switch opened.
    """
    rig = bench.rig
    actions = (
        Action(0.0, "stop", 1.0),
        Action(BLOCKED, "stop", 0.0),
        Action(BLOCKED + 2.0, "reset", 1.0),
        Action(BLOCKED + 4.0, "prime", 1.0),
        Action(BLOCKED + 6.0, "power on", 1.0),
    )
    duration = BLOCKED + _time_after(bench, rig.project.start.set_point.si)
    recording = run(rig, duration, actions=actions, every=max(1, round(0.5 / rig.scan)))
    later = recording["time"] > BLOCKED
    volumes = recording["volume"][later]
    return float(volumes[0]), float(np.max(volumes)), bool(np.any(recording.condition("switch open")[later]))


def _time_after(bench: Bench, set_point: float) -> float:
    """Give how long to look after the release [s]: time to fill at half the pump, and ten delays or integral times."""
    rig = bench.rig
    settle = max(10.0 * loop_model(rig).total_delay.si, 4.0 * min(settings_in(rig).integral_time, _LONGEST))
    return min(_LONGEST, _MOST_SCANS * rig.scan, set_point / (0.5 * rig.params.pump.largest_flow) + settle)
