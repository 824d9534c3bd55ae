"""Rules on the drain: enough flow, no air, and what it does when everything else has stopped."""

import math

from levelbench.project.records import GRAVITY
from levelbench.quantity import Dimension, Figure, in_marks, written
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import STANDARD_GRAVITY, Bench, air_level, wide_open
from levelbench.rig.sources import EMERGENCY_STOP, HYDROSTATICS, VORTEX

L, V, T, Q = Dimension.LENGTH, Dimension.VOLUME, Dimension.TIME, Dimension.FLOW
ATMOSPHERE = 101_325.0  # [Pa] standard, at sea level (CGPM 1954)
VAPOUR_PRESSURE = 2_339.0  # [Pa] of water at 20 °C, IAPWS-95; other liquids are taken as water
PRACTICAL_LIFT = 6.1  # [m] of water, 20 ft at sea level: air comes out of solution beyond it (common practice)
_WATCHED = 600.0  # [s] after an emergency stop


def valve_for(bench: Bench, volume: float, wanted: float) -> float | None:
    """Give the flow coefficient [m3/s at 1 Pa] with which the open valve takes a flow [m3/s] at a volume [m3].

    From g h = (q/C)²/1000 + (tube's loss) q² at the flow of the present valve; None when the tube alone takes too much.
    """
    drain = bench.rig.params.drain
    flow = wide_open(bench, volume)
    below = max(drain.outlet, bench.surface_with(volume)) if drain.to_reservoir else drain.outlet
    driving = STANDARD_GRAVITY * (bench.level_at(volume) - below)
    left = driving / wanted**2 - driving / flow**2 + 1.0 / (1000.0 * drain.coefficient**2)
    return 1.0 / math.sqrt(1000.0 * left) if left > 0.0 else None


def capacity(rig: Rig) -> Finding:
    """The drain, wide open, must let the largest draw through even at the lowest set point."""
    key, title, go_to = "drain.capacity", "Drain wide open against the largest draw", "drain.valve_cv"
    bench, draw = Bench(rig), rig.project.duty.largest_draw.si
    if rig.project.drain.kind not in GRAVITY:
        return left_out(key, title, "nothing leaves by gravity.", "drain.kind")
    settings = rig.project.loop_settings
    low, high = (wide_open(bench, one.si) for one in (settings.set_point_low, settings.set_point_high))
    figures = tuple(
        bench.figure(
            f"drain.flow_{name}", f"drain wide open at the {name} set point", (flow, Q),
            "valve and tube in series: g h = (q/C)²/1000 + (1 + K + f L/d) v²/2", HYDROSTATICS,
            inputs=[
                ("C", rig.params.drain.coefficient, Dimension.FLOW_COEFFICIENT), ("volume", volume.si, V),
                ("outlet", rig.params.drain.outlet, L), ("bore", rig.params.drain.bore, L),
            ],
        )
        for name, flow, volume in (("lowest", low, settings.set_point_low), ("highest", high, settings.set_point_high))
    )  # fmt: skip
    text = f"Wide open it takes {bench.flow(low)} at the lowest set point and {bench.flow(high)} at the highest."
    if low >= draw:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text += f" The users want {bench.flow(draw)}."
    if low <= 0:
        text += " At the lowest set point the outlet is not below the surface: nothing flows."
        change = "Lower the outlet of the drain, below every level at which it has to run."
        return Finding(key, title, Severity.STOP, text, figures, change, "drain.outlet_above_floor")
    coefficient = valve_for(bench, settings.set_point_low.si, 1.05 * draw)
    if coefficient is None:
        change = "Take a wider tube: at this draw the tube alone takes the whole head, whatever the valve."
        return Finding(key, title, Severity.ATTEND, text, figures, change, "drain.tube_diameter")
    wanted, _ = bench.typed(coefficient, Dimension.FLOW_COEFFICIENT, up=True)
    change = f"Take a valve of {wanted}; the flow is {bench.flow(draw - low)} short."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"drain.valve_cv": wanted})


