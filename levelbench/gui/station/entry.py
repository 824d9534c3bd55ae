"""What the station's pad can set, and how it judges what was typed: limits, steps, when it asks again. No Qt here."""

import math
from dataclasses import dataclass, replace

from levelbench.project import units
from levelbench.project.records import GRAVITY, Project
from levelbench.quantity import Dimension, QuantityError, Units, in_marks, read
from levelbench.quantity.reading import span_in_unit

ASKS_ABOVE = 0.1  # of the set point's range; the project has no entry for it
_NEAR = 1e-6  # of a step: rounding of a conversion between units


@dataclass(frozen=True)
class Target:
    """One value that the pad can set on the panel: all in SI but the texts."""

    what: str  # the panel's entry
    name: str
    dimension: Dimension
    shown_in: Units
    low: float
    high: float  # inf: no limit
    step: float  # of the buttons up and down
    digits: float  # the smallest step worth showing
    whole_steps: bool = False  # nothing between two steps is taken
    asks_above: float = math.inf  # a larger change is asked about

    @property
    def unit(self) -> str:
        """The unit that everything is typed and shown in."""
        return self.shown_in.of(self.dimension)

    def show(self, si: float) -> str:
        """Show a value with its unit."""
        return self.shown_in.show(si, self.dimension, self.digits)

    def bare(self, si: float) -> str:
        """Show a value without its unit."""
        return self.show(si).removesuffix(self.unit).strip()

    @property
    def allowed(self) -> str:
        """What it takes, in words."""
        limits = f"{self.bare(self.low)} to {self.show(self.high)}" if math.isfinite(self.high) else "0 or more"
        return f"{limits}, in steps of {self.bare(self.step)}" if self.whole_steps else limits

    def judge(self, typed: str) -> float:
        """Give the value that was typed (SI); raises QuantityError with the reason why it isn't taken."""
        if not typed:
            raise QuantityError(typed, "Nothing is typed yet.", f"It takes {self.allowed}.")
        si = read(f"{typed} {self.unit}", self.dimension).si
        slack = _NEAR * (self.step or 1.0)
        if not self.low - slack <= si <= self.high + slack:
            raise QuantityError(
                typed, f"{in_marks(typed)} {self.unit} is outside its limits.", f"It takes {self.allowed}."
            )
        if self.whole_steps:
            self._must_be_whole(typed, si)
        return min(max(si, self.low), self.high)

    def _must_be_whole(self, typed: str, si: float) -> None:
        steps = si / self.step
        if abs(steps - round(steps)) > _NEAR * max(abs(steps), 1.0):
            near = [self.bare(math.floor(steps) * self.step), self.bare(math.ceil(steps) * self.step)]
            reason = f"{in_marks(typed)} is between two steps of {self.show(self.step)}."
            raise QuantityError(typed, reason, f"Type {near[0]} or {near[1]}.")

    def stepped(self, now: float, up: bool) -> float:
        """Give the value one step up or down from here, on a whole step; raises QuantityError at the limit."""
        steps = now / self.step
        to = (math.floor(steps + _NEAR) + 1 if up else math.ceil(steps - _NEAR) - 1) * self.step
        to = min(max(to, self.low), self.high)
        if abs(to - now) <= _NEAR * self.step:
            end = "highest" if up else "lowest"
            raise QuantityError(self.bare(now), f"{self.show(now)} is the {end} that it takes.", "")
        return to

    def asks(self, now: float, to: float) -> bool:
        """Tell whether a change is so large that it is read back first."""
        return abs(to - now) > self.asks_above * (1 + _NEAR)


def step_digits(step: float, shown_in: Units) -> float:
    """Give the power of ten [m3] that shows a step [m3] whole: 0.01 for a step of 0.25 in the person's unit."""
    in_unit = span_in_unit(step, Dimension.VOLUME, shown_in.of(Dimension.VOLUME))
    for places in range(-3, 5):
        if abs(round(in_unit, places) - in_unit) <= _NEAR * in_unit:
            return step * 10.0**-places / in_unit
    return step / 10  # typed in another unit: no power of ten fits


def targets(project: Project) -> tuple[Target, ...]:
    """Give what the pad can set on a project's rig: set point, manual output, and the drain's valve or draw."""
    settings, shown_in, drain = project.loop_settings, units(project), project.drain
    low, high, step = settings.set_point_low.si, settings.set_point_high.si, settings.entry_step.si
    asks = ASKS_ABOVE * (high - low)
    percent = Target("manual output", "output", Dimension.PERCENT, shown_in, 0.0, 1.0, 0.01, 0.01)
    digits = step_digits(step, shown_in)
    made = [Target("set point", "set point", Dimension.VOLUME, shown_in, low, high, step, digits, True, asks), percent]
    if drain.kind in GRAVITY:
        made.append(replace(percent, what="valve opening", name="drain valve", step=0.05))
    elif drain.kind == "forced draw":
        one = 10.0 ** math.floor(math.log10(project.pump.largest_flow.si)) / 10
        made.append(Target("draw", "draw", Dimension.FLOW, shown_in, 0.0, math.inf, one, one / 10))
    return tuple(made)
