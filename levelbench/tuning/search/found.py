"""What a search gives back: the curve of the settings that nothing beats, with figures, corners and chances."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelbench.project import Value, units
from levelbench.quantity import Dimension, Figure
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.tuning.loop import MARGINS
from levelbench.tuning.search.box import Box, Limits
from levelbench.tuning.search.chance import CLOPPER_PEARSON, Count
from levelbench.tuning.search.hunt import guarded
from levelbench.tuning.search.judge import GUARD, Judge, Trial, use_of_limits
from levelbench.tuning.search.scenario import Scenario
from levelbench.tuning.search.target import Loop

D = Dimension
OWN = "the rig's own runs"


@dataclass(frozen=True)
class Candidate:
    """Settings with what they do in the worst corner of the box.

    words: name and text of each, as typed; edits: entries of the project that they change, empty for what the project
    has now; worst: which corner is worst for settling, overshoot, deviation, travel and sensitivity, by the figure's
    key; use: how far each limit is used, 1 at the limit; tight: the limit that is used most.
    """

    loop: Loop
    words: tuple[tuple[str, str], ...]
    edits: Mapping[str, Value]
    settling: Figure
    deviation: Figure
    overshoot: Figure
    travel: Figure
    sensitivity: Figure
    starts: Figure
    slowness: Figure
    chance: Figure | None
    worst: Mapping[str, int]
    use: Mapping[str, float]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures that there are, speed first."""
        seen = (
            self.settling,
            self.deviation,
            self.overshoot,
            self.travel,
            self.sensitivity,
            self.starts,
            self.slowness,
        )
        return (*seen, self.chance) if self.chance else seen

    @property
    def tight(self) -> str:
        """The limit that is used most."""
        return max(self.use, key=lambda one: self.use[one])


@dataclass(frozen=True)
class Found:
    """The answer of a search.

    front: the fastest first, the calmest last, none when nothing keeps the limits; picked: which of them is proposed;
    present: the project's own settings in the same box; nearest: where nothing keeps the limits, what comes nearest;
    why: what was found and what stands in the way, in words; runs: simulations made.
    """

    rig: Rig
    box: Box
    limits: Limits
    scenarios: tuple[Scenario, ...]
    front: tuple[Candidate, ...]
    picked: int | None
    present: Candidate
    nearest: Candidate | None
    why: str
    runs: int

    @property
    def pick(self) -> Candidate | None:
        """The candidate that is proposed."""
        return None if self.picked is None else self.front[self.picked]


def candidate(judge: Judge, trial: Trial, rig: Rig, count: Count | None, *, typed: bool = True) -> Candidate:
    """Give a trial that ran through all corners as a candidate; `typed`: it is what can be typed, not what is there."""
    most, at = judge.exact_sensitivity(trial.loop)
    worst = {key: trial.corner(key) for key in ("settling", "deviation", "overshoot", "travel", "starts")}
    worst["sensitivity"] = at
    made = _Figures(judge, trial, rig, worst)
    target = judge.target
    words = target.words(trial.typed) if typed else _as_it_is(rig)
    return Candidate(
        trial.loop,
        words,
        target.edits(trial.typed) if typed else {},
        made.of("settling", "time to settle", D.TIME, "after ten entry steps, until it stays within one"),
        made.of("deviation", "load deviation", D.VOLUME, "largest distance from the set point after the load's step"),
        made.of("overshoot", "overshoot", D.VOLUME, "highest volume after the step less the new set point"),
        made.of("travel", "output travel", D.PERCENT_RATE, "sum of all output changes over step and load, by time"),
        made.figure("sensitivity", "largest Ms", most, D.NUMBER, "largest |1/(1 + L)|"),
        made.of("starts", "starts while holding", D.START_RATE, "starts counted in the last thirds of step and load"),
        made.slowness(),
        None if count is None else made.chance(count),
        worst,
        use_of_limits(trial.measures, most, judge.limits),
    )


