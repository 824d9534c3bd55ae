"""An experiment done on the simulated rig as a person would do it, as often as planned, and what it says of the rig."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as students

from levelbench.project import units
from levelbench.quantity import Dimension, Figure
from levelbench.records import Measured, from_recording
from levelbench.rig import Action, Recording
from levelbench.tuning.experiments.bench import Bench, Progress, Stopped, restore, settle, start
from levelbench.tuning.experiments.bump import bump
from levelbench.tuning.experiments.compared import Compared, compared
from levelbench.tuning.experiments.planned import BUMP, KINDS, RELAY, STEP, Plan
from levelbench.tuning.experiments.reading import Read, read_one
from levelbench.tuning.experiments.relay import relay
from levelbench.tuning.experiments.set_point_step import set_point_step
from levelbench.tuning.identify.result import Estimate
from levelbench.tuning.process import FirstOrder, Integrating, Process

D = Dimension
Floats = NDArray[np.float64]
_DO: dict[str, Callable[[Bench, float], None]] = {BUMP: bump, RELAY: relay, STEP: set_point_step}
_REST = 20.0  # [s] of holding still that are kept before it
_RUNS = 0.97  # of the time, less is standing still
_ALONE = 0.1  # of a value: half an interval, where one run alone can't tell its scatter
_CURVED = 0.02  # of k' and of a time constant: what the curves of pump and drain make of a straight model
_ROUNDED = 0.05  # of a delay: lags are no pure delay, and each way to read them gives a little else


@dataclass(frozen=True)
class Experiment:
    """What an experiment gave.

    recording and measured: of the first run, from a little before it to a little after; begun and ended: when the
    experiment itself began and ended in it [s]; simulated: the PV by the process found [m3], no value elsewhere;
    process: None when it was stopped; estimates: its numbers with the interval of 95 % in which one such experiment
    gives them; compared: with the loop model of the project; stopped: why, when it was.
    """

    plan: Plan
    recording: Recording
    measured: Measured
    begun: float
    ended: float
    simulated: Floats
    process: Process | None
    estimates: tuple[Estimate, ...]
    figures: tuple[Figure, ...]
    compared: tuple[Compared, ...]
    happened: tuple[str, ...]
    stopped: str


@dataclass(frozen=True)
class _Run:
    recording: Recording
    begun: float
    ended: float
    happened: tuple[str, ...]
    stopped: str
    read: Read | None


def run_experiment(
    plan: Plan, seed: int = 0, progress: Progress | None = None, others: Sequence[Action] = ()
) -> Experiment:
    """Do an experiment on the simulated rig, and again with the next seeds, as often as the plan says.

    `others` is what other people do meanwhile, at times [s] from the start of each run. `progress` is told the share
    done; Cancelled is raised when it answers no. It never raises for a limit: then it was stopped, and says so.
    """
    runs = []
    for at in range(plan.repeats):
        runs.append(_one(plan, seed + at, others, _part(progress, at, plan.repeats)))
        if runs[-1].stopped:
            break
    first, last = runs[0], runs[-1]
    if last.stopped:
        return _given(plan, last)
    reads = [one.read for one in runs if one.read is not None]
    process = _mean(reads)
    estimates = _estimates(plan, reads, process)
    given = _given(plan, first)
    return replace(
        given,
        simulated=first.read.over if first.read is not None else given.simulated,
        process=process,
        estimates=estimates,
        figures=first.read.figures if first.read is not None else (),
        compared=compared(plan, process, estimates, stood=any(_stood(one) for one in runs)),
        happened=(*first.happened, *_repeated(plan, seed)),
    )


def _part(progress: Progress | None, at: int, count: int) -> Progress | None:
    if progress is None:
        return None
    return lambda share: progress((at + share) / count)


def _given(plan: Plan, one: _Run) -> Experiment:
    """Give what one run alone says: what was recorded, and what happened."""
    shown = units(plan.rig.project)
    measured = from_recording(one.recording, shown, f"{KINDS[plan.kind]} of {plan.rig.project.title}")
    nothing = np.full(len(one.recording), np.nan)
    return Experiment(
        *(plan, one.recording, measured, one.begun, one.ended, nothing, None, (), (), ()), one.happened, one.stopped
    )


def _one(plan: Plan, seed: int, others: Sequence[Action], progress: Progress | None) -> _Run:
    """Do it once."""
    show = units(plan.rig.project).show
    bench = Bench(plan, seed, others, progress)
    happened: list[str] = []

    def tell(words: str) -> None:
        happened.append(f"{show(bench.time, D.TIME, 1.0)}: {words}")

    stopped: Stopped | None = None
    bench.begun = 0.0
    try:
        start(bench)
        balance, still = settle(bench)
        bench.begun = bench.time
        tell(
            f"the loop {'holds still' if still else 'did not come to rest'}; its mean output, "
            f"{show(balance, D.PERCENT, 0.001)}, is taken as the balance"
        )
        _DO[plan.kind](bench, balance)
        tell("done")
    except Stopped as reason:
        stopped = reason
        tell(f"stopped: {reason}")
    ended = bench.time
    tell(restore(bench, stopped))
    recording = bench.recording(max(bench.begun - _REST, 0.0))
    read = None if stopped is not None else read_one(plan, recording, bench.begun, ended)
    return _Run(recording, bench.begun, ended, tuple(happened), str(stopped or ""), read)


def _stood(one: _Run) -> bool:
    """Tell whether the pump stood still for more than a few scans of the experiment."""
    within = (one.recording["time"] >= one.begun) & (one.recording["time"] < one.ended)
    return float(np.mean(one.recording.condition("pump running")[within])) < _RUNS


def _repeated(plan: Plan, seed: int) -> tuple[str, ...]:
    if plan.repeats == 1:
        return ("Done once: how far the next one would differ is a guess.",)
    return (f"Done {plan.repeats} times, with the noise of seeds {seed} to {seed + plan.repeats - 1}.",)


def _mean(reads: Sequence[Read]) -> Process:
    """Give the mean process of all runs."""
    delay = float(np.mean([one.delay for one in reads]))
    slope = float(np.mean([one.slope for one in reads]))
    if any(one.constant is None for one in reads):
        return Integrating(slope, delay)
    constant = float(np.mean([one.constant for one in reads if one.constant is not None]))
    return FirstOrder(slope * constant, constant, delay)


def _estimates(plan: Plan, reads: Sequence[Read], process: Process) -> tuple[Estimate, ...]:
    """Give each number with the interval in which a single such experiment gives it, 95 % of the time."""
    waits = plan.rig.scan + plan.rig.params.sensor.update / 2
    rows = [
        ("slope", "volume rate per output, k'", process.slope, D.FLOW, _CURVED * abs(process.slope)),
        ("delay", "total delay", process.dead_time, D.TIME, _ROUNDED * process.dead_time + waits),
    ]
    found = [[one.slope for one in reads], [one.delay for one in reads]]
    if isinstance(process, FirstOrder):
        constant = process.time_constant
        rows.append(("constant", "time constant", constant, D.TIME, _CURVED * constant + waits))
        found.append([one.constant or constant for one in reads])
    return tuple(_estimate(plan, reads[0], row, values) for row, values in zip(rows, found, strict=True))


_Row = tuple[str, str, float, Dimension, float]  # key, name, value, dimension, what the method itself may be off by


def _estimate(plan: Plan, read: Read, row: _Row, found: Sequence[float]) -> Estimate:
    key, name, value, dimension, method = row
    count = len(found)
    if count > 1:
        half = float(students.ppf(0.975, count - 1)) * float(np.std(found, ddof=1)) * math.sqrt(1 + 1 / count)
        words = f"where one such experiment lies 95 times of 100, from {count} repeats"
    else:
        half, words = _ALONE * abs(value), "one experiment alone can't tell its scatter: a tenth is assumed"
    half = math.hypot(half, method)
    shown = units(plan.rig.project).show(method, dimension, method / 10)
    words = f"{words}; {shown} of it for what a straight process with one delay leaves out"
    inputs = (("experiment", KINDS[plan.kind]), ("repeats", str(count)))
    figure = Figure(f"experiment.{key}", name, value, dimension, read.formula, inputs, read.source, half / 5)
    return Estimate(figure, value - half, value + half, half < abs(value), words)
