"""One choice of limit, dead band and delays, with what it does as figures and what it changes in the project."""

from dataclasses import dataclass

from levelbench.alarms import rates
from levelbench.alarms.chain import BREMAUD
from levelbench.alarms.grid import WITHIN, Choice, Grid, Place
from levelbench.alarms.noise import FIRST_ORDER, Spread
from levelbench.alarms.purpose import Purpose, band_of
from levelbench.alarms.weigh import refused
from levelbench.project import Value, units
from levelbench.quantity import Dimension, Figure, Quantity, written
from levelbench.rig import Rig

D = Dimension
RUNS = "the alarm's own logic on the noise"
_PARTS = (("limit", "limit"), ("dead band", "dead_band"), ("on-delay", "on_delay"), ("off-delay", "off_delay"))


@dataclass(frozen=True)
class Candidate:
    """One choice; words: name and text of each part; edits: what it changes; refused: why it is not proposed, or ""."""

    at: Place
    words: tuple[tuple[str, str], ...]
    edits: dict[str, Value]
    crossings: Figure
    wrong: Figure
    delay: Figure
    sudden: Figure
    stays: Figure
    creeping: Figure
    hourly: Figure
    share: Figure
    missed: Figure
    refused: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures, the two that are weighed first."""
        return (
            self.crossings, self.wrong, self.delay, self.sudden, self.stays, self.creeping, self.hourly, self.share,
            self.missed,
        )  # fmt: skip


def choices(grid: Grid, at: Place) -> tuple[Choice, Choice, Choice, Choice]:
    """Give limit, dead band, on-delay and off-delay of a place in the grid."""
    axes = grid.axes
    return axes.limits[at[0]], axes.dead_bands[at[1]], axes.ons[at[2]], axes.offs[at[3]]


def candidate(rig: Rig, spread: Spread, purpose: Purpose, grid: Grid, at: Place) -> Candidate:
    """Give a place in the grid with all its figures."""
    every, band = choices(grid, at), band_of(rig, purpose.alarm)
    words = tuple((name, one.shown) for (name, _), one in zip(_PARTS, every, strict=True))
    edits: dict[str, Value] = {}
    for (_, key), one in zip(_PARTS, every, strict=True):
        now: Quantity | None = getattr(band, key) if band is not None else None
        if now is None or abs(now.si - one.si) > 1e-9 * abs(one.si):
            edits[f"bands.{purpose.alarm}.{key}"] = one.text
    made = _Made(rig, spread, purpose, grid, words)
    stays, delay = float(grid.stays[at[1], at[3]]), float(grid.delay[at[2]])
    creeps = grid.alarms(at) * grid.followed / (2 * WITHIN * spread.sigma) * 3600 if spread.sigma > 0 else 0.0
    return Candidate(
        at,
        words,
        edits,
        made.crossings(at),
        made.time("wrong", "wrong about each excursion", grid.wrong(at), "late (or early) in coming + in going, means"),
        made.time("delay", "until it comes", delay, "at the worst net rate, mean; the PV's lag with it"),
        made.time("sudden", "until it comes after a jump", float(grid.sudden[at[0], at[2]]),
                  f"the liquid jumps from rest to {purpose.beyond_name}; mean, the PV's lag with it"),
        made.time("stays", "until it goes again", stays, "lag + dead band/rate of return + off-delay, mean"),
        made.count("creeping", "alarms an hour while it creeps by", creeps,
                   f"alarms a crossing, by the time within {WITHIN:.0f} σ of the limit"),
        made.count("hourly", "false alarms an hour", float(grid.hourly[at]), "comes with the PV at rest"),
        made.share("false", "false alarms, share of time", float(grid.share[at]), "stands with the PV at rest"),
        made.share("missed", "missed alarms, share of time", float(grid.missed[at]),
                   f"silent with the PV resting at {purpose.beyond_name}"),
        refused(spread, purpose, grid, at),
    )  # fmt: skip


@dataclass(frozen=True)
class _Made:
    """Makes the figures of one choice."""

    rig: Rig
    spread: Spread
    purpose: Purpose
    grid: Grid
    words: tuple[tuple[str, str], ...]

    @property
    def closed(self) -> bool:
        """Whether a closed form gave what the PV does at rest."""
        return self.grid.closed

    @property
    def theory(self) -> str:
        """After whom the rates at rest are."""
        if not self.closed:
            return RUNS
        return BREMAUD if self.spread.kind == FIRST_ORDER else f"{rates.XU}; {rates.ADNAN}"

    @property
    def never(self) -> str:
        """What to say in the place of no false alarm."""
        return "none" if self.closed else f"none in {written(self.grid.heard, '.0f')} h"

    @property
    def inputs(self) -> tuple[tuple[str, str], ...]:
        """What the choice is, and on which noise."""
        sigma = units(self.rig.project).show(self.spread.sigma, D.VOLUME, max(self.spread.sigma / 100, 1e-15))
        return (*self.words, ("σ", sigma), ("noise", self.spread.kind))

    def time(self, key: str, name: str, si: float, formula: str) -> Figure:
        """Give a time [s] of a true excursion."""
        source = RUNS if not self.closed or key != "sudden" else f"{rates.XU}; {rates.ADNAN}"
        return Figure(f"noise.{key}", name, si, D.TIME, formula, self.inputs, source, 0.1)

    def count(self, key: str, name: str, si: float, formula: str) -> Figure:
        """Give a number of alarms by hour."""
        source, nought = (RUNS, "none") if key == "creeping" else (self.theory, self.never)
        return Figure(f"noise.{key}", name, si, D.NUMBER, formula, self.inputs, source, nought=nought)

    def share(self, key: str, name: str, si: float, formula: str) -> Figure:
        """Give a share of time."""
        nought = self.never if key == "false" else "none"
        return Figure(f"noise.{key}", name, si, D.PERCENT, formula, self.inputs, self.theory, nought=nought)

    def crossings(self, at: Place) -> Figure:
        """Give the alarms of one slow crossing."""
        doubt, alarms = float(self.grid.doubt[at[1:]]), self.grid.alarms(at)
        speed = units(self.rig.project).show(self.grid.followed * 3600, D.VOLUME, self.grid.followed * 36)
        formula = f"the PV creeps through the limit at {speed} an hour; ± {written(doubt, '.2g')} (99 %)"
        fine = 0.01 if alarms < 10 else 0.1
        return Figure("noise.crossings", "alarms a slow crossing", alarms, D.NUMBER, formula, self.inputs, RUNS, fine)
