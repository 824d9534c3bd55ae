"""What is said of an experiment before it begins: what will be seen, for how long, where it stops, what to heed."""

import math

from levelbench.project import units
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, written
from levelbench.tuning.experiments.guard import pv_noise
from levelbench.tuning.experiments.limit_cycle import EXACT
from levelbench.tuning.experiments.planned import (
    BUMP,
    RELAY,
    STEP,
    Plan,
    expected,
    flow_words,
    rates,
    relay_cycle,
)
from levelbench.tuning.loop import draw_at

D = Dimension


def figures_of(made: Plan) -> tuple[Figure, ...]:
    """Give what will be seen, for how long, with which draw, and where it stops."""
    show = units(made.rig.project).show
    model = made.model
    known = (("k'", show(model.slope, D.FLOW)), ("delay", show(model.dead_time, D.TIME)))
    time = Figure(
        "plan.time",
        "how long it takes",
        made.settling / 2 + expected(made),
        D.TIME,
        "some time to settle, then the experiment itself",
        (("settling", show(made.settling / 2, D.TIME)),),
        COMMON_PRACTICE,
        1.0,
    )
    draw = Figure(
        "plan.draw",
        "what the drain takes meanwhile",
        draw_at(made.rig, made.volume),
        D.FLOW,
        "the drain as it is set, at the set point",
        (("set point", show(made.volume, D.VOLUME)),),
        "the rig's own drain",
    )
    limits = tuple(
        Figure(
            f"plan.{key}",
            name,
            value,
            D.VOLUME,
            f"“{rung.name}” at {show(rung.volume, D.VOLUME)}, less what comes in the delay and four times the noise",
            (("delay", show(model.dead_time, D.TIME)), ("noise", show(pv_noise(made.rig), D.VOLUME))),
            COMMON_PRACTICE,
        )
        for key, name, value, rung in (
            ("high", "it stops at a PV of", made.guard.high, made.guard.above),
            ("low", "and at a PV of", made.guard.low, made.guard.below),
        )
    )
    return (*_excursion(made, known), time, draw, *limits)


def _excursion(made: Plan, known: tuple[tuple[str, str], ...]) -> tuple[Figure, ...]:
    if made.kind == RELAY:
        cycle = relay_cycle(made)
        rows = (
            ("plan.peak", "highest above the set point", cycle.peak),
            ("plan.trough", "lowest below it", cycle.trough),
        )
        found = [Figure(key, name, si, D.VOLUME, "ε + rate·delay", known, EXACT) for key, name, si in rows]
        words = "2·delay + (2ε + fall·delay)/rise + (2ε + rise·delay)/fall"
        return (*found, Figure("plan.period", "period of the swing", cycle.period, D.TIME, words, known, EXACT))
    if made.kind == BUMP:
        away = made.away(made.size)
        words = "k'·jump·time of a stretch" + (
            "" if math.isinf(made.regulation) else ", less what the drain takes more"
        )
        return (
            Figure("plan.away", "how far the PV goes and comes back", away, D.VOLUME, words, known, "mass balance"),
        )
    return (Figure("plan.away", "how far the set point goes", made.size, D.VOLUME, "as chosen", (), COMMON_PRACTICE),)


def words_of(made: Plan) -> tuple[str, ...]:
    """Say what will be done, and what to heed, with figures."""
    show = units(made.rig.project).show
    percent = {at: show(at, D.PERCENT, 0.001) for at in (made.balance, made.high, made.low)}
    first = [f"The loop settles in automatic at {show(made.volume, D.VOLUME)}; its mean output is the balance."]
    if made.drain is not None:
        entry, value = made.drain
        shown = show(value, D.FLOW) if entry == "draw" else show(value, D.PERCENT, 0.01)
        takes = flow_words(made.rig, draw_at(made.rig, made.volume))
        first.insert(
            0,
            f"The drain is set first: {entry} to {shown}, which takes {takes}. The pump can only add, so "
            "nothing else brings the level down; a bias of the output can't stand in for it.",
        )
    if made.settles:
        done = (
            f"In manual the output is held at the balance, about {percent[made.balance]}, then goes to "
            f"{percent[made.high]} until the level has come to rest by itself, and back: each lasts "
            f"{show(made.lasts, D.TIME, 1.0)}."
        )
    elif made.kind == BUMP:
        done = (
            f"In manual the output is held at the balance, then goes {show(made.size, D.PERCENT, 0.001)} up, as much "
            f"below, and back: about {percent[made.balance]}, {percent[made.high]}, {percent[made.low]}. Each lasts "
            f"{show(made.lasts, D.TIME, 1.0)}."
        )
    elif made.kind == RELAY:
        rise, fall = rates(made)
        width = show(made.hysteresis, D.VOLUME, made.hysteresis / 10)
        done = (
            f"In manual the output goes to about {percent[made.low]} when the PV is {width} "
            f"above the set point and to about {percent[made.high]} when it is as much below, {made.cycles + 1} times. "
            f"The level rises with {flow_words(made.rig, rise)} and falls with {flow_words(made.rig, fall)}."
        )
    else:
        done = (
            f"In automatic the set point goes to {show(made.volume + made.size, D.VOLUME)}, and back after "
            f"{show(made.lasts, D.TIME, 1.0)}."
        )
    return (*first, done, *_heed(made))


def _heed(made: Plan) -> tuple[str, ...]:
    pump, heed = made.rig.params.pump, []
    if not pump.on_off and made.kind != STEP and made.low < pump.stalls_at + 1e-9:
        heed.append(
            f"At the low output the pump stands still: it stalls at {written(100 * pump.stalls_at, '.0f')} %. What is "
            "measured then is the mean over its dead zone, not the slope where it runs."
        )
    if pump.on_off and made.kind != STEP:
        heed.append(
            "The pump switches on and off: a new output counts from its next cycle on, up to "
            f"{written(pump.cycle, '.0f')} s later, and each cycle leaves a ripple."
        )
    noise = 4 * pv_noise(made.rig)
    show = units(made.rig.project).show
    if made.kind == RELAY and made.hysteresis < noise:
        heed.append(
            f"The hysteresis is less than four times the noise, {show(noise, D.VOLUME)}: the relay may switch on noise."
        )
    return tuple(heed)
