"""The same experiment as a sheet for a person at the real rig: what to set, watch and write down, and when to stop."""

from dataclasses import dataclass

from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.tuning.experiments.planned import BUMP, RELAY, Plan, expected, flow_words
from levelbench.tuning.loop import draw_at

D = Dimension
_SAMPLES = 5  # in one delay that a record should have


@dataclass(frozen=True)
class Part:
    """One part of the sheet: its title, and its lines; `steps` are done in their order."""

    title: str
    lines: tuple[str, ...]
    steps: bool = False


def by_hand(plan: Plan) -> tuple[Part, ...]:
    """Give the sheet of an experiment."""
    return (
        Part("Before anything moves", _before(plan)),
        Part("Do", _do(plan), steps=True),
        Part("Stop at once when", _stop(plan)),
        Part("Write down", _write(plan)),
        Part("Afterwards", _after(plan)),
    )


def _before(plan: Plan) -> tuple[str, ...]:
    rig, show = plan.rig, units(plan.rig.project).show
    lines = [
        "Tell the users and the operator. Whoever works on the panel does so under the local rules, and somebody who "
        "may stop the pump stays beside it.",
        "Leave the emergency stop and the overflow switch as they are: hard-wired, never bridged. The switch is no "
        "part of the experiment; if it trips, the experiment was planned badly.",
        f"Look into the reservoir: it must hold what goes up, and have room for what comes back. The tank begins at "
        f"{show(plan.volume, D.VOLUME)}.",
        "Water first, where the liquid could hurt somebody or spoil something.",
    ]
    if rig.params.drain.kind == 2:
        lines.append("The siphon must be primed and run clear; a broken siphon does not come back when the level does.")
    if rig.params.drain.kind == 0 or plan.drain is None:
        lines.append(f"The draw stays as it is, about {flow_words(rig, draw_at(rig, plan.volume))}; nobody touches it.")
    return tuple(lines)


def _do(plan: Plan) -> tuple[str, ...]:
    show = units(plan.rig.project).show
    lines = []
    if plan.drain is not None:
        entry, value = plan.drain
        shown = show(value, D.FLOW) if entry == "draw" else show(value, D.PERCENT, 0.01)
        takes = flow_words(plan.rig, draw_at(plan.rig, plan.volume))
        lines.append(f"Set the {entry} to {shown}; it takes about {takes}. Shut, nothing brings the level back.")
    settling = show(plan.settling / 2, D.TIME, 10.0)
    lines.append(
        f"Automatic, set point {show(plan.volume, D.VOLUME)}. Wait until the PV stands still, {settling} or so, and "
        f"write down the mean output of the last minute: the balance, about {show(plan.balance, D.PERCENT, 0.01)}."
    )
    lines.append("Begin to record. Let it stand still for half a minute more.")
    return (*lines, *{BUMP: _bump, RELAY: _relay}.get(plan.kind, _step)(plan))


def _bump(plan: Plan) -> tuple[str, ...]:
    show = units(plan.rig.project).show
    lasts, size = show(plan.lasts, D.TIME, 1.0), show(plan.size, D.PERCENT, 0.001)
    first = (f"Manual. Set the output to the balance and leave it for {lasts}.",)
    if plan.settles:
        return (
            *first,
            f"Output {size} up, until the PV stands still by itself: about {lasts}.",
            "Back to the balance.",
        )
    return (
        *first,
        f"Output {size} above the balance for {lasts}; the PV goes up by about {show(plan.away(plan.size), D.VOLUME)}.",
        f"Output {size} below the balance for {lasts}; the PV comes back.",
        f"Output back to the balance for {lasts}.",
    )


def _relay(plan: Plan) -> tuple[str, ...]:
    show = units(plan.rig.project).show
    high, low = (show(one, D.PERCENT, 0.001) for one in (plan.high - plan.balance, plan.balance - plan.low))
    top, bottom = (show(plan.volume + one * plan.hysteresis, D.VOLUME) for one in (1, -1))
    return (
        f"Manual. Output {high} above the balance.",
        f"When the PV reads {top}: output {low} below the balance. When it reads {bottom}: {high} above it.",
        f"Go on for {plan.cycles + 1} swings, some {show(plan.lasts, D.TIME, 1.0)} each. How fast your hand is doesn't "
        "matter: the record has the moment of each change.",
    )


def _step(plan: Plan) -> tuple[str, ...]:
    show = units(plan.rig.project).show
    lasts = show(plan.lasts, D.TIME, 1.0)
    return (
        f"Stay in automatic. Set point to {show(plan.volume + plan.size, D.VOLUME)}, and wait for {lasts}.",
        f"Set point back to {show(plan.volume, D.VOLUME)}, and wait for {lasts}.",
    )


def _stop(plan: Plan) -> tuple[str, ...]:
    show, guard = units(plan.rig.project).show, plan.guard
    return (
        f"the PV reads {show(guard.high, D.VOLUME)} or more (“{guard.above.name}” is at "
        f"{show(guard.above.volume, D.VOLUME)}): output to 0 %, then automatic",
        f"the PV reads {show(guard.low, D.VOLUME)} or less (“{guard.below.name}” is at "
        f"{show(guard.below.volume, D.VOLUME)}): automatic",
        "any alarm comes that was not there before, or the sensor, the pump or the siphon does something unexpected",
        f"the reservoir is down to {show(guard.reservoir_low, D.VOLUME)}, or nearly full",
        f"it takes longer than {show(2 * expected(plan) + 60.0, D.TIME, 10.0)}",
        "anybody asks for it, or the liquid is anywhere that it should not be: the emergency stop",
    )


def _write(plan: Plan) -> tuple[str, ...]:
    show, every = units(plan.rig.project).show, plan.model.dead_time / _SAMPLES
    return (
        f"Time, PV and output, at least every {show(every, D.TIME, 10**-1)}, from before the first change to after the "
        "last; a trend export as CSV is best, with units. The set point too where it moves.",
        "The draw, by bucket and watch, and who changed what else meanwhile.",
        "Tank, pump, tube, liquid, temperature, date, names: a measurement is valid for these.",
    )


def _after(plan: Plan) -> tuple[str, ...]:
    back = "Automatic, set point as before" if plan.rig.project.start.mode == "auto" else "Manual, output as before"
    drain = "" if plan.drain is None else f", {plan.drain[0]} as before"
    return (
        f"{back}{drain}. Stay until the PV is quiet.",
        "Read the record with the way “Record” of the tuning stage, or with `levelbench fit`: it finds k' and the "
        "delay, with their intervals.",
        "Do it a second time. Two that agree are worth more than one that looks good.",
    )
