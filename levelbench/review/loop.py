"""Rules on the loop itself: action, delay, scan, gain and integral, noise, derivative, set point weight."""

import math

from levelbench.quantity import COMMON_PRACTICE, Dimension, rounded, written
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.review.retune import with_gain, with_integral
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE, PID, SAMPLING
from levelbench.tuning.loop import loop_model, margins, settings_in

V, T, Q, N, P, G = (
    Dimension.VOLUME, Dimension.TIME, Dimension.FLOW, Dimension.NUMBER, Dimension.PERCENT, Dimension.GAIN,
)  # fmt: skip


def action(rig: Rig) -> Finding:
    """More output must bring more volume: a pump that fills needs a reverse-acting controller."""
    key, title, go_to = "loop.action", "Direct or reverse action", "loop_settings.action"
    bench, model = Bench(rig), loop_model(rig)
    rise = model.slope.si * 0.01 * 60.0
    figures = (
        bench.figure(
            "loop.sign_test", "rise in a minute for one per cent more output", (rise, V), "k' × 1 % × 60 s", BALANCE,
            inputs=[("k'", model.slope.si, Q)], resolution=rise / 100,
        ),
    )  # fmt: skip
    moved = bench.show(rise, V, rise / 100)
    if rig.project.loop_settings.action == "reverse":
        text = f"One per cent more output adds {moved} in a minute; the output falls when the volume rises. Right."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text = f"One per cent more output adds {moved} in a minute; a direct controller then adds more, up to the switch."
    change = "Set the action to reverse."
    return Finding(key, title, Severity.STOP, text, figures, change, go_to, {"loop_settings.action": "reverse"})


def delay(rig: Rig) -> Finding:
    """The total delay sets what any tuning can reach; averaging is the part that is given away most often."""
    key, title, go_to = "loop.delay", "Total delay and its parts", "sensor.averaging"
    bench, model, sensor = Bench(rig), loop_model(rig), rig.project.sensor
    averaging = (sensor.averaging - 1) / 2 * sensor.update.si
    rest = model.total_delay.si - averaging
    in_flight = bench.fill_rate * model.total_delay.si
    figures = (
        model.total_delay,
        *model.parts,
        bench.figure(
            "loop.in_flight", "what runs in during the delay at the largest flow", (in_flight, V), "Q × θ", BALANCE,
            inputs=[bench.rate_shown, ("θ", model.total_delay.si, T)], resolution=bench.volume_step / 10,
        ),
    )  # fmt: skip
    parts = ", ".join(f"{one.name} {bench.show(one.si, T, 0.01)}" for one in model.parts)
    text = f"{bench.show(model.total_delay.si, T, 0.01)} in all: {parts}."
    # Averaging may cost three times all the rest together; beyond that it rules the loop (common practice).
    if averaging <= 3.0 * rest or averaging <= 0.5:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    fewer = max(1, int(2.0 * rest / sensor.update.si) + 1)
    text += " Most of it is averaging, which buys steadiness with slowness."
    saved = (sensor.averaging - fewer) / 2 * sensor.update.si
    change = f"Average {fewer} readings instead of {sensor.averaging}; that saves {bench.show(saved, T, 0.1)}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"sensor.averaging": fewer})


