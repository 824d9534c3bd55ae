"""Zero and span error of the sensor: found where a record tells them, else said what they would do to the rest.

In a tank that only fills and drains, a sensor that measures too much looks like a stronger pump and a wider valve: the
record tells the sensor's span error from the flows only by what doesn't follow it, a draw that was measured, the head
over the outlet, the lift, a full or an empty tank. So both errors are left as the project says unless their interval is
narrow, or what the project says lies far outside it. What is fitted beside them is then known less closely.

Sources:
[1] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), section 4.6: identifiability.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import written
from levelbench.tuning.identify.intervals import Known, known_of
from levelbench.tuning.identify.law import Parameter, Values
from levelbench.tuning.identify.on_rig import LEAK, SPAN, ZERO
from levelbench.tuning.identify.rows import Ready
from levelbench.tuning.identify.solve import Found, improve

Floats = NDArray[np.float64]
Look = Callable[[], bool]

_FAR = 2.0  # halves of its interval away from what the project says: there is an error, however wide the interval
_SEEN = 1e-3  # of a number by one per cent or one millimetre, at least, to be worth saying
_FARTHEST = 20.0  # of a logarithm: beyond any limit of a flow
_LEAKS = 0.2  # of what matters: a smaller leak is not worth saying
_BOTH = (ZERO, SPAN)
_TRIED = (_BOTH, (SPAN,), (ZERO,))


@dataclass(frozen=True, eq=False)
class OwnError:
    """A fit that knows the sensor's own errors as far as the record does, and what is to be said of the others."""

    found: Found
    words: tuple[str, ...]


def kept_own_error(found: Found, ready: Ready, look: Look | None = None) -> OwnError:
    """Keep those errors free that were freed in a shorter record, if this one tells them too. Raises Cancelled."""
    freed = [key for key in _BOTH if key in found.problem.law.free]
    if freed and not _tells(found, freed, ready):
        found, freed = _held(found, freed, look), []
    held = [key for key in _BOTH if key not in freed]
    return OwnError(found, _words_of(_freed(found, _BOTH), held) if held else ())


def with_own_error(found: Found, ready: Ready, look: Look | None = None) -> Found:
    """Free zero and span error where the record tells them; the others are held. Raises Cancelled."""
    both = _freed(found, _BOTH)
    for keys in _TRIED:
        foreseen = _step(both, keys)
        if not _tells(foreseen, keys, ready):
            continue
        newer = improve(_freed(found, keys).problem, foreseen.values, most=25, progress=look)
        if newer.cost <= found.cost and _tells(newer, keys, ready):
            return newer
    return found


def _freed(found: Found, keys: Sequence[str]) -> Found:
    """Give the same solution with these errors among what is fitted, at what the project says of them."""
    law = found.problem.law
    problem = replace(found.problem, law=law.freeing(keys, law.title))
    return improve(problem, {**{key: law.fixed[key] for key in keys}, **found.values}, most=0)


def _held(found: Found, keys: Sequence[str], look: Look | None) -> Found:
    """Give the solution with these errors held again at what the project says of them."""
    law = found.problem.law
    for key in keys:
        law = law.holding(key, law.fixed[key])
    return improve(replace(found.problem, law=law), found.values, most=25, progress=look)


def _step(both: Found, keys: Sequence[str]) -> Found:
    """Foresee where a fit with some of the errors would end up, by the derivatives at the solution without them."""
    free = both.problem.free
    law = both.problem.law
    for key in _BOTH:
        if key not in keys:
            law = law.holding(key, both.values[key])
    problem = replace(both.problem, law=law)
    slopes = both.slopes[:, [at for at, one in enumerate(free) if one in problem.free]]
    moves = np.linalg.lstsq(slopes, -both.left, rcond=None)[0]
    values = {one.key: _moved(one, both.values[one.key], by) for one, by in zip(problem.free, moves, strict=True)}
    return Found(problem, values, both.left + slopes @ moves, slopes)


def _moved(one: Parameter, value: float, by: float) -> float:
    moved = value * float(np.exp(np.clip(by, -_FARTHEST, _FARTHEST))) if one.by_ratio else value + by * one.matters
    return float(np.clip(moved, one.low, one.high))


def _tells(found: Found, keys: Sequence[str], ready: Ready) -> bool:
    known = known_of(found, ready)
    return all(_told(known, found.problem.law.parameter(key)) for key in keys)


def _told(known: Known, one: Parameter) -> bool:
    """Tell whether an error is known closely, or what the project says of it is far outside its interval."""
    at = known.found.problem.free.index(one)
    half = known.quantile * float(np.sqrt(known.covariance[at, at])) * one.matters
    said = known.found.problem.law.fixed[one.key]
    return half <= one.matters or abs(known.found.values[one.key] - said) > _FAR * half


# --- what is said of those that are held -----------------------------------------------------------------------------


def _words_of(both: Found, held: Sequence[str]) -> tuple[str, ...]:
    """Say for each error that was held what it was taken as, and what it would do to what was found."""
    free = both.problem.free
    others = [at for at, one in enumerate(free) if one.key not in held]
    words = []
    for key in held:
        one = both.problem.law.parameter(key)
        column = both.slopes[:, free.index(one)]
        along = -np.linalg.lstsq(both.slopes[:, others], column, rcond=None)[0]  # of the others, per step of it
        step = (0.01 if key == SPAN else 1e-3) / one.matters
        changes = [(free[at], _share(free[at], both.values, by * step)) for at, by in zip(others, along, strict=True)]
        words.append(_sentence(one, both.problem.law.fixed[key], changes))
    return tuple(words)


def _share(one: Parameter, values: Values, by: float) -> float:
    """Give by what share of itself a number changes, by so many of the solver's steps; a span error as it is."""
    if one.by_ratio or one.key == SPAN:
        return by if one.by_ratio else by * one.matters
    leaks = one.key == LEAK and values[LEAK] > _LEAKS * one.matters
    return by * one.matters / values[LEAK] if leaks else 0.0


def _sentence(one: Parameter, said: float, changes: Sequence[tuple[Parameter, float]]) -> str:
    shown, taken = ("1 %", f"{written(100 * said, '.3g')} %") if one.key == SPAN else (
        "1 mm", f"{written(1000 * said, '.3g')} mm")  # fmt: skip
    told = [f"{other.name} {written(100 * share, '+.2g')} %" for other, share in changes if abs(share) >= _SEEN]
    head = f"The record can't tell the {one.name}: taken as {taken}, as the project says."
    would = f" {shown} more of it would make: {', '.join(told)}." if told else ""
    more = "A draw that is measured along, or a dip stick at two levels, tells it." if one.key == SPAN else (
        "A dip stick tells it.")  # fmt: skip
    return f"{head}{would} {more}"
