"""The rig's loop, made linear about one operating point, and how robust it is.

The tank is taken as a pure integrator: that a gravity drain takes less when the level falls only adds margin and is
left out; so is the smoothing of the sensor's averaging, which counts as pure waiting. The pump's thresholds and the
output limits are not in the linear loop; the prediction runs the real rig.

Sources:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 4.
[2] S. Skogestad, J. Process Control 13 (2003) 291-309: K·k'·Ti at least 4 (quoted from memory).
[3] K. J. Åström, B. Wittenmark, "Computer-Controlled Systems": a hold delays by half its period (quoted from memory).
"""

import math
from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, written
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings
from levelbench.tuning.response import OpenLoop, RawMargins, raw_margins, ultimate

D = Dimension

MARGINS = "K. J. Åström, T. Hägglund, PID Controllers: Theory, Design and Tuning (1995), chapter 4"
SLOW = "S. Skogestad, J. Process Control 13 (2003) 291-309 (quoted from memory)"
HOLD = "K. J. Åström, B. Wittenmark, Computer-Controlled Systems: mean delay of a hold (quoted from memory)"
MEAN_AGE = "closed form: mean age of equally weighted readings"
_LEAST_SHARE = 0.1  # of the pump's flow at 100 %; closer to no flow the slope of its curve says nothing


@dataclass(frozen=True)
class LoopModel:
    """An integrator with slope, dead time and lags.

    slope: k', volume rate per output [m3/s]; parts: what the total delay is made of [s]; dead_time and lags [s] are the
    same parts as the margins use them, the lags not counted as dead time.
    """

    slope: Figure
    parts: tuple[Figure, ...]
    total_delay: Figure
    dead_time: float
    lags: tuple[float, ...]


@dataclass(frozen=True)
class Margins:
    """How robust the loop is, as Figures; `sensitivity` and `delay` are None when the loop is unstable.

    lowest_gain is None when no lower gain makes the loop cycle; slow_cycling is k'·K·Ti.
    """

    stable: bool
    gain: Figure
    lowest_gain: Figure | None
    phase: Figure
    delay: Figure | None
    sensitivity: Figure | None
    crossover: Figure
    ultimate_gain: Figure
    ultimate_period: Figure
    slow_cycling: Figure

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures that there are, the most asked-for first."""
        every = (self.gain, self.lowest_gain, self.phase, self.delay, self.sensitivity, self.crossover)
        return (*(one for one in every if one), self.ultimate_gain, self.ultimate_period, self.slow_cycling)


def settings_in(rig: Rig) -> Settings:
    """Give the loop settings that a rig starts with."""
    panel = rig.panel
    return Settings(float(panel[kernel.P_GAIN]), float(panel[kernel.P_INTEGRAL]), float(panel[kernel.P_DERIVATIVE]))


def open_loop(rig: Rig, settings: Settings | None = None) -> OpenLoop:
    """Give the loop of a rig for its frequency response, with its own settings or others in their place.

    Raises RigError when the pump gives no flow at the set point.
    """
    model = loop_model(rig)
    used = settings_in(rig) if settings is None else settings
    n = float(rig.panel[kernel.P_DERIVATIVE_FILTER])
    return OpenLoop(model.slope.si, model.dead_time, model.lags, used, n)


# --- the model -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class OperatingPoint:
    """Where the loop is made linear: volume [m3], level [m], lift [m], flow [m3/s], output [1], slope k' [m3/s]."""

    volume: float
    level: float
    lift: float
    flow: float
    output: float
    slope: float


def operating_point(rig: Rig) -> OperatingPoint:
    """Find where the pump holds the starting set point against the draw at the start.

    With the drain shut, the duty's largest draw is taken instead. A draw that the pump can't give, or one below a
    tenth of its flow at 100 %, is taken as the nearest that it can.
    Raises RigError when the pump gives no flow at that lift.
    """
    volume = float(rig.panel[kernel.P_SET_POINT])
    level = rig.strapping.level_at(volume)
    pump, reservoir = rig.params.pump, rig.params.reservoir
    surface = reservoir.floor + (rig.project.reservoir.charge.si - volume) / reservoir.area
    lift = max(pump.fill_end, level) - surface
    asked = draw_at(rig, volume) or rig.project.duty.largest_draw.si
    flow, output, slope = pump_at(pump, asked, lift)
    return OperatingPoint(volume, level, lift, flow, output, slope)


def draw_at(rig: Rig, volume: float) -> float:
    """Give what the drain takes [m3/s] from a volume [m3] in the tank, valve or draw as at the start, siphon primed."""
    state = rig.start()
    state.tank = volume
    state.conditions |= 1 << kernel.PRIMED
    level = rig.strapping.level_at(volume)
    reservoir = rig.params.reservoir
    surface = reservoir.floor + (rig.project.reservoir.charge.si - volume) / reservoir.area
    for _ in range(8):  # the kernel refines the friction factor from step to step
        state.drain_flow = kernel.drain_wants(rig.params, state, level, surface)
    return float(state.drain_flow)


