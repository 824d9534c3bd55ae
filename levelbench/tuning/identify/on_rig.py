"""The physics of a described rig, held against a record of it: what the project leaves open is fitted.

Levels come from the strapping table, the drain's flow from its own tube and valve, the lift from both surfaces. Fitted
are the pump's flows and delays, the drain's valve (or its draw), a leak, and the noise of the readings; zero and span
error of the sensor where the record tells them (`own_error`).
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Figure
from levelbench.records.measured import Measured
from levelbench.rig import kernel, plant
from levelbench.rig.assemble import Rig
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.law import Law, Parameter, Values
from levelbench.tuning.identify.result import Estimate
from levelbench.tuning.identify.thresholds import NAMES, STALLS, STARTS

Floats = NDArray[np.float64]
D = Dimension
KEY = "physics"
LEAK, ZERO, SPAN = "tank.leak", "sensor.zero_error", "sensor.span_error"
_ROOTS = 64  # rows of the drain's table
_VOLUMES = 2001  # rows of the level's table
_CLOSELY = 0.2  # of a reading's noise: what the project says of ripple and steps is known no closer
_ZERO_MATTERS, _SPAN_MATTERS = 0.01, 0.02  # of the levels that the signal spans; of what is measured
_SHARE = 1e-3  # of the largest flow, between it and the slowest at least


@dataclass(frozen=True, eq=False)
class OnRig:
    """A record in the rig's volume, with the law that it is held against."""

    rig: Rig
    measured: Measured
    law: Law
    notes: tuple[str, ...]


def on_rig(measured: Measured, rig: Rig) -> OnRig:
    """Make a record ready for a described rig; raises FitError when its PV can't be turned into a volume."""
    record = replace(measured, pv=volumes_of(measured, rig), pv_dimension=D.VOLUME)
    notes: list[str] = []
    gravity = rig.params.drain.kind in (1, 2)
    if gravity and measured.draw is None:
        notes.append(
            "The valve's opening was taken as it stands in the project through the whole record: valve and opening can "
            "only be told as a product, so the opening is left and the valve fitted."
        )
    if rig.params.pump.left_by_wear < 1.0:
        notes.append("Wear and flow of the pump can only be told as a product: the wear is left as it is.")
    if rig.params.pump.on_off:
        notes.append("The pump is switched: its flow is taken as the output's share of its full flow.")
    if _draw_unknown(rig, measured):
        notes.append("A leak and a draw that nobody measured can only be told together: the leak is left as it is.")
    return OnRig(rig, record, _law(rig, record), tuple(notes))


def volumes_of(measured: Measured, rig: Rig) -> Floats:
    """Give the PV of a record as a volume [m3]; raises FitError when it can't be turned into one."""
    if measured.pv_dimension is D.VOLUME:
        return measured.pv
    if measured.pv_dimension is D.LENGTH:
        return rig.strapping.volume_at(measured.pv)
    if measured.pv_dimension is D.PERCENT:
        low, high = rig.span
        return low + measured.pv * (high - low)
    raise FitError(
        f"A PV in “{measured.pv_unit or 'no unit'}” can't be turned into a volume.",
        measured.name,
        "Say its unit (a volume, a level or a percentage of the span), or fit without the project.",
    )


def shown_as(volumes: Floats, measured: Measured, rig: Rig) -> Floats:
    """Give volumes [m3] as the PV of a record: a volume, a level [m], or a share of the span."""
    if measured.pv_dimension is D.LENGTH:
        return rig.strapping.level_at(volumes)
    if measured.pv_dimension is D.PERCENT:
        low, high = rig.span
        return (volumes - low) / (high - low)
    return volumes


# --- the law ---------------------------------------------------------------------------------------------------------


def _law(rig: Rig, measured: Measured) -> Law:
    parameters = (*_flows(rig, measured), *_rest(rig))
    built = _Builder(rig, measured)
    fixed = {one.key: one.known for one in parameters if one.known is not None}
    kept = [ZERO, SPAN, STARTS, STALLS] + [LEAK] * _draw_unknown(rig, measured)
    free = [one.key for one in parameters if one.key not in kept]
    return Law(
        KEY, "the rig as it is described", parameters, tuple(free), built, fixed, described=True, settles=_settles(rig)
    )


def _settles(rig: Rig) -> float:
    """Give how long what pump, sensor and filter held before shows in the PV [s]."""
    sensor = rig.params.sensor
    return 10 * (rig.params.pump.spin_up + float(rig.panel[kernel.P_PV_FILTER])) + 3 * sensor.averaging * sensor.update


