"""Which way of filling wins on a rig with its drain shut: its PI controller with some set point weight, or a cut-off.

Every way does the same fills: several rigs out of what is not known (flow and delay differ from the model, the settings
don't), several fills on each with a noise of their own, each begun at another volume near the low end, for three sizes.
The cut-off's lead is worked out from the model; it then learns for some fills before its fills are counted. A cut at
the set point that learns nothing, and the same cut learning, are shown beside them.

The rule: of the ways that end within half an entry step of the set point in 95 % of their fills, the quickest; those
within 2 % of it count as equally quick, and then the one that ends closest. When no way ends so close, the closest.

Sources:
[1] Law, Simulation Modeling and Analysis: common random numbers for comparing systems (quoted from memory).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Units
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import spread
from levelbench.rig.errors import RigError
from levelbench.tuning.doubt import DELAY, FLOW
from levelbench.tuning.filling.law import CutOff, equation, law_figures
from levelbench.tuning.filling.plan import CUT, LATE, LEARNED, RIGS, Plan, Track, Way, ways_of
from levelbench.tuning.filling.runs import Filled

D = Dimension
Progress = Callable[[float], bool]

AS_QUICK = 0.02
_STEPS = 5  # entry steps of the smallest fill
_ALIKE = "simulated on this rig: every way does the same fills, on the same seeds (A. M. Law, common random numbers)"


@dataclass(frozen=True)
class Row:
    """One way of filling, for one size: what its counted fills came to.

    mean: of the errors; worst: 95 % of the fills end within it; time: until it stays where it ends.
    """

    way: Way
    mean: Figure
    worst: Figure
    spread: Figure
    time: Figure
    starts: Figure

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All of them, in the order of a table."""
        return (self.mean, self.worst, self.spread, self.time, self.starts)


@dataclass(frozen=True)
class Size:
    """Fills from low to high [m3]: the ways, which wins, the best PI, words, and tracks of the PIs and the cut-off."""

    low: float
    high: float
    rows: tuple[Row, ...]
    wins: Row
    best_pi: Row
    words: str
    tracks: tuple[Track, ...]

    def row(self, key: str) -> Row:
        """Give the row of a way."""
        return next(one for one in self.rows if one.way.key == key)


@dataclass(frozen=True)
class Filling:
    """What there is to say of filling a rig: by size, what is set in the controller, and how a first cut is learned.

    learned: mean error [m3] of the n-th fill of a cut that begins at the set point, for the largest size.
    """

    sizes: tuple[Size, ...]
    tolerance: float
    law: CutOff
    equation: tuple[str, str]
    figures: tuple[Figure, ...]
    learned: tuple[float, ...]
    verdict: str

    def largest(self) -> Size:
        """Give the largest fill."""
        return self.sizes[-1]


def fill(rig: Rig, progress: Progress | None = None) -> Filling:
    """Fill a rig in every way and say which wins; `progress` as of `levelbench.rig.run`.

    Raises RigError when there is nothing to fill, Cancelled when `progress` answers no.
    """
    plans, ways = [Plan.of(rig, low, high) for low, high in sizes_of(rig)], ways_of(rig)
    tasks = [(plan, way, number) for plan in plans for way in ways for number in range(RIGS)]
    done = spread(tasks, lambda runner, one: one[0].fills(runner, one[1], one[2]), progress=progress)
    found: dict[tuple[float, str], list[list[Filled]]] = {}
    for (plan, way, _), fills in zip(tasks, done, strict=True):
        found.setdefault((plan.low, way.key), []).append(fills)
    sizes = tuple(_size(plan, {one: found[plan.low, one.key] for one in ways}) for plan in plans)
    last, shown_in = plans[-1], units(rig.project)
    late = np.array([[one.error for one in fills] for fills in found[last.low, LATE.key]])
    return Filling(
        sizes,
        last.tolerance,
        last.law,
        equation(last.law, shown_in),
        law_figures(rig, last.high, last.tolerance),
        tuple(float(one) for one in late.mean(axis=0)),
        _verdict(sizes, shown_in),
    )


def sizes_of(rig: Rig) -> tuple[tuple[float, float], ...]:
    """Give small, middle and whole fills up to the highest set point that the reservoir can fill [m3].

    Raises RigError when that is no more than one entry step above the lowest.
    """
    panel, step = rig.panel, float(rig.panel[kernel.P_SP_STEP])
    low, high = float(panel[kernel.P_SP_LOW]), float(panel[kernel.P_SP_HIGH])
    reserve = rig.params.reservoir.suction_volume + 5.0 * rig.params.pump.largest_flow
    held = rig.project.reservoir.charge.si - reserve
    high = math.floor(min(high, held) / step + 1e-9) * step
    if high - low < 1.5 * step:
        raise RigError(
            "There is nothing to fill between the lowest and the highest set point.",
            "loop_settings.set_point_high",
            "Let the set point reach higher, or charge the reservoir with more.",
        )
    spans = (min(_STEPS * step, high - low), (high - low) / 2, high - low)
    return tuple((high - span, high) for span in sorted(set(spans)))


# --- one size --------------------------------------------------------------------------------------------------------


def _size(plan: Plan, found: Mapping[Way, list[list[Filled]]]) -> Size:
    """Make the rows of one size, and say which way wins."""
    rows = tuple(_row(plan, way, [one for fills in found[way] for one in fills]) for way in found if way is not LATE)
    wins = best_of(rows, plan.tolerance)
    best_pi = best_of([one for one in rows if one.way.weight is not None], plan.tolerance)
    words = _words(plan, rows, wins, best_pi)
    shown = dict.fromkeys((rows[0].way, best_pi.way, LEARNED))  # the PI as set comes first
    return Size(plan.low, plan.high, rows, wins, best_pi, words, tuple(plan.track(one) for one in shown))