def pump_at(pump: kernel.Pump, flow: float, lift: float) -> tuple[float, float, float]:
    """Give flow [m3/s], output [1] and slope dq/du [m3/s] of a pump asked for a flow [m3/s] at a lift [m].

    The curve is the rig's own: q² = (1 − wear)²·(m² + c) with m straight in the output from the slowest to the largest
    flow, and c from the lift; so dq/du = (1 − wear)²·m/q·dm/du. An on/off pump's mean flow is the output
    times its full flow.
    Raises RigError when the pump gives no flow at 100 %.
    """
    by_lift = pump.largest_flow**2 * (pump.measured_lift - lift) / pump.head_to_spare
    full = pump.left_by_wear * math.sqrt(max(pump.largest_flow**2 + by_lift, 0.0))
    if full <= 0.0:
        raise RigError(
            "The pump can't lift to the set point: at 100 % it gives no flow against a lift of "
            f"{written(lift, '.2f')} m.",
            "pump.shut_off_head",
            "Take a pump with a greater shut-off head, or raise the reservoir.",
        )
    if pump.on_off:
        return min(flow, full), min(flow / full, 1.0), full
    wanted = min(max(flow, _LEAST_SHARE * full), full) / pump.left_by_wear
    measured = min(max(math.sqrt(max(wanted**2 - by_lift, 0.0)), pump.slowest_flow), pump.largest_flow)
    given = pump.left_by_wear * math.sqrt(max(measured**2 + by_lift, (_LEAST_SHARE * full / pump.left_by_wear) ** 2))
    per_output = (pump.largest_flow - pump.slowest_flow) / (1 - pump.stalls_at)
    output = pump.stalls_at + (measured - pump.slowest_flow) / per_output
    return given, output, pump.left_by_wear**2 * measured / given * per_output


def loop_model(rig: Rig) -> LoopModel:
    """Give the linear loop of a rig about its operating point.

    Raises RigError when the pump gives no flow at the set point.
    """
    point, show = operating_point(rig), units(rig.project).show
    slope = Figure(
        "loop.slope",
        "volume rate per output, k'",
        point.slope,
        D.FLOW,
        "slope of the pump's curve, from 0 to 100 %, where it holds the set point; the tank integrates, the drain's "
        "self-regulation left out (it only adds margin)",
        (
            ("set point", show(point.volume, D.VOLUME)),
            ("flow", show(point.flow, D.FLOW)),
            ("output", show(point.output, D.PERCENT)),
            ("lift", show(point.lift, D.LENGTH)),
        ),
        "closed form: derivative of the rig's pump curve",
    )
    dead, lags = _dead_times(rig), _lags(rig)
    parts = (*dead, *lags)
    total = Figure(
        "delay.total",
        "total delay",
        sum(one.si for one in parts),
        D.TIME,
        "sum of its parts; lags counted whole",
        tuple((one.name, show(one.si, D.TIME)) for one in parts),
        COMMON_PRACTICE,
    )
    return LoopModel(slope, parts, total, sum(one.si for one in dead), tuple(one.si for one in lags))


def sensing_delay(rig: Rig) -> tuple[Figure, ...]:
    """Give the parts of the delay from the volume to the value that the controller works with [s]; none of 0."""
    return (*_sensed(rig), *(one for one in _lags(rig) if one.key == "delay.filter"))


def _sensed(rig: Rig) -> tuple[Figure, ...]:
    """Give the pure waiting in sensor and scan [s], what is not there left out."""
    project, params, show = rig.project, rig.params, units(rig.project).show
    update, scan = params.sensor.update, rig.scan
    shown = (("update", show(update, D.TIME)),)
    readings = project.sensor.averaging
    parts = (
        Figure(
            "delay.averaging",
            "averaging of the sensor",
            (readings - 1) / 2 * update,
            D.TIME,
            "(N − 1)/2 × update, taken as pure waiting",
            (("N", str(readings)), *shown),
            MEAN_AGE,
        ),
        Figure("delay.update", "update of the sensor", update / 2, D.TIME, "update/2", shown, HOLD),
        Figure(
            "delay.scan",
            "scan of the controller",
            scan / 2,
            D.TIME,
            "scan/2; reading and computing happen within one scan",
            (("scan", show(scan, D.TIME)),),
            HOLD,
        ),
    )
    return tuple(one for one in parts if one.si > 0)


def _dead_times(rig: Rig) -> tuple[Figure, ...]:
    """Give the parts of the delay that are pure waiting [s], those that are not there left out."""
    pump, show = rig.params.pump, units(rig.project).show
    if not pump.on_off or pump.cycle <= 0:
        return _sensed(rig)
    shown = (("cycle", show(pump.cycle, D.TIME)),)
    return (*_sensed(rig), Figure("delay.cycle", "on/off cycle", pump.cycle / 2, D.TIME, "cycle/2", shown, HOLD))


