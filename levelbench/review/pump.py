"""Rules on the pump: enough flow for the draw, slow enough for a small one, and not too many starts."""

from levelbench.quantity import COMMON_PRACTICE, Dimension, written
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.review.retune import with_gain
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE, WET_WELL
from levelbench.tuning.loop import loop_model, settings_in

V, T, Q, N, P = Dimension.VOLUME, Dimension.TIME, Dimension.FLOW, Dimension.NUMBER, Dimension.PERCENT


def starts_per_hour(flow: float, band: float) -> float:
    """Give the most starts in an hour of a pump that switches over a band of volume.

    flow [m3/s] while it runs, band [m3] between start and stop. The worst draw is half of the flow: cycle time 4 V/Q.

    >>> round(starts_per_hour(1.0 / 60, 0.02))
    750
    """
    return 3600.0 * flow / (4.0 * band)


def weakest_flow(bench: Bench) -> float:
    """Give the flow [m3/s] at 100 %, worn as it is, at the greatest lift: full tank, reservoir at its lowest."""
    top = bench.project.loop_settings.set_point_high.si
    lift = max(bench.rig.params.pump.fill_end, bench.level_at(top)) - bench.surface_with(top)
    return bench.pump_flow(1.0, lift)


def capacity(rig: Rig) -> Finding:
    """The pump must keep up with the draw with something to spare; far more only buys overshoot."""
    key, title, go_to = "pump.capacity", "Pump capacity against the draw", "pump.largest_flow"
    bench, draw = Bench(rig), rig.project.duty.largest_draw.si
    flow = weakest_flow(bench)
    if draw <= 0.0:
        return left_out(key, title, "the duty names no draw.", "duty.largest_draw")
    ratio = flow / draw
    figures = (
        bench.figure(
            "pump.capacity_ratio", "pump against the largest draw", (ratio, N),
            "flow at 100 %, worn, at the greatest lift/largest draw", COMMON_PRACTICE,
            inputs=[("flow", flow, Q), ("largest draw", draw, Q)], resolution=0.01,
        ),
        bench.figure(
            "pump.spare", "what is left to fill with during the largest draw", (flow - draw, Q), "flow − largest draw",
            BALANCE, inputs=[("flow", flow, Q), ("largest draw", draw, Q)],
        ),
    )  # fmt: skip
    text = f"It gives {bench.flow(flow)} where {bench.flow(draw)} is drawn: {written(ratio, '.2f')} times."
    # 1.5 to 2 times the worst sustained draw, up to about 4 before overshoot and starts take over (common practice)
    if 1.5 - 1e-9 <= ratio <= 4.0 + 1e-9:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    share = flow / rig.params.pump.largest_flow
    if ratio > 4.0:
        # A pump that stays above its slowest flow, and at twice the draw.
        size = max(2.0 * draw / share, 1.2 * rig.params.pump.slowest_flow)
        wanted, _ = bench.typed(size, Q, up=True)
        change = f"A pump of {wanted} would do; a larger one only overshoots more and starts more often."
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"pump.largest_flow": wanted})
    if share <= 0.0:
        text = "At 100 % the pump gives no flow at the greatest lift."
        change = "Take a pump with a greater shut-off head, or raise the reservoir."
        return Finding(key, title, Severity.STOP, text, figures, change, "pump.shut_off_head")
    wanted, _ = bench.typed(1.5 * draw / share, Q, up=True)
    severity = Severity.STOP if ratio < 1.0 else Severity.ATTEND
    if ratio < 1.0:
        text += " The level falls while the users draw, whatever the controller does."
    change = f"Take a pump of {wanted} or more: one and a half times the draw where it is installed."
    return Finding(key, title, severity, text, figures, change, go_to, {"pump.largest_flow": wanted})


def slowest(rig: Rig) -> Finding:
    """A draw below the slowest steady flow makes the pump start and stop."""
    key, title, go_to = "pump.slowest_flow", "Slowest steady flow against the draw", "pump.slowest_flow"
    bench, draw = Bench(rig), rig.project.duty.largest_draw.si
    if rig.params.pump.on_off:
        return left_out(key, title, "an on/off pump starts and stops by design; see its starts.", "pump.drive")
    if draw <= 0.0:
        return left_out(key, title, "the duty names no draw.", "duty.largest_draw")
    flow = rig.params.pump.slowest_flow
    at_start = bench.pump_flow(rig.params.pump.starts_at, rig.params.pump.measured_lift)
    figures = (
        bench.figure(
            "pump.slowest_share", "slowest flow against the largest draw", (flow / draw, P),
            "slowest steady flow/largest draw", COMMON_PRACTICE,
            inputs=[("slowest steady flow", flow, Q), ("largest draw", draw, Q)], resolution=0.001,
        ),
        bench.figure(
            "pump.flow_at_start", "flow at the command where it starts", (at_start, Q),
            "slowest + (starts − stalls)/(1 − stalls) × (largest − slowest)",
            "straight line between the two given points",
            inputs=[
                ("starts", rig.params.pump.starts_at, P), ("stalls", rig.params.pump.stalls_at, P),
                ("slowest", flow, Q), ("largest", rig.params.pump.largest_flow, Q),
            ],
        ),
    )  # fmt: skip
    text = f"Below a draw of {bench.flow(flow)} the pump has to start and stop; the largest draw is {bench.flow(draw)}."
    if flow <= 0.5 * draw:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    wanted, _ = bench.typed(0.25 * draw, Q, up=False)
    change = f"Take a pump or a driver that runs steadily down to {wanted}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"pump.slowest_flow": wanted})


