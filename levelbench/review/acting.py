"""Rules on the time that people have: an alarm protects only when it leaves enough of it, else hardware must act."""

from collections.abc import Sequence

from levelbench.alarms.ladder import Rung, in_order
from levelbench.alarms.timing import ENOUGH, Timed, timing
from levelbench.quantity import Dimension, Figure
from levelbench.review.edits import Edits
from levelbench.review.finding import Finding, Severity, left_out
from levelbench.review.order import figure_key, fit_switch, high_text, switch_level
from levelbench.rig import Rig
from levelbench.rig.bench import Bench
from levelbench.rig.sources import BALANCE

V, T = Dimension.VOLUME, Dimension.TIME
_UP, _DOWN = ("high", "high_high"), ("low", "low_low")
_PROTECTION = "alarm_handling.protection"
_BY_HARDWARE = "hardware must trip"
_GUARD = "what guards the drain must need no person: a shut-off by level, or steps for priming at hand"
_BY_WIRE = "the hard-wired switch must stop the pump, and the alarms are for information"


def before_spill(rig: Rig) -> Finding:
    """An alarm counts as protection only when it leaves a person the time to act; else hardware must stop the pump."""
    key, title = "ladder.time_to_act", "Time left to act before a spill at the worst net rate"
    bench, needed = Bench(rig), rig.project.duty.time_to_act.si
    rungs = [rung for rung in in_order(rig) if rung.name in {"set point, highest", "high", "high-high", "switch"}]
    timed = _of(rig, _UP)
    figures = (*_to_spill(bench, rungs), *_figures(timed))
    text = " ".join(f"From “{rung.name}” it takes {bench.time(rung.seconds_to_spill)} to spill." for rung in rungs)
    text += f"{_leaves(bench, timed)} People are given {bench.time(needed)}."
    if any(one.stands == ENOUGH for one in timed):
        return Finding(key, title, Severity.GOOD, text, figures, go_to="bands.high.limit")
    if not rig.project.overflow_switch.fitted:
        left = bench.time(max((one.left.si for one in timed), default=0.0))
        change = f"Fit a hard-wired overflow switch at {switch_level(bench)}: no person can act in {left}."
        return Finding(key, title, Severity.STOP, text, figures, change, "overflow_switch.fitted", fit_switch(bench))
    if not timed:
        text += f" There is no alarm: {_BY_WIRE.partition(',')[0]}."
        change = f"Add a high limit at {high_text(bench)}, so that people are told before the switch trips."
        what_if: Edits = {"bands.high.limit": high_text(bench)}
        return Finding(key, title, Severity.ATTEND, text, figures, change, "bands.high", what_if)
    mended = _mended(bench, timed[0])
    if rig.project.alarm_handling.protection == _BY_HARDWARE:
        text += f" No alarm leaves that: {_BY_WIRE}."
        text += f" {_mending(timed[0], mended)} would leave it." if mended else ""
        return Finding(key, title, Severity.GOOD, text, figures, go_to="overflow_switch.trips_at")
    text += " No alarm leaves that, and the operator is relied on."
    if mended:
        change = f"{_mending(timed[0], mended)} leaves it; or rely on the hard-wired switch and say so."
        return Finding(key, title, Severity.ATTEND, text, figures, change, next(iter(mended)), mended)
    change = f"No human can: trip in hardware. Say so in the project; {_BY_WIRE}."
    return Finding(key, title, Severity.ATTEND, text, figures, change, _PROTECTION, {_PROTECTION: _BY_HARDWARE})


