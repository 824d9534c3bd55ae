"""Every model that can be fitted to a record, by its key; and which of them a record deserves.

A model is judged by what it was not shown: it is fitted to the first 70 % of the record and has to foretell the last
30 % in free simulation. The plainest that does it nearly as well as the best is taken.

Source: M. Stone, J. R. Stat. Soc. B 36 (1974) 111-147: choice by what was held out.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Figure, Units, rounded
from levelbench.records.measured import Measured
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify import simple
from levelbench.tuning.identify.drive import between_scans
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.estimates import JUDGED
from levelbench.tuning.identify.found import FIRST_ORDER, INTEGRATING
from levelbench.tuning.identify.result import Fit

Progress = Callable[[float], bool]
Floats = NDArray[np.float64]

PHYSICS, TWO_TANKS, ALL = "physics", "two-tanks", "all"
TITLES = {  # the plainest first
    INTEGRATING: "integrating, with dead time",
    FIRST_ORDER: "first order, with dead time",
    PHYSICS: "the rig's physics",
    TWO_TANKS: "the physics of two tanks",
}
SHOWN = 0.7  # of the record
NEARLY = 1.1  # times the least error: a plainer model may stray so much more
FAR = 3.0  # times the least error: so much is given up for numbers that the record tells
_FEWEST = 40
HELD_OUT = "M. Stone, J. R. Stat. Soc. B 36 (1974) 111-147: choice by what was held out"


@dataclass(frozen=True)
class Weighed:
    """Models fitted to one record, the plainest first; `taken` is the place of the one to take, `words` say why.

    `foretold` has for each model the error of what it was not shown, None where it could not be tried; `refused` why a
    model could not be fitted at all, by its key.
    """

    fits: tuple[Fit, ...]
    foretold: tuple[Figure | None, ...]
    taken: int
    words: str
    refused: Mapping[str, str]


def fit_model(measured: Measured, model: str, rig: Rig | None = None, progress: Progress | None = None) -> Fit:
    """Fit one model; with a rig the record is of it. Raises FitError for one that can't be, and Cancelled."""
    if model in (INTEGRATING, FIRST_ORDER):
        record = measured if rig is None else between_scans(measured, rig.scan)
        return simple.fit(record, model, rises=None if rig is None else True, progress=progress)
    from levelbench.tuning.identify.physics import fit_physics  # noqa: PLC0415  (it brings the compiler)

    return fit_physics(measured, upper=model == TWO_TANKS, rig=rig, progress=progress).fit


def foretold_by(measured: Measured, model: str, rig: Rig | None = None, progress: Progress | None = None) -> Figure:
    """Fit a model to the first part of a record and give how far it strays from the rest, in free simulation.

    Raises FitError when either part says too little.
    """
    until = measured.time[0] + SHOWN * measured.lasts
    first = measured.part(measured.time[0], until)
    if len(first) < _FEWEST or len(measured) - len(first) < _FEWEST // 2:
        raise FitError("The record is too short to hold a part of it out.", measured.name, "Take a longer one.")
    if model in (INTEGRATING, FIRST_ORDER):
        whole = measured if rig is None else between_scans(measured, rig.scan)
        first = whole.part(measured.time[0], until)
        simulated = simple.foretell(first, whole, model, rises=None if rig is None else True, progress=progress)
    else:
        from levelbench.tuning.identify.physics import fit_physics, foretell  # noqa: PLC0415

        fitted = fit_physics(first, upper=model == TWO_TANKS, rig=rig, progress=progress)
        simulated = foretell(fitted.model, measured)
    error = float(np.sqrt(np.mean((measured.pv - simulated)[len(first) :] ** 2)))
    return Figure(
        "fit.foretold",
        "error of the part that was held out",
        error,
        measured.pv_dimension or Dimension.NUMBER,
        "√(mean of (PV − model)²) over the last 30 % of the record, simulated freely after a fit to the first 70 %",
        (("record", measured.name), ("samples held out", str(len(measured) - len(first)))),
        HELD_OUT,
    )


