"""An experiment planned before anything moves: sizes and times by the rig's own numbers, within its own limits."""

import math
from dataclasses import replace

from levelbench.project import units
from levelbench.quantity import Dimension, in_unit
from levelbench.rig import Rig, kernel
from levelbench.tuning.experiments.draw import with_draw
from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.experiments.guard import guard_of, pv_noise
from levelbench.tuning.experiments.outlook import figures_of, words_of
from levelbench.tuning.experiments.planned import (
    BUMP,
    KINDS,
    RELAY,
    STEP,
    Plan,
    Wishes,
    expected,
    flow_at,
    flow_words,
    rates,
    relay_cycle,
)
from levelbench.tuning.loop import draw_at, loop_model, operating_point, settings_in

D = Dimension
_MARGIN = 0.03  # of the output, from the stall and from the limits
_SHARE = 0.4  # of the room to the nearest limit that an experiment uses by itself
_LARGEST = 0.2  # of the output that it jumps by itself
_PRECISE = 0.02  # of k', at which a stretch is long enough by itself


def plan(rig: Rig, kind: str, wishes: Wishes | None = None) -> Plan:
    """Plan an experiment.

    Raises ExperimentError where the rig can't do it (no draw, no room to a limit), RigError for a pump that gives no
    flow at the set point.
    """
    if kind not in KINDS:
        raise ExperimentError(f"There is no experiment {kind!r}.", "kind", f"There are: {', '.join(KINDS)}.")
    asked = wishes or Wishes()
    rig, drain = with_draw(rig, asked)
    point = operating_point(rig)
    settings = settings_in(rig)
    delay = loop_model(rig).total_delay.si
    integral = 0.0 if math.isinf(settings.integral_time) else settings.integral_time
    begun = Plan(
        *(rig, kind, 0.0, 0.0, 0.0, asked.cycles, max(asked.repeats, 1), point.output, 0.0, 0.0, drain),
        guard_of(rig, within_range=kind != STEP, volume=point.volume, longest=math.inf),
        min(max(6 * integral + 20 * delay, 2 * _slow_swing(rig), 60.0), 3600.0),
        (),
        (),
    )
    made = {BUMP: _bump, RELAY: _relay, STEP: _step}[kind](begun, asked)
    made = replace(made, guard=replace(made.guard, longest=1.5 * made.settling + 2 * expected(made) + 60.0))
    return replace(made, figures=figures_of(made), says=words_of(made))


def _slow_swing(rig: Rig) -> float:
    """Give the period of the slow swing of two integrators [s], 2π·√(Ti/(k'·K)); 0 without integral action."""
    settings = settings_in(rig)
    if math.isinf(settings.integral_time):
        return 0.0
    return 2 * math.pi * math.sqrt(settings.integral_time / (loop_model(rig).slope.si * settings.gain))


# --- the three kinds -------------------------------------------------------------------------------------------------


def _span(made: Plan) -> tuple[float, float]:
    """Give the outputs between which the pump runs steadily [1]."""
    panel, pump = made.rig.panel, made.rig.params.pump
    least = 0.0 if pump.on_off else max(pump.stalls_at, 0.0)
    return max(float(panel[kernel.P_OUT_LOW]), least) + _MARGIN, min(float(panel[kernel.P_OUT_HIGH]), 1.0) - _MARGIN


def _jump(made: Plan, excursion: float) -> float:
    """Give by how much the output may jump either way [1]; excursion: how far the volume goes for a jump of 1 [m3]."""
    low, high = _span(made)
    within = min(made.balance - low, high - made.balance, _LARGEST)
    if within <= _MARGIN / 3:
        show = units(made.rig.project).show
        drawn = draw_at(made.rig, made.volume)
        raise ExperimentError(
            f"The draw of {show(drawn, D.FLOW)} needs an output of {show(made.balance, D.PERCENT, 0.01)}, and the pump "
            f"runs steadily from {show(low, D.PERCENT, 0.01)} to {show(high, D.PERCENT, 0.01)} only, "
            f"{flow_words(made.rig, flow_at(made.rig, low))} to {flow_words(made.rig, flow_at(made.rig, high))}: it "
            "can't go both ways from there.",
            "drain",
            f"Take a draw of about {flow_words(made.rig, 0.5 * flow_at(made.rig, 1.0))}.",
        )
    return min(within, _SHARE * made.guard.room(made.volume) / excursion)


def _bump(begun: Plan, asked: Wishes) -> Plan:
    """Hold, up, down, hold: the volume comes back to where it was."""
    model = begun.model
    noise = max(pv_noise(begun.rig), 1e-9)
    # scatter of a slope over W [s] with one independent reading each delay: σ·√(12·θ/W³); a jump as large as can be
    low, high = _span(begun)
    wide = max(min(begun.balance - low, high - begun.balance, _LARGEST), 0.02)
    enough = (12 * model.dead_time * (noise / (_PRECISE * wide * model.slope)) ** 2) ** (1 / 3)
    lasts = asked.lasts or min(max(10 * model.dead_time, enough, 30.0), 900.0)
    made = replace(begun, lasts=_whole(lasts, begun.rig))
    size = asked.size or _rounded(_jump(begun, made.away(1.0)))
    made = replace(made, size=size, high=begun.balance + size, low=begun.balance - (0.0 if made.settles else size))
    return _checked(made, abs(made.away(size)))