def starts(rig: Rig) -> Finding:
    """The motor's maker says how many starts an hour it stands."""
    bench, pump = Bench(rig), rig.project.pump
    key, title = "pump.starts", "Pump starts in an hour"
    if rig.params.pump.on_off:
        worst, formula, inputs = _by_cycle(bench)
    else:
        worst, formula, inputs = _by_threshold(bench)
    figures = (
        bench.figure("pump.starts_per_hour", "most starts in an hour", (worst, N), formula, WET_WELL,
                     inputs=inputs, resolution=1.0),
    )  # fmt: skip
    text = f"At the worst draw it starts up to {worst:.0f} times an hour."
    if pump.most_starts is None:
        if worst < 1.0:
            return Finding(
                key, title, Severity.GOOD, "It runs steadily at any draw.", figures, go_to="pump.most_starts"
            )
        change = (
            f"Ask the maker for the starts that the motor stands and enter them; {worst:.0f}/h are needed at worst."
        )
        return Finding(key, title, Severity.ATTEND, text, figures, change, "pump.most_starts")
    limit = pump.most_starts.si * 3600.0
    text += f" The motor stands {limit:.0f}."
    if worst <= limit:
        return Finding(key, title, Severity.GOOD, text, figures, go_to="pump.most_starts")
    if rig.params.pump.on_off:
        cycle, _ = bench.typed(3600.0 / limit, T, up=True)
        change = f"Lengthen the switching cycle to {cycle}."
        return Finding(key, title, Severity.ATTEND, text, figures, change, "pump.cycle", {"pump.cycle": cycle})
    change, what_if = _fewer(bench, limit)
    return Finding(key, title, Severity.ATTEND, text, figures, change, "loop_settings.gain", what_if)


def _fewer(bench: Bench, limit: float) -> tuple[str, Edits]:
    """Say how a variable-speed pump comes to start less: a wider band by a lower gain, the integral to go with it."""
    pump, model = bench.rig.params.pump, loop_model(bench.rig)
    flow = bench.pump_flow(pump.starts_at, pump.measured_lift)
    band = 3600.0 * flow / (4.0 * limit)
    by_gain = band - flow * model.total_delay.si
    if by_gain <= 0.0 or pump.starts_at <= pump.stalls_at:
        return (
            f"Take a pump or a driver that runs slower without stopping; {bench.volume(band)} would have to move.",
            {},
        )
    gain = 0.98 * (pump.starts_at - pump.stalls_at) / by_gain
    integral_time = 4.0 / (model.slope.si * gain)  # no slow cycling: k' K Ti = 4
    shown = f"{bench.show(gain, Dimension.GAIN, gain / 100)} and the integral time to {bench.time(integral_time)}"
    change = f"Set the gain to {shown}: the volume then moves by {bench.volume(band)}. Or take a pump that runs slower."
    return change, with_gain(bench, gain, integral_time)


def _by_cycle(bench: Bench) -> tuple[float, str, list[tuple[str, float, Dimension]]]:
    """Give the starts of a time-proportioned pump: at most one a cycle, each cycle at least on and off time long."""
    pump = bench.rig.params.pump
    cycle = max(pump.cycle, pump.least_on + pump.least_off)
    return 3600.0 / cycle, "one start a switching cycle", [("switching cycle", cycle, T)]


def _by_threshold(bench: Bench) -> tuple[float, str, list[tuple[str, float, Dimension]]]:
    """Give the starts of a variable-speed pump below its slowest flow.

    The volume has to move by what carries the output from the stall to the start, and by what runs in during the delay.
    """
    pump = bench.rig.params.pump
    flow = bench.pump_flow(pump.starts_at, pump.measured_lift)
    gain = settings_in(bench.rig).gain
    delay = loop_model(bench.rig).total_delay.si
    band = (pump.starts_at - pump.stalls_at) / gain + flow * delay
    inputs = [
        ("starts", pump.starts_at, P), ("stalls", pump.stalls_at, P), ("K", gain, Dimension.GAIN),
        ("q, flow where it starts", flow, Q), ("θ, total delay", delay, T),
    ]  # fmt: skip
    formula = "3600 s × q/(4 × ((starts − stalls)/K + q θ))"
    if pump.slowest_flow <= 0.0 or flow <= 0.0:
        return 0.0, formula, inputs
    return starts_per_hour(flow, band), formula, inputs