def runaway(rig: Rig) -> Finding:
    """A drain thrown open may take more than the pump gives."""
    key, title, go_to = "drain.runaway", "Drain thrown open against the pump", "drain.valve_cv"
    bench = Bench(rig)
    if rig.project.drain.kind not in GRAVITY:
        return left_out(key, title, "nothing leaves by gravity.", "drain.kind")
    flow, pump = wide_open(bench, rig.project.loop_settings.set_point_high.si), rig.params.pump.largest_flow
    figures = (
        bench.figure(
            "drain.excess", "drain wide open less the pump at 100 %", (flow - pump, Q),
            "q(drain) − Q(pump)", HYDROSTATICS, inputs=[("q(drain)", flow, Q), ("Q(pump)", pump, Q)],
        ),
    )  # fmt: skip
    text = f"Wide open it takes {bench.flow(flow)} at most, the pump gives {bench.flow(pump)}."
    if flow <= pump:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text += " With the valve thrown open the level falls, whatever the controller does."
    coefficient = (
        valve_for(bench, rig.project.loop_settings.set_point_high.si, 0.95 * pump) or rig.params.drain.coefficient
    )
    wanted, _ = bench.typed(coefficient, Dimension.FLOW_COEFFICIENT, up=False)
    change = f"Take a valve of {wanted}, or mark the opening that the pump keeps up with."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"drain.valve_cv": wanted})


def air_draw(rig: Rig) -> Finding:
    """A vortex draws air before the inlet is bare: the low limit must come first."""
    key, title = "drain.air_draw", "Lowest safe level over the drain's inlet"
    bench, drain = Bench(rig), rig.project.drain
    if bench.inlet is None:
        return left_out(key, title, "nothing leaves by gravity.", "drain.kind")
    bore, draw = rig.params.drain.bore, rig.project.duty.largest_draw.si
    safe = air_level(bench)
    cover = safe - bench.inlet
    volume = bench.volume_at(safe)
    figures: tuple[Figure, ...] = (
        bench.figure(
            "drain.submergence", "cover that keeps air out", (cover, L), "S = d (1 + 2.3 v/√(g d)), v = q/(π d²/4)",
            VORTEX, inputs=[("d, bore", bore, L), ("q, largest draw", draw, Q)], resolution=1e-3,
        ),
        bench.figure(
            "drain.lowest_safe_volume", "lowest safe volume", (volume, V), "V(inlet + S)", VORTEX,
            inputs=[("inlet", bench.inlet, L), ("S", cover, L)], resolution=bench.volume_step,
        ),
    )  # fmt: skip
    low = rig.project.bands.low
    first = low.limit.si if low is not None else rig.project.loop_settings.set_point_low.si
    name = "low limit" if low is not None else "lowest set point"
    seconds = (first - volume) / draw if draw > 0 else math.inf
    lost = " and a siphon does not start again by itself" if drain.kind == "siphon over the rim" else ""
    text = f"Below {bench.volume(volume)} ({bench.length(safe)}) it may draw air{lost}."
    text += f" The {name} is at {bench.volume(first)}."
    if first >= volume:
        if math.isfinite(seconds):
            figures += (bench.figure(
                "drain.time_to_air", f"from the {name} to the lowest safe volume", (seconds, T),
                "(V(limit) − V(lowest safe))/largest draw", VORTEX,
                resolution=1.0,
                inputs=[("V(limit)", first, V), ("V(lowest safe)", volume, V), ("largest draw", draw, Q)],
            ),)  # fmt: skip
        return Finding(key, title, Severity.GOOD, text, figures, go_to="drain.inlet_above_floor")
    change, go_to, what_if = _clear_of_air(bench, first, cover, volume)
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, what_if)


def _clear_of_air(bench: Bench, first: float, cover: float, safe: float) -> tuple[str, str, Edits]:
    """Say how to keep air out: the low limit up, or the inlet down, or a wider mouth. Cover [m], volumes [m3]."""
    raised, si = bench.typed(safe, V, up=True)
    if bench.project.bands.low is not None and si < bench.project.loop_settings.set_point_low.si:
        change = f"Raise the low limit by {bench.volume(si - first)}, to {raised}."
        return change, "bands.low.limit", {"bands.low.limit": raised}
    deeper = bench.level_at(first) - cover
    if deeper >= 0:
        lowered, _ = bench.typed(deeper, L, up=False)
        change = f"Lower the inlet to {lowered} above the floor."
        return change, "drain.inlet_above_floor", {"drain.inlet_above_floor": lowered}
    return "Take a wider tube, slower at the mouth, or put a bell or a cross over the mouth.", "drain.tube_diameter", {}


