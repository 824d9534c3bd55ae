"""Edits that belong together: what else has to change so that a project stays one that can be read."""

import math

from levelbench.project import Value
from levelbench.quantity import Dimension, in_unit, written
from levelbench.rig.bench import Bench

V, L = Dimension.VOLUME, Dimension.LENGTH
Edits = dict[str, Value]


def set_points(bench: Bench, low: float | None = None, high: float | None = None, step: float | None = None) -> Edits:
    """Give the edits for another lowest or highest set point or entry step [m3].

    The starting set point moves with them where it has to: it must lie between the two, on a whole number of steps.
    No edits when there is no such number.
    """
    settings, start = bench.project.loop_settings, bench.project.start.set_point
    what_if: Edits = {}
    if low is not None:
        what_if["loop_settings.set_point_low"], low = bench.typed(low, V, up=False)
    if high is not None:
        what_if["loop_settings.set_point_high"], high = bench.typed(high, V, up=False)
    if step is not None:
        what_if["loop_settings.entry_step"] = step_text(bench, step)
    bottom, top = (
        (settings.set_point_low.si if low is None else low),
        (settings.set_point_high.si if high is None else high),
    )
    each = settings.entry_step.si if step is None else step
    steps = start.si / each
    if bottom < top and bottom <= start.si <= top and abs(steps - round(steps)) < 1e-6:
        return what_if
    wanted = min(max(start.si, bottom), top)
    whole = math.floor(wanted / each + 1e-9)
    if whole * each < bottom * (1 - 1e-9):
        whole += 1
    if whole * each > top * (1 + 1e-9) or whole == 0 or bottom >= top:
        return {}
    unit = bench.units.of(V)
    what_if["start.set_point"] = f"{written(whole * in_unit(each, V, unit), '.10g')} {unit}"
    return what_if


def step_text(bench: Bench, step: float) -> str:
    """Write an entry step [m3] as it is typed."""
    unit = bench.units.of(V)
    return f"{written(in_unit(step, V, unit), '.10g')} {unit}"


def round_step(bench: Bench, si: float) -> float:
    """Round a resolution [m3] up to 1, 2 or 5 times a power of ten of the person's unit; gives it in SI."""
    value = si / bench.in_one(V)
    power = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= value * (1 - 1e-9)) * bench.in_one(V)
