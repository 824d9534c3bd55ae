"""Which choices of a grid may be proposed, which of them nothing beats, and where that front bends."""

import math

from levelbench.alarms.grid import Grid, Place
from levelbench.alarms.noise import Spread
from levelbench.alarms.purpose import Purpose

GOES = 3.0  # σ that must be left for it to go again at rest: 99.7 % (common practice)
ROOM = 0.5  # share of the room to what comes next that may be used up before it tells (common practice)
MOST_FALSE = 1.0 / 8.0  # [1/h] false alarms at rest: one a shift (common practice)
MOST_MISSED = 0.01  # share of time silent at the excursion's end (common practice)
GLANCE = 10.0  # [s] in which somebody hears, turns and looks: what is quicker is no better (common practice)
_SAME = 0.05  # alarms a crossing: less is no difference


def refused(spread: Spread, purpose: Purpose, grid: Grid, at: Place) -> str:
    """Say why a choice can't be proposed; "" when it can."""
    limit, dead_band = grid.axes.limits[at[0]].si, grid.axes.dead_bands[at[1]].si
    from_rest = purpose.sign * (limit - purpose.normal)
    room = purpose.sign * (purpose.beyond - limit)
    if from_rest - dead_band < GOES * spread.sigma:
        return "it would not go again by itself: limit and dead band leave too little to the noise of the PV at rest"
    if grid.hourly[at] > MOST_FALSE:
        return "it comes falsely more than once a shift with the PV at rest"
    if grid.missed[at] > MOST_MISSED:
        return "it stays silent too long though the excursion lasts"
    if not purpose.both and purpose.rate * grid.delay[at[2]] > ROOM * room:
        return f"more than half of the room to {purpose.beyond_name} is used up before it tells"
    return ""


def front_of(spread: Spread, purpose: Purpose, grid: Grid, present: Place | None) -> tuple[Place, ...]:
    """Give the choices that nothing beats at the limit nearest to the present one that has any."""
    _, bands, ons, offs = grid.axes.shape
    now = purpose.limit if present is None else grid.axes.limits[present[0]].si
    order = sorted(range(len(grid.axes.limits)), key=lambda one: abs(grid.axes.limits[one].si - now))
    for limit in order:
        every = [(limit, band, on, off) for band in range(bands) for on in range(ons) for off in range(offs)]
        fit = [at for at in every if not refused(spread, purpose, grid, at)]
        if fit:
            return _unbeaten(grid, fit)
    return ()


def _unbeaten(grid: Grid, fit: list[Place]) -> tuple[Place, ...]:
    """Give those than which none has both fewer alarms a crossing and fewer seconds wrong, the fewest seconds first."""
    pairs = sorted((grid.wrong(at), grid.alarms(at), at) for at in fit)
    found: list[Place] = []
    least = math.inf
    for _, alarms, at in pairs:
        if alarms < least - _SAME:
            found.append(at)
            least = alarms
    return tuple(found)


def cost(grid: Grid, at: Place) -> float:
    """Give the alarms of a crossing × the seconds [s] that an excursion is told wrongly, and those of a glance."""
    return grid.alarms(at) * (grid.wrong(at) + GLANCE)


def knee_of(grid: Grid, front: tuple[Place, ...]) -> Place | None:
    """Give where the front bends: where a per cent fewer alarms begins to cost more than a per cent of time.

    That is where alarms × seconds are the fewest; the seconds are those wrong and those that a glance takes anyway.
    """
    return min(front, key=lambda at: cost(grid, at), default=None)


def by_rule(spread: Spread, purpose: Purpose, grid: Grid, knee: Place, least: float) -> Place:
    """Give the knee, or where its dead band is less than a rule asks for [m3], the narrowest that has it and may be."""
    bands = grid.axes.dead_bands
    if bands[knee[1]].si >= least * (1 - 1e-9):
        return knee
    wider = [(knee[0], at, knee[2], knee[3]) for at, one in enumerate(bands) if one.si >= least * (1 - 1e-9)]
    return next((at for at in wider if not refused(spread, purpose, grid, at)), knee)
