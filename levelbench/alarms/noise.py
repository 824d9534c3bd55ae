"""How the PV scatters about a level: from the rig's own simulation, or from a record with its slow movement taken out.

Sources:
[1] A. Sokal, "Monte Carlo methods in statistical mechanics", in Functional Integration (1997) 131-192: the correlation
    time is summed to where it is a fifth of the lags.
[2] P. D. Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70-73: the spectrum.
[3] A. Savitzky & M. J. E. Golay, Anal. Chem. 36 (1964) 1627-1639: the moving parabola that is the slow movement.
[4] C. R. Dietrich & G. N. Newsam, SIAM J. Sci. Comput. 18 (1997) 1088-1107: noise of a given correlation.
[5] G. E. P. Box, G. M. Jenkins & G. C. Reinsel, Time Series Analysis (1994), 2.1: the spread of a sample correlation.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.signal import oaconvolve, savgol_coeffs, welch
from scipy.special import fdtri

from levelbench.alarms.chain import MOST_CORRELATED
from levelbench.alarms.errors import AlarmError
from levelbench.project import units
from levelbench.quantity import COMMON_PRACTICE, Dimension, Figure, Units, rounded, written
from levelbench.records.measured import Measured, Regular
from levelbench.rig import Cancelled, Rig, Session, kernel
from levelbench.tuning.loop import sensing_delay

Floats = NDArray[np.float64]
Progress = Callable[[float], bool]
D = Dimension

WHITE, FIRST_ORDER, OTHER = "is of independent samples", "fades as a single lag does", "fades in its own way"
SOKAL = "correlation time after A. Sokal (1997), summed to a fifth of the lags"
SPREAD = "standard deviation, by definition"
_HOURS, _FEWEST, _MOST = 12.0, 200_000, 500_000  # scans of a simulation: half a day, but not fewer and not more
_READINGS, _LEAST = 3_000_000, 5_000  # readings that are taken for it at most, where a scan has many; least scans
_SLICE = 20_000  # scans between two looks at progress
_SOKAL = 5.0
_ROUNDS = 8
_WIDE = 60.0  # correlation times that the moving parabola is wide [3]: a slower movement is not noise
_SHORT, _TOO_SHORT = 100.0, 20.0  # independent samples below which σ is rough (7 %), and of no use (16 %)
_BLOCKS = 6
_SMOOTH, _FINE = 3.2, 0.9  # how much more two steps lose than one: 4 for a parabola, 2 for a line; least ρ of a step
_ALIKE = 1.25  # ratio of σ that counts (common practice, no source)
_SURE = 0.995


@dataclass(frozen=True, eq=False)
class Spread:
    """Noise of a PV about a level. All are volumes in m3.

    noise[n] about 0, `step` [s] apart; place: mean of the PV; correlation: from 1 at lag 0 to where it is nothing;
    drift [m3/s]: a speed that the slow movement keeps nine tenths of the time below; wandered: how far it went; lag
    [s]: by which the PV follows the liquid; notes: what makes it doubtful, in words; source: where it comes from.
    """

    noise: Floats
    step: float
    place: float
    correlation: Floats
    drift: float
    wandered: float
    lag: float
    notes: tuple[str, ...]
    source: str

    @cached_property
    def sigma(self) -> float:
        """The standard deviation [m3]."""
        return float(np.sqrt(np.mean(self.noise**2)))

    @cached_property
    def memory(self) -> float:
        """The correlation time [s]: samples so far apart count as independent [1]."""
        return self.step * float(1.0 + 2.0 * self.correlation[1:].sum())

    @property
    def independent(self) -> float:
        """How many independent samples it is worth."""
        return len(self.noise) * self.step / self.memory

    @property
    def next(self) -> float:
        """The correlation of one sample with the next."""
        return float(self.correlation[1]) if len(self.correlation) > 1 else 0.0

    @property
    def pace(self) -> float:
        """The root mean square rate of change [1/s], in standard deviations; 0 for noise that has none that is finite.

        Where the correlation begins as a parabola, noise is smooth and its pace is √(2 (1 − ρ))/step; where it begins
        as a straight line, as after a single lag or an average alone, finer sampling would only find more.
        """
        if len(self.correlation) < 3 or not 1.0 - self.correlation[2] > _SMOOTH * (1.0 - self.correlation[1]) > 0.0:
            return 0.0
        return math.sqrt(2.0 * (1.0 - self.next)) / self.step if self.next > _FINE else 0.0

    @cached_property
    def kind(self) -> str:
        """WHITE, FIRST_ORDER or OTHER: which closed forms may be used."""
        if self.sigma <= 0.0:
            return WHITE
        doubt = 3.0 * math.sqrt(float(np.sum(self.correlation**2)) * 2.0 / len(self.noise))  # [5]
        tails = float(np.mean(self.noise**4)) / self.sigma**4 - 3.0
        if abs(tails) > 0.2 + 4.0 * math.sqrt(24.0 / self.independent):
            return OTHER
        if np.all(np.abs(self.correlation[1:6]) <= max(0.02, doubt)):
            return WHITE
        fades = self.next ** np.arange(len(self.correlation))
        alike = np.abs(self.correlation - fades) <= max(0.05, doubt)
        return FIRST_ORDER if alike.all() and 0.0 < self.next <= MOST_CORRELATED else OTHER

    def spectrum(self) -> tuple[Floats, Floats]:
        """Give frequencies [Hz] and the density [m3²·s] at each [2]."""
        found, density = welch(self.noise, 1.0 / self.step, nperseg=min(len(self.noise), 4096))
        return np.asarray(found[1:]), np.asarray(density[1:])

    def long(self, samples: int, seed: int) -> Floats:
        """Give so many samples of such noise: its own; where there are too few, normal noise that fades alike [4]."""
        if len(self.noise) >= samples or self.sigma <= 0.0:
            return self.noise if self.sigma > 0.0 else np.zeros(samples)
        lags = len(self.correlation)
        size = 1 << (samples + 2 * lags).bit_length()
        around = np.zeros(size)
        around[:lags] = self.correlation * _fading(lags)
        around[-lags + 1 :] = around[1:lags][::-1] if lags > 1 else around[-lags + 1 :]
        power = np.maximum(np.fft.rfft(around).real, 0.0)
        fresh = np.fft.rfft(np.random.default_rng(seed).standard_normal(size))
        made = np.fft.irfft(fresh * np.sqrt(power), size)[:samples]
        return np.asarray(made * (self.sigma / np.sqrt(np.mean(made**2))))

    def figures(self, shown_in: Units) -> tuple[Figure, ...]:
        """Give what is known of the noise as figures."""
        fine, by = max(self.sigma / 100, 1e-15), (("from", self.source),)
        counted = (*by, ("samples", str(len(self.noise))), ("step", shown_in.show(self.step, D.TIME)))
        found = [
            Figure("noise.sigma", "spread of the PV (σ)", self.sigma, D.VOLUME, "√(mean of squares about the slow "
                   "movement)", counted, SPREAD, fine, nought="the PV stands still"),
            Figure("noise.memory", "correlation time of the noise", self.memory, D.TIME, "step × (1 + 2 Σ ρ)",
                   (*counted, ("ρ of the next sample", written(self.next, ".3f"))), SOKAL, self.memory / 100),
            Figure("noise.independent", "independent samples", self.independent, D.NUMBER,
                   "samples × step/correlation time", counted, SOKAL, 1.0),
        ]  # fmt: skip
        if self.drift > 0:
            found.append(
                Figure("noise.drift", "slow movement, speed", self.drift, D.FLOW,
                       "nine tenths of the time its slope is less", by, COMMON_PRACTICE, self.drift / 100)
            )  # fmt: skip
        return tuple(found)


# --- from the rig ----------------------------------------------------------------------------------------------------


def from_rig(
    rig: Rig, place: float, *, filling: float = 1.0, seed: int = 1, progress: Progress | None = None
) -> Spread:
    """Simulate the PV with the liquid standing still at a volume [m3], through sensor, averaging, converter and filter.

    filling: share of its largest flow at which the pump would run, for the ripple. Raises Cancelled when `progress`
    answers False, and AlarmError for a level that the sensor can't tell.
    """
    held = _held(rig, place, filling)
    total = int(min(max(_HOURS * 3600 / rig.scan, _FEWEST), _MOST))
    total = min(total, max(int(_READINGS * rig.params.sensor.update / rig.scan), _LEAST))
    settle = _settling(rig)
    session = Session(held, seed)
    rows = [session.advance(settle).rows[-1:, 2]]
    while session.scans < settle + total:
        if progress is not None and not progress((session.scans - settle) / total):
            raise Cancelled
        chunk = session.advance(min(_SLICE, settle + total - session.scans)).rows
        if (chunk[:, 13].astype(np.int64) >> kernel.SENSOR_FAILED & 1).any():
            raise AlarmError(
                "There the sensor's signal counts as failed: it can't tell that level.",
                "sensor.signal_span",
                "Choose a limit within what the sensor sees, or change the sensor.",
            )
        rows.append(chunk[:, 2].copy())
    pv = np.concatenate(rows)
    mean = float(pv.mean())
    noise = pv - mean
    said = f"the rig's own simulation, {total * rig.scan / 3600:.0f} h with the liquid standing still, seed {seed}"
    notes = []
    if np.ptp(pv) <= 1e-12 * abs(mean):
        noise = np.zeros_like(noise)
        notes.append("The PV does not move at all at that level: its steps hide the noise, or it stands at an end.")
    if abs(mean - place) > 5 * noise.std() + 0.01 * abs(place):
        shown = units(rig.project)
        notes.append(f"There the PV reads {shown.show(mean, D.VOLUME, place / 500)}: the sensor can't tell that level.")
    return Spread(noise, rig.scan, mean, correlation_of(noise), 0.0, 0.0, lag_of(rig), tuple(notes), said)


def lag_of(rig: Rig) -> float:
    """Give by how much the PV follows the liquid [s]; the wait for the next scan is in the samples themselves."""
    return sum(one.si for one in sensing_delay(rig) if one.key != "delay.scan")


def _settling(rig: Rig) -> int:
    """Give the scans until average and filter have forgotten how they began."""
    sensor = rig.params.sensor
    seconds = (sensor.averaging + 1) * sensor.update + 8 * float(rig.panel[kernel.P_PV_FILTER])
    return math.ceil(seconds / rig.scan) + 10


def _held(rig: Rig, place: float, filling: float) -> Rig:
    """Give the rig with the liquid held still at a volume [m3], and the noise of a pump at a share of its flow."""
    params, start = rig.params, rig.project.start
    noise = math.hypot(params.sensor.noise, params.sensor.ripple * filling)
    still = params._replace(
        tank=params.tank._replace(leak=0.0),
        pump=params.pump._replace(stopped_coefficient=0.0),
        drain=params.drain._replace(kind=0),
        sensor=params.sensor._replace(noise=noise, ripple=0.0),
        control=params.control._replace(sub_steps=1),
    )
    panel = rig.panel.copy()
    panel[kernel.P_MAINS] = 0.0
    volume = min(max(place, 0.0), params.tank.spill_volume)
    project = replace(rig.project, start=replace(start, tank_volume=replace(start.tank_volume, si=volume)))
    return replace(rig, project=project, params=still, panel=panel)


# --- from a record ---------------------------------------------------------------------------------------------------


def from_measured(measured: Measured, *, near: float | None = None) -> Spread:
    """Give the noise of a record's PV, its slow movement taken out; near [m3]: the part of it that is nearest is taken.

    Raises AlarmError for a PV that is no volume, and for a record too short to say anything.
    """
    if measured.pv_dimension is not D.VOLUME:
        raise AlarmError(
            f"The PV of the record is in {measured.pv_unit or 'no unit'}, and limits are volumes.",
            measured.name,
            "Say that the record is of this rig, so that a level becomes a volume by its table.",
        )
    notes: list[str] = []
    time, pv = _longest(measured.regular(), notes)
    step = float(time[1] - time[0])
    parted = _parted(pv, notes)
    noise, slow = parted.noise, parted.slow
    if near is not None:
        cut = _nearest(slow, float(noise.std()), near)
        if not slow.min() - 3 * noise.std() <= near <= slow.max() + 3 * noise.std():
            notes.append("The record never comes near that limit; there the noise may be another.")
        noise, slow = noise[cut], slow[cut]
    noise = (noise - noise.mean()) / math.sqrt(1.0 - parted.taken)
    correlation = _lifted(correlation_of(noise), parted.taken)
    said = f"the record “{measured.name}”, {len(noise) * step:.0f} s of it"
    drift = float(np.quantile(np.abs(np.gradient(slow, step)), 0.9)) if len(slow) > 2 else 0.0
    spread = Spread(noise, step, float(slow.mean()), correlation, drift, float(np.ptp(slow)), 0.0, (), said)
    return replace(spread, notes=(*notes, *_doubts(spread)))


def _longest(regular: Regular, notes: list[str]) -> tuple[Floats, Floats]:
    """Give time and PV of the longest stretch without a gap."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], regular.whole.astype(np.int8), [0]))))
    begins, ends = edges[::2], edges[1::2]
    at = int(np.argmax(ends - begins))
    cut = slice(int(begins[at]), int(min(ends[at], begins[at] + _MOST)))
    if len(begins) > 1:
        share = (cut.stop - cut.start) / len(regular.whole)
        notes.append(f"The record has gaps; the longest stretch without one is taken, {100 * share:.0f} % of it.")
    return regular.measured.time[cut], regular.measured.pv[cut]


