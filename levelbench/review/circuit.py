"""Rules on the closed circuit: room for what runs back, enough to fill with, and no siphon where none is wanted."""

import math

from levelbench.project.records import GRAVITY
from levelbench.quantity import Dimension, Figure
from levelbench.review.edits import set_points
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.rig import Rig
from levelbench.rig.bench import STANDARD_GRAVITY, Bench
from levelbench.rig.sources import BALANCE, HYDROSTATICS

L, V, Q, T = Dimension.LENGTH, Dimension.VOLUME, Dimension.FLOW, Dimension.TIME
SHIFT = 8 * 3600.0  # [s]; a reservoir that lasts for a shift is filled between two (common practice, no source)
_VENT = "Drill a vent hole in the fill tube just under the rim, or end the tube above the rim with an air gap."


def _back_siphons(bench: Bench) -> bool:
    """Tell whether liquid can run back through the stopped pump: end under the surface, no vent, no check valve."""
    pump = bench.project.pump
    return not pump.vented and not pump.check_valve and bench.rig.params.pump.fill_end < bench.spill


def lowest_left(bench: Bench) -> tuple[float, str]:
    """Give the least volume [m3] that stays when everything that can runs back to the reservoir, and by what."""
    drain, start = bench.project.drain, bench.project.start.tank_volume.si
    left, by = start, "nothing runs back by itself"
    if drain.kind in GRAVITY and drain.goes_to == "reservoir" and bench.inlet is not None:
        left, by = min(left, bench.volume_at(bench.inlet)), "the drain left open"
    if _back_siphons(bench):
        end = bench.volume_at(bench.rig.params.pump.fill_end)
        if end < left:
            left, by = end, "the fill tube as a siphon"
    return left, by


def room(rig: Rig) -> Finding:
    """With the pump stopped, everything above the drain's inlet may end up in the reservoir."""
    key, title, go_to = "reservoir.room", "Reservoir's room for a drain-back", "reservoir.charge"
    bench, reservoir = Bench(rig), rig.project.reservoir
    left, by = lowest_left(bench)
    tube = rig.project.pump.tube_volume.si
    held = reservoir.charge.si - left + tube
    free = reservoir.capacity.si - held
    step = max(bench.volume_step, reservoir.capacity.si / 1000)
    inputs = (
        ("capacity", reservoir.capacity.si, V), ("charge", reservoir.charge.si, V), ("left in the tank", left, V),
        ("fill tube", tube, V),
    )  # fmt: skip
    figures = (
        bench.figure("reservoir.most_held", "most that the reservoir can come to hold", (held, V),
                     "charge − left in the tank + fill tube", BALANCE, inputs=inputs[1:], resolution=step),
        bench.figure("reservoir.free", "room left then", (free, V), "capacity − charge + left in the tank − fill tube",
                     BALANCE, inputs=inputs, resolution=step),
    )  # fmt: skip
    text = (
        f"When the pump stops ({by}) the reservoir comes to hold {bench.show(held, V, step)} "
        f"of its {bench.show(reservoir.capacity.si, V, step)}."
    )
    if free >= 0.05 * reservoir.capacity.si:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if free < 0:
        text += f" {bench.show(-free, V, step)} goes over its brim."
    charge, si = bench.typed(0.95 * reservoir.capacity.si + left - tube, V, up=False)
    change = f"Charge the circuit with {charge}, that is {bench.show(reservoir.charge.si - si, V, step)} less."
    severity = Severity.STOP if free < 0 else Severity.ATTEND
    what_if = {"reservoir.charge": charge} if si > rig.project.start.tank_volume.si else {}
    return Finding(key, title, severity, text, figures, change, go_to, what_if)


