"""One sentence that says what a change of the loop settings did: what moved, and what comes of it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from levelbench.quantity import rounded, written

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.rig.settings import Settings

_SAME = 1e-6  # relative
CALM = 4.0  # k'·K·Ti from which two integrators do not swing (see `levelbench.tuning.loop`)
LEAST_GAIN, LEAST_PHASE = 2.0, 30.0  # the least margins that the review calls robust


def said(before: Tuned, after: Tuned) -> str:
    """Say what the change from one tuning to another did: "Gain lowered alone: now k'·K·Ti = 1.2, …"."""
    moved = _moved(before.settings, after.settings)
    return f"{moved}: {consequence(after)}" if moved else f"The loop's settings stay: {consequence(after)}"


def consequence(tuned: Tuned) -> str:
    """Say how a loop behaves, the worst first."""
    margins, off = tuned.margins, math.isinf(tuned.settings.integral_time)
    if not margins.stable:
        return "it would swing ever wider."
    product = "" if off else f"now k'·K·Ti = {rounded(margins.slow_cycling.si, 2)}, "
    robust = f"gain margin {rounded(margins.gain.si, 2)}, phase margin {written(margins.phase.si, '.0f')}°"
    if margins.gain.si < LEAST_GAIN:
        return f"{product}it is close to cycling fast ({robust})."
    if off:
        return "without integral action a load leaves an offset."
    if margins.slow_cycling.si < CALM * (1 - 1e-3):
        return f"{product}it will swing slowly{' and long' if margins.slow_cycling.si < 1 else ''} ({robust})."
    if margins.phase.si < LEAST_PHASE:
        return f"{product}it is close to cycling ({robust})."
    return f"{product}calm ({robust})."


def _moved(before: Settings, after: Settings) -> str:
    """Name what moved and which way, in the standard form."""
    parts = [
        ("gain", before.gain, after.gain, ("lowered", "raised")),
        ("integral time", before.integral_time, after.integral_time, ("shortened", "lengthened")),
        ("derivative time", before.derivative_time, after.derivative_time, ("shortened", "lengthened")),
    ]
    words = [f"{name} {_way(was, now, ways)}" for name, was, now, ways in parts if not _same(was, now)]
    if not words:
        return ""
    found = " and ".join(words) + (" alone" if len(words) == 1 else "")
    return found[0].upper() + found[1:]


def _same(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=_SAME)


def _way(was: float, now: float, ways: tuple[str, str]) -> str:
    if math.isinf(now):
        return "switched off"
    if was == 0 or math.isinf(was):
        return "switched on"
    if now == 0:
        return "switched off"
    return ways[1] if now > was else ways[0]
