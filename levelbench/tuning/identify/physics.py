"""A rig's own physics found from a record: pump curve, dead time, outlet, leak, an upper tank; and what it foretells.

    found = fit_physics(measured)                  one tank, in the record's own unit
    found = fit_physics(measured, upper=True)      an upper tank feeds the measured one and spills partly into it
    found = fit_physics(measured, rig=rig)         a described rig: its strapping table, its entries
    found.fit                                      what the window and the command show
    foretell(found.model, other)                   the PV of another record of the same rig, simulated freely

The fit is by free simulation: the model sees the output, the draw and nothing of the PV but the limits between which
it begins, so that what it shows is what it would foretell.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.project import units
from levelbench.quantity import Dimension, rounded
from levelbench.records.measured import Measured
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.tuning.identify.choose import Tried, choose
from levelbench.tuning.identify.drive import between_scans, restless
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.intervals import doubted, known_of, noise_left
from levelbench.tuning.identify.law import Law, laws_of, scene_of
from levelbench.tuning.identify.on_rig import OnRig, on_rig, shown_as, swift_starts, volumes_of
from levelbench.tuning.identify.own_error import kept_own_error, with_own_error
from levelbench.tuning.identify.result import Fit
from levelbench.tuning.identify.rows import Ready, make_ready, must_move
from levelbench.tuning.identify.said import WITHHELD, Account, said
from levelbench.tuning.identify.solve import Found, Problem, improve, many_starts, pose
from levelbench.tuning.identify.thresholds import Tried as Threshold
from levelbench.tuning.identify.thresholds import estimates_of, law_without, seek

Floats = NDArray[np.float64]
Progress = Callable[[float], bool]

_SEARCHED = 1800  # samples of the shortened record in which the lowest place is searched
_LOOKS = 2500  # roughly, of a whole fit: for telling how far it is
_SWIFT = 2.0  # [s] a described rig's physics is never stepped further
_PART = 15000  # samples of the liveliest part of a long record, which tells what is swift
_COARSE, _FINE = 1500.0, 4000.0  # steps of the physics, at least, in a record of few samples: to search, to end with
_NEARLY = 1.05  # times the squares of another law: the project's thresholds stand
_FOLLOWED = 0.5  # of the time in which pump and sensor follow, a sample may take where a controller works between
_FIRST = 0.05  # of a record's samples tell its levels at the beginning
_FEWEST = 30  # samples for that


@dataclass(frozen=True, eq=False)
class Model:
    """A fitted physics that can be shown other records of the same rig: its law and the values of its parameters."""

    law: Law
    values: dict[str, float]
    floor: float = 0.0  # of the PV, in the record's unit
    rig: Rig | None = None  # that it describes


@dataclass(frozen=True, eq=False)
class Fitted:
    """What a fit gives: the account of it, the model for other records, and the laws that were tried."""

    fit: Fit
    model: Model
    tried: tuple[Tried, ...] = ()


class _Looks:
    """How far a fit is, told at every look at the record, and a way out at each."""

    def __init__(self, progress: Progress | None) -> None:
        self._progress, self._count = progress, 0

    def __call__(self) -> bool:
        self._count += 1
        if self._progress is None:
            return True
        return self._progress(1.0 - 1.0 / (1.0 + self._count / _LOOKS * 4.0))


def fit_physics(
    measured: Measured, *, upper: bool = False, rig: Rig | None = None, progress: Progress | None = None
) -> Fitted:
    """Fit a rig's physics to a record; `upper`: another tank feeds the measured one (not with a described rig).

    `progress` is told the share done; raises Cancelled when it answers False, FitError when the record says nothing.
    """
    if rig is not None and upper:
        raise FitError(
            "A described rig has one tank.", measured.name, "Fit two tanks without a project, in the record's own unit."
        )
    must_move(measured)
    looks = _Looks(progress)
    if rig is not None:
        return _of_rig(measured, rig, looks)
    ready = make_ready(measured)
    scene = scene_of(ready, measured.pv_unit)
    short = _shortened(measured)
    longest = min(short.step, short.lasts / _COARSE)
    best, tried = choose(laws_of(scene, upper=upper), short, floor=scene.floor, longest=longest, look=looks)
    problem = pose(best.law, ready, floor=scene.floor, longest=_finest(ready))
    start = _at_begins(problem, best.found.values)
    found = improve(problem, start, most=25, progress=looks)
    fit = said(known_of(found, ready), Account(measured, ready, scene.unit, tuple(tried), best))
    return Fitted(fit, Model(best.law, found.values, scene.floor), tried)


def _of_rig(measured: Measured, rig: Rig, looks: Callable[[], bool]) -> Fitted:
    """Fit what a described rig leaves open: its levels by its strapping table, its parameters by its entries."""
    record = between_scans(measured, rig.scan)
    seen = on_rig(record, rig)
    ready = make_ready(seen.measured)
    found, thresholds = _searched(seen, looks)
    problem = pose(found.problem.law, ready, longest=min(ready.step, _SWIFT))
    own = kept_own_error(improve(problem, _at_begins(problem, found.values), most=25, progress=looks), ready, looks)
    found = own.found
    known = known_of(found, ready)
    if restless(ready.output):
        other = replace(found.problem, noise=noise_left(found, ready))
        known = doubted(known, improve(other, found.values, most=15, progress=looks))
    doubts: tuple[str, ...] = ()
    if record is not measured:  # when a jump came is only known to a sample
        jumped = make_ready(replace(seen.measured, output=between_scans(measured, rig.scan, jumps=True).output))
        other = pose(found.problem.law, jumped, longest=found.problem.record.longest)
        known = doubted(known, improve(other, found.values, most=15, progress=looks))
        doubts = _too_sparse(measured, rig)
    more = estimates_of(thresholds, found, known.worth, measured.name)
    seen = replace(seen, notes=(*seen.notes, *own.words))
    account = Account(seen.measured, ready, units(rig.project).volume, (), None, seen, more, doubts)
    return Fitted(said(known, account), Model(found.problem.law, found.values, rig=rig))


def _searched(seen: OnRig, looks: Callable[[], bool]) -> tuple[Found, tuple[Threshold, ...]]:
    """Search a described rig's physics in the shortened record, then what is swift in the liveliest part."""
    rig, short = seen.rig, _shortened(seen.measured)
    laws = (seen.law,) if rig.params.pump.on_off else (seen.law, law_without(seen.law))
    firsts = [many_starts(pose(one, short), tried=40, kept=3, ended=2, progress=looks) for one in laws]
    first = firsts[0] if firsts[0].cost < _NEARLY * firsts[-1].cost else firsts[-1]
    first = with_own_error(first, short, looks)
    part = make_ready(liveliest(seen.measured, _PART))
    problem = pose(first.problem.law, part, longest=min(part.step, _SWIFT))
    start = _at_begins(problem, first.values)
    tried = [improve(problem, {**start, **swift}, most=14, progress=looks) for swift in ({}, *swift_starts(rig))]
    found = improve(problem, min(tried, key=lambda one: one.cost).values, most=25, progress=looks)
    return (found, ()) if rig.params.pump.on_off else seek(found, looks)