@dataclass(frozen=True, eq=False)
class _Parted:
    """A PV parted into noise and slow movement; taken: the share of the noise's variance that went with the latter."""

    noise: Floats
    slow: Floats
    taken: float


def _parted(pv: Floats, notes: list[str]) -> _Parted:
    """Part a PV into noise and slow movement, which is a moving parabola [3].

    The parabola is as wide as many correlation times, which are known only when it was taken away: so again and again.
    Where the record is too short for that, a straight line is all that is taken away.
    """
    most = len(pv) // 3
    wide = _odd(min(201, most))
    for _ in range(_ROUNDS):
        found = _without_parabola(pv, wide)
        correlation = _lifted(correlation_of(found.noise), found.taken)
        wanted = _odd(int(max(_WIDE * (1.0 + 2.0 * correlation[1:].sum()), 21.0)))
        if wanted <= 1.1 * wide:
            return found
        if wanted > most:
            break
        wide = wanted
    notes.append("The record is too short to tell noise from slow movement: a straight line was taken away, no more.")
    time = np.arange(len(pv), dtype=np.float64)
    slow = np.polyval(np.polyfit(time, pv - pv[0], 1), time) + pv[0]
    return _Parted(pv - slow, slow, 0.0)


def _without_parabola(pv: Floats, wide: int) -> _Parted:
    """Take a moving parabola of so many samples away, and reckon what it took of the noise."""
    weights, half = savgol_coeffs(wide, 2), wide // 2
    slow = np.asarray(oaconvolve(pv - pv[0], weights, mode="valid")) + pv[0]
    noise = pv[half : len(pv) - half] - slow
    correlation = correlation_of(noise)
    away = np.abs(np.arange(-half, half + 1))
    taken = float(np.sum(weights * np.interp(away, np.arange(len(correlation)), correlation, right=0.0)))
    return _Parted(noise, slow, min(max(taken, 0.0), 0.75))


