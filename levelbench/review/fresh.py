"""A project from the answers of the interview: everything that was not asked follows from them by stated rules.

The levels come from the tank's own table, the gain and the integral time from the pump, the tank and the delay of the
rig as it stands (Skogestad 2003, τc = θ, or slower where the noise asks for it). Each rule is a comment in the file.
"""

import math

from levelbench.project import Project, edit_many, read_project
from levelbench.project.interview import ASKS, Answers, InterviewError, applies, check, text_of, units_of
from levelbench.project.records import GRAVITY, Tank
from levelbench.quantity import Dimension, Quantity, Units, in_unit, read
from levelbench.review.drain import valve_for
from levelbench.review.edits import Edits
from levelbench.review.fresh_numbers import Wanted
from levelbench.review.fresh_text import sections
from levelbench.review.retune import with_gain
from levelbench.rig import assemble
from levelbench.rig.bench import STANDARD_GRAVITY, Bench
from levelbench.rig.strapping import strap
from levelbench.tuning.loop import loop_model

L, V, Q = Dimension.LENGTH, Dimension.VOLUME, Dimension.FLOW
_MOST, _LEAST = 0.85, 0.05  # shares of the spill volume that set points may lie between: the limits need the rest
_SPARE = 1.25  # the pump against the largest draw, at least
_FREE = 8.0  # [s] at the pump's full flow from the highest set point to the spill, at least
_HEADS = 5.0  # shut-off head in heights of the tank, at least: the reservoir is taken to stand one and a half below


def fresh(answers: Answers) -> Project:
    """Make a project of the answers; raises InterviewError with the ask that has to be answered otherwise."""
    read_answers = {key: check(key, text_of(key, answers)) for key in ASKS if applies(key, answers)}
    wanted = _work_out(answers, read_answers)
    project = read_project(sections(answers, wanted), text_of("title", answers))
    project = edit_many(project, _by_the_rig(Bench(assemble(project)), wanted))
    return edit_many(project, _tuned(Bench(assemble(project))))


def _tank(answers: Answers, given: dict[str, Quantity | None], drop: str) -> Tank:
    """Make the record of the tank, from which its table is computed."""
    shape = text_of("shape", answers)
    height = given.get("height")
    cone = read(f"{height.si / 3:.6g} m", L) if height is not None and shape == "cone bottom" else None
    sizes = {name: given.get(name) for name in ("diameter", "length", "width")}
    return Tank(
        shape=shape, height=height, ends="flat", cone_depth=cone, cone_tip=read("0 mm", L), table=(),
        rim_to_spill=read(drop, L), dead_wood=(), leak=read("0 l/min", Q), leak_at=None, **sizes,
    )  # fmt: skip


def _work_out(answers: Answers, given: dict[str, Quantity | None]) -> Wanted:
    units = units_of(answers)
    table = strap(_tank(answers, given, "0 mm"))
    rim = float(table.levels[-1])
    spill_volume = table.volume_at(0.96 * rim)
    low, high, step = _volumes(given, units, spill_volume)
    draw, flow = _flows(given, units, spill_volume, high)
    _head(given, rim, units)
    start = step * min(
        max(round((low + high) / 2 / step), math.ceil(low / step - 1e-6)), math.floor(high / step + 1e-6)
    )
    inlet = min(0.05 * rim, 0.5 * table.level_at(low))
    outlet_head = table.level_at(low) + 0.3 * rim
    speed = min(1.0, math.sqrt(STANDARD_GRAVITY * outlet_head / 4))  # an eighth of the head, the valve has the rest
    return Wanted(
        units, rim, spill_volume, inlet, low, high, step, start, flow, draw, table.volume_at(inlet),
        table.level_at(high + 0.7 * (spill_volume - high)), max(0.006, math.sqrt(draw / speed * 4 / math.pi)),
        1.1 * draw / math.sqrt(500 * STANDARD_GRAVITY * outlet_head),
    )  # fmt: skip