def scan(rig: Rig) -> Finding:
    """The controller must look often enough: 4 to 10 samples in the rise of the closed loop."""
    key, title, go_to = "loop.scan", "Scan against the loop's speed", "loop_settings.scan"
    bench, model, settings = Bench(rig), loop_model(rig), settings_in(rig)
    rise = 2.2 / (model.slope.si * settings.gain)
    samples = rise / rig.scan
    share = rig.scan / model.total_delay.si
    figures = (
        bench.figure(
            "loop.samples_per_rise", "scans in one closed-loop rise", (samples, N), "2.2/(k' K)/scan; 4 to 10 at least",
            SAMPLING, inputs=[("k'", model.slope.si, Q), ("K", settings.gain, G), ("scan", rig.scan, T)],
            resolution=0.1,
        ),
        bench.figure(
            "loop.scan_share", "scan as a share of the total delay", (share, P), "scan/θ", COMMON_PRACTICE,
            inputs=[("scan", rig.scan, T), ("θ", model.total_delay.si, T)], resolution=0.01,
        ),
    )  # fmt: skip
    scans = f"{rounded(samples, 2)} scans of {bench.show(rig.scan, T, 0.01)}"
    text = f"The loop rises in about {bench.time(rise)}: {scans}."
    if samples >= 4.0:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    shorter, _ = bench.typed(rise / 10.0, T, up=False, digits=2)
    change = f"Shorten the scan to {shorter}, and set the same time in the controller's block and in its task."
    what_if: Edits = {"loop_settings.scan": shorter} if rise / 10.0 > 0.002 else {}
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)


def slow_cycling(rig: Rig) -> Finding:
    """Two integrators, the tank's and the controller's: too low a gain for the integral swings slowly."""
    key, title, go_to = "loop.slow_cycling", "Gain times integral time", "loop_settings.integral"
    bench, settings, margin = Bench(rig), settings_in(rig), margins(rig)
    if math.isinf(settings.integral_time):
        return left_out(key, title, "the integral is off.", go_to)
    product = margin.slow_cycling.si
    text = f"k'·K·Ti is {rounded(product, 2)}; 4 or more does not swing."
    if product >= 4.0 * (1 - 1e-3):
        return Finding(key, title, Severity.GOOD, text, (margin.slow_cycling,), go_to=go_to)
    longer = settings.integral_time * 4.0 / product
    what_if = with_integral(bench, longer)
    change = f"Lengthen the integral time to {bench.time(longer)}; do not lower the gain alone."
    # Below 1 the damping of the pair of integrators, √(k' K Ti)/2, is under one half (closed form, PID).
    severity = Severity.ATTEND if product >= 1.0 else Severity.STOP
    text += " The volume swings about the set point, and a lower gain makes it worse."
    return Finding(key, title, severity, text, (margin.slow_cycling,), change, go_to, what_if)


def gain_ceiling(rig: Rig) -> Finding:
    """Above the ultimate gain the loop cycles; a gain margin of 2 leaves room for what is not known."""
    key, title, go_to = "loop.gain_ceiling", "Gain against its ceiling", "loop_settings.gain"
    if rig.project.loop_settings.action == "direct":
        return left_out(key, title, "a direct-acting controller has no margins here; set its action first.", go_to)
    bench, margin, model = Bench(rig), margins(rig), loop_model(rig)
    figures = margin.figures
    text = (
        f"Gain margin {rounded(margin.gain.si, 3)}, phase margin {written(margin.phase.si, '.0f')}°; "
        f"with proportional action alone it would cycle at {bench.show(margin.ultimate_gain.si, G)}."
    )
    calm = 0.5 / (model.slope.si * model.total_delay.si)  # Skogestad 2003 with τc = θ (quoted from memory)
    longest = 8.0 * model.total_delay.si
    what_if = with_gain(bench, calm, longest)
    change = (
        f"Set the gain to {bench.show(calm, G, calm / 100)} and the integral time to {bench.show(longest, T, 0.1)}."
    )
    if "loop_settings.derivative" in what_if:
        change += " Switch the derivative off."
    if not margin.stable:
        text += " It does not come to rest."
        return Finding(key, title, Severity.STOP, text, figures, change, go_to, what_if)
    # Gain margin 2 and phase margin 30° are the least that is called robust (PID, chapter 4).
    if margin.gain.si < 2.0 or margin.phase.si < 30.0:
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)
    return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)