def crest(rig: Rig) -> Finding:
    """At the crest of a siphon the pressure is below the atmosphere's; too far below, air and vapour break it."""
    key, title, go_to = "drain.crest", "Pressure at the siphon's crest", "drain.crest_above_floor"
    bench, drain = Bench(rig), rig.project.drain
    if drain.kind != "siphon over the rim" or drain.crest_above_floor is None or bench.inlet is None:
        return left_out(key, title, "the drain is not a siphon.", "drain.kind")
    bore, draw, density = rig.params.drain.bore, rig.project.duty.largest_draw.si, rig.project.liquid.density.si
    speed = draw / (math.pi / 4 * bore**2)
    rise = drain.crest_above_floor.si - bench.inlet
    losses = (1.0 + drain.fittings_loss.si) * speed**2 / (2.0 * STANDARD_GRAVITY)
    lift = rise + losses
    limit = (ATMOSPHERE - VAPOUR_PRESSURE) / (density * STANDARD_GRAVITY)
    practical = PRACTICAL_LIFT * 1000.0 / density
    figures = (
        bench.figure(
            "drain.crest_head", "suction at the crest, as head of liquid", (lift, L),
            "crest − lowest surface + (1 + K) v²/2g, all losses taken before the crest", HYDROSTATICS,
            inputs=[
                ("crest", drain.crest_above_floor.si, L), ("lowest surface", bench.inlet, L),
                ("largest draw", draw, Q), ("K", written(drain.fittings_loss.si, "g")),
            ],
            resolution=1e-3,
        ),
        bench.figure(
            "drain.crest_limit", "suction at which water boils, at sea level", (limit, L), "(p_atm − p_vapour)/(ρ g)",
            HYDROSTATICS, resolution=0.01,
            inputs=[("ρ", density, Dimension.DENSITY), ("p_vapour", in_marks("2.34 kPa, water at 20 °C"))],
        ),
    )  # fmt: skip
    text = f"The crest pulls {bench.length(lift)} of liquid; the practical limit is {bench.show(practical, L, 0.1)}."
    if lift > practical:
        lower, _ = bench.typed(max(bench.rim, bench.inlet + 0.9 * practical - losses), L, up=False)
        severity = Severity.STOP if lift > limit else Severity.ATTEND
        change = f"Bring the crest down to {lower} above the floor."
        return Finding(key, title, severity, text, figures, change, go_to, {"drain.crest_above_floor": lower})
    if drain.crest_above_floor.si < bench.spill:
        over, _ = bench.typed(bench.rim, L, up=True)
        text = "The crest lies below the spill: a full tank primes the siphon by itself and empties unasked."
        change = f"Raise the crest to {over} above the floor, over the rim."
        return Finding(key, title, Severity.ATTEND, text, figures, change, go_to, {"drain.crest_above_floor": over})
    return Finding(key, title, Severity.GOOD, text + " Trapped air is the nearer danger.", figures, go_to=go_to)


def after_stop(rig: Rig) -> Finding:
    """An emergency stop stops the pump. It does not stop a siphon, nor any drain that stands open."""
    key, title, go_to = "drain.after_stop", "What the drain does after an emergency stop", "drain.goes_to"
    bench, drain = Bench(rig), rig.project.drain
    if bench.inlet is None:
        return left_out(key, title, "nothing leaves by gravity.", "drain.kind")
    draw, start = rig.project.duty.largest_draw.si, rig.project.start.set_point.si
    floor = bench.volume_at(bench.inlet)
    left = max(min(floor, start), start - draw * _WATCHED)
    figures = (
        bench.figure(
            "drain.left_after_stop", "in the tank ten minutes after the stop", (left, V),
            "set point − largest draw × 600 s, not below the inlet", EMERGENCY_STOP,
            inputs=[("set point", start, V), ("largest draw", draw, Q), ("V(inlet)", floor, V)],
            resolution=bench.volume_step,
        ),
    )  # fmt: skip
    text = f"Ten minutes after the stop {bench.volume(left)} of {bench.volume(start)} is left: the drain runs on."
    if drain.goes_to == "reservoir" and left > floor:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    where = "onto whatever it leads to" if drain.goes_to == "away" else "down to its inlet"
    change = f"Write “close the drain” on the stop's label and the shift card: it empties the tank {where}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to)