def _volumes(given: dict[str, Quantity | None], units: Units, spill: float) -> tuple[float, float, float]:
    """Give lowest and highest set point and entry step [m3]; raises InterviewError where they do not go together."""
    asked = {key: found.si if (found := given[key]) is not None else 0.0 for key in ("low", "high", "step")}
    one = 1.0 / in_unit(1.0, V, units.volume)
    step = asked["step"] or _round_step(spill / 200 / one) * one
    low, high = asked["low"], asked["high"]
    most, least = _MOST * spill, _LEAST * spill
    if high > most * (1 + 1e-9):
        raise InterviewError("high", f"{_limits(units, spill, most)} The highest volume can't be more than that.")
    high = high or min(most, max(spill * 2 / 3, 1.3 * low))
    low = low or min(spill / 3, 0.6 * high)
    if not asked["low"] or not asked["high"]:
        low, high = _on_steps(asked, low, high, step)
    if low < least * (1 - 1e-9):
        shown = units.show(least, V, least / 100)
        raise InterviewError("low", f"Low limits and the drain need room under it: give at least {shown}.")
    if low >= high * (1 - 1e-9):
        raise InterviewError("low", "The lowest volume must be less than the highest.")
    if math.ceil(low / step - 1e-6) > math.floor(high / step + 1e-6):
        raise InterviewError("step", "No multiple of this step lies between the lowest and the highest volume.")
    return low, high, step


def _on_steps(asked: dict[str, float], low: float, high: float, step: float) -> tuple[float, float]:
    """Round what is assumed to whole steps, where a whole step is there."""
    if not asked["low"]:
        low = math.floor(low / step) * step or low
    if not asked["high"]:
        high = math.floor(high / step) * step or high
    return low, high


def _limits(units: Units, spill: float, most: float) -> str:
    holds, room = units.show(spill, V, spill / 1000), units.show(most, V, most / 1000)
    return f"The tank holds {holds} up to its spill; limits and switch need the room above {room}."


def _flows(given: dict[str, Quantity | None], units: Units, spill: float, high: float) -> tuple[float, float]:
    """Give largest draw and pump flow [m3/s]; raises InterviewError where the one can't keep up with the other."""
    pump, draw = (found.si if (found := given[key]) is not None else 0.0 for key in ("largest_flow", "draw"))
    fastest = (spill - high) / _FREE
    flow = pump or min(2 * draw, fastest) or spill / 480
    draw = draw or flow / 2
    if flow > fastest * (1 + 1e-9):
        shown = units.show(fastest, Q, fastest / 100)
        words = f"From the highest volume to the spill it would take less than {_FREE:.0f} s."
        raise InterviewError("largest_flow", f"{words} Take a pump of {shown} at most, or lower the highest volume.")
    if flow < _SPARE * draw * (1 - 1e-9):
        shown = units.show(flow / _SPARE, Q, flow / 100)
        raise InterviewError("draw", f"The pump keeps up with {shown} at most, with a fifth to spare.")
    return draw, flow


def _head(given: dict[str, Quantity | None], rim: float, units: Units) -> None:
    head = given["shut_off_head"]
    if head is not None and head.si < _HEADS * rim:
        shown = units.show(_HEADS * rim, L, 0.01 * rim)
        words = f"The reservoir is taken to stand below the tank; that asks for {shown} at least, to keep the flow."
        raise InterviewError("shut_off_head", words)


def _round_step(value: float) -> float:
    """Round up to 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= value * (1 - 1e-9))


def _by_the_rig(bench: Bench, wanted: Wanted) -> Edits:
    """Give what the assembled rig says better: the valve for the draw, dead bands as wide as the noise asks."""
    changes: Edits = {}
    if bench.project.drain.kind in GRAVITY:
        valve = valve_for(bench, wanted.low, 1.1 * wanted.draw)
        if valve is not None:
            changes["drain.valve_cv"] = wanted.typed(valve, Dimension.FLOW_COEFFICIENT, up=True)
    quiet = 6.0 * bench.noise(1.0)  # common practice, as the check has it
    for name, band in bench.bands().items():
        if band.dead_band.si < quiet:
            changes[f"bands.{name}.dead_band"] = wanted.typed(quiet, V, up=True, digits=2)
    return changes


def _tuned(bench: Bench) -> Edits:
    """Give gain and integral time: K = 1/(k' (τc + θ)), Ti = 4 (τc + θ) with τc = θ, slower where noise would shake."""
    model = loop_model(bench.rig)
    spread = bench.noise(min(1.0, bench.project.duty.largest_draw.si / bench.rig.params.pump.largest_flow))
    calm = 0.5 / (model.slope.si * model.total_delay.si)
    gain = min(calm, 0.015 / spread) if spread > 0 else calm
    return with_gain(bench, gain, 4.05 / (model.slope.si * gain))
