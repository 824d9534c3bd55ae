"""How much time each alarm leaves a person: from its limit to what must not happen, less what is eaten on the way.

A rise is reckoned with the pump at its largest flow and the drain shut, a fall with the pump off and the largest draw
or the drain wide open, whichever takes more. Of the room between the limit and the consequence, what comes in while
sensor, filter, scan and on-delay are late is lost, and so is what still runs in after somebody has acted:

    time left = (room − coast)/rate − delay;   latest limit = consequence − coast − rate × (delay + time to act)

The delay of a steady ramp through an average, a filter and a scan is the mean age of the readings, so that a run of the
rig agrees with it to half an update and half a scan.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from levelbench.alarms.ladder import Rung, in_order
from levelbench.alarms.names import LETTERS, name_of, tag_of
from levelbench.project.records import Alarm, RateAlarm
from levelbench.quantity import Dimension, Figure
from levelbench.rig import Rig, kernel
from levelbench.rig.bench import Bench, air_level, wide_open
from levelbench.rig.sources import BALANCE, HYDROSTATICS, VORTEX
from levelbench.tuning.loop import sensing_delay

V, T, Q, L = Dimension.VOLUME, Dimension.TIME, Dimension.FLOW, Dimension.LENGTH
SPILL, AIR, EMPTY = "spill", "air in the drain", "empty tank"
ENOUGH, SHORT, LATE, NEVER = "enough", "too short", "too late", "only a jump"
HARDWARE, BEHIND, HAPPENED = "hardware acts", "others come first", "has happened"
SAID = {
    ENOUGH: ("✓", "a person can act"),
    SHORT: ("▲", "no person can: for information"),
    LATE: ("■", "it comes too late"),
    NEVER: ("○", "no real change is so fast: only a jump of the signal brings it"),
    HARDWARE: ("✓", "the pump stops without a person"),
    BEHIND: ("○", "at the worst rate the limits come first"),
    HAPPENED: ("○", "it tells what has happened"),
}
"""What is said of the time that an alarm leaves, with the mark beside it."""
_OWN_PLACE = ("high_high", "high", "low", "low_low")
_ANY_PLACE = ("rate_of_change", "frozen_signal")  # they may come anywhere between the set points
_OF_QUALITY = ("deviation", "rate_of_change")  # they tell of the product or the sensor; limits guard the tank
_BY_ITSELF = ("switch", "bad_signal")  # the interlock stops the pump before anybody is asked


@dataclass(frozen=True)
class Timed:
    """The time that one alarm leaves, every number a Figure.

    `start` is the volume from which it is reckoned, `next_rung` what comes first on the way to `end`, `parts` what the
    delay is made of, `latest` the limit that would leave the time to act (None for what has no place of its own).
    """

    key: str  # in the section bands: "high_high"
    name: str
    tag: str
    rising: bool
    next_rung: str
    end: str
    start: Figure
    rate: Figure
    to_next: Figure
    to_end: Figure
    parts: tuple[Figure, ...]
    late: Figure
    moved: Figure
    coast: Figure
    left: Figure
    latest: Figure | None
    needed: float  # what a person is given [s]

    @property
    def stands(self) -> str:
        """Whether a person can act: one of the words in SAID."""
        if self.key in _BY_ITSELF or self.key == "spill":
            return HAPPENED if self.key == "spill" else HARDWARE
        if math.isinf(self.late.si):
            return NEVER
        if self.left.si >= self.needed * (1 - 1e-9):
            return ENOUGH
        if self.key in _OF_QUALITY:
            return BEHIND
        return SHORT if self.left.si > 0.0 else LATE

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All of its figures, in the order in which they are worked out."""
        latest = (self.latest,) if self.latest is not None else ()
        every = (self.start, self.rate, self.to_next, self.to_end, self.late, self.moved, self.coast, self.left)
        return (*every, *latest)


def timing(rig: Rig) -> tuple[Timed, ...]:
    """Time every alarm in use, in the order of the ladder."""
    bench = Bench(rig)
    rungs = in_order(rig)
    return tuple(_worst(bench, rungs, key, alarm) for key, alarm in alarms_in_use(rig).items())