def before_air(rig: Rig) -> Finding:
    """A low alarm must leave a person the time to shut the drain before it takes air, or runs the tank empty."""
    key, title = "ladder.time_to_air", "Time left to act before the drain takes air at the worst draw"
    bench, needed = Bench(rig), rig.project.duty.time_to_act.si
    timed = _of(rig, _DOWN)
    if not timed:
        return left_out(key, title, "there is no low limit.", "bands.low")
    figures = _figures(timed)
    text = f"{_leaves(bench, timed)} People are given {bench.time(needed)}.".strip()
    go_to = f"bands.{timed[0].key}.limit"
    if any(one.stands == ENOUGH for one in timed):
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    mended = _mended(bench, timed[0])
    if rig.project.alarm_handling.protection == _BY_HARDWARE:
        text += f" No low alarm leaves that: they are for information; {_GUARD}."
        text += f" {_mending(timed[0], mended)} would leave it." if mended else ""
        return Finding(key, title, Severity.GOOD, text, figures, go_to=go_to)
    text += " No low alarm leaves that, and the operator is relied on."
    if mended:
        change = f"{_mending(timed[0], mended)} leaves it."
        return Finding(key, title, Severity.ATTEND, text, figures, change, next(iter(mended)), mended)
    text += " Between the lowest set point and the drain's inlet there is no place for a limit that leaves that."
    change = f"No human can: {_GUARD}. Say so in the project, or take a valve that lets less through."
    return Finding(key, title, Severity.ATTEND, text, figures, change, _PROTECTION, {_PROTECTION: _BY_HARDWARE})


def _of(rig: Rig, keys: Sequence[str]) -> list[Timed]:
    """Give some alarms with their times, the one that comes first in front."""
    found = {one.key: one for one in timing(rig)}
    return [found[key] for key in keys if key in found]


def _figures(timed: Sequence[Timed]) -> tuple[Figure, ...]:
    """Give what the verdict rests on."""
    every = ((one.late, one.coast, one.left, one.latest) for one in timed)
    return tuple(figure for each in every for figure in each if figure is not None)


def _leaves(bench: Bench, timed: Sequence[Timed]) -> str:
    told = ((one.name.capitalize(), bench.time(one.late.si), bench.time(one.left.si)) for one in timed)
    return "".join(f" “{name}” is seen {late} late and leaves {left} to act." for name, late, left in told)


def _to_spill(bench: Bench, rungs: Sequence[Rung]) -> tuple[Figure, ...]:
    return tuple(
        bench.figure(
            f"ladder.to_spill.{figure_key(rung.name)}", f"from {rung.name} to the spill", (rung.seconds_to_spill, T),
            "(V(spill) − V(rung))/Q", BALANCE,
            inputs=[("V(spill)", bench.spill_volume, V), ("V(rung)", rung.volume, V), bench.rate_shown],
            resolution=1.0,
        )
        for rung in rungs
    )  # fmt: skip


def _mended(bench: Bench, one: Timed) -> Edits:
    """Give the edits with which an alarm leaves the time to act: a shorter on-delay, another limit, or both.

    No edits where there is no room between the set points and the consequence.
    """
    delay = next((part.si for part in one.parts if part.key == f"timing.on_delay.{one.key}"), 0.0)
    assert one.latest is not None
    rate, settings = one.rate.si, bench.project.loop_settings
    short = (one.start.si - one.latest.si) / rate * (1.0 if one.rising else -1.0)  # [s] missing
    front = f"bands.{one.key}"
    if short <= delay:
        return {f"{front}.on_delay": bench.typed(delay - short, T, up=False, digits=2)[0]}
    room = max(bench.bands()[one.key].dead_band.si, 6.0 * bench.noise(1.0))
    for kept in (delay, 0.0):
        freed = rate * (delay - kept)
        if one.rising:
            words, limit = bench.typed(one.latest.si + freed, V, up=False)
            fits = limit > settings.set_point_high.si + room
        else:
            words, limit = bench.typed(one.latest.si - freed, V, up=True)
            fits = limit < settings.set_point_low.si - room
        if fits:
            edits: Edits = {f"{front}.limit": words}
            return edits if kept == delay else edits | {f"{front}.on_delay": "0 s"}
    return {}


def _mending(one: Timed, edits: Edits) -> str:
    """Say edits as the beginning of a sentence."""
    names = {f"bands.{one.key}.limit": f"a {one.name} limit at", f"bands.{one.key}.on_delay": "an on-delay of"}
    words = " with ".join(f"{names[key]} {text}" for key, text in edits.items())
    return words[0].upper() + words[1:]
