"""Rules on the overflow switch: it must be there, and it must trip early enough for what still runs in."""

from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure
from levelbench.review.edits import set_points
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.review.order import fit_switch, switch_level
from levelbench.rig import Rig
from levelbench.rig.bench import Bench, coast_volume
from levelbench.rig.sources import BALANCE

L, V, T, Q = Dimension.LENGTH, Dimension.VOLUME, Dimension.TIME, Dimension.FLOW


def fitted(rig: Rig) -> Finding:
    """A pump that can fill a tank over its rim needs a stop that no program and no sensor has a part in."""
    key, title, go_to = "switch.fitted", "Hard-wired overflow switch", "overflow_switch.fitted"
    bench, top = Bench(rig), rig.project.loop_settings.set_point_high.si
    figures = (
        bench.figure(
            "switch.time_without", "from the highest set point to the spill", (bench.seconds_to_spill(top), T),
            "(V(spill) − highest set point)/Q", BALANCE,
            inputs=[("V(spill)", bench.spill_volume, V), ("highest set point", top, V), bench.rate_shown],
            resolution=1.0,
        ),
    )  # fmt: skip
    if rig.project.overflow_switch.fitted:
        text = "There is one: it stops the pump by wire, without the sensor and without the program."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text = "One failed sensor, or one slip in manual, runs the tank over: nothing else stops the pump."
    change = f"Fit a switch at {switch_level(bench)} that opens on rising liquid and cuts the pump's power by wire."
    return Finding(key, title, Severity.STOP, text, figures, change, go_to, fit_switch(bench))


def coast_down(rig: Rig) -> Finding:
    """What still runs in after the trip must find room below the spill."""
    key, title, go_to = "switch.coast_down", "Coast-down after the switch trips", "overflow_switch.trips_at"
    bench = Bench(rig)
    if bench.trip is None:
        return left_out(key, title, "there is no overflow switch.", "overflow_switch.fitted")
    coast = coast_volume(bench)
    margin = bench.spill_volume - bench.volume_beyond(bench.trip) - coast
    fine = bench.volume_step / 10
    figures = _coasting(bench, bench.trip, coast, margin)
    text = (
        f"After the trip {bench.show(coast, V, fine)} still runs in; {bench.volume(margin)} stays free below the spill."
    )
    # Twice the coast-down: the second is for waves, a slow float and a faster pump (common practice).
    if margin >= coast:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if margin < 0:
        text = f"After the trip {bench.show(coast, V, fine)} still runs in: {bench.volume(-margin)} goes over the rim."
    lower, level = bench.typed(bench.level_at(max(0.0, bench.spill_volume - 2.0 * coast)), L, up=False)
    change = f"Lower the switch by {bench.length(bench.trip - level)}, to {lower} above the floor."
    severity = Severity.STOP if margin < 0 else Severity.ATTEND
    what_if = {"overflow_switch.trips_at": lower} if level > 0 else {}
    return Finding(key, title, severity, text, figures, change, go_to, what_if)


def _coasting(bench: Bench, trip: float, coast: float, margin: float) -> tuple[Figure, ...]:
    """Make the figures of the coast-down: its volume, its rise, and what stays free below the spill."""
    pump, switch = bench.project.pump, bench.project.overflow_switch
    return (
        bench.figure(
            "switch.coast_down", "what still runs in after the trip", (coast, V),
            "Q × (switch delay + spin-down time constant) + content of the fill tube", BALANCE,
            inputs=[
                bench.rate_shown, ("switch delay", switch.delay.si, T), ("spin-down", pump.spin_up.si, T),
                ("fill tube", pump.tube_volume.si, V),
            ],
            resolution=bench.volume_step / 10,
        ),
        bench.figure(
            "switch.rise", "rise after the trip", (coast / bench.area_at(trip), L), "coast-down/(dV/dh)", BALANCE,
            inputs=[("coast-down", coast, V)], resolution=1e-4,
        ),
        bench.figure(
            "switch.margin", "room left below the spill", (margin, V), "V(spill) − V(trip) − coast-down", BALANCE,
            inputs=[("V(spill)", bench.spill_volume, V), ("V(trip)", bench.volume_beyond(trip), V),
                    ("coast-down", coast, V)],
            resolution=bench.volume_step,
        ),
    )  # fmt: skip


def after_set_point(rig: Rig) -> Finding:
    """What is on its way when the set point is reached, drain shut: an overshoot that never comes back by itself."""
    key, title, go_to = "switch.clear_of_set_point", "Switch clear of the highest set point", "overflow_switch.trips_at"
    bench = Bench(rig)
    if bench.trip is None:
        return left_out(key, title, "there is no overflow switch.", "overflow_switch.fitted")
    top = rig.project.loop_settings.set_point_high.si
    room = bench.volume_at(bench.trip) - top
    least = max(2.0 * coast_volume(bench), 6.0 * bench.noise(1.0))
    figures = (
        bench.figure(
            "switch.clearance", "from the highest set point to the switch", (room, V), "V(trip) − highest set point",
            COMMON_PRACTICE, inputs=[("V(trip)", bench.volume_at(bench.trip), V), ("highest set point", top, V)],
            resolution=bench.volume_step,
        ),
    )  # fmt: skip
    side = "above" if room >= 0 else "below"
    text = f"It trips {bench.volume(abs(room))} {side} the highest set point; coasting and noise take "
    text += f"{bench.volume(least)}."
    if room >= least:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    lower = max(bench.volume_at(bench.trip) - least, rig.project.loop_settings.set_point_low.si * 1.1)
    what_if = set_points(bench, high=lower)
    change = f"Lower the highest set point to {bench.volume(lower)}, or raise the switch."
    return Finding(key, title, Severity.ATTEND, text, figures, change, "loop_settings.set_point_high", what_if)