def alarms_in_use(rig: Rig) -> dict[str, Alarm]:
    """Give every alarm that a project has, by its key in the section bands, in the order of the ladder."""
    bands = rig.project.bands
    return {key: alarm for key in LETTERS if (alarm := getattr(bands, key)) is not None}


def falling_rate(bench: Bench, volume: float) -> float:
    """Give the worst net rate down [m3/s] at a volume [m3]: the pump off, largest draw or drain wide open, leak."""
    leak = float(kernel.leak_wants(bench.rig.params.tank, bench.level_at(volume)))
    return max(bench.project.duty.largest_draw.si, wide_open(bench, volume)) + leak


def latest_limit(end: float, rate: float, delay: float, response: float) -> float:
    """Give the volume [m3] at which an alarm must come so that a response [s] ends before the volume `end` [m3].

    rate [m3/s] is counted towards the end: negative for a fall; delay [s] goes by before the alarm is seen.
    Source: volume balance; a worked example of the kind stands in open training texts on alarms.
    """
    return end - rate * (delay + response)


def _worst(bench: Bench, rungs: Sequence[Rung], key: str, alarm: Alarm) -> Timed:
    """Time an alarm in its direction, or in the one of both that leaves less, among those in which it comes."""
    found = [_timed(bench, rungs, (key, alarm), rising=up, start=start) for up, start in _places(bench, key, alarm)]
    return min(found, key=lambda one: (math.isinf(one.late.si), one.left.si))


def _places(bench: Bench, key: str, alarm: Alarm) -> list[tuple[bool, float]]:
    """Give from where an alarm is reckoned: whether the volume rises, and the volume [m3]."""
    settings = bench.project.loop_settings
    low, high, limit = settings.set_point_low.si, settings.set_point_high.si, _limit(alarm)
    if key in ("high_high", "high"):
        return [(True, limit)]
    if key in ("low", "low_low"):
        return [(False, limit)]
    if key == "deviation":
        at = bench.project.start.set_point.si
        return [(True, at + limit), (False, max(at - limit, 0.0))]
    if key == "switch":
        return [(True, bench.spill_volume if bench.trip is None else bench.volume_at(bench.trip))]
    if key == "spill":
        return [(True, bench.spill_volume)]
    return [(True, high), (False, low)] if key in _ANY_PLACE else [(False, low)]


def _limit(alarm: Alarm) -> float:
    """Give the limit of an alarm (SI); 0 for one that has none."""
    found = getattr(alarm, "limit", None)
    return 0.0 if found is None else float(found.si)


def _timed(bench: Bench, rungs: Sequence[Rung], what: tuple[str, Alarm], *, rising: bool, start: float) -> Timed:
    key, alarm = what
    end, end_volume = end_of(bench, rising=rising)
    at = _figure_of_start(bench, key, start)
    rate = _rate(bench, key, rising=rising, volume=start)
    parts = _parts(bench, key, alarm, rate.si)
    late = _sum(bench, key, parts)
    room = max(end_volume - start if rising else start - end_volume, 0.0)
    coast = _coast(bench, key, rising=rising)
    next_rung, beyond = _beyond(rungs, rising=rising, start=start, end=(end, end_volume))
    ahead = beyond - start if rising else start - beyond
    needed = bench.project.duty.time_to_act.si
    to_end = _seconds(room, rate.si)
    coasting = coast.si / rate.si if rate.si > 0 else 0.0
    left = 0.0 if math.isinf(late.si) else max(to_end - coasting - late.si, 0.0)
    reckoned: list[tuple[str, float, Dimension]] = [("V(end)", end_volume, V), ("V(alarm)", start, V)]
    by_rate: list[tuple[str, float, Dimension]] = [*reckoned, ("rate", rate.si, Q)]
    latest = _latest(bench, key, (end_volume, rate.si, coast.si), late.si, rising=rising) if key in _OWN_PLACE else None
    return Timed(
        key, name_of(key), tag_of(bench, key), rising, next_rung, end, at, rate,
        bench.figure(f"timing.to_next.{key}", f"to “{next_rung}”", (_seconds(ahead, rate.si), T),
                     "(V(next) − V(alarm))/rate", BALANCE,
                     inputs=[("V(next)", beyond, V), ("V(alarm)", start, V), ("rate", rate.si, Q)], resolution=1.0),
        bench.figure(f"timing.to_end.{key}", f"to “{end}”", (to_end, T), "(V(end) − V(alarm))/rate", BALANCE,
                     inputs=by_rate, resolution=1.0),
        parts, late,
        _moved(bench, key, rate.si, late.si), coast,
        bench.figure(f"timing.left.{key}", "time left to act", (left, T),
                     "(V(end) − V(alarm) − coast)/rate − delay, none below 0", BALANCE,
                     inputs=[*by_rate, ("coast", coast.si, V), ("delay", late.si, T)], resolution=1.0),
        latest, needed,
    )  # fmt: skip