def stock(rig: Rig) -> Finding:
    """The circuit must hold enough to fill the tank to its highest set point without the pump taking air."""
    key, title, go_to = "reservoir.stock", "Liquid enough for the highest set point", "reservoir.charge"
    bench, reservoir = Bench(rig), rig.project.reservoir
    top = rig.project.loop_settings.set_point_high.si
    needed = top + rig.params.reservoir.suction_volume + rig.project.pump.tube_volume.si
    spare = reservoir.charge.si - needed
    step = bench.volume_step
    figures = (
        bench.figure(
            "reservoir.spare", "left above the suction at the highest set point", (spare, V),
            "charge − highest set point − below the suction − fill tube", BALANCE,
            inputs=[
                ("charge", reservoir.charge.si, V), ("highest set point", top, V),
                ("below the suction", rig.params.reservoir.suction_volume, V),
                ("fill tube", rig.project.pump.tube_volume.si, V),
            ],
            resolution=step,
        ),
    )  # fmt: skip
    text = f"At the highest set point {bench.volume(spare)} is left above the pump's suction."
    if spare >= 0.05 * top:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if spare < 0:
        text = f"The circuit is {bench.volume(-spare)} short of the highest set point: the pump would take air before."
    severity = Severity.STOP if spare < 0 else Severity.ATTEND
    charge, si = bench.typed(needed + 0.1 * top, V, up=True)
    if si - lowest_left(bench)[0] <= 0.95 * reservoir.capacity.si and si - rig.project.start.tank_volume.si <= (
        reservoir.capacity.si
    ):
        change = f"Charge the circuit with {charge}, that is {bench.volume(si - reservoir.charge.si)} more."
        return Finding(key, title, severity, text, figures, change, go_to, {"reservoir.charge": charge})
    lower = (spare + top) / 1.1
    change = f"Lower the highest set point to {bench.volume(lower)}, or take a larger reservoir."
    what_if = set_points(bench, high=lower) if lower > rig.project.loop_settings.set_point_low.si else {}
    return Finding(key, title, severity, text, figures, change, "loop_settings.set_point_high", what_if)


def lasts(rig: Rig) -> Finding:
    """Where what is drawn goes away, the reservoir runs dry after a while, and then the tank does."""
    key, title, go_to = "reservoir.lasts", "How long the reservoir lasts", "reservoir.charge"
    bench, project = Bench(rig), rig.project
    draw = project.duty.largest_draw.si
    if project.drain.kind == "none" or project.drain.goes_to == "reservoir":
        return left_out(key, title, "what is drawn comes back to the reservoir.", "drain.goes_to")
    if draw <= 0.0:
        return left_out(key, title, "the duty names no draw.", "duty.largest_draw")
    held = project.start.set_point.si
    usable = max(project.reservoir.charge.si - held - rig.params.reservoir.suction_volume, 0.0)
    time = usable / draw
    figures = (
        bench.figure(
            "reservoir.lasts", "from the start until the pump takes air", (time, T),
            "(charge − set point − below the suction)/largest draw", BALANCE,
            inputs=[
                ("charge", project.reservoir.charge.si, V), ("set point", held, V),
                ("below the suction", rig.params.reservoir.suction_volume, V), ("largest draw", draw, Q),
            ],
            resolution=60.0,
        ),
    )  # fmt: skip
    minutes = math.floor(time / 60.0)
    text = f"What is drawn goes away: at the largest draw the reservoir lasts {minutes} min, then the pump takes air."
    if time >= SHIFT:
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    change = f"Write “refill within {minutes} min” on the shift card, or have the reservoir topped up by itself."
    return Finding(key, title, Severity.ATTEND, text, figures, change, go_to)


