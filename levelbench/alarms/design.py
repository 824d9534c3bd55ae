"""An alarm chosen from the noise: what every dead band and delay costs and saves, and where more of it stops paying.

What is weighed: the alarms of one slow crossing of the limit, where one would do; and the seconds that the alarm is
wrong about each true excursion, silent though the liquid is beyond the limit, or standing though it is back. Both are
as small as they can be on the front; the one proposed is where the front bends.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from levelbench.alarms import rates
from levelbench.alarms.answer import Check, Design
from levelbench.alarms.candidate import RUNS
from levelbench.alarms.grid import Axes, Choice, Place, evaluate
from levelbench.alarms.noise import Spread, from_measured, from_rig, lag_of
from levelbench.alarms.purpose import Purpose, band_of, rule_of
from levelbench.alarms.weigh import by_rule, front_of, knee_of
from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Quantity, in_unit, precise, read, rounded, written
from levelbench.records.measured import Measured
from levelbench.rig import Rig, watching
from levelbench.tuning.typed import spelled

Progress = Callable[[float], bool]
D = Dimension
SEED = 1
TRIED = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # dead bands that are tried, in σ
ONS = (0.0, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0)  # [s]
OFFS = (0.0, 2.0, 5.0, 15.0, 60.0)  # [s]
LIMITS = 5  # places of the limit that are tried beside its own
_CHECKED_AT = 2.0  # σ at which closed form and simulation are compared


def design(rig: Rig, spread: Spread, purpose: Purpose, *, seed: int = SEED, progress: Progress | None = None) -> Design:
    """Weigh every dead band and delay of an alarm on a noise, and propose one.

    `progress` is told the share done and answers whether to go on; raises Cancelled when it says no. The same rig,
    noise, purpose and seed give the same answer.
    """
    axes = axes_of(rig, spread, purpose)
    grid = evaluate(spread, purpose, axes, seed, progress)
    present = _present(rig, purpose, axes)
    front = front_of(spread, purpose, grid, present)
    knee = knee_of(grid, front)
    picked = knee and by_rule(spread, purpose, grid, knee, rule_of(rig))
    return Design(rig, purpose.alarm, spread, purpose, grid, front, knee, picked, present, _check(spread, seed))


def spread_near(
    rig: Rig, purpose: Purpose, measured: Measured | None = None, *, seed: int = SEED, progress: Progress | None = None
) -> Spread:
    """Give the noise of the PV near an alarm's limit, of the deviation near the first set point: measured or simulated.

    Raises as `from_rig` and `from_measured` do.
    """
    place = rig.project.start.set_point.si if purpose.both else purpose.limit
    if measured is None:
        return from_rig(rig, place, seed=seed, progress=progress)
    return replace(from_measured(measured, near=place), lag=lag_of(rig))


# --- what is tried ---------------------------------------------------------------------------------------------------


def axes_of(rig: Rig, spread: Spread, purpose: Purpose) -> Axes:
    """Give what is tried: round values in the person's units, the present ones among them."""
    band = band_of(rig, purpose.alarm)
    volume = units(rig.project).volume
    now = (band.limit, band.dead_band, band.on_delay, band.off_delay) if band is not None else (None,) * 4
    ends = np.linspace(purpose.normal, purpose.beyond, LIMITS + 2)[1:-1]
    limits = [_typed(float(one), D.VOLUME, now[0], volume, 3) for one in ends]
    if band is None:
        limits.append(_typed(purpose.limit, D.VOLUME, None, volume, 3))
    wide = [_typed(one * spread.sigma, D.VOLUME, now[1] or now[0], volume, 2) for one in TRIED]
    wide.append(_typed(rule_of(rig), D.VOLUME, now[1] or now[0], volume, 2, up=True))
    ons, offs = ([_typed(one, D.TIME, None, "s", 2) for one in every] for every in (ONS, OFFS))
    if purpose.both:  # its on-delay outlasts the steps of the set point, which noise knows nothing of
        ons = [] if band is not None else [Choice("3 min", 180.0, "3 min")]
    return Axes(_with(limits, now[0]), _with(wide, now[1]), _with(ons, now[2]), _with(offs, now[3]))


