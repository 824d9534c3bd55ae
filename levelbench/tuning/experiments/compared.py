"""What was measured beside the loop model that the project has: agrees, or differs by how much and maybe why."""

from collections.abc import Sequence
from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, rounded, written
from levelbench.tuning.experiments.planned import BUMP, RELAY, STEP, Plan, flow_at
from levelbench.tuning.identify.result import Estimate
from levelbench.tuning.loop import loop_model
from levelbench.tuning.process import FirstOrder, Process

D = Dimension


@dataclass(frozen=True)
class Compared:
    """One number measured and by the model: whether the model lies within the interval, and what is said of it."""

    measured: Estimate
    model: Figure
    agrees: bool
    words: str


def compared(plan: Plan, process: Process, estimates: Sequence[Estimate], *, stood: bool) -> tuple[Compared, ...]:
    """Compare k' and the delay with the project's loop model at the same set point and draw.

    `stood`: whether the pump stood still in part of it.
    """
    model = loop_model(plan.rig)
    made = [
        _one(
            plan,
            estimates[0],
            model.slope,
            _why(plan, stood) or _why_slope(plan, estimates[0].figure.si / model.slope.si),
        )
    ]
    if not isinstance(process, FirstOrder):
        seen = recorded_delay(plan)
        made.append(_one(plan, estimates[1], seen, _why(plan, stood) or _why_delay(estimates[1].figure.si / seen.si)))
    return tuple(made)


def recorded_delay(plan: Plan) -> Figure:
    """Give the delay that a record shows by the loop model [s]: less than that of the loop, by its waiting."""
    params = plan.rig.params
    total = loop_model(plan.rig).total_delay
    waits = (plan.rig.scan + params.sensor.update) / 2
    show = units(plan.rig.project).show
    return Figure(
        "experiment.model_delay",
        "delay by the loop model, as a record shows it",
        total.si - waits,
        D.TIME,
        "total delay less half a scan and half an update: a record's output jumps where it is written",
        (
            ("total delay", show(total.si, D.TIME)),
            ("scan", show(plan.rig.scan, D.TIME)),
            ("update", show(params.sensor.update, D.TIME)),
        ),
        total.source,
    )


def _one(plan: Plan, measured: Estimate, model: Figure, why: str) -> Compared:
    shown = units(plan.rig.project)
    agrees = measured.low <= model.si <= measured.high
    apart = measured.figure.si / model.si - 1
    by = f"{rounded(100 * abs(apart), 2)} % {'more' if apart > 0 else 'less'} than the model's {shown.tell(model)}"
    within = f"within {measured.interval(shown)}"
    words = f"agrees: {by}, {within}" if agrees else f"differs: {by}, which is not {within}. {why}"
    return Compared(measured, model, agrees, words)


def _why(plan: Plan, stood: bool) -> str:
    """Say what may make anything another in this experiment."""
    if plan.rig.params.pump.on_off:
        return (
            "The pump switches on and off in cycles: what a record shows of it depends on where a change fell in one."
        )
    if stood:
        return "In part of it the pump stood still: what is found is a mean over its dead zone."
    if plan.kind == STEP:
        return (
            "In automatic the noise goes round through the controller and bends the result where the step moves the "
            "output little: take a larger step, or an experiment in manual."
        )
    return ""


def _why_slope(plan: Plan, ratio: float) -> str:
    """Say what may make k' another: what is known of the rig first, then what commonly does."""
    if plan.kind in (BUMP, RELAY):
        chord = (flow_at(plan.rig, plan.high) - flow_at(plan.rig, plan.low)) / (plan.high - plan.low)
        apart = chord / loop_model(plan.rig).slope.si - 1
        if abs(apart) > 0.02 and (apart > 0) == (ratio > 1):
            return (
                f"Between these two outputs the pump's own curve is {written(100 * abs(apart), '.0f')} % "
                f"{'steeper' if apart > 0 else 'flatter'} than where it holds the set point"
                + (": one of them lies at or below its stall." if plan.low <= plan.rig.params.pump.stalls_at else ".")
            )
    if ratio < 1:
        return "The pump gives less for each percent than described: wear, a greater lift, or the tank is larger."
    return "The pump gives more for each percent than described, or the tank is smaller."


def _why_delay(ratio: float) -> str:
    if ratio < 1:
        return "It answers sooner than described: less averaging or filtering, or a pump that is up to speed faster."
    return "It answers later than described: look for averaging in the sensor, another filter, air in the tube."
