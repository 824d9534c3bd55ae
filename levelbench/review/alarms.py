"""Rules on the limits: dead bands against noise, delays against the room up to the next rung."""

from levelbench.project.records import Band
from levelbench.quantity import COMMON_PRACTICE, Dimension
from levelbench.review.bench import Bench
from levelbench.review.drain import wide_open
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.review.order import in_order
from levelbench.review.sources import BALANCE
from levelbench.rig import Rig

V, T, Q = Dimension.VOLUME, Dimension.TIME, Dimension.FLOW
SPREADS = 6.0  # dead band in standard deviations of the filtered PV: one alarm a slow crossing (common practice)


def dead_bands(rig: Rig) -> Finding:
    """A dead band inside the noise makes a limit chatter."""
    key, title = "bands.dead_band", "Dead bands against the noise"
    bench = Bench(rig)
    limits = _all(bench)
    if not limits:
        return left_out(key, title, "there are no limits.", "bands")
    needed = SPREADS * bench.noise(1.0)
    sensor = rig.project.sensor
    figures = (
        bench.figure(
            "bands.dead_band_needed", "dead band that keeps quiet", (needed, V), "6 σ of the filtered PV while filling",
            COMMON_PRACTICE,
            inputs=[
                ("σ of one reading", sensor.noise.si, Dimension.LENGTH), ("ripple", sensor.ripple.si, Dimension.LENGTH),
                ("readings averaged", str(sensor.averaging)), bench.slope_shown,
            ],
            resolution=needed / 20,
        ),
    )  # fmt: skip
    narrow = {name: band for name, band in limits.items() if band.dead_band.si < needed * (1 - 1e-9)}
    shown = bench.show(needed, V, needed / 20)
    if not narrow:
        return Finding(key, title, Severity.GOOD, f"The noise asks for {shown}; each has it.", figures, go_to="bands")
    wanted, _ = bench.typed(needed, V, up=True, digits=2)
    names = ", ".join(name.replace("_", "-") for name in narrow)
    text = f"The noise asks for a dead band of {shown}; there is less at: {names}."
    change = f"Set {'it' if len(narrow) == 1 else 'each of them'} to {wanted}."
    what_if = {f"bands.{name}.dead_band": wanted for name in narrow}
    return Finding(key, title, Severity.ATTEND, text, figures, change, next(iter(what_if)), what_if)


def _all(bench: Bench) -> dict[str, Band]:
    """Give every limit in use, the deviation among them."""
    deviation = bench.project.bands.deviation
    return bench.bands() | ({"deviation": deviation} if deviation is not None else {})


def on_delays(rig: Rig) -> Finding:
    """While an on-delay runs the level goes on: the room up to the next rung must outlast it."""
    key, title = "bands.on_delay", "On-delays against the room to the next rung"
    bench, rungs = Bench(rig), in_order(rig)
    bands = bench.bands()
    if not bands:
        return left_out(key, title, "there are no limits.", "bands")
    down = max(rig.project.duty.largest_draw.si, wide_open(bench, rig.project.loop_settings.set_point_low.si))
    figures, late, what_if, stop = [], [], {}, False
    for name, band in bands.items():
        up = name.startswith("high")
        at = next(place for place, rung in enumerate(rungs) if rung.entry == f"bands.{name}.limit")
        beyond = rungs[at + 1] if up else (rungs[at - 1] if at else None)
        gap = abs(beyond.volume - rungs[at].volume) if beyond is not None else rungs[at].volume
        rate = bench.fill_rate if up else down
        moved = rate * band.on_delay.si
        to = beyond.name if beyond is not None else "empty"
        figures.append(
            bench.figure(
                f"bands.{name}.moved", f"{name.replace('_', '-')}: change while its on-delay runs", (moved, V),
                f"worst net rate × on-delay, of the room to {to}", BALANCE,
                inputs=[("rate", rate, Q), ("on-delay", band.on_delay.si, T), (f"room to {to}", gap, V)],
                resolution=bench.volume_step,
            )
        )  # fmt: skip
        if moved > 0.5 * gap and rate > 0:
            late.append(f"{name.replace('_', '-')} ({bench.volume(moved)} of {bench.volume(gap)} to {to})")
            seconds = 0.25 * gap / rate
            what_if[f"bands.{name}.on_delay"] = bench.typed(seconds, T, up=False, digits=1)[0] if gap > 0 else "0 s"
            stop = stop or (to == "spill" and moved >= gap and not rig.project.overflow_switch.fitted)
    if not late:
        text = "Each comes while at least half of the room to the next rung is left."
        return Finding(key, title, Severity.GOOD, text, tuple(figures), go_to="bands")
    text = f"The level moves on while the delay runs: {'; '.join(late)}."
    change = (
        "Shorten: " + ", ".join(f"{one.split('.')[1].replace('_', '-')} to {to}" for one, to in what_if.items()) + "."
    )
    severity = Severity.STOP if stop else Severity.ATTEND
    return Finding(key, title, severity, text, tuple(figures), change, next(iter(what_if)), what_if)