def _as_it_is(rig: Rig) -> tuple[tuple[str, str], ...]:
    """Give the project's own settings as they are typed."""
    loop = rig.project.loop_settings
    gain = ("gain", loop.gain) if loop.gain is not None else ("proportional band", loop.proportional_band)
    rest = [("set point weight", loop.set_point_weight), ("PV filter", loop.pv_filter)]
    if loop.derivative.si > 0:
        rest.append(("derivative", loop.derivative))
    every = [gain, ("integral", loop.integral), *rest]
    return tuple((name, "off" if one is None else one.shown) for name, one in every)


@dataclass(frozen=True)
class _Figures:
    """Makes the figures of one trial."""

    judge: Judge
    trial: Trial
    rig: Rig
    worst: Mapping[str, int]

    def of(self, key: str, name: str, dimension: Dimension, formula: str) -> Figure:
        """Give what was measured, in its worst corner."""
        return self.figure(key, name, self.trial.worst(key), dimension, formula)

    def figure(self, key: str, name: str, si: float, dimension: Dimension, formula: str) -> Figure:
        """Give a figure of the worst corner."""
        source = MARGINS if key == "sensitivity" else OWN
        one = self.judge.scenarios[self.worst[key]]
        step = float(self.rig.panel[kernel.P_SP_STEP])
        resolution = {D.TIME: self.rig.scan, D.VOLUME: step / 100}.get(dimension, 0.0)
        words = f"{formula}; the largest of {len(self.judge.scenarios)} corners"
        inputs = (("corner", one.name), ("seed", str(one.seed)))
        return Figure(f"search.{key}", name, si, dimension, words, inputs, source, resolution)

    def slowness(self) -> Figure:
        """Give how slow it is beside the reference."""
        norm, show = self.judge.norm, units(self.rig.project).show
        inputs = (("settling", show(norm.settling, D.TIME)), ("deviation", show(norm.deviation, D.VOLUME)))
        formula = (
            "half the settling time, a quarter each of the load deviation and of its area over time, worst corners, "
            "each by that of the reference (closed loop as slow as the delay, Ti = 8 delays)"
        )
        value = norm.slowness(self.trial)
        return Figure("search.slowness", "slowness, rule = 1", value, D.NUMBER, formula, inputs, OWN)

    def chance(self, count: Count) -> Figure:
        """Give the largest chance of a broken limit."""
        formula = "95 % upper limit from fresh runs, on random points of the box with noise of their own"
        inputs = (("runs", str(count.runs)), ("of them broke a limit", str(count.broken)))
        name = "chance of a break, at most"
        return Figure("search.chance", name, count.chance, D.PERCENT, formula, inputs, CLOPPER_PEARSON)


def told(front: tuple[Candidate, ...], picked: int | None, nearest: Candidate | None) -> str:
    """Say in words what was found, or what stands in the way and by how much."""
    if picked is not None:
        one = front[picked]
        how = _used(one.use[one.tight], one.tight)
        return (
            f"{len(front)} settings that nothing beats. The one proposed is held back most by the {one.tight}: {how}."
        )
    if nearest is None:
        return "No settings were found, and none to name as nearest."
    missed = {key: share for key, share in nearest.use.items() if share > _allowed(key)}
    if not missed:
        return (
            "No settings were found that keep the limits all over the box: those that keep them in every corner broke "
            "one on another rig of the box. Ask for less, or make the box narrower."
        )
    least = max(missed, key=lambda key: nearest.use[key] / _allowed(key))
    if least == "settling":
        return "No settings keep the limits: in the worst corner none come to rest within one entry step."
    return (
        f"No settings keep the limits. What stands in the way: {least}. The nearest that was found has "
        f"{100 * nearest.use[least] / _allowed(least):.0f} % of what may be used of it in the corners."
    )


def _allowed(key: str) -> float:
    return 1.0 if key == "largest sensitivity Ms" else GUARD


def _used(share: float, key: str) -> str:
    if key == "largest sensitivity Ms":
        return f"{100 * share:.0f} % of what was asked"
    return f"{100 * guarded(share):.0f} % of what may be used of it in the corners"