def _flows(rig: Rig, measured: Measured) -> tuple[Parameter, ...]:
    """Declare the flows, the most basic first."""
    pump, drain = rig.params.pump, rig.params.drain
    known = pump.left_by_wear * pump.largest_flow
    found = [Parameter("pump.largest", "pump's flow at 100 %", D.FLOW, known / 20, 20 * known, known / 10, known, True)]
    if measured.draw is None and drain.kind in (1, 2):
        coefficient = drain.coefficient
        found.append(
            Parameter("drain.coefficient", "valve of the drain, wide open", D.FLOW_COEFFICIENT, coefficient / 100,
                      20 * coefficient, coefficient / 10, coefficient, True)
        )  # fmt: skip
    if measured.draw is None and drain.kind == 3:
        draw = float(rig.panel[kernel.P_DRAW])
        found.append(Parameter("drain.draw", "draw", D.FLOW, 0.0, 20 * known, known / 10, draw))
    if not pump.on_off:
        slowest = pump.left_by_wear * pump.slowest_flow
        found += [Parameter(STARTS, NAMES[STARTS], D.PERCENT, 0.0, 1.0, 0.05, pump.starts_at),
                  Parameter(STALLS, NAMES[STALLS], D.PERCENT, 0.0, 1.0, 0.05, pump.stalls_at)]  # fmt: skip
        found.append(
            Parameter("pump.slowest", "pump's slowest steady flow", D.FLOW, 0.0, 0.9 * known, known / 10, slowest)
        )
    return tuple(found)


def _rest(rig: Rig) -> tuple[Parameter, ...]:
    """Declare delays, leak and what the sensor may do."""
    pump = rig.params.pump
    means = (rig.params.sensor.averaging - 1) * rig.params.sensor.update
    flow = pump.left_by_wear * pump.largest_flow
    delays = (
        Parameter("sensor.averaging", "time over which the sensor averages", D.TIME, 0.0, max(10 * means, 60.0),
                  max(means, 1.0), means),
        Parameter("pump.spin_up", "spin-up of the pump", D.TIME, 0.0, 60.0, max(pump.spin_up, 1.0), pump.spin_up),
    )  # fmt: skip
    said, tank = rig.project.sensor, rig.project.tank
    spans = abs(rig.params.sensor.at_20 - rig.params.sensor.at_4)
    sensor = (
        Parameter(ZERO, "zero error of the sensor", D.LENGTH, -spans, spans, _ZERO_MATTERS * spans,
                  said.zero_error.si),
        Parameter(SPAN, "span error of the sensor", D.PERCENT, -0.3, 0.3, _SPAN_MATTERS, said.span_error.si),
    )  # fmt: skip
    where = "from a full tank" if tank.leak_at is None else f"at {tank.leak_at.shown}"
    leak = Parameter(LEAK, f"leak {where}", D.FLOW, 0.0, flow, flow / 20, tank.leak.si)
    return (*delays, leak, *sensor)


def _draw_unknown(rig: Rig, measured: Measured) -> bool:
    """Tell whether something draws a prescribed flow that nobody measured."""
    return measured.draw is None and rig.params.drain.kind == 3


def swift_starts(rig: Rig) -> tuple[dict[str, float], ...]:
    """Give starts for what is too swift for the shortened record: averaging and spin-up each make up for the other."""
    whole = max((rig.params.sensor.averaging - 1) * rig.params.sensor.update + rig.params.pump.spin_up, rig.scan)
    shares = ((0.1, 0.6), (1.5, 0.1), (0.4, 0.2))
    return tuple({"sensor.averaging": whole * mean, "pump.spin_up": whole * lag} for mean, lag in shares)


def waiting(rig: Rig) -> float:
    """Give what passes on average between a moment and the reading that tells of it, beyond averaging [s]."""
    waits = rig.params.pump.cycle / 2 if rig.params.pump.on_off else 0.0
    return max(rig.params.sensor.update - rig.scan, 0.0) / 2 + waits