def back_siphon(rig: Rig) -> Finding:
    """A fill end under the surface without a vent lets the tank run back through the stopped pump."""
    key, title, go_to = "circuit.back_siphon", "Back-siphon through the stopped pump", "pump.fill_end_above_floor"
    bench, pump = Bench(rig), rig.project.pump
    top = rig.project.loop_settings.set_point_high.si
    level, end = bench.level_at(top), rig.params.pump.fill_end
    if pump.vented:
        return left_out(key, title, "a vent hole near the top of the fill tube breaks any siphon.", "pump.vented")
    if end >= level:
        text = f"The tube ends at {bench.length(end)}, above the highest set point at {bench.length(level)}."
        return Finding(key, title, Severity.GOOD, text, _drain_back(bench), go_to=go_to)
    figures = _drain_back(bench)
    back, free = (one.si for one in figures)
    if level <= bench.surface_with(top):
        text = "The reservoir's surface stands above the tank's, so nothing runs back; see the forward siphon."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if pump.check_valve and back <= free:
        text = f"The check valve holds {bench.volume(back)} back; if it leaks, the reservoir has room for it."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    if pump.check_valve:
        text = f"Only the check valve holds {bench.volume(back)} back; there is room for {bench.volume(free)}."
        severity = Severity.ATTEND
    else:
        text = f"With the pump stopped {bench.volume(back)} runs back; the reservoir has room for {bench.volume(free)}."
        severity = Severity.STOP if back > free else Severity.ATTEND
    return Finding(key, title, severity, text, figures, _VENT, go_to, {"pump.vented": True})


def _drain_back(bench: Bench) -> tuple[Figure, Figure]:
    """Make the figures of what runs back through the stopped pump, and of the room that the reservoir has for it."""
    top, end = bench.project.loop_settings.set_point_high.si, bench.rig.params.pump.fill_end
    back = top - bench.volume_at(end)
    free = bench.project.reservoir.capacity.si - (bench.project.reservoir.charge.si - top)
    return (
        bench.figure(
            "circuit.drain_back", "drains back from the highest set point", (back, V),
            "V(highest set point) − V(fill end)", BALANCE,
            inputs=[("highest set point", top, V), ("fill end", end, L)], resolution=bench.volume_step,
        ),
        bench.figure(
            "circuit.ullage", "room in the reservoir then", (free, V),
            "capacity − (charge − highest set point)", BALANCE,
            inputs=[
                ("capacity", bench.project.reservoir.capacity.si, V), ("charge", bench.project.reservoir.charge.si, V),
                ("highest set point", top, V),
            ],
            resolution=bench.volume_step,
        ),
    )  # fmt: skip


def forward_siphon(rig: Rig) -> Finding:
    """A reservoir that stands higher than the fill end keeps filling through the stopped pump."""
    key, title, go_to = (
        "circuit.forward_siphon",
        "Forward siphon through the stopped pump",
        "reservoir.floor_below_tank_floor",
    )
    bench, pump = Bench(rig), rig.params.pump
    if pump.vented:
        return left_out(key, title, "a vent hole near the top of the fill tube breaks any siphon.", "pump.vented")
    low, end = rig.project.loop_settings.set_point_low.si, pump.fill_end
    surface = bench.surface_with(low)
    head = surface - max(end, bench.level_at(low))
    flow = pump.stopped_coefficient * math.sqrt(1000.0 * STANDARD_GRAVITY * max(head, 0.0))
    figures = (
        bench.figure(
            "circuit.forward_head", "reservoir's surface above the fill end or the tank's surface", (head, L),
            "reservoir's surface − the higher of fill end and level, at the lowest set point", HYDROSTATICS,
            inputs=[("reservoir's surface", surface, L), ("fill end", end, L), ("level", bench.level_at(low), L)],
            resolution=1e-3,
        ),
        bench.figure(
            "circuit.forward_flow", "flow through the stopped pump", (flow, Q), "C √(1000 kg/m³ × g × head)",
            HYDROSTATICS, inputs=[("C", pump.stopped_coefficient, Dimension.FLOW_COEFFICIENT), ("head", head, L)],
        ),
    )  # fmt: skip
    if head <= 0:
        text = f"The reservoir's surface stays {bench.length(-head)} below; nothing fills by itself."
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    over = bench.surface_with(bench.spill_volume) > max(end, bench.spill)
    text = f"With the pump stopped {bench.flow(flow)} still runs in; a check valve does not stop it."
    if over:
        text += " It goes on until the tank spills."
    severity = Severity.STOP if over else Severity.ATTEND
    return Finding(key, title, severity, text, figures, _VENT, go_to, {"pump.vented": True})