def set_point_weight(rig: Rig) -> Finding:
    """With the drain shut an overshoot never comes back, so a set point step must be taken gently."""
    key, title, go_to = (
        "loop.set_point_weight",
        "Set point weight with the drain shut",
        "loop_settings.set_point_weight",
    )
    bench, weight, settings = Bench(rig), rig.project.loop_settings.set_point_weight.si, settings_in(rig)
    step = rig.project.loop_settings.entry_step.si
    kick = weight * settings.gain * step
    figures = (
        bench.figure(
            "loop.kick", "jump of the output for one entry step", (kick, P), "b × K × entry step", PID,
            inputs=[
                ("b", written(weight, "g")), ("K", settings.gain, G), ("entry step", step, V),
            ],
            resolution=0.001,
        ),
    )  # fmt: skip
    moved = bench.show(kick, P, 0.001)
    text = f"The weight is {written(weight, 'g')}: one entry step moves the output by {moved} at once."
    if weight <= 0.5 or math.isinf(settings.integral_time) or rig.project.loop_settings.ramp is not None:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text += " The pump can only add: with the drain shut an overshoot stays."
    change = f"Lower the weight by {written(weight - 0.5, 'g')}, to {written(0.5, 'g')}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"loop_settings.set_point_weight": "0.5"})


def noise(rig: Rig) -> Finding:
    """The gain carries the reading's noise into the pump."""
    key, title, go_to = "loop.noise", "Noise on the output", "sensor.averaging"
    bench, settings = Bench(rig), settings_in(rig)
    filling = min(1.0, rig.project.duty.largest_draw.si / rig.params.pump.largest_flow)
    spread = bench.noise(filling)
    shaken = settings.gain * spread
    fine = max(spread / 20, 1e-12)
    figures = (
        bench.figure("loop.pv_noise", "noise of the PV", (spread, V), "σ of the filtered PV at the largest draw",
                     COMMON_PRACTICE, resolution=fine,
                     inputs=[("readings averaged", str(rig.project.sensor.averaging))]),
        bench.figure("loop.output_noise", "noise of the output", (shaken, P), "K × σ of the PV", PID,
                     inputs=[("K", settings.gain, G), ("σ of the PV", bench.show(spread, V, fine))], resolution=0.001),
    )  # fmt: skip
    text = f"The output shakes by {bench.show(shaken, P, 0.001)} (one standard deviation)."
    # 2 % is where a driver and a pump begin to be heard working (common practice).
    if shaken <= 0.02:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    readings = math.ceil(rig.project.sensor.averaging * (shaken / 0.018) ** 2)
    if readings <= 1000:
        longer = (readings - rig.project.sensor.averaging) / 2 * rig.project.sensor.update.si
        change = (
            f"Average {readings} readings ({bench.show(longer, T, 0.1)} more delay), or lower the gain and lengthen Ti."
        )
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"sensor.averaging": readings})
    change = "Lower the gain with a longer integral, or take a quieter sensor or a stilling tube."
    return Finding(key, title, Severity.ATTEND, text, figures, change, "loop_settings.gain")


def derivative(rig: Rig) -> Finding:
    """Derivative adds little to a tank's loop, and it multiplies the noise by N."""
    key, title, go_to = "loop.derivative", "Derivative action", "loop_settings.derivative"
    bench, settings = Bench(rig), settings_in(rig)
    if settings.derivative_time <= 0:
        return left_out(key, title, "there is none.", go_to)
    n = rig.project.loop_settings.derivative_filter.si
    spread = bench.noise(min(1.0, rig.project.duty.largest_draw.si / rig.params.pump.largest_flow))
    shaken = settings.gain * (1.0 + n) * spread
    figures = (
        bench.figure(
            "loop.derivative_noise", "most noise of the output with derivative", (shaken, P),
            "K × (1 + N) × σ of the PV", PID,
            inputs=[("K", settings.gain, G), ("N", written(n, "g")), ("σ of the PV", spread, V)],
            resolution=0.001,
        ),
    )  # fmt: skip
    text = f"It acts on the PV only: a set point does not kick. It shakes the output by {bench.show(shaken, P, 0.001)}."
    if shaken <= 0.02:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    what_if: Edits = {"loop_settings.derivative": "0 s"}
    change = "Switch the derivative off, or average the reading more."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)