def end_of(bench: Bench, *, rising: bool) -> tuple[str, float]:
    """Give what must not happen in a direction, and the volume [m3] at which it does."""
    if rising:
        return SPILL, bench.spill_volume
    if bench.inlet is None:
        return EMPTY, 0.0
    return AIR, bench.volume_at(air_level(bench))


def _seconds(volume: float, rate: float) -> float:
    """Give how long a volume [m3] takes at a rate [m3/s]; without a rate it takes for ever."""
    if volume <= 0.0:
        return 0.0
    return volume / rate if rate > 0.0 else math.inf


def _beyond(rungs: Sequence[Rung], *, rising: bool, start: float, end: tuple[str, float]) -> tuple[str, float]:
    """Give the next rung in a direction before the end, and its volume [m3]; the end itself when there is none."""
    name, volume = end
    for rung in rungs:
        ahead = start < rung.volume < volume if rising else volume < rung.volume < start
        if ahead and not rung.name.startswith("set point"):
            name, volume = rung.name, rung.volume
    return name, volume


def _figure_of_start(bench: Bench, key: str, start: float) -> Figure:
    settings = bench.project.loop_settings
    how = {
        "deviation": "starting set point ± limit",
        "switch": "volume at its trip level",
        "spill": "volume at the lowest way out",
    }
    formula = how.get(key, "its limit" if key in _OWN_PLACE else "the set point from which it is nearest")
    inputs = [("lowest SP", settings.set_point_low.si, V), ("highest SP", settings.set_point_high.si, V)]
    return bench.figure(f"timing.start.{key}", "reckoned from", (start, V), formula, BALANCE, inputs=inputs,
                        resolution=bench.volume_step)  # fmt: skip


def _rate(bench: Bench, key: str, *, rising: bool, volume: float) -> Figure:
    """Give the worst net rate in a direction, as a Figure."""
    if rising:
        return bench.figure(
            f"timing.rate.{key}", "worst net rate", (bench.fill_rate, Q), "pump at 100 % and new, drain shut", BALANCE,
            inputs=[("Q, largest flow", bench.project.pump.largest_flow.shown)],
        )  # fmt: skip
    draw = bench.project.duty.largest_draw.si
    return bench.figure(
        f"timing.rate.{key}", "worst net rate", (falling_rate(bench, volume), Q),
        "pump off: the larger of largest draw and drain wide open, and the leak", HYDROSTATICS,
        inputs=[("largest draw", draw, Q), ("drain wide open", wide_open(bench, volume), Q), ("at", volume, V)],
    )  # fmt: skip