def _lags(rig: Rig) -> tuple[Figure, ...]:
    """Give the parts of the delay that are first-order lags [s], those that are not there left out."""
    smoothing, spin_up = float(rig.panel[kernel.P_PV_FILTER]), rig.params.pump.spin_up
    source = "definition of a time constant"
    parts = (
        Figure("delay.filter", "PV filter", smoothing, D.TIME, "its time constant", (), source),
        Figure("delay.spin_up", "spin-up of the pump", spin_up, D.TIME, "its time constant", (), source),
    )
    return tuple(one for one in parts if one.si > 0)


# --- the margins -----------------------------------------------------------------------------------------------------


def margins(rig: Rig, settings: Settings | None = None) -> Margins:
    """Give the margins of a rig's loop from its exact frequency response, with its own settings or others.

    A direct-acting controller on a pump that fills drives the volume away; its margins are those of an unstable loop.
    Raises RigError when the pump gives no flow at the set point.
    """
    loop = open_loop(rig, settings)
    raw = raw_margins(loop)
    if rig.params.control.direction < 0:
        raw = RawMargins(0.0, 0.0, raw.phase - math.pi, raw.crossover, math.inf)
    inputs = _inputs(rig, loop)
    return Margins(
        raw.stable,
        _gain_margin(raw, inputs),
        _lowest_gain(raw, inputs),
        Figure(
            "margin.phase",
            "phase margin, degrees",
            math.degrees(raw.phase),
            D.NUMBER,
            "180° + phase of L where |L| = 1; dead time exact",
            inputs,
            MARGINS,
        ),
        _delay_margin(raw, inputs),
        _sensitivity(raw, inputs),
        Figure(
            "margin.crossover",
            "period at the gain crossover",
            2 * math.pi / raw.crossover,
            D.TIME,
            "2π/ω where |L(jω)| = 1",
            inputs,
            MARGINS,
        ),
        *_ultimate(loop, inputs),
        _slow_cycling(loop, inputs),
    )


def _inputs(rig: Rig, loop: OpenLoop) -> tuple[tuple[str, str], ...]:
    show, one = units(rig.project).show, loop.settings
    integral = "off" if math.isinf(one.integral_time) else show(one.integral_time, D.TIME)
    return (
        ("k'", show(loop.slope, D.FLOW)),
        ("dead time", show(loop.dead_time, D.TIME)),
        *((f"lag {at}", show(lag, D.TIME)) for at, lag in enumerate(loop.lags, start=1)),
        ("K", show(one.gain, D.GAIN)),
        ("Ti", integral),
        ("Td", show(one.derivative_time, D.TIME)),
    )


def _gain_margin(raw: RawMargins, inputs: tuple[tuple[str, str], ...]) -> Figure:
    name, formula = "gain margin", "1/|L| where the phase of L passes −180°; dead time exact"
    if raw.gain == 0.0:
        formula = "the phase of L is never above −180°: no gain holds this loop"
    return Figure("margin.gain", name, raw.gain, D.NUMBER, formula, inputs, MARGINS)


def _lowest_gain(raw: RawMargins, inputs: tuple[tuple[str, str], ...]) -> Figure | None:
    if raw.lowest_gain == 0.0:
        return None
    formula = "1/|L| where the phase of L rises through −180°: a lower gain lets the integral swing the loop"
    return Figure("margin.lowest_gain", "lowest gain factor", raw.lowest_gain, D.NUMBER, formula, inputs, MARGINS)


def _delay_margin(raw: RawMargins, inputs: tuple[tuple[str, str], ...]) -> Figure | None:
    if not raw.stable:
        return None
    seconds = raw.phase / raw.crossover
    return Figure("margin.delay", "delay that may be added", seconds, D.TIME, "phase margin/crossover", inputs, MARGINS)


def _sensitivity(raw: RawMargins, inputs: tuple[tuple[str, str], ...]) -> Figure | None:
    if not raw.stable:
        return None
    formula = "Ms = largest |1/(1 + L)| over all frequencies; 1.4 is calm, 2 is lively"
    return Figure("margin.sensitivity", "largest sensitivity Ms", raw.sensitivity, D.NUMBER, formula, inputs, MARGINS)


def _ultimate(loop: OpenLoop, inputs: tuple[tuple[str, str], ...]) -> tuple[Figure, Figure]:
    gain, period = ultimate(loop.slope, loop.dead_time, loop.lags)
    process = tuple(one for one in inputs if one[0] not in ("K", "Ti", "Td"))
    formula = "gain of proportional action alone at which the loop cycles; π/(2·k'·θ) with dead time only"
    return (
        Figure("ultimate.gain", "ultimate gain", gain, D.GAIN, formula, process, MARGINS),
        Figure("ultimate.period", "ultimate period", period, D.TIME, "period of that cycle", process, MARGINS),
    )


def _slow_cycling(loop: OpenLoop, inputs: tuple[tuple[str, str], ...]) -> Figure:
    one = loop.settings
    used = tuple(pair for pair in inputs if pair[0] in ("k'", "K", "Ti"))
    product = loop.slope * one.gain * one.integral_time
    formula = "k'·K·Ti; below 4 the loop swings slowly, and a lower gain makes it worse"
    return Figure("loop.slow_cycling", "k'·K·Ti", product, D.NUMBER, formula, used, SLOW)
