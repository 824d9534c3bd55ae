"""Rules on the limits: dead bands against noise, delays against the room, the deviation's own room."""

from levelbench.alarms.ladder import in_order
from levelbench.alarms.names import name_of
from levelbench.alarms.purpose import rule_of
from levelbench.alarms.timing import falling_rate
from levelbench.project.records import Band
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE, NORMAL

_DEVIATION = "bands.deviation.limit"
V, T, Q = Dimension.VOLUME, Dimension.TIME, Dimension.FLOW
HOLDS = 3.0  # standard deviations within which 99.7 % of normally distributed readings lie


def dead_bands(rig: Rig) -> Finding:
    """A dead band inside the noise makes a limit chatter."""
    key, title = "bands.dead_band", "Dead bands against the noise"
    bench = Bench(rig)
    limits = _all(bench)
    if not limits:
        return left_out(key, title, "there are no limits.", "bands")
    needed = rule_of(rig)
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
    wanted, _ = bench.typed(needed, V, up=True, digits=2)
    if never := _never_gone(bench):
        text = f"Once it has come, its dead band never lets it go again: {', '.join(map(name_of, never))}."
        what_if = {f"bands.{name}.dead_band": wanted for name in never if name in limits}
        change = f"Narrow it; the noise asks for {shown}."
        return Finding(key, title, Severity.ATTEND, text, figures, change, f"bands.{never[0]}.dead_band", what_if)
    if not narrow:
        return Finding(key, title, Severity.GOOD, f"The noise asks for {shown}; each has it.", figures, go_to="bands")
    names = ", ".join(name.replace("_", "-") for name in narrow)
    text = f"The noise asks for a dead band of {shown}; there is less at: {names}."
    change = f"Set {'it' if len(narrow) == 1 else 'each of them'} to {wanted}."
    what_if = {f"bands.{name}.dead_band": wanted for name in narrow}
    return Finding(key, title, Severity.ATTEND, text, figures, change, next(iter(what_if)), what_if)


def _never_gone(bench: Bench) -> list[str]:
    """Give the alarms whose dead band reaches beyond an empty or a spilling tank, or beyond no change at all."""
    found = []
    for name, band in bench.bands().items():
        up = name in ("high", "high_high")
        over = band.dead_band.si - (band.limit.si if up else bench.spill_volume - band.limit.si)
        found += [name] if over >= 0.0 and band.dead_band.si > 0.0 else []
    rate = bench.project.bands.rate_of_change
    return [*found, "rate_of_change"] if rate is not None and rate.dead_band.si >= rate.limit.si else found


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
    figures, late, what_if, stop = [], [], {}, False
    for name, band in bands.items():
        up = name.startswith("high")
        at = next(place for place, rung in enumerate(rungs) if rung.entry == f"bands.{name}.limit")
        beyond = rungs[at + 1] if up else (rungs[at - 1] if at else None)
        gap = abs(beyond.volume - rungs[at].volume) if beyond is not None else rungs[at].volume
        rate = bench.fill_rate if up else falling_rate(bench, rungs[at].volume)
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


def deviation(rig: Rig) -> Finding:
    """A deviation limit must be able to go again in the noise, and come before the limits on both sides."""
    key, title, entry = "bands.deviation", "Deviation limit between its noise and the other limits", _DEVIATION
    bench, band = Bench(rig), rig.project.bands.deviation
    if band is None:
        return left_out(key, title, "there is no deviation limit.", "bands")
    spread, limit = bench.noise(1.0), band.limit.si
    least = band.dead_band.si + HOLDS * spread
    below, start, above = _about_the_start(bench)
    room = max(start - below, above - start)
    figures = _deviation_figures(bench, band, (least, room))
    if least * (1 - 1e-9) <= limit < room:
        text = f"It can go again, and comes before the limits that are up to {bench.volume(room)} away."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=entry)
    text = (
        f"At ± {bench.volume(limit)} the other limits, at {bench.volume(below)} and {bench.volume(above)}, come before "
        f"it on both sides of the starting set point of {bench.volume(start)}: it tells nothing new."
    )
    if limit < least:
        text = (
            f"Once it has come, it goes only when the PV is within {bench.volume(max(limit - band.dead_band.si, 0.0))} "
            f"of the set point, and the noise alone moves it by {bench.show(HOLDS * spread, V, spread / 20)}."
        )
        if limit <= band.dead_band.si:
            text = f"It would never go again: its dead band, {band.dead_band.shown}, is as wide as the limit itself."
    wanted, volume = (
        bench.typed(least, V, up=True, digits=2) if limit < least else bench.typed(max(least, room / 2), V, up=True)
    )
    fits = least * (1 - 1e-9) <= volume < room
    change = f"Set it to {wanted}." if fits else "There is no room for it: narrow its dead band, or leave it out."
    return Finding(key, title, Severity.ATTEND, text, figures, change, entry, {entry: wanted} if fits else {})


def _about_the_start(bench: Bench) -> tuple[float, float, float]:
    """Give the nearest limit below the starting set point, that set point, and the nearest limit above it [m3]."""
    start = bench.project.start.set_point.si
    limits = [band.limit.si for band in bench.bands().values()]
    below = max((one for one in limits if one < start), default=0.0)
    return below, start, min((one for one in limits if one > start), default=max(bench.spill_volume, start))


def _deviation_figures(bench: Bench, band: Band, ends: tuple[float, float]) -> tuple[Figure, ...]:
    """Give the least deviation limit that goes again and the room that it has [m3]."""
    (least, room), spread = ends, bench.noise(1.0)
    below, start, above = _about_the_start(bench)
    return (
        bench.figure(
            "bands.deviation_needed", "deviation limit that goes again", (least, V), "dead band + 3 σ of the PV",
            NORMAL, inputs=[("dead band", band.dead_band.si, V), ("σ", bench.show(spread, V, max(spread / 20, 1e-12)))],
            resolution=max(least / 20, 1e-12),
        ),
        bench.figure(
            "bands.deviation_room", "farthest from the starting set point to another limit", (room, V),
            "the larger of SP − V(below) and V(above) − SP", COMMON_PRACTICE,
            inputs=[("SP", start, V), ("V(below)", below, V), ("V(above)", above, V)], resolution=bench.volume_step,
        ),
    )  # fmt: skip
