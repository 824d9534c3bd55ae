"""What can be moved on the section: which entry it is, where it stands, in what steps it moves, how it is typed."""

from collections.abc import Callable
from dataclasses import dataclass

from levelbench.drawing.column import SET_POINT
from levelbench.drawing.deviation import DEVIATION
from levelbench.project.records import GRAVITY
from levelbench.quantity import Dimension, Quantity, in_marks, in_unit, show
from levelbench.review.edits import round_step
from levelbench.review.resolution import entry_step
from levelbench.rig import Rig
from levelbench.rig.bench import Bench

SWITCH, FACE, INLET = "overflow_switch.trips_at", "sensor.face_above_floor", "drain.inlet_above_floor"
SIXTEENTH = 0.0254 / 16  # [m]
LENGTH_STEPS = {"in": SIXTEENTH, "ft": SIXTEENTH}  # [m]; a millimetre in every other unit
Level = Callable[[float], float]


@dataclass(frozen=True)
class Handle:
    """An entry that stands at a height: its words, value, step and limits (SI), and the unit it was typed in."""

    key: str
    words: str
    value: float
    step: float
    low: float
    high: float
    dimension: Dimension
    unit: str
    at: Level  # level [m] of a value
    value_at: Level  # value at a level [m]

    def snapped(self, value: float) -> float:
        """Give the nearest whole number of steps within the limits."""
        inside = min(max(value, self.low), self.high)
        return min(max(round(inside / self.step) * self.step, self.low), self.high)

    def typed(self, value: float) -> str:
        """Give a value as a person would type it; a sixteenth of an inch in full."""
        if self.dimension is Dimension.LENGTH and self.unit in LENGTH_STEPS:
            full = f"{in_unit(value, self.dimension, self.unit):.4f}".rstrip("0").rstrip(".")
            return f"{in_marks(full)} {self.unit}"
        return show(value, self.dimension, self.unit, self.step)


def handles(rig: Rig, set_point: Callable[[], float]) -> dict[str, Handle]:
    """Give what can be moved on a rig's section, by key, from the top down; `set_point` gives the working one [m3]."""
    bench = Bench(rig)
    honest = round_step(bench, entry_step(rig).figures[0].si)  # the honest resolution of the volume, a round step
    found = [
        *_bands(bench, honest),
        *_set_points(bench, honest),
        *_deviation(bench, honest, set_point),
        *_lengths(bench),
    ]
    return {one.key: one for one in sorted(found, key=lambda one: -one.at(one.value))}


def _volume(bench: Bench, key: str, words: str, quantity: Quantity, limits: tuple[float, float, float]) -> Handle:
    """Make the handle of a volume with its lowest and highest value and its step."""
    low, high, step = limits
    at, back = bench.level_at, bench.volume_at
    return Handle(key, words, quantity.si, step, low, high, Dimension.VOLUME, quantity.unit, at, back)


def _bands(bench: Bench, honest: float) -> list[Handle]:
    limits = (honest, bench.spill_volume, honest)
    return [
        _volume(bench, f"bands.{name}.limit", f"{name.replace('_', '-')} limit", band.limit, limits)
        for name, band in bench.bands().items()
    ]


def _set_points(bench: Bench, honest: float) -> list[Handle]:
    """Give the set point, held as the operator is held, and the two ends of what may be entered."""
    loop, spill = bench.project.loop_settings, bench.spill_volume
    held = (loop.set_point_low.si, min(loop.set_point_high.si, spill), loop.entry_step.si)
    ends = (honest, spill, max(honest, loop.entry_step.si))
    return [
        _volume(bench, "loop_settings.set_point_high", "highest set point", loop.set_point_high, ends),
        _volume(bench, SET_POINT, "set point", bench.project.start.set_point, held),
        _volume(bench, "loop_settings.set_point_low", "lowest set point", loop.set_point_low, ends),
    ]


def _deviation(bench: Bench, honest: float, set_point: Callable[[], float]) -> list[Handle]:
    """Give the bracket about the set point; both its ends move the one limit."""
    band = bench.project.bands.deviation
    if band is None:
        return []

    def at(away: float) -> float:
        return bench.level_at(set_point() + away)

    def back(level: float) -> float:
        return abs(bench.volume_at(level) - set_point())

    limits, unit = (honest, bench.spill_volume, honest), band.limit.unit
    low, high, step = limits
    return [Handle(DEVIATION, "deviation limit ±", band.limit.si, step, low, high, Dimension.VOLUME, unit, at, back)]


def _lengths(bench: Bench) -> list[Handle]:
    """Give what is set by a height: switch, sensor face, the inlet of the drain."""
    project, rim = bench.project, bench.rim
    parts: list[tuple[str, str, Quantity | None, float]] = [(FACE, "sensor face", project.sensor.face_above_floor, 2.0)]
    if project.overflow_switch.fitted:
        parts.append((SWITCH, "overflow switch trips at", project.overflow_switch.trips_at, 1.0))
    if project.drain.kind in GRAVITY:
        parts.append((INLET, "inlet of the drain", project.drain.inlet_above_floor, 1.0))
    return [
        Handle(
            key,
            words,
            quantity.si,
            LENGTH_STEPS.get(quantity.unit, 1e-3),
            0.0,
            share * rim,
            Dimension.LENGTH,
            quantity.unit,
            float,
            float,
        )
        for key, words, quantity, share in parts
        if quantity is not None
    ]


def hint(handle: Handle, now: float, *, operating: bool = False) -> str:
    """Say what a handle is, where it stands, how it is moved, and what moving it does."""
    step = handle.typed(handle.step)
    lines = [
        f"{handle.words} {handle.typed(now)}",
        f"Drag it, or press ↑ and ↓: one step is {step}. Enter types it, Esc puts it back.",
    ]
    if handle.key == SET_POINT and operating:
        lines.append("The run has begun: this is the operator's entry into the loop; the file keeps its start.")
    elif handle.key == SET_POINT:
        lines.append("No run yet: this is the set point with which a run starts, kept in the file.")
    return "\n".join(lines)