def weigh(
    measured: Measured, models: Sequence[str], rig: Rig | None = None, progress: Progress | None = None
) -> Weighed:
    """Fit several models, the plainest first, and say which to take. Raises FitError when none can be fitted."""
    fits: list[Fit] = []
    errors: list[Figure | None] = []
    refused: dict[str, FitError] = {}
    for at, model in enumerate(models):
        try:
            fits.append(fit_model(measured, model, rig, _share(progress, 2 * at, 2 * len(models))))
        except FitError as error:
            refused[model] = error
            continue
        try:
            errors.append(foretold_by(measured, model, rig, _share(progress, 2 * at + 1, 2 * len(models))))
        except FitError:
            errors.append(None)
    if not fits:
        raise next(iter(refused.values()))
    told = {model: str(error) for model, error in refused.items()}
    taken = _choice(fits, errors)
    return Weighed(tuple(fits), tuple(errors), taken, _why(fits, errors, taken), told)


def models_for(rig: Rig | None) -> tuple[str, ...]:
    """Give the models that make sense: a described rig has one tank."""
    return tuple(TITLES) if rig is None else (INTEGRATING, FIRST_ORDER, PHYSICS)


def _share(progress: Progress | None, at: int, of: int) -> Progress | None:
    """Give the progress of one step among several."""
    return None if progress is None else partial(_forward, progress, at, of)


def _forward(progress: Progress, at: int, of: int, share: float) -> bool:
    if not progress((at + min(share, 1.0)) / of):
        raise Cancelled
    return True


def _choice(fits: Sequence[Fit], errors: Sequence[Figure | None]) -> int:
    """Take the plainest that foretells nearly as well as the best; without any held-out part, by the leftovers.

    One whose own numbers the record can't tell is only taken when it foretells far better than all that are told.
    """
    known = [(one.si if one is not None else math.inf, at) for at, one in enumerate(errors)]
    if not any(math.isfinite(error) for error, _ in known):
        return int(np.argmin([one.rmse.si for one in fits]))
    told = [(error, at) for error, at in known if _is_told(fits[at])]
    least = min(error for error, _ in known)
    asked = told if told and min(told)[0] <= FAR * least else known
    limit = NEARLY * min(error for error, _ in asked)
    return next(at for error, at in asked if error <= limit)


def _is_told(fit: Fit) -> bool:
    return fit.process is not None and all(one.told_apart for one in fit.estimates if one.figure.key in JUDGED)


def _why(fits: Sequence[Fit], errors: Sequence[Figure | None], taken: int) -> str:
    """Say in words why one is taken."""
    best, of_best = fits[taken], errors[taken]
    if len(fits) == 1:
        return ""
    if of_best is None:
        return f"The record is too short to hold a part out; “{best.title}” leaves the least over."
    told = sorted(
        ((error.si, fit.title) for fit, error in zip(fits, errors, strict=True) if error is not None),
        key=lambda pair: pair[0],
    )
    least = max(told[0][0], 1e-300)
    others = ", ".join(f"“{title}” {rounded(error / least, 2)} times as far" for error, title in told[1:])
    words = f"Shown 70 % of the record and asked for the rest, “{told[0][1]}” strays least"
    words += f"; {others}. " if others else ". "
    if of_best.si == told[0][0]:
        return (
            f"{words}Take it." if _is_told(best) else f"{words}Take it to simulate; the record can't tell its numbers."
        )
    if of_best.si <= NEARLY * least:
        return f"{words}“{best.title}” is the plainest that does nearly as well: take it."
    return f"{words}But the record can't tell its numbers; take “{best.title}”, whose numbers it tells."


def shown_error(error: Figure, unit: str, units: Units) -> str:
    """Show an error in the unit of the PV."""
    if error.dimension is Dimension.NUMBER:
        return f"{rounded(error.si, 3)} {unit}"
    return units.tell(error)
