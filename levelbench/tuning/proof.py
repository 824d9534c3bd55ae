"""Before and after: two settings of one controller, tried on the same rig with the same seeds.

Each seed gives one set point step, one load step and one step with the drain shut, under either settings, with the same
noise, the same draws and the same time to come to rest. What is measured of a run is compared with its twin, so that
noise, which both meet, cancels. Beside the runs stand the margins of both, and the least of them anywhere in what is
not known (flow and delay, `doubt`).

Sources: as of `paired` and `prediction`.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from levelbench.project import Project, Value, edit_many, units
from levelbench.project.as_found import FOUND_KEYS, settings_from
from levelbench.project.syntax import plain_data
from levelbench.quantity import Dimension, Figure, Units
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.ensemble import spread
from levelbench.tuning.doubt import CORNERS, DELAY, FLOW
from levelbench.tuning.effects import Effect, Known, effect, known
from levelbench.tuning.loop import MARGINS, open_loop
from levelbench.tuning.paired import STUDENT, Paired, paired
from levelbench.tuning.prediction import Prediction, Response, predict, rest_of, seen
from levelbench.tuning.response import raw_margins

D = Dimension
Floats = NDArray[np.float64]
Progress = Callable[[float], bool]

SEEDS = tuple(range(1, 13))
POINTS = 400  # of a trace
RUNS = "the rig's own runs, the same seeds for both"


@dataclass(frozen=True)
class Trace:
    """One kind of run under one of the settings: time since the change [s], and rows[seeds, points].

    volume: as the controller sees it without noise [m3]; output; target: the set point after the change [m3].
    """

    key: str
    title: str
    time: Floats
    volume: Floats
    output: Floats
    target: float


@dataclass(frozen=True)
class Side:
    """One of the two settings: what it is called, what is known of it, its traces, and its least margins anywhere."""

    name: str
    rig: Rig
    known: Known
    traces: tuple[Trace, ...]
    least: tuple[Figure, ...]  # gain margin, phase margin, and the largest Ms


@dataclass(frozen=True)
class Line:
    """One measure: mean and standard deviation of either, the paired difference after − before, and what to say of it.

    The difference and its interval are None where a run never gets there; `verdict` is "less", "more", "same"
    (exactly), "open" (the interval holds 0, or it is too small to be shown) or "never". Less is always better.
    """

    key: str
    name: str
    before: Figure
    after: Figure
    spreads: tuple[Figure, Figure]
    difference: Figure | None
    interval: Figure | None
    verdict: str
    words: str


@dataclass(frozen=True)
class Proof:
    """Before and after, with all that is shown of it."""

    before: Side
    after: Side
    lines: tuple[Line, ...]
    effect: Effect
    seeds: tuple[int, ...]
    same: bool  # the settings are the same, and every difference is exactly 0
    verdict: str

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure of the table."""
        found = [each for one in self.lines for each in (one.before, one.after, one.difference, one.interval)]
        return (*(one for one in found if one is not None), *self.before.least, *self.after.least)


# --- which settings --------------------------------------------------------------------------------------------------


def with_settings(project: Project, typed: Mapping[str, Any]) -> Project:
    """Give the project with other controller settings, as they stand in a file; set point limits and scan stay.

    Raises ProjectProblems when they don't fit.
    """
    return edit_many(project, settings_from(typed))


def settings_typed(project: Project) -> dict[str, Value]:
    """Give the controller settings of a project as they stand in its file."""
    found = plain_data(project.text).get("loop_settings", {})
    return {key: found[key] for key in FOUND_KEYS if key in found}


def as_found(project: Project) -> Project | None:
    """Give the project with the settings that were found in the controller; None when nobody noted them."""
    if project.as_found is None:
        return None
    return with_settings(project, plain_data(project.text)["as_found"])


def proof_of(project: Project, progress: Progress | None = None) -> Proof | None:
    """Prove the settings of a project against those that were found; None when nobody noted them."""
    before = as_found(project)
    if before is None:
        return None
    return prove(assemble(before), assemble(project), ("as found", "as it is now"), progress)


# --- the runs --------------------------------------------------------------------------------------------------------