class _Builder:
    """Builds the compiled plant of a rig from the values of its law."""

    def __init__(self, rig: Rig, measured: Measured) -> None:
        self._rig = rig
        self._drained = measured.draw is None and rig.params.drain.kind in (1, 2)
        strapping = rig.strapping
        volumes = np.linspace(0.0, float(strapping.volumes[-1]), _VOLUMES)
        self._levels = np.asarray(strapping.level_at(volumes), dtype=np.float64)
        self._volume_step = float(volumes[1])
        self._root_step = math.sqrt(max(float(strapping.levels[-1]) - rig.params.drain.outlet, 1e-6)) / (_ROOTS - 1)
        self._flows = lru_cache(64)(self._drain_table)
        self._shown, self._shown_step = _shown_table(rig)
        spill = float(strapping.level_at(rig.params.tank.spill_volume))
        stated = rig.project.tank.leak_at
        self._leaks_at = math.sqrt(spill if stated is None else stated.si)

    def _drain_table(self, coefficient: float) -> Floats:
        """Give the drain's flow [m3/s] at equal steps of √head, by the scan's own law."""
        drain = self._rig.params.drain._replace(coefficient=coefficient)
        opening = float(self._rig.panel[kernel.P_VALVE])
        table = np.zeros(_ROOTS)
        for row in range(1, _ROOTS):
            flow = table[row - 1] * row / max(row - 1, 1)
            for _ in range(3):
                flow = kernel.gravity_flow(drain, opening, (row * self._root_step) ** 2, flow)
            table[row] = flow
        return table

    def __call__(self, values: Values) -> tuple[plant.Plant, plant.Tables]:
        """Build the plant and its tables."""
        rig, largest = self._rig.params, values["pump.largest"]
        table = self._flows(values["drain.coefficient"]) if self._drained else np.zeros(0)
        draw = values.get("drain.draw", 0.0)
        tank = plant.Tank(
            1.0 if self._drained else 0.0,
            0.0,
            -rig.drain.outlet,
            -1.0,
            rig.drain.inlet_volume if rig.drain.kind in (1, 2) else 0.0,
            draw,
            rig.tank.spill_volume,
            rig.drain.to_reservoir,
            values[LEAK] / self._leaks_at,
        )
        tables = plant.Tables(
            self._levels,
            self._volume_step,
            table if len(table) else np.zeros(1),
            self._root_step,
            self._shown,
            self._shown_step,
        )
        return plant.Plant(self._pump(values), self._lift(largest), plant.NO_UPPER, tank, self._sensor(values)), tables

    def _sensor(self, values: Values) -> plant.Sensor:
        """Give the level that the sensor reads as offset + scale·level, by its zero and span error and its ratio."""
        rig, sensor = self._rig.params, self._rig.params.sensor
        ratio = sensor.ratio * (1.0 + values[SPAN]) / (1.0 + self._rig.project.sensor.span_error.si)
        offset = values[ZERO] + (sensor.face * (1.0 - ratio) if sensor.kind < 2 else 0.0)
        low, high = (float(kernel.scale(rig, one)) for one in (sensor.measures_from, sensor.measures_to))
        smoothing = float(self._rig.panel[kernel.P_PV_FILTER])
        blind = sensor.face if sensor.kind == 1 else -math.inf
        return plant.Sensor(ratio, offset, low, high, values["sensor.averaging"], smoothing, blind)

    def _pump(self, values: Values) -> plant.Pump:
        pump, largest = self._rig.params.pump, values["pump.largest"]
        delays = (values["pump.spin_up"], waiting(self._rig))
        if pump.on_off:
            return plant.Pump(largest, 0.0, 1.0, 0.0, 1e-9, 1e-9, *delays)
        slowest = min(values["pump.slowest"], (1 - _SHARE) * largest)
        stalls = pump.stalls_at  # where the line of the slowest flow begins
        zero = stalls - slowest * (1 - stalls) / (largest - slowest)
        return plant.Pump(largest, zero, 1.0, 0.0, max(values[STARTS], 1e-9), max(values[STALLS], 1e-9), *delays)

    def _lift(self, largest: float) -> plant.Lift:
        pump, reservoir = self._rig.params.pump, self._rig.params.reservoir
        held = self._rig.project.reservoir.charge.si
        return plant.Lift(
            largest, pump.measured_lift, pump.head_to_spare, pump.fill_end, reservoir.floor, reservoir.area, held
        )


def _shown_table(rig: Rig) -> tuple[Floats, float]:
    """Give the PV [m3] that the controller makes of a level that was read, at equal steps [m] of it from the floor."""
    sensor, strapping = rig.params.sensor, rig.strapping
    if not sensor.two_points:
        return strapping.volumes, float(strapping.levels[1])
    ends = (sensor.face - one if sensor.kind == 0 else one for one in (sensor.at_4, sensor.at_20))
    low, high = ends
    rim = float(strapping.levels[-1])
    share = (np.array([0.0, 2.0 * rim]) - low) / (high - low)
    return sensor.volume_4 + share * (sensor.volume_20 - sensor.volume_4), 2.0 * rim


