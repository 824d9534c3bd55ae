"""The run that candidates are judged by: at rest, then a set point step, then a load step; and what is measured of it.

The step is as `prediction` makes it: ten entry steps up from the starting set point. The load goes from the rig's draw
to the further end of the box's draws. Volumes are as the controller sees them without noise.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import Member, whole_scans
from levelbench.rig.panel import ENTRIES
from levelbench.tuning.loop import draw_at, loop_model, operating_point, pump_at
from levelbench.tuning.measures import Floats
from levelbench.tuning.prediction import ENTRY_STEPS, at_rest
from levelbench.tuning.response import OpenLoop
from levelbench.tuning.search.box import Box, Point
from levelbench.tuning.search.target import Loop

_LEAST_DELAY = 0.5  # [s] runs are laid out for at least so much
_BEFORE, _AFTER_STEP, _AFTER_LOAD = 5, 30, 20  # times the delay
_LONGEST = 3600.0  # [s] even for a step that the pump hardly makes
_OPENINGS = 33
_SUMMED = 400  # readings are summed in the time of a sub-step (measured)
_HOLDS = 1 / 3  # of the time after each change counts as holding


@dataclass(frozen=True)
class Measures:
    """What one run says.

    settling: after the step [s], infinite when it is not within one entry step in the end; overshoot [m3]; deviation:
    largest after the load [m3]; area: of that deviation over time [m3.s]; travel: output changes from the step on
    [1/s]; starts [1/s] while it holds.
    """

    settling: float
    overshoot: float
    deviation: float
    area: float
    travel: float
    starts: float


@dataclass(frozen=True)
class Scenario:
    """One rig of the box, at rest, with the two changes that are made and how it is laid out in scans."""

    name: str
    rig: Rig
    start: kernel.State
    seed: int
    low: float
    high: float
    load: tuple[int, float]  # panel entry, value
    step_at: int
    load_at: int
    scans: int

    @property
    def work(self) -> float:
        """How much work a run is, in sub-steps of the physics: each reading sums what the sensor averages."""
        params = self.rig.params
        readings = self.rig.scan / params.sensor.update
        return self.scans * (params.control.sub_steps + readings * params.sensor.averaging / _SUMMED)

    def member(self, loop: Loop) -> Member:
        """Give the run of a candidate: its settings are taken over before anything else happens, without a bump."""
        rows = [
            (0, kernel.P_GAIN, loop.settings.gain),
            (0, kernel.P_INTEGRAL, loop.settings.integral_time),
            (0, kernel.P_DERIVATIVE, loop.settings.derivative_time),
            (0, kernel.P_WEIGHT, loop.weight),
            (0, kernel.P_PV_FILTER, loop.pv_filter),
            (self.step_at, kernel.P_SET_POINT, self.high),
        ]
        if self.load_at < self.scans:
            rows.append((self.load_at, *self.load))
        return Member(self.rig, self.start, self.scans, self.seed, np.array(rows, dtype=np.float64))

    def measure(self, rows: NDArray[np.float64]) -> Measures:
        """Read a run: what comes after the step, and after the load."""
        band, scan = float(self.rig.panel[kernel.P_SP_STEP]), self.rig.scan
        tail = rows[-max((self.scans - self.step_at) // 8, 1) :]
        apart = rows[self.step_at :, 3] + (float(np.mean(tail[:, 2] - tail[:, 3])) - self.high)
        step, load = apart[: self.load_at - self.step_at], apart[self.load_at - self.step_at :]
        travel = float(np.abs(np.diff(rows[self.step_at :, 5])).sum()) / ((self.scans - self.step_at) * scan)
        lost = np.abs(load)
        ends_outside = bool(load.size) and float(lost[-1]) > band
        return Measures(
            math.inf if ends_outside else _settled(step, band) * scan,
            max(float(step.max()), 0.0),
            float(lost.max()) if load.size else 0.0,
            float(lost.sum()) * scan,
            travel,
            self._starts(rows[:, 13]),
        )

    def linear(self, loop: Loop) -> OpenLoop:
        """Give the linear loop of this rig with a candidate's settings."""
        slope, dead_time, lags = self._linear
        lags = (*lags, loop.pv_filter) if loop.pv_filter > 0 else lags
        return OpenLoop(slope, dead_time, lags, loop.settings, float(self.rig.panel[kernel.P_DERIVATIVE_FILTER]))

    @cached_property
    def _linear(self) -> tuple[float, float, tuple[float, ...]]:
        """Slope [m3/s], dead time [s] and lags [s] without the PV filter."""
        model = loop_model(_with(self.rig, kernel.P_PV_FILTER, 0.0))
        return model.slope.si, model.dead_time, model.lags

    def _starts(self, bits: Floats) -> float:
        """Give the starts while it holds [1/s]: the last part of what follows each change."""
        counted, seconds = 0, 0.0
        for begin, end in ((self.step_at, self.load_at), (self.load_at, self.scans)):
            window = bits[end - int((end - begin) * _HOLDS) : end].astype(np.int64) >> kernel.PUMP_RUNNING & 1
            counted += int(np.count_nonzero(np.diff(window) > 0))
            seconds += len(window) * self.rig.scan
        return counted / seconds if seconds else 0.0