def _typed(
    si: float, dimension: Dimension, now: Quantity | None, unit: str, digits: int, *, up: bool = False
) -> Choice:
    """Round a value to so many digits, or up to them, in the unit that the person typed, else in the project's."""
    value = in_unit(si, dimension, now.unit if now is not None else unit)
    places = digits - 1 - math.floor(math.log10(abs(value))) if value else 0
    rounded = math.ceil(value * 10.0**places - 1e-9) / 10.0**places if up else round(value, places)
    text = f"{precise(rounded)} {spelled(now) if now is not None else unit}"
    found = read(text, dimension)
    return Choice(text, found.si, found.shown)


def _with(found: Sequence[Choice], now: Quantity | None) -> tuple[Choice, ...]:
    """Give different values in their order, the present one as it was typed."""
    every = list(found) if now is None else [Choice(now.text, now.si, now.shown), *found]
    kept: list[Choice] = []
    for one in every:
        if not any(math.isclose(one.si, other.si, rel_tol=1e-6, abs_tol=1e-15) for other in kept):
            kept.append(one)
    return tuple(sorted(kept, key=lambda one: one.si))


def _present(rig: Rig, purpose: Purpose, axes: Axes) -> Place | None:
    """Give where the project's own choice lies."""
    band = band_of(rig, purpose.alarm)
    if band is None:
        return None
    now = (band.limit, band.dead_band, band.on_delay, band.off_delay)
    every = (axes.limits, axes.dead_bands, axes.ons, axes.offs)
    limit, wide, on, off = (_nearest(axis, one.si) for axis, one in zip(every, now, strict=True))
    return limit, wide, on, off


def _nearest(axis: Sequence[Choice], si: float) -> int:
    return min(range(len(axis)), key=lambda at: abs(axis[at].si - si))


def _check(spread: Spread, seed: int) -> Check | None:
    """Compare the up-crossings of 2 σ by the bivariate normal with those counted; None for a PV that stands still."""
    if spread.sigma <= 0.0:
        return None
    noise = spread.long(200_000, seed)
    seen = watching.states(noise, _CHECKED_AT * spread.sigma, 0.0, (1, 1))
    came = (np.diff(seen) == 1).astype(np.float64)
    means = came[: len(came) // 40 * 40].reshape(40, -1).mean(axis=1)
    by_hour = 3600 / spread.step
    counted, half = float(means.mean()) * by_hour, 2.708 * float(means.std(ddof=1)) / math.sqrt(40) * by_hour  # t, 99 %
    told = rates.crossings_per_sample(_CHECKED_AT, spread.next) * by_hour
    inputs = (("u, limit", f"{_CHECKED_AT:.0f} σ"), ("ρ of the next sample", written(spread.next, ".4f")))
    closed = Figure(
        "noise.check.closed", "crossings of 2 σ an hour, by closed form", told, D.NUMBER,
        "2 T(u, √((1 − ρ)/(1 + ρ)))/step, T Owen's function", inputs, rates.OWEN,
    )  # fmt: skip
    simulated = Figure(
        "noise.check.simulated", "crossings of 2 σ an hour, counted", counted, D.NUMBER,
        "counted on the noise, no dead band, no delays", (("samples", str(len(noise))),), RUNS,
    )  # fmt: skip
    return Check(closed, simulated, _rice(spread), max(counted - half, 0.0), counted + half)


def _rice(spread: Spread) -> Figure | None:
    """Give the crossings of 2 σ that nobody misses who watches smooth noise without a pause."""
    if spread.pace <= 0.0:
        return None
    inputs = (("u, limit", f"{_CHECKED_AT:.0f} σ"), ("√(m₂/m₀)", f"{rounded(spread.pace, 3)} 1/s"))
    told = rates.rice(_CHECKED_AT, spread.pace) * 3600
    formula = "√(m₂/m₀)/(2 π) · exp(−u²/2), for a PV that is watched without a pause"
    return Figure("noise.check.rice", "crossings of 2 σ an hour, by Rice", told, D.NUMBER, formula, inputs, rates.RICE)