def prove(
    before: Rig,
    after: Rig,
    names: tuple[str, str] = ("before", "after"),
    progress: Progress | None = None,
    seeds: Sequence[int] = SEEDS,
) -> Proof:
    """Try two settings on the same seeds; rigs that differ in anything else are compared with that difference.

    Raises RigError when the pump gives no flow at the set point, Cancelled when `progress` answers no.
    """
    rest = max(rest_of(before), rest_of(after))
    tasks = [(rig, seed) for seed in seeds for rig in (before, after)]
    done = spread(tasks, lambda _, one: _measured(predict(one[0], seed=one[1], rest=rest)), progress=progress)
    was, now = done[::2], done[1::2]
    sides = (_side(names[0], before, was), _side(names[1], after, now))
    shown_in = units(after.project)
    lines = tuple(_line(key, [one.figures[key] for one in was], [one.figures[key] for one in now], shown_in)
                  for key in was[0].figures if key in now[0].figures)  # fmt: skip
    same = all(one.verdict == "same" for one in lines) and _settings_alike(before, after)
    return Proof(
        *sides, lines, effect(sides[0].known, sides[1].known, shown_in), tuple(seeds), same,
        _verdict(lines, names, same),
    )  # fmt: skip


def _settings_alike(before: Rig, after: Rig) -> bool:
    return bool(np.array_equal(before.panel, after.panel)) and before.params.control == after.params.control


@dataclass(frozen=True)
class _Measured:
    """What is kept of the runs of one seed."""

    figures: dict[str, Figure]
    traces: tuple[Trace, ...]
    prediction: Prediction  # without its recordings' rows


def _measured(found: Prediction) -> _Measured:
    figures = {one.key.removeprefix("predicted."): one for one in found.figures}
    if "stays" in figures:  # short is as wrong as too much
        figures["stays"] = replace(figures["stays"], si=abs(figures["stays"].si), name="error with the drain shut")
    runs = (
        ("step", "set point step", found.step),
        ("load", "load step", found.load),
        ("shut", "drain shut", found.shut),
    )
    traces = tuple(_trace(key, title, one) for key, title, one in runs if one is not None)
    return _Measured(figures, traces, found)


def _trace(key: str, title: str, response: Response) -> Trace:
    time, volume = seen(response)
    until = response.until - response.at
    at = np.linspace(-until / 12, until, POINTS)
    output = np.interp(at, time, response.recording["output"])
    target = float(response.recording["set_point"][-1])
    return Trace(key, title, at, np.interp(at, time, volume), output, target)


def _side(name: str, rig: Rig, found: Sequence[_Measured]) -> Side:
    first = found[0].traces
    traces = tuple(
        replace(
            one,
            volume=np.array([each.traces[at].volume for each in found]),
            output=np.array([each.traces[at].output for each in found]),
        )
        for at, one in enumerate(first)
    )
    return Side(name, rig, known(rig, found[0].prediction), traces, _least(rig))


# --- the table -------------------------------------------------------------------------------------------------------


def _line(key: str, was: Sequence[Figure], now: Sequence[Figure], shown_in: Units) -> Line:
    """Compare one measure over all seeds."""
    name, dimension = now[0].name, now[0].dimension
    before, after = ([one.si for one in side] for side in (was, now))
    step = min((one.step for one in (*was, *now) if one.step > 0 and math.isfinite(one.si)), default=0.0)
    inputs = (("runs of each", str(len(was))), ("seeds", f"{_seeds(was)}"))

    def figure(what: str, title: str, si: float, formula: str, source: str = RUNS) -> Figure:
        return Figure(f"proof.{what}.{key}", title, si, dimension, f"{name}: {formula}", inputs, source, step)

    means = tuple(figure(side, f"{name}, {side}", _mean(values), "mean over the seeds")
                  for side, values in (("before", before), ("after", after)))  # fmt: skip
    spreads = tuple(figure("spread", f"spread, {side}", _deviation(values), "standard deviation over the seeds")
                    for side, values in (("before", before), ("after", after)))  # fmt: skip
    if not all(math.isfinite(one) for one in (*before, *after)):
        words = _never(before, after)
        return Line(key, name, means[0], means[1], (spreads[0], spreads[1]), None, None, "never", words)
    pair = paired(before, after)
    verdict = _told(pair, step)
    difference = figure(
        "difference", f"{name}, after less before", pair.mean, "mean of the paired differences", STUDENT
    )
    interval = figure("interval", "95 % interval, ±", pair.half, "t(97.5 %, n − 1)·s/√n of the differences", STUDENT)
    words = _WORDS[verdict].format(shown_in.tell(replace(difference, si=abs(pair.mean), nought="")))
    return Line(key, name, means[0], means[1], (spreads[0], spreads[1]), difference, interval, verdict, words)


