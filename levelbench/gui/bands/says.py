"""An alarm in a sentence, with the numbers that stand in the project, and the formula by which it comes and goes."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from levelbench.quantity import in_unit, show

if TYPE_CHECKING:
    from levelbench.project.records import Alarm, Band, Bands, Project
    from levelbench.quantity import Quantity

_FORMULAS = {
    "high": "comes: PV ≥ limit, for the on-delay · goes: PV < limit − dead band, for the off-delay",
    "low": "comes: PV ≤ limit, for the on-delay · goes: PV > limit + dead band, for the off-delay",
    "deviation": "comes: |PV − SP| ≥ limit, for the on-delay · goes: |PV − SP| < limit − dead band, for the off-delay",
    "rate_of_change": "rate = (PV − smoothed PV)/T, T the time averaged over · comes: |rate| ≥ limit, for the on-delay",
    "frozen_signal": "comes: |reading − reading at the last change| ≤ smallest change, for the on-delay",
    "bad_signal": "comes: sensor failed, for the on-delay · goes: sensor sound again, for the off-delay",
    "no_rise": "comes: output ≥ output above, and PV − lowest PV < least rise, for the on-delay",
    "switch": "comes: switch open, for the on-delay · goes: switch closed, for the off-delay",
    "spill": "comes: liquid over a rim, for the on-delay · goes: none any more, for the off-delay",
}
_LEVELS = ("high_high", "high", "low", "low_low")
_SAME = {"high_high": "high", "low_low": "low"}
_PURPOSES = {
    "high_high": "The last word before the hard-wired switch acts.",
    "high": "The status word becomes HIGH.",
    "low": "The status word becomes LOW.",
    "low_low": "The last word before the drain takes air or the draw fails.",
    "deviation": "The loop does not hold its set point.",
    "rate_of_change": "The volume changes faster than any proper use makes it: a leak, a wrong valve, a wild signal.",
    "frozen_signal": "A live signal always moves a little; one that stands still tells nothing any more.",
    "bad_signal": "The signal says itself that it has failed: out of its live range, or no echo for too long.",
    "no_rise": "The pump is told to work and nothing comes: an empty reservoir, air, a shut valve, or a leak.",
    "switch": "The hard-wired overflow switch stops the pump by itself; this alarm only tells of it.",
    "spill": "Liquid stands over a rim and the tray gets wet: everything before it has failed.",
}


def formula(key: str) -> str:
    """Give the formula of an alarm, by its key in the section bands."""
    return _FORMULAS[_SAME.get(key, key)]


def purpose(key: str) -> str:
    """Say what an alarm tells."""
    return _PURPOSES[key]


def sentence(project: Project, key: str) -> str:
    """Say when an alarm comes and goes, with the project's numbers; "" for one that is left out."""
    bands: Bands = project.bands
    alarm: Alarm | None = getattr(bands, key)
    if alarm is None:
        return ""
    comes, goes = _at_a_limit(getattr(bands, key), key) if key in _LEVELS else _told(bands, key)
    return f"It comes {_when(comes, alarm.on_delay)}; it goes {_when(goes, alarm.off_delay)}."


def _when(holds: tuple[str, str], delay: Quantity) -> str:
    """Say from when something holds: at once, or after a delay."""
    what, state = holds
    return f"once {what} has been {state} for {delay.shown}" if delay.si > 0 else f"as soon as {what} is {state}"


def _at_a_limit(band: Band, key: str) -> tuple[tuple[str, str], tuple[str, str]]:
    """Give what must hold for a limit on the volume to come, and to go: of what, and how it is."""
    above = key.startswith("high")
    back = _beside(band.limit, band.dead_band, -1 if above else 1)
    sides = ("at or above", "below") if above else ("at or below", "above")
    return ("the PV", f"{sides[0]} {band.limit.shown}"), ("it", f"{sides[1]} {back}")


def _told(bands: Bands, key: str) -> tuple[tuple[str, str], tuple[str, str]]:
    """Give the same for an alarm without a place in the tank."""
    deviation, rate, still, rise = bands.deviation, bands.rate_of_change, bands.frozen_signal, bands.no_rise
    if key == "deviation" and deviation is not None:
        back = _beside(deviation.limit, deviation.dead_band)
        return ("the PV of a started loop in automatic", f"{deviation.limit.shown} or more off its SP"), (
            "it", f"less than {back} off"
        )  # fmt: skip
    if key == "rate_of_change" and rate is not None:
        back = _beside(rate.limit, rate.dead_band)
        told = f"changing by {rate.limit.shown} or more (averaged over {rate.averaged_over.shown})"
        return ("the PV", told), ("it", f"changing by less than {back}")
    if key == "frozen_signal" and still is not None:
        where = f"within {still.limit.shown} of one place" if still.limit.si > 0 else "without any change"
        return ("the reading", where), ("it", "moving again")
    if key == "no_rise" and rise is not None:
        told = f"{rise.output_above.shown} or more (and the PV not up by {rise.limit.shown})"
        return ("the output", told), ("the PV", "up by as much, or the output lower")
    every = {
        "bad_signal": (("the sensor's signal", "bad"), ("it", "good again")),
        "switch": (("the switch", "open"), ("it", "closed")),
        "spill": (("liquid", "over a rim"), ("it", "below every rim")),
    }
    return every[key]


def _beside(limit: Quantity, dead_band: Quantity, side: int = -1) -> str:
    """Write where an alarm goes in the limit's unit, so fine that no typed digit of limit or dead band is lost."""
    if not dead_band.si:
        return limit.shown
    one = 1.0 / in_unit(1.0, limit.dimension, limit.unit)
    typed = [re.search(r"[.,](\d+)", each.text) for each in (limit, dead_band) if each.unit == limit.unit]
    first = -math.floor(math.log10(abs(dead_band.si) / one) + 1e-9)
    places = max(first, *(len(found.group(1)) for found in typed if found), 0)
    return show(max(limit.si + side * dead_band.si, 0.0), limit.dimension, limit.unit, one * 10.0**-places)