def _too_sparse(measured: Measured, rig: Rig) -> tuple[str, ...]:
    """Say so when a controller moved its output between two samples faster than pump and sensor follow."""
    sensor = rig.params.sensor
    follow = rig.params.pump.spin_up + sensor.averaging * sensor.update / 2 + float(rig.panel[kernel.P_PV_FILTER])
    if measured.step <= _FOLLOWED * follow:
        return ()
    return (
        f"Samples come every {rounded(measured.step, 2)} s, and pump and sensor follow within {rounded(follow, 2)} s: "
        f"what the controller did between samples is lost. {WITHHELD} Record faster, or move the output by hand.",
    )


def _finest(ready: Ready) -> float:
    """Give the longest step of the physics [s]: a few per sample where there are few samples."""
    return min(ready.step, ready.lasts / _FINE)


def _shortened(measured: Measured) -> Ready:
    """Give a long record in longer equal steps, for the search."""
    if len(measured) <= 2 * _SEARCHED:
        return make_ready(measured)
    return make_ready(measured.regular(measured.lasts / _SEARCHED).measured)


def liveliest(measured: Measured, most: int) -> Measured:
    """Give the stretch of so many samples in which the output moved most."""
    if len(measured) <= 1.5 * most:
        return measured
    moved = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(measured.output)))))
    begin = int(np.argmax(moved[most:] - moved[:-most]))
    return measured.part(float(measured.time[begin]), float(measured.time[begin + most]))


def _at_begins(problem: Problem, values: dict[str, float]) -> dict[str, float]:
    """Carry values over to a record that may be broken into other parts."""
    begins = {one.key: 0.5 if one.known is None else one.known for one in problem.begins}
    begins |= {key: value for key, value in values.items() if key in begins and key.endswith(".upper")}
    return {**values, **begins}


def foretell(model: Model, other: Measured, *, first: int | None = None) -> Floats:
    """Simulate another record of the same rig and give its PV, in that record's unit.

    Only `output` (and `draw`) of the other record drive the simulation. Its levels at the beginning are found from the
    PV of its `first` samples (else a twentieth of them, 30 at least); the PV of all others is not looked at.
    """
    count = max(_FEWEST, round(_FIRST * len(other))) if first is None else first
    if model.rig is not None:
        record = between_scans(other, model.rig.scan)
        seen = replace(record, pv=volumes_of(other, model.rig), pv_dimension=Dimension.VOLUME)
        return shown_as(_simulated(replace(model, rig=None), seen, count), other, model.rig)
    return _simulated(model, other, count)


def _simulated(model: Model, other: Measured, count: int) -> Floats:
    ready = make_ready(replace(other, pv=np.where(np.arange(len(other)) < count, other.pv, other.pv[:count].mean())))
    ready = replace(ready, begins=np.zeros(1, dtype=np.intp), part=np.zeros(len(other), dtype=np.intp))
    fixed = replace(model.law, free=(), fixed=model.law.values(model.values))
    judged = np.arange(len(other)) < count
    problem = pose(fixed, ready, floor=model.floor, longest=_finest(ready)).judging(judged)
    found = many_starts(problem, tried=40, kept=4)
    return problem.simulate(found.values)