def _relay(begun: Plan, asked: Wishes) -> Plan:
    """Switch about the set point: flanks long enough to be straight, and a swing well above the noise."""
    model = begun.model
    size = asked.size or _rounded(_jump(begun, 4 * model.slope * model.dead_time))
    made = replace(begun, size=size, high=begun.balance + asked.bias + size, low=begun.balance + asked.bias - size)
    rise, fall = rates(made)
    if min(rise, fall) <= 0:
        raise _one_sided(made, fall)
    switching = begun.rig.params.pump.cycle if begun.rig.params.pump.on_off else 0.0
    wide = max(3 * max(model.dead_time, switching) * max(rise, fall), 5 * pv_noise(begun.rig))
    room = _SHARE * begun.guard.room(begun.volume) - model.dead_time * max(rise, fall)
    width = asked.hysteresis if asked.hysteresis is not None else _as_read(begun.rig, min(wide, max(room, 0.0)))
    made = replace(made, hysteresis=width)
    cycle = relay_cycle(made)
    return _checked(replace(made, lasts=cycle.period), max(cycle.peak, cycle.trough))


def _one_sided(made: Plan, fall: float) -> ExperimentError:
    drawn = flow_words(made.rig, draw_at(made.rig, made.volume))
    show = units(made.rig.project).show
    way, output = ("fall", made.low) if fall <= 0 else ("rise", made.high)
    gives = flow_at(made.rig, output)
    return ExperimentError(
        f"The level can't {way} at an output of {show(output, D.PERCENT, 0.01)}: the pump then gives "
        f"{flow_words(made.rig, gives) if gives > 0 else 'nothing'} and the drain takes {drawn}. The pump can only "
        f"add, 0 to {flow_words(made.rig, flow_at(made.rig, 1.0))}.",
        "size and bias",
        "Take another draw, a larger jump, or a bias the other way.",
    )


def _step(begun: Plan, asked: Wishes) -> Plan:
    """Another set point and back, in automatic."""
    rig, panel = begun.rig, begun.rig.panel
    grain, top = float(panel[kernel.P_SP_STEP]), float(panel[kernel.P_SP_HIGH])
    room = min(top - begun.volume, _SHARE * (begun.guard.high - begun.volume))
    size = asked.size or min(10 * grain, math.floor(room / grain + 1e-9) * grain)
    show = units(rig.project).show
    if not (size and float(panel[kernel.P_SP_LOW]) <= begun.volume + size <= top + 1e-9):
        raise ExperimentError(
            f"A step from {show(begun.volume, D.VOLUME)} by {show(size, D.VOLUME)} leaves the range of the set point, "
            f"{show(float(panel[kernel.P_SP_LOW]), D.VOLUME)} to {show(top, D.VOLUME)}.",
            "size",
            "Take a smaller step, or one the other way.",
        )
    drawn = draw_at(rig, begun.volume)
    travel = abs(size) / max(min(flow_at(rig, 1.0) - drawn, drawn), 0.02 * flow_at(rig, 1.0))
    lasts = asked.lasts or min(travel + begun.settling, 3600.0)
    made = replace(begun, size=size, lasts=_whole(lasts, rig), high=begun.balance, low=begun.balance)
    return _checked(made, abs(size))


def _checked(made: Plan, excursion: float) -> Plan:
    """Refuse a plan that would leave its own limits, or outputs that there are not."""
    show = units(made.rig.project).show
    if excursion > made.guard.room(made.volume) and made.kind != STEP:
        raise ExperimentError(
            f"The PV would go {show(excursion, D.VOLUME)} away from {show(made.volume, D.VOLUME)}; the limits leave "
            f"{show(made.guard.room(made.volume), D.VOLUME)}.",
            "size",
            "Take a smaller jump, or shorter stretches.",
        )
    if not 0.0 <= made.low <= made.high <= 1.0:
        raise ExperimentError(
            f"It would need outputs of {show(made.low, D.PERCENT, 0.01)} and {show(made.high, D.PERCENT, 0.01)}.",
            "size",
            "Take a smaller jump or bias: an output is from 0 to 100 %.",
        )
    return made


def _rounded(size: float) -> float:
    """Give a jump to two digits, rounded down, as a person would set it."""
    grain = 10.0 ** (math.floor(math.log10(size) + 1e-9) - 1)
    return math.floor(size / grain + 1e-9) * grain


def _as_read(rig: Rig, volume: float) -> float:
    """Give a volume to two digits of the unit that people read [m3]."""
    unit = in_unit(1.0, D.VOLUME, units(rig.project).volume)
    return _rounded(volume * unit) / unit if volume > 0 else 0.0


def _whole(seconds: float, rig: Rig) -> float:
    return max(math.ceil(seconds / max(rig.scan, 1.0)) * max(rig.scan, 1.0), rig.scan)