def _odd(count: int) -> int:
    return max(count | 1, 5)


def _nearest(slow: Floats, sigma: float, near: float) -> slice:
    """Give the block whose mean is nearest to a volume [m3], with those beside it that lie alike."""
    count = min(8, max(1, len(slow) // 500))
    ends = np.linspace(0, len(slow), count + 1).astype(int)
    means = np.array([float(slow[a:b].mean()) for a, b in pairwise(ends)])
    best = int(np.argmin(np.abs(means - near)))
    fits = np.abs(means - means[best]) <= 3.0 * sigma + 0.1 * float(np.ptp(slow))
    low = high = best
    while low > 0 and fits[low - 1]:
        low -= 1
    while high + 1 < count and fits[high + 1]:
        high += 1
    return slice(int(ends[low]), int(ends[high + 1]))


def _doubts(spread: Spread) -> list[str]:
    """Say what makes a spread doubtful; raises AlarmError when nothing can be said."""
    count = spread.independent
    if spread.sigma <= 0.0:
        return ["The PV of the record does not move: a repeated value, or steps wider than the noise."]
    if count < _TOO_SHORT:
        raise AlarmError(
            f"The record is worth {count:.0f} independent samples: its noise fades in {rounded(spread.memory, 3)} s.",
            spread.source,
            f"Record at least {_SHORT * spread.memory:.0f} s with the PV at rest.",
        )
    found = []
    if count < _SHORT:
        doubt = 100 / math.sqrt(2 * count)
        found.append(
            f"The record is short: {count:.0f} independent samples, so σ may be wrong by {doubt:.0f} %. "
            f"Record {_SHORT * spread.memory:.0f} s or more."
        )
    blocks = [float(np.sqrt(np.mean(one**2))) for one in np.array_split(spread.noise, _BLOCKS)]
    least, most = min(blocks), max(blocks)
    free = max(count / _BLOCKS - 1, 1.0)
    sure = 1.0 - (1.0 - _SURE) / (_BLOCKS * (_BLOCKS - 1) / 2)
    if most > _ALIKE * least and (least <= 0 or (most / least) ** 2 > float(fdtri(free, free, sure))):
        times = rounded(most / max(least, 1e-300), 2)
        found.append(
            f"The noise is not the same all along: in one sixth of the record it is {times} times that of another. "
            "Take a stretch in which nothing else happens, or design for the worse."
        )
    if len(np.unique(spread.noise.round(15))) < 8:
        found.append("The PV moves in steps about as wide as the noise.")
    return found


def correlation_of(noise: Floats) -> Floats:
    """Give the correlation of noise with itself from lag 0 to where it is nothing any more [1]."""
    count = len(noise)
    most = max(min(count // 4, 20_000), 1)
    if not noise.any():
        return np.ones(1)
    size = 1 << (count + most).bit_length()
    power = np.abs(np.fft.rfft(noise, size)) ** 2
    every = np.fft.irfft(power, size)[: most + 1]
    every = every / every[0]
    times = 1.0 + 2.0 * np.cumsum(every[1:])
    lags = np.arange(1, most + 1)
    far = np.flatnonzero(lags >= _SOKAL * np.maximum(times, 1.0))
    until = int(far[0]) + 1 if len(far) else most
    return np.asarray(every[: until + 1])


def _lifted(correlation: Floats, taken: float) -> Floats:
    """Give a correlation back what went with the slow movement: about the same at every lag that is short beside it."""
    return np.asarray(correlation + taken * (1.0 - correlation))


def _fading(lags: int) -> Floats:
    """Give the weights that bring a correlation to nothing at its last lag: 1 over the first half, then a cosine."""
    share = np.arange(lags) / lags
    return np.where(share < 0.5, 1.0, 0.5 * (1.0 + np.cos(2.0 * math.pi * (share - 0.5))))
