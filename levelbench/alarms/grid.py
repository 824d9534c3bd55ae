"""Every limit, dead band, on-delay and off-delay of a grid, tried on the noise: what each of them does.

Resting noise: closed forms where it is of independent samples or of first order (`rates`, `chain`), else the alarm's
own logic on a long row of it. Crossings and excursions: the logic on moving noise; of independent samples, their chain.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from levelbench.alarms import rates
from levelbench.alarms.chain import Chain
from levelbench.alarms.noise import FIRST_ORDER, WHITE, Spread
from levelbench.alarms.purpose import Purpose
from levelbench.rig import watching
from levelbench.rig.ensemble import spread as share_out

Floats = NDArray[np.float64]
Progress = Callable[[float], bool]
Place = tuple[int, int, int, int]  # limit, dead band, on-delay, off-delay

NEAR = 5.0  # σ on both sides of the limit between which a crossing is followed
WITHIN = 3.0  # σ on both sides that count as near it, for alarms by hour
_CROSSINGS, _PASSAGES = 60, 400
_WORK = 2_000_000  # samples of all crossings of one choice
_EXACT = 5_000_000  # samples × counts of the chain of independent ones
_LONGEST = 400_000  # samples of one crossing; a slower one is followed at this speed
_SAMPLES = 400_000  # of resting noise
_MOST_CUTS = 14
_FAR = 7.5  # σ: a limit so far away is never reached by normal noise in a lifetime


@dataclass(frozen=True)
class Choice:
    """A value that can be typed: its text, what it means (SI), and how it is shown ("US gal" where "gal" is typed)."""

    text: str
    si: float
    shown: str


@dataclass(frozen=True)
class Axes:
    """What is tried: limits and dead bands [m3], on-delays and off-delays [s]."""

    limits: tuple[Choice, ...]
    dead_bands: tuple[Choice, ...]
    ons: tuple[Choice, ...]
    offs: tuple[Choice, ...]

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """How many there are of each."""
        return len(self.limits), len(self.dead_bands), len(self.ons), len(self.offs)


@dataclass(frozen=True, eq=False)
class Grid:
    """What every choice does, by limits, dead bands, on-delays and off-delays unless said otherwise.

    share: of time that it stands falsely at rest; hourly [1/h]: false alarms at rest; missed: share of time that it is
    silent with the PV at the excursion's end; delay [s], by on-delays: until it tells of a true excursion, the PV's lag
    with it; sudden [s], by limits and on-delays: the same after a jump to its end; stays [s], by dead bands and
    off-delays: that it stands after the liquid is back at the limit; astray [s]: the means of delay and stays without
    their signs, since to tell too early is wrong as well; crossings, by all but the limits: alarms of one slow
    crossing, ± doubt of the same shape (99 %); closed: whether resting is by closed forms;
    followed [m3/s]: the speed at which crossings were followed; heard [h]: resting noise that was listened to.
    """

    axes: Axes
    share: Floats
    hourly: Floats
    missed: Floats
    delay: Floats
    sudden: Floats
    stays: Floats
    astray: tuple[Floats, Floats]
    crossings: Floats
    doubt: Floats
    closed: bool
    followed: float
    heard: float

    def wrong(self, at: Place) -> float:
        """Give the seconds [s] that a choice is wrong about each true excursion, in coming and in going."""
        coming, going = self.astray
        return float(coming[at[2]] + going[at[1], at[3]])

    def alarms(self, at: Place) -> float:
        """Give the alarms of one slow crossing."""
        return float(self.crossings[at[1:]])


def samples_of(delay: float, step: float) -> int:
    """Give the samples in a row that a delay [s] asks for, as the controller counts them: 1 without a delay."""
    return max(math.ceil((delay - 1e-9) / step), 0) + 1


def evaluate(spread: Spread, purpose: Purpose, axes: Axes, seed: int, progress: Progress | None = None) -> Grid:
    """Try every choice; the same seed gives the same answer. Raises Cancelled when `progress` answers False."""
    way = _slow_way(spread, purpose)
    noise = spread.long(max(_SAMPLES, way[2] * 2), seed)
    noise = noise if purpose.up else -noise
    trial = _Trial(spread, purpose, axes, noise, way)
    closed = trial.chain is not None or spread.kind == WHITE
    tasks = list(product(range(len(axes.dead_bands)), range(len(axes.ons))))
    found = share_out(tasks, lambda _runner, task: trial.one(*task), progress=progress)
    shape = axes.shape
    share, hourly, missed = (np.zeros(shape) for _ in range(3))
    crossings, doubt = np.zeros(shape[1:]), np.zeros(shape[1:])
    for (band, on), (rest, cross) in zip(tasks, found, strict=True):
        share[:, band, on], hourly[:, band, on], missed[:, band, on] = rest
        crossings[band, on], doubt[band, on] = cross
    come = np.array([trial.coming(one.si) for one in axes.ons])
    go = np.array([[trial.going(band.si, off.si) for off in axes.offs] for band in axes.dead_bands])
    heard, followed = len(noise) * spread.step / 3600, way[1] / spread.step
    astray = (np.abs(come).mean(axis=-1), np.abs(go).mean(axis=-1))
    delay, stays = come.mean(axis=-1), go.mean(axis=-1)
    sudden = np.array([[trial.jump(limit.si, on.si) for on in axes.ons] for limit in axes.limits])
    return Grid(axes, share, hourly, missed, delay, sudden, stays, astray, crossings, doubt, closed, followed, heard)


def _slow_way(spread: Spread, purpose: Purpose) -> tuple[float, float, int]:
    """Give from where a slow crossing is followed [m3], its steps [m3] and how many there are."""
    if spread.sigma <= 0.0:
        return -1.0, 2.0, 2
    slope = max(purpose.slow * spread.step, 2 * NEAR * spread.sigma / _LONGEST)
    return -NEAR * spread.sigma, slope, max(math.ceil(2 * NEAR * spread.sigma / slope), 8)


@dataclass(frozen=True, eq=False)
class _Trial:
    """One noise and one purpose; noise[n] grows towards the alarm."""

    spread: Spread
    purpose: Purpose
    axes: Axes
    noise: Floats
    way: tuple[float, float, int]

    @cached_property
    def chain(self) -> Chain | None:
        """Give the chain of first-order noise, where the limits that it reaches are few enough."""
        if self.spread.kind != FIRST_ORDER or self.purpose.both:
            return None
        cuts = set()
        for place in (self.purpose.normal, self.purpose.beyond):
            for limit in self.axes.limits:
                away = self._away(limit.si, place)
                if abs(away) < _FAR:
                    cuts |= {away} | {away - one.si / self.spread.sigma for one in self.axes.dead_bands}
        return Chain(self.spread.next, sorted(cuts)) if len(cuts) <= _MOST_CUTS else None

    def _away(self, limit: float, place: float) -> float:
        """Give how far a limit lies beyond a place of the PV, in standard deviations."""
        return self.purpose.sign * (limit - place) / self.spread.sigma

    def one(self, band: int, on: int) -> tuple[Floats, Floats]:
        """Try a dead band and an on-delay: three rows of limits by off-delays at rest, two of slow crossings."""
        dead_band = self.axes.dead_bands[band].si
        before = samples_of(self.axes.ons[on].si, self.spread.step)
        rest = np.zeros((3, len(self.axes.limits), len(self.axes.offs)))
        cross = np.zeros((2, len(self.axes.offs)))
        for at, off in enumerate(self.axes.offs):
            counts = (before, samples_of(off.si, self.spread.step))
            cross[:, at] = self._crossing(dead_band, counts)
            for place, limit in enumerate(self.axes.limits):
                share, by_sample = self._resting(limit.si, self.purpose.normal, dead_band, counts)
                told, _ = self._resting(limit.si, self.purpose.beyond, dead_band, counts)
                rest[:, place, at] = share, by_sample * 3600 / self.spread.step, 1.0 - told
        return rest, cross

    def _resting(self, limit: float, place: float, dead_band: float, counts: tuple[int, int]) -> tuple[float, float]:
        """Give the share of time in alarm and the alarms by sample with the PV resting at a place [m3]."""
        if self.spread.sigma <= 0.0:
            return (0.0 if self.purpose.sign * (limit - place) > 0 else 1.0), 0.0
        away, wide = self._away(limit, place), dead_band / self.spread.sigma
        if self.purpose.both and place == self.purpose.normal:
            return self._listened(np.abs(self.noise), limit, dead_band, counts)
        if self.spread.kind == WHITE:
            high, low = rates.above(away), 1.0 - rates.above(away - wide)
            return rates.share_in_alarm(high, low, *counts), rates.alarms_per_sample(high, low, *counts)
        if away < -2 * _FAR - wide:
            return 1.0, 0.0
        if self.chain is not None and abs(away) < _FAR:
            return self.chain.steady(away, wide, *counts)
        return self._listened(self.noise, away * self.spread.sigma, dead_band, counts)

    def _listened(self, values: Floats, limit: float, dead_band: float, counts: tuple[int, int]) -> tuple[float, float]:
        """Give the same by the alarm's own logic on a row of values."""
        if limit > self.loudest:
            return 0.0, 0.0
        came, stood = watching.resting(values, limit, dead_band, counts)
        return stood / len(values), came / len(values)

    @cached_property
    def loudest(self) -> float:
        """The farthest that the noise ever goes [m3]."""
        return float(np.abs(self.noise).max())

    def _crossing(self, dead_band: float, counts: tuple[int, int]) -> tuple[float, float]:
        """Give the alarms of one slow crossing, and how far that may be off."""
        if self.spread.sigma <= 0.0:
            return 1.0, 0.0
        first, slope, samples = self.way
        samples += counts[0]
        if samples > len(self.noise):  # the on-delay outlasts the whole crossing: it comes once, when all is beyond
            return 1.0, 0.0
        if self.spread.kind == WHITE and samples * sum(counts) <= _EXACT:
            places = (first + slope * np.arange(samples)) / self.spread.sigma
            safe = ndtr(-places - dead_band / self.spread.sigma)
            return float(watching.expected(ndtr(places), safe, counts)), 0.0
        many = int(min(max(_WORK // samples, 8), _CROSSINGS))
        starts = np.linspace(0, max(len(self.noise) - samples - 1, 0), many).astype(np.int64)
        found = watching.crossings(self.noise, starts, (first, slope, samples), dead_band, counts)
        apart = min(float(many), len(self.noise) / samples)  # crossings may share some of the noise
        return float(found.mean()), 2.7 * float(found.std(ddof=1)) / math.sqrt(apart)

    def coming(self, on: float) -> Floats:
        """Give for each excursion the time [s] from the liquid's crossing to the alarm, with an on-delay [s]."""
        return self.spread.lag + self._passing(self.noise, self.purpose.rate, on)

    def jump(self, limit: float, on: float) -> float:
        """Give the expected time [s] to the alarm when the liquid jumps from rest to the excursion's end."""
        step, count = self.spread.step, samples_of(on, self.spread.step)
        late = float(count - 1)
        if self.spread.sigma > 0.0:
            away = self._away(limit, self.purpose.beyond)
            if self.spread.kind == WHITE:
                at_rest = rates.above(self._away(limit, self.purpose.normal))
                late = rates.detection_delay(rates.above(away), count, at_rest)
            elif self.chain is not None and abs(away) < _FAR:
                late = self.chain.delay(away, count)
            elif away * self.spread.sigma > -self.loudest:
                late = self._heard(-away * self.spread.sigma, count)
        return self.spread.lag + late * step

    def _heard(self, over: float, count: int) -> float:
        """Give the mean samples until `count` in a row are beyond a limit that the PV rests above by so much [m3]."""
        samples = min(count + 10 * _PASSAGES, len(self.noise) // 2)
        starts = np.linspace(0, len(self.noise) - samples - 1, _PASSAGES).astype(np.int64)
        creep = 1e-12 * self.spread.sigma
        found = watching.passages(self.noise, starts, (over, creep, samples), count) - over / creep
        return float(found.mean())

    def going(self, dead_band: float, off: float) -> Floats:
        """Give for each the time [s] that the alarm stands after the liquid came back through the limit."""
        back = self.purpose.back
        return self.spread.lag + dead_band / back + self._passing(-self.noise, back, off)

    def _passing(self, noise: Floats, rate: float, delay: float) -> Floats:
        """Give for each the time [s] from crossing a limit at a rate [m3/s] to the end of a delay [s] beyond it."""
        step, sigma = self.spread.step, self.spread.sigma
        count, slope = samples_of(delay, step), rate * step
        before = math.ceil(min(6.0 * sigma / slope, 20_000.0)) + 1
        watched = min(count, len(noise) // 2 - before - 2)  # of a longer delay the rest is far from the limit and sure
        samples = 2 * before + 2 * watched + 2
        starts = np.linspace(0, max(len(noise) - samples - 1, 0), _PASSAGES).astype(np.int64)
        found = watching.passages(noise, starts, (-(before + 0.5) * slope, slope, samples), watched)
        return (found + float(count - watched)) * step