def best_of(rows: Sequence[Row], tolerance: float) -> Row:
    """Give the row that wins by the rule above; tolerance [m3]."""
    close = [one for one in rows if one.worst.si <= tolerance]
    if not close:
        return min(rows, key=lambda one: one.worst.si)
    quickest = min(one.time.si for one in close)
    return min((one for one in close if one.time.si <= (1 + AS_QUICK) * quickest), key=lambda one: one.worst.si)


def _row(plan: Plan, way: Way, fills: Sequence[Filled]) -> Row:
    show, step = units(plan.rig.project).show, plan.tolerance / 100
    errors = np.array([one.error for one in fills])
    worst = float(np.quantile(np.abs(errors), 0.95))
    inputs = (
        ("from", show(plan.low, D.VOLUME, step)),
        ("to", show(plan.high, D.VOLUME, step)),
        ("fills", str(len(fills))),
        ("rigs", f"{RIGS}, flow ±{round(100 * FLOW)} %, delay ±{round(100 * DELAY)} %"),
    )

    def figure(key: str, si: float, dimension: Dimension, resolution: float) -> Figure:
        name, formula = _MEASURES[key]
        words = f"{way.name}: {formula}"
        return Figure(f"filling.{key}", name, si, dimension, words, inputs, _ALIKE, resolution)

    return Row(
        way,
        figure("mean", float(errors.mean()), D.VOLUME, step),
        figure("worst", worst, D.VOLUME, step),
        figure("spread", float(errors.std(ddof=1)), D.VOLUME, step),
        figure("time", float(np.mean([one.time for one in fills])), D.TIME, 0.1),
        figure("starts", float(np.mean([one.starts for one in fills])), D.NUMBER, 0.1),
    )


_MEASURES = {
    "mean": ("ends off the set point by", "mean of volume − SP at rest"),
    "worst": ("95 % end within", "95 % point of |volume − SP| at rest"),
    "spread": ("spread over fills", "standard deviation of volume − SP at rest"),
    "time": ("time to fill", "mean time until it stays within half an entry step of where it ends"),
    "starts": ("starts a fill", "mean number of pump starts"),
}


def _words(plan: Plan, rows: Sequence[Row], wins: Row, best_pi: Row) -> str:
    """Say who wins one size, by how much, and why."""
    shown = units(plan.rig.project)
    learning = next(one for one in rows if one.way is LEARNED)
    span = shown.show(plan.high - plan.low, D.VOLUME, plan.tolerance / 10)
    told = [
        f"{one.way.name} ends within {shown.tell(one.worst)} in {shown.tell(one.time)}" for one in (best_pi, learning)
    ]
    close = wins.worst.si <= plan.tolerance
    half = shown.show(plan.tolerance, D.VOLUME, plan.tolerance / 10)
    lead = f"{span} more: {wins.way.name} wins. " if close else f"{span} more: no way ends within {half}; "
    if not close:
        lead += f"{wins.way.name} comes closest. "
    return f"{lead}{_begun('; '.join(told))}. {_reason(plan, wins, best_pi, learning)}"


def _begun(words: str) -> str:
    return words[0].upper() + words[1:]


def _reason(plan: Plan, wins: Row, best_pi: Row, learning: Row) -> str:
    shown = units(plan.rig.project)
    in_flight = shown.show(plan.law.lead, D.VOLUME, plan.law.lead / 100)
    if wins.way is LEARNED and wins.time.si < best_pi.time.si * (1 - AS_QUICK):
        return (
            f"The pump runs flat out to the end, and what still runs in ({in_flight}) is known and learned; the PI "
            "has to slow down before it gets there."
        )
    if wins.way is LEARNED:
        return f"Both are as quick; the lead ({in_flight}) is learned on the real rig and doesn't hang on the settings."
    if wins.way is CUT:
        return (
            f"What still runs in ({in_flight}) is less than what half an entry step hides; nothing has to be learned."
        )
    if learning.worst.si > best_pi.worst.si and wins.time.si <= learning.time.si * (1 + AS_QUICK):
        return (
            "The PI throttles the pump before it gets there and sees what it does; the cut is made once, in one scan, "
            "with the noise of one reading."
        )
    return "The PI needs nothing learned, and the cut-off's scatter from fill to fill is more than is allowed."


def _verdict(sizes: Sequence[Size], shown_in: Units) -> str:
    """Say which way wins over all sizes, and what the closest of all costs."""
    names, last = [one.wins.way.name for one in sizes], sizes[-1]
    if len(set(names)) > 1:
        parts = [f"{shown_in.show(one.high - one.low, D.VOLUME)} more: {one.wins.way.name}" for one in sizes]
        return f"It hangs on the size of the fill. {'; '.join(parts)}."
    words = (
        f"Here {names[0]} wins at every size: the largest fill ends within {shown_in.tell(last.wins.worst)} of the set "
        f"point (19 fills of 20) in {shown_in.tell(last.wins.time)}, with {shown_in.tell(last.wins.starts)} starts."
    )
    closest = min(last.rows, key=lambda one: one.worst.si)
    if closest is last.wins:
        return words
    return (
        f"{words} {_begun(closest.way.name)} ends closer, within {shown_in.tell(closest.worst)}, and takes "
        f"{shown_in.tell(closest.time)}, with {shown_in.tell(closest.starts)} starts."
    )