# --- noise of the readings -------------------------------------------------------------------------------------------


def noise_of_readings(seen: OnRig, left: Floats, averaging: Estimate) -> Estimate:
    """Estimate the noise of one reading [m] from what is left over [m3], averaging and filter undone.

    Differences over a time longer than averaging and filter remember take out what is slow: half their variance is that
    of the PV's noise, σ² = r²·A²·Σf² with the area A and the answer f of averaging and filter to one reading.
    """
    rig, sensor = seen.rig, seen.rig.params.sensor
    means = [readings_of(rig, averaging, at) for at in (averaging.figure.si, averaging.low, averaging.high)]
    remembered = means[0] * sensor.update + 3 * float(rig.panel[kernel.P_PV_FILTER])
    lag = max(math.ceil(remembered / seen.measured.step), 1)
    apart = left[lag:] - left[:-lag] if len(left) > 4 * lag else np.diff(left)
    spread = float(np.sqrt(np.mean(apart**2) / 2))
    area = rig.strapping.area_at(rig.strapping.level_at(float(np.median(seen.measured.pv))))
    each, less, more = (spread / area / math.sqrt(_answer(rig, readings)) for readings in means)
    ripple = sensor.ripple**2 * float(np.mean(_filling(rig, seen.measured.output) ** 2))
    noise = math.sqrt(max(each**2 - ripple, 0.0))
    chance = 1.96 * each / math.sqrt(2 * max(len(left) / lag, 2.0))
    half = math.hypot(chance, abs(more - less) / 2, _CLOSELY * each) * each / max(noise, each / 3)
    figure = Figure(
        "fit.sensor.noise",
        "noise of one reading",
        noise,
        D.LENGTH,
        "standard deviation of differences of what is left over, /√2; averaging, filter and ripple undone",
        (("record", seen.measured.name), ("readings averaged", str(means[0]))),
        "closed form: variance of a filtered mean",
        10.0 ** (math.floor(math.log10(max(half, 1e-9))) - 1),
    )
    told = spread > 3 * _rounding(rig)
    words = "" if told else "Smaller than the steps in which sensor and converter report: left as it is."
    return Estimate(figure, max(noise - half, 0.0), noise + half, told, words)


def _filling(rig: Rig, output: Floats) -> Floats:
    """Give the share of its largest flow that the pump gives at each output."""
    pump = rig.params.pump
    share = (output - pump.stalls_at) / (1 - pump.stalls_at)
    least = pump.slowest_flow / pump.largest_flow
    return np.where(output >= pump.stalls_at, np.clip(least + share * (1 - least), 0.0, 1.0), 0.0)


def readings_of(rig: Rig, averaging: Estimate, seconds: float) -> int:
    """Give how many readings are averaged in a time [s]; the project's number where the record can't tell the time."""
    sensor = rig.params.sensor
    return 1 + round(seconds / sensor.update) if averaging.told_apart else sensor.averaging


def _answer(rig: Rig, readings: int) -> float:
    """Give the sum of the squares of what averaging and filter make of one reading."""
    sensor, smoothing = rig.params.sensor, float(rig.panel[kernel.P_PV_FILTER])
    held = readings * sensor.update
    step = min(rig.scan, sensor.update)
    time = step * np.arange(max(math.ceil((held + 8 * smoothing) / step), 1))
    if smoothing > 0:
        rising = 1 - np.exp(-(np.minimum(time, held - step) + step) / smoothing)
        fading = np.exp(-np.maximum(time - (held - step), 0.0) / smoothing)
        answer = rising * fading
    else:
        answer = (time < held - 1e-9).astype(np.float64)
    return float(np.sum((answer / readings) ** 2)) * min(step / sensor.update, 1.0)


def _rounding(rig: Rig) -> float:
    """Give the noise that steps of sensor and converter make in the PV [m3]: a step over √12."""
    sensor = rig.params.sensor
    counts = (sensor.current_high - sensor.current_low) / sensor.full_count / 0.016
    step = max(sensor.resolution, counts * abs(sensor.at_20 - sensor.at_4))
    area = rig.strapping.area_at(rig.strapping.level_at(float(np.mean(rig.span))))
    return step * area / math.sqrt(12 * sensor.averaging)