def _settled(apart: Floats, band: float) -> float:
    """Give after how many scans it stays within the band; infinite when it is outside at the end."""
    outside = np.flatnonzero(np.abs(apart) > band)
    if not outside.size:
        return 0.0
    return math.inf if outside[-1] == len(apart) - 1 else float(outside[-1] + 1)


class Scenarios:
    """Makes the scenarios of one rig and one box: all are laid out alike, for the slowest rig of the box."""

    def __init__(self, rig: Rig, box: Box) -> None:
        panel = rig.panel
        size = ENTRY_STEPS * float(panel[kernel.P_SP_STEP])
        self.box = box
        self.high = min(float(panel[kernel.P_SET_POINT]) + size, float(panel[kernel.P_SP_HIGH]))
        self.low = max(self.high - size, float(panel[kernel.P_SP_LOW]))
        self._rig = replace(rig, panel=_with(rig, kernel.P_SET_POINT, self.low).panel)
        self._forced = rig.params.drain.kind == 3
        self._has_drain = rig.params.drain.kind != 0
        self._openings = self._table() if self._has_drain and not self._forced else ()
        self.delay, self._travel = self._slowest()

    def at(self, point: Point, seed: int, name: str = "") -> Scenario:
        """Give the scenario of one point of the box. Raises RigError when its pump gives no flow at the set point."""
        rig = at_rest(self._rig_at(point), self.low, self._setting(point.draw))
        step_at = whole_scans(rig, _BEFORE * self.delay)
        load_at = step_at + whole_scans(rig, self._travel + _AFTER_STEP * self.delay)
        scans = load_at + (whole_scans(rig, _AFTER_LOAD * self.delay) if self._has_drain else 0)
        draws = self.box.draw
        other = draws.most if draws.most - point.draw >= point.draw - draws.least else draws.least
        entry = ENTRIES["draw" if self._forced else "valve opening"].index
        load = (entry, self._setting(other))
        return Scenario(name, rig, rig.start(), seed, self.low, self.high, load, step_at, load_at, scans)

    def _rig_at(self, point: Point) -> Rig:
        """Give the rig of a point, its drain not set yet."""
        params = self._rig.params
        left = 1.0 - point.wear
        pump = params.pump._replace(
            largest_flow=params.pump.largest_flow * point.flow,
            slowest_flow=params.pump.slowest_flow * point.flow,
            left_by_wear=left,
            spin_up=point.spin_up,
        )
        ripple = params.sensor.ripple * (point.noise / params.sensor.noise if params.sensor.noise > 0 else 1.0)
        sensor = params.sensor._replace(noise=point.noise, ripple=ripple, averaging=point.averaging)
        return replace(self._rig, params=params._replace(pump=pump, sensor=sensor))

    def _setting(self, draw: float) -> float:
        """Give the drain's setting for a draw [m3/s]; wide open when the drain can't give so much."""
        if not self._openings:
            return draw if self._forced else 0.0
        openings, draws = self._openings
        return float(np.interp(draw, draws, openings))

    def _table(self) -> tuple[Floats, Floats]:
        openings = np.linspace(0.0, 1.0, _OPENINGS)
        draws = [draw_at(_with(self._rig, kernel.P_VALVE, float(one)), self.low) for one in openings]
        return openings, np.maximum.accumulate(np.array(draws))

    def _slowest(self) -> tuple[float, float]:
        """Give the longest delay of the box [s], and how long the weakest pump takes for the step [s]."""
        weak = self._rig_at(self.box.point((0.0, 1.0, 1.0, 1.0, 1.0, 1.0)))
        model = loop_model(_with(weak, kernel.P_PV_FILTER, 0.0))
        bare = max(model.total_delay.si, _LEAST_DELAY)
        smoothing = float(weak.panel[kernel.P_PV_FILTER])
        delay = bare + min(smoothing, bare)
        full = pump_at(weak.params.pump, math.inf, operating_point(weak).lift)[0]
        left = max(full - self.box.draw.most, 0.05 * full)
        return delay, min((self.high - self.low) / left, _LONGEST)


def _with(rig: Rig, entry: int, value: float) -> Rig:
    """Give the rig with one entry of its panel at another value."""
    panel = rig.panel.copy()
    panel[entry] = value
    return replace(rig, panel=panel)
