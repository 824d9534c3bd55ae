"""Whether what a model leaves over is noise: of itself, and of what went into the rig.

Sources:
[1] G. M. Ljung, G. E. P. Box, Biometrika 65 (1978) 297-303: the test of whiteness.
[2] L. Ljung, "System Identification: Theory for the User", 2nd edition (1999), section 16.6: against the input.
[3] A. Wald, J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147-162: the number of runs.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr

from levelbench.quantity import Dimension, Figure, rounded, written
from levelbench.tuning.identify.result import Verdict

Floats = NDArray[np.float64]

LJUNG_BOX = "G. M. Ljung, G. E. P. Box, Biometrika 65 (1978) 297-303"
AGAINST_INPUT = "L. Ljung, System Identification: Theory for the User, 2nd edition (1999), section 16.6"
RUNS = "A. Wald, J. Wolfowitz, Annals of Mathematical Statistics 11 (1940) 147-162"

ANSWERS = "fit.input"  # key of the test whether something of the output is left over
RARE = 0.01  # a chance below this counts as found
WEIGHT = 0.05  # a correlation below this matters to nobody, however surely it was found


def ljung_box(left: Floats, lags: int, fitted: int = 0) -> tuple[float, float]:
    """Give Q = n·(n + 2)·Σ r(k)²/(n − k) over `lags` lags, and how likely noise alone is to give more [1].

    `left`[n] are equally spaced; `fitted` numbers of a noise model were found from them and are taken off the degrees
    of freedom.
    """
    n = len(left)
    r = correlations(left, lags)
    q = n * (n + 2) * float(np.sum(r**2 / (n - np.arange(1, lags + 1))))
    return q, float(chdtrc(max(lags - fitted, 1), q))


def correlations(left: Floats, lags: int) -> Floats:
    """Give the correlation of a series with itself at 1 … `lags` samples[lags], its mean taken off."""
    away = left - left.mean()
    whole = float((away * away).sum())
    if whole == 0.0:
        return np.zeros(lags)
    return np.array([float((away[lag:] * away[:-lag]).sum()) / whole for lag in range(1, lags + 1)])


def runs(left: Floats) -> tuple[int, float]:
    """Give how many runs of one sign there are, and how likely so few or so many are by chance (both sides) [3]."""
    signs = left[left != 0.0] > 0
    up, down = int(signs.sum()), int((~signs).sum())
    count = int(np.count_nonzero(signs[1:] != signs[:-1])) + 1 if len(signs) else 0
    n = up + down
    if not up or not down or n < 3:
        return count, 0.0 if n > 8 else 1.0
    expected = 2 * up * down / n + 1
    spread = math.sqrt((expected - 1) * (expected - 2) / (n - 1))
    return count, float(2 * ndtr(-abs(count - expected) / spread)) if spread > 0 else 1.0


def against(left: Floats, driven: Floats, lags: int) -> tuple[float, float, int, float]:
    """Ask whether what is left over still answers to the input [2].

    Both[n] equally spaced, `left` white. Gives Q = Σ over 0 … lags of n·r(k)², which noise alone spreads as χ², with
    the correlations of the input among its own lags taken out; how likely more is; the lag of the largest; and that r.
    """
    n = len(left)
    driven = driven - driven.mean()
    left = left - left.mean()
    moves = np.stack([driven[lags - lag : n - lag] for lag in range(lags + 1)], axis=1)
    rest = left[lags:]
    size, whole = math.sqrt(float(rest @ rest)), np.linalg.norm(moves, axis=0)
    if size == 0.0 or not whole.all():
        return 0.0, 1.0, 0, 0.0
    each = (moves.T @ rest) / (whole * size)
    upper: Floats = np.asarray(np.linalg.qr(np.column_stack((moves / whole, rest / size)), mode="r"))
    told = np.abs(np.diag(upper)[:-1]) > 1e-6
    shares = upper[:-1, -1][told]
    q = len(rest) * float(shares @ shares)
    largest = int(np.argmax(np.abs(each)))
    return q, float(chdtrc(int(told.sum()), q)), largest, float(each[largest])


def verdicts(left: Floats, driven: Floats, fitted: int, step: float) -> tuple[Verdict, ...]:
    """Judge what is left over[n] after the noise model, equally spaced `step` [s], with the input that drove it."""
    lags = max(min(25, len(left) // 5), 2)
    return (
        _whiteness(left, max(lags, min(fitted + 5, len(left) // 3)), fitted),
        _dynamics(left, driven, lags, step),
        _runs(left),
    )


def _chance(key: str, name: str, chance: float, how: tuple[str, str], inputs: tuple[tuple[str, str], ...]) -> Figure:
    return Figure(key, name, chance, Dimension.PERCENT, how[0], inputs, how[1], resolution=0.001)


def _whiteness(left: Floats, lags: int, fitted: int) -> Verdict:
    q, chance = ljung_box(left, lags, fitted)
    largest = float(np.abs(correlations(left, lags)).max())
    figure = _chance(
        "fit.whiteness",
        "what is left over: one sample against those before (Ljung-Box)",
        chance,
        (
            "chance of a larger Q = n·(n + 2)·Σ r(k)²/(n − k), χ² of (lags less fitted) degrees of freedom",
            LJUNG_BOX,
        ),
        (("n", str(len(left))), ("lags", str(lags)), ("fitted", str(fitted)), ("Q", rounded(q, 4))),
    )
    if chance >= RARE:
        words = "What is left over is noise, as far as this test can see: the intervals stand."
        if fitted:
            words = "What is left over hangs together, as noise that remembers does; the intervals are wide for it."
        return Verdict(figure, True, words)
    if largest < WEIGHT:
        words = f"Surely not quite noise, but no correlation is larger than {rounded(largest, 2)}: of no weight."
        return Verdict(figure, True, words)
    words = (
        f"What is left over hangs together (correlation up to {rounded(largest, 2)}) beyond the noise that was "
        "allowed for: the intervals are widened for it, yet take them with care."
    )
    return Verdict(figure, False, words)


def _dynamics(left: Floats, driven: Floats, lags: int, step: float) -> Verdict:
    q, chance, lag, r = against(left, driven, lags)
    figure = _chance(
        ANSWERS,
        "what is left over: against the output before",
        chance,
        ("chance of a larger Q = n·Σ r², r over the lags with what they share taken out, χ²", AGAINST_INPUT),
        (("n", str(len(left))), ("lags", f"0 to {lags}"), ("Q", rounded(q, 4))),
    )
    if chance >= RARE:
        return Verdict(figure, True, "From one sample to the next nothing that is left over answers to the output.")
    if abs(r) < WEIGHT:
        return Verdict(
            figure, True, f"A trace of the output is left over (correlation {rounded(abs(r), 2)}): no weight."
        )
    words = (
        f"What is left over still answers to the output, most of all {written(lag * step, '.3g')} s later "
        f"(correlation {rounded(r, 2)}): the model lacks something that the rig does."
    )
    return Verdict(figure, False, words)


def _runs(left: Floats) -> Verdict:
    count, chance = runs(left)
    figure = _chance(
        "fit.runs",
        "what is left over: changes of sign",
        chance,
        ("chance of so far from the expected 2·n₊·n₋/n + 1 runs, normal approximation, both sides", RUNS),
        (("runs", str(count)), ("n", str(len(left)))),
    )
    share = count / max(len(left) / 2, 1)
    if chance >= RARE:
        return Verdict(figure, True, "Without what it remembers, its sign changes as often as that of noise.")
    if abs(share - 1) < WEIGHT:
        return Verdict(figure, True, "Its sign changes nearly as often as that of noise: no weight.")
    how = "seldom: the model runs beside the record for a while, again and again" if share < 1 else "often"
    return Verdict(figure, False, f"Its sign changes too {how}.")
