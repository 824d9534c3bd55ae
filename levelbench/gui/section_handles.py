"""What can be dragged on the section: which entry it is, where it stands, in what steps it moves, how it is typed."""

from collections.abc import Callable
from dataclasses import dataclass

from levelbench.drawing.column import SET_POINT
from levelbench.gui.scales import Scales
from levelbench.quantity import Dimension, Quantity, show
from levelbench.rig import Rig

SWITCH = "overflow_switch.trips_at"
BANDS = ("high_high", "high", "low", "low_low")
LENGTH_STEPS = {"mm": 1e-3, "cm": 1e-3, "m": 1e-3, "in": 0.1 * 0.0254, "ft": 0.01 * 0.3048}  # [m]


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
    at: Callable[[float], float]  # level [m] of a value
    value_at: Callable[[float], float]  # value at a level [m]

    def snapped(self, value: float) -> float:
        """Give the nearest whole number of steps within the limits."""
        inside = min(max(value, self.low), self.high)
        return min(max(round(inside / self.step) * self.step, self.low), self.high)

    def typed(self, value: float) -> str:
        """Give a value as a person would type it."""
        return show(value, self.dimension, self.unit, self.step)


def handles(rig: Rig, scales: Scales) -> dict[str, Handle]:
    """Give what can be dragged on a rig's section, by key, from the top down at the start."""
    found = [*_bands(rig, scales), _set_point(rig, scales), *_switch(rig)]
    return {one.key: one for one in sorted(found, key=lambda one: -one.at(one.value))}


def _volume(rig: Rig, key: str, words: str, quantity: Quantity, limits: tuple[float, float]) -> Handle:
    step = rig.project.loop_settings.entry_step.si
    return Handle(
        key,
        words,
        quantity.si,
        step,
        *limits,
        Dimension.VOLUME,
        quantity.unit,
        lambda volume: float(rig.strapping.level_at(volume)),
        lambda level: float(rig.strapping.volume_at(level)),
    )


def _bands(rig: Rig, scales: Scales) -> list[Handle]:
    found = []
    for name in BANDS:
        band = getattr(rig.project.bands, name)
        if band is not None:
            words = f"{name.replace('_', '-')} limit"
            found.append(_volume(rig, f"bands.{name}.limit", words, band.limit, (0.0, scales.spill)))
    return found


def _set_point(rig: Rig, scales: Scales) -> Handle:
    loop = rig.project.loop_settings
    limits = (loop.set_point_low.si, min(loop.set_point_high.si, scales.spill))
    return _volume(rig, SET_POINT, "set point", rig.project.start.set_point, limits)


def _switch(rig: Rig) -> list[Handle]:
    trips_at = rig.project.overflow_switch.trips_at
    if trips_at is None:
        return []
    step = LENGTH_STEPS.get(trips_at.unit, 1e-3)
    rim = float(rig.strapping.levels[-1])
    words = "overflow switch trips"
    return [
        Handle(
            SWITCH, words, trips_at.si, step, 0.0, rim, Dimension.LENGTH, trips_at.unit, lambda it: it, lambda it: it
        )
    ]


def hint(handle: Handle) -> str:
    """Say what a handle is, where it stands, and how it is moved."""
    step = show(handle.step, handle.dimension, handle.unit, handle.step)
    held = show(handle.value, handle.dimension, handle.unit, handle.step)
    return f"{handle.words} {held}\nDrag it, or press ↑ and ↓: one step is {step}. Esc puts it back."