def _parts(bench: Bench, key: str, alarm: Alarm, rate: float) -> tuple[Figure, ...]:
    """Give what the delay of an alarm is made of, none of 0."""
    if key == "spill":
        parts: tuple[Figure, ...] = ()
    elif key == "switch":
        delay = bench.project.overflow_switch.delay.si
        parts = (_plain(bench, "timing.switch_delay", "delay of the switch", delay),)
    elif key == "bad_signal":
        delay = bench.project.sensor.failure_delay.si
        parts = (_plain(bench, "timing.failure_delay", "failure seen after", delay),)
    else:
        parts = sensing_delay(bench.rig)
    if isinstance(alarm, RateAlarm):
        parts = (*parts, _smoothing(bench, alarm, rate))
    every = (*parts, _plain(bench, f"timing.on_delay.{key}", "on-delay", alarm.on_delay.si))
    return tuple(one for one in every if one.si > 0.0)


def _plain(bench: Bench, key: str, name: str, seconds: float) -> Figure:
    return bench.figure(key, name, (seconds, T), "as typed", "typed in the project", resolution=0.0)


def _smoothing(bench: Bench, alarm: RateAlarm, rate: float) -> Figure:
    """Give how long a first-order lag takes to bring a rate that begins at once up to the limit [s]."""
    lag, limit = alarm.averaged_over.si, alarm.limit.si
    seconds = -lag * math.log1p(-limit / rate) if rate > limit else math.inf
    return bench.figure(
        "timing.smoothing", "smoothing of the rate", (seconds, T), "−τ ln(1 − limit/rate); never at or below the limit",
        "step response of a first-order lag", inputs=[("τ", lag, T), ("limit", limit, Q), ("rate", rate, Q)],
    )  # fmt: skip


def _sum(bench: Bench, key: str, parts: Sequence[Figure]) -> Figure:
    return bench.figure(
        f"timing.late.{key}", "delay before it is seen", (sum(one.si for one in parts), T), "sum of its parts", BALANCE,
        inputs=[(one.name, one.si, T) for one in parts],
    )  # fmt: skip


def _moved(bench: Bench, key: str, rate: float, late: float) -> Figure:
    """Give what comes in or goes out before an alarm is seen."""
    figure = bench.figure(
        f"timing.moved.{key}", "what moves meanwhile", (rate * late if math.isfinite(late) else 0.0, V), "rate × delay",
        BALANCE, inputs=[("rate", rate, Q), ("delay", late, T)], resolution=bench.volume_step,
    )  # fmt: skip
    return replace(figure, nought="nothing")


def _coast(bench: Bench, key: str, *, rising: bool) -> Figure:
    """Give what still runs in after somebody has stopped the pump: its spin-down, and the content of the fill tube."""
    pump = bench.project.pump
    volume = bench.fill_rate * pump.spin_up.si + pump.tube_volume.si if rising else 0.0
    formula = "Q × spin-down time constant + content of the fill tube" if rising else "a valve that is shut is shut"
    inputs = [("Q", bench.fill_rate, Q), ("spin-down", pump.spin_up.si, T), ("fill tube", pump.tube_volume.si, V)]
    figure = bench.figure(
        f"timing.coast.{key}", "what still comes after the action", (volume, V), formula, BALANCE,
        inputs=inputs if rising else [], resolution=bench.volume_step / 10,
    )  # fmt: skip
    return replace(figure, nought="nothing")


def _latest(bench: Bench, key: str, ends: tuple[float, float, float], late: float, *, rising: bool) -> Figure:
    """Give the limit that leaves a person the time to act: the highest for a rise, the lowest for a fall."""
    end, rate, coast = ends
    response = bench.project.duty.time_to_act.si
    volume = latest_limit(end - coast, rate, late, response) if rising else latest_limit(end, -rate, late, response)
    return bench.figure(
        f"timing.latest.{key}", f"{'highest' if rising else 'lowest'} limit that leaves the time to act", (volume, V),
        "V(end) − coast − rate × (delay + time to act)" if rising else "V(end) + rate × (delay + time to act)",
        BALANCE if rising else f"{BALANCE}; V(end) after {VORTEX}",
        inputs=[("V(end)", end, V), ("coast", coast, V), ("rate", rate, Q), ("delay", late, T),
                ("time to act", response, T)],
        resolution=bench.volume_step,
    )  # fmt: skip
