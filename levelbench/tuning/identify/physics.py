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
from levelbench.records.measured import Measured
from levelbench.rig.assemble import Rig
from levelbench.tuning.identify.choose import Tried, choose
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.intervals import known_of, noise_left
from levelbench.tuning.identify.law import Law, laws_of, scene_of
from levelbench.tuning.identify.on_rig import on_rig, swift_starts
from levelbench.tuning.identify.result import Fit
from levelbench.tuning.identify.rows import Ready, make_ready
from levelbench.tuning.identify.said import Account, said
from levelbench.tuning.identify.solve import Found, Problem, improve, many_starts, pose

Floats = NDArray[np.float64]
Progress = Callable[[float], bool]

MODELS = ("physics", "two tanks")
_SEARCHED = 2500  # samples of the shortened record in which the lowest place is searched
_LOOKS = 2500  # roughly, of a whole fit: for telling how far it is
_COARSE, _FINE = 1500.0, 4000.0  # steps of the physics, at least, in a record of few samples: to search, to end with
_ROUNDS = 3  # of fit and noise in turn
_NO_WORSE = 1.03
_FIRST = 0.05  # of a record's samples tell its levels at the beginning
_FEWEST = 30  # samples for that


@dataclass(frozen=True, eq=False)
class Model:
    """A fitted physics that can be shown other records of the same rig: its law and the values of its parameters."""

    law: Law
    values: dict[str, float]
    floor: float = 0.0  # of the PV, in the record's unit


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
    _lively(measured)
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
    found = describe_noise(improve(problem, start, most=25, progress=looks), ready, looks)
    fit = said(known_of(found, ready), Account(measured, ready, scene.unit, tuple(tried), best))
    return Fitted(fit, Model(best.law, found.values, scene.floor), tried)


def _of_rig(measured: Measured, rig: Rig, looks: Callable[[], bool]) -> Fitted:
    """Fit what a described rig leaves open: its levels by its strapping table, its parameters by its entries."""
    seen = on_rig(measured, rig)
    ready, short = make_ready(seen.measured), _shortened(seen.measured)
    first = many_starts(pose(seen.law, short, longest=_finest(short)), tried=60, kept=3, progress=looks)
    problem = pose(seen.law, ready, longest=_finest(ready))
    start = _at_begins(problem, first.values)
    tried = [improve(problem, {**start, **swift}, most=7, progress=looks) for swift in ({}, *swift_starts(rig))]
    found = improve(problem, min(tried, key=lambda one: one.cost).values, most=25, progress=looks)
    found = describe_noise(found, ready, looks)
    account = Account(seen.measured, ready, units(rig.project).volume, (), None, seen)
    return Fitted(said(known_of(found, ready), account), Model(seen.law, found.values))


def _lively(measured: Measured) -> None:
    if np.ptp(measured.output) == 0.0:
        raise FitError(
            "The output stays the same through the whole record, so nothing can be told of what the pump does.",
            measured.name,
            "Take a record in which it moves: from nothing to its largest and back tells most.",
        )
    if np.ptp(measured.pv) == 0.0:
        raise FitError(
            "The PV stays the same through the whole record.",
            measured.name,
            "Look whether the right column was taken, and whether the sensor was alive.",
        )


def _finest(ready: Ready) -> float:
    """Give the longest step of the physics [s]: a few per sample where there are few samples."""
    return min(ready.step, ready.lasts / _FINE)


def _shortened(measured: Measured) -> Ready:
    """Give a long record in longer equal steps, for the search."""
    if len(measured) <= 2 * _SEARCHED:
        return make_ready(measured)
    return make_ready(measured.regular(measured.lasts / _SEARCHED).measured)


def _at_begins(problem: Problem, values: dict[str, float]) -> dict[str, float]:
    """Carry values over to a record that may be broken into other parts."""
    begins = {one.key: values.get(one.key, one.known if one.known is not None else 0.5) for one in problem.begins}
    return {**values, **begins}


def describe_noise(found: Found, ready: Ready, look: Callable[[], bool] | None = None) -> Found:
    """Fit once more with the noise described, in turn with it; what people did in answer to noise then biases nothing.

    Only where the free simulation strays no further by it: else what is left is no noise, but what the law lacks.
    Source: L. Ljung, System Identification: Theory for the User (1999), section 13.4: identification in closed loop.
    """
    newer = found
    for _ in range(_ROUNDS):
        left = (newer.problem.simulate(newer.values) - newer.problem.pv)[found.problem.judged]
        noise = noise_left(replace(newer, left=left), ready)
        newer = improve(replace(found.problem, noise=noise), newer.values, most=15, progress=look)
    return newer if newer.problem.strays(newer.values) < _NO_WORSE * found.problem.strays(found.values) else found


def foretell(model: Model, other: Measured, *, first: int | None = None) -> Floats:
    """Simulate another record of the same rig and give its PV [n], in the unit of the record that was fitted.

    Only `output` (and `draw`) of the other record drive the simulation. Its levels at the beginning are found from the
    PV of its `first` samples (else a twentieth of them, 30 at least); the PV of all others is not looked at.
    """
    count = max(_FEWEST, round(_FIRST * len(other))) if first is None else first
    ready = make_ready(replace(other, pv=np.where(np.arange(len(other)) < count, other.pv, other.pv[:count].mean())))
    ready = replace(ready, begins=np.zeros(1, dtype=np.intp), part=np.zeros(len(other), dtype=np.intp))
    fixed = replace(model.law, free=(), fixed=model.law.values(model.values))
    judged = np.arange(len(other)) < count
    problem = pose(fixed, ready, floor=model.floor, longest=_finest(ready)).judging(judged)
    found = many_starts(problem, tried=40, kept=4)
    return problem.simulate(found.values)