_WORDS = {"less": "less by {}", "more": "more by {}", "same": "exactly the same", "open": "can't be told apart"}


def _seeds(figures: Sequence[Figure]) -> str:
    found = [dict(one.inputs)["seed"] for one in figures]
    return f"{found[0]} to {found[-1]}"


def _told(pair: Paired, step: float) -> str:
    """Say which way a difference goes; one that is less than half of what is shown of it says nothing."""
    if pair.mean == 0.0 and pair.half == 0.0:
        return "same"
    if not pair.told_apart or abs(pair.mean) < step / 2:
        return "open"
    return "less" if pair.mean < 0 else "more"


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values) if all(map(math.isfinite, values)) else math.inf


def _deviation(values: Sequence[float]) -> float:
    return float(np.std(values, ddof=1)) if all(map(math.isfinite, values)) else math.nan


def _never(before: Sequence[float], after: Sequence[float]) -> str:
    """Say in how many runs it never gets there."""
    counts = [sum(not math.isfinite(one) for one in side) for side in (before, after)]
    return f"never in {counts[0]} of {len(before)} runs before, in {counts[1]} of {len(after)} after"


def _verdict(lines: Sequence[Line], names: tuple[str, str], same: bool) -> str:
    """Say in a sentence or two what is better and what is worse."""
    if same:
        return f"“{names[0]}” and “{names[1]}” are the same settings: every difference is exactly 0."
    better = [f"{one.name} ({one.words})" for one in lines if one.verdict == "less"]
    worse = [f"{one.name} ({one.words})" for one in lines if one.verdict == "more"]
    never = [f"{one.name} ({one.words})" for one in lines if one.verdict == "never"]
    alike = [one.name for one in lines if one.verdict in ("open", "same")]
    parts = [
        f"Better {names[1]}: {'; '.join(better)}." if better else f"Nothing is better {names[1]}.",
        f"Worse: {'; '.join(worse)}." if worse else "Nothing is worse.",
        f"Not to be compared: {'; '.join(never)}." if never else "",
        f"No difference to be told in {', '.join(alike)}." if alike else "",
    ]
    return " ".join(part for part in parts if part)


# --- margins in what is not known ------------------------------------------------------------------------------------


def _least(rig: Rig) -> tuple[Figure, ...]:
    """Give the least margins and the largest Ms in the corners of flow and delay, every part of the delay alike."""
    loop = open_loop(rig)
    found = [
        raw_margins(
            replace(
                loop,
                slope=loop.slope * one.flow,
                dead_time=loop.dead_time * one.delay,
                lags=tuple(lag * one.delay for lag in loop.lags),
            )
        )
        for one in CORNERS
    ]
    inputs = (("flow", f"±{round(100 * FLOW)} %"), ("delay", f"±{round(100 * DELAY)} %"))
    gain, phase = min(one.gain for one in found), math.degrees(min(one.phase for one in found))
    rows = (
        ("gain", "least gain margin", gain, "least 1/|L| where the phase is −180°"),
        ("phase", "least phase margin, degrees", phase, "least 180° + phase of L where |L| = 1"),
        ("sensitivity", "largest Ms", max(one.sensitivity for one in found), "largest |1/(1 + L)|"),
    )
    where = "over the corners of flow and delay; dead time exact"
    return tuple(
        Figure(f"proof.least.{key}", name, si, D.NUMBER, f"{formula} {where}", inputs, MARGINS)
        for key, name, si, formula in rows
    )
