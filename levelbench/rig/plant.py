"""The liquid alone, compiled: what a pump's commands make of the level in a tank, or in one that another one feeds.

Identification runs this thousands of times, so nothing is here that a record of a level can't show: no controller, no
interlocks, no lamps. Units are as on a described rig, where the PV is a volume [m3] and a table gives its level [m].
Where nobody knows the tank, everything is in the sensor's own unit (volts, per cent) in the place of m3 and m.
Nothing but numpy and numba is imported here, and nothing in it is shared with the scan (`levelbench.rig.kernel`), since
the compiler's disk cache does not notice edits in another module.

Per step of dt: the pump's curve gives a flow for each command; that flow arrives after the dead time, as its mean over
the step, which makes the result smooth in the dead time; it is corrected for the lift, and follows with the spin-up's
exact exponential. The levels then move by the midpoint rule. A tank that is full spills at once.
"""

import math
from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

F = TypeVar("F", bound=Callable[..., Any])
Reals = NDArray[np.float64]


def compiled(function: F) -> F:
    """Compile a function with the flags that the whole room uses: kept on disk, and no thread is held up meanwhile."""
    return cast("F", njit(cache=True, nogil=True, error_model="numpy")(function))


class Pump(NamedTuple):
    """The flow that a command settles at: Q·s·(1 + curvature·(s − 1)) with s = (u − zero)/(full − zero), above `zero`.

    `full` is the command at which the pump gives `largest`. Commands are in the record's own unit.
    """

    largest: float  # [m3/s]
    zero: float  # command at which the curve meets no flow
    full: float  # command
    curvature: float  # −1 … 1; 0: straight
    starts_at: float  # command at which the stopped pump begins to turn
    stalls_at: float  # command below which the running pump stops
    spin_up: float  # [s]
    dead_time: float  # [s]


class Lift(NamedTuple):
    """How the lift changes the flow: q² = m² + reference²·(measured − lift)/spare; spare inf: not at all.

    The lift goes from the reservoir's surface to the end of the fill tube or the tank's level, whichever is higher.
    """

    reference: float  # [m3/s]
    measured: float  # [m]
    spare: float  # [m]
    fill_end: float  # [m]
    floor: float  # [m] of the reservoir
    area: float  # [m2] of the reservoir
    held: float  # [m3] in tank and reservoir together at the start


class Upper(NamedTuple):
    """An upper tank between pump and measured tank; capacity 0: there is none. Its level counts from 0 to 1 (full)."""

    capacity: float  # [m3] up to its overflow
    outlet: float  # [m3/s] when it is full
    exponent: float  # of its level
    share: float  # of its overflow that reaches the measured tank


class Tank(NamedTuple):
    """The measured tank: outlet·((level + head)/(reference + head))^exponent leaves it, and what leaks.

    A negative exponent: the outlet follows the table of the square roots of the head instead, `outlet` times.
    """

    outlet: float  # [m3/s] at the reference level; with a table a plain factor
    reference: float  # level
    head: float  # of the outlet below the level's zero
    exponent: float
    inlet: float  # [m3] left in the tank when the outlet takes air
    leak: float  # [m3/s] whatever the level, as of a steady draw
    full: float  # [m3] everything above it is lost
    returns: bool  # what outlet and draws take comes back to the reservoir
    hole: float = 0.0  # [m3/s] through a hole in the floor at a level of 1; at others as the level's square root


class Sensor(NamedTuple):
    """What the record shows: offset + scale·volume; of the level instead where a table says what PV is made of it."""

    scale: float
    offset: float  # [m3], or [m] of level
    low: float  # [m3] it can't show less
    high: float  # [m3] it can't show more
    averaging: float  # [s] over which it shows the mean
    smoothing: float  # [s] of a first-order filter behind it
    blind: float = -math.inf  # [m] level below which it sees no difference


class Plant(NamedTuple):
    """Everything about a plant that does not change."""

    pump: Pump
    lift: Lift
    upper: Upper
    tank: Tank
    sensor: Sensor


class Tables(NamedTuple):
    """levels[k] [m] at equal steps of volume from 0 (empty: both are one), drain[j] [m3/s] at equal steps of √head.

    shown[i] [m3] is the PV that is made of a level that was read, at equal steps of it from 0; empty: of the volume.
    """

    levels: Reals
    volume_step: float  # [m3]
    drain: Reals
    root_step: float  # square root of metres
    shown: Reals
    shown_step: float  # [m]


class Record(NamedTuple):
    """What was done, and when: each row's command and draw hold until the next row.

    starts[m, (row, upper level, volume [m3])], the first at row 0: where a stretch of the record begins afresh.
    """

    time: Reals  # [n] [s]
    command: Reals  # [n]
    draw: Reals  # [n] [m3/s]
    starts: Reals
    longest: float  # [s] no step of the physics is longer


NO_LIFT = Lift(0.0, 0.0, math.inf, 0.0, 0.0, 1.0, 0.0)
NO_UPPER = Upper(0.0, 0.0, 1.0, 0.0)
NO_TABLES = Tables(np.zeros(0), 1.0, np.zeros(0), 1.0, np.zeros(0), 1.0)


@compiled
def pump_flows(pump: Pump, command: Reals, flows: Reals) -> None:
    """Fill flows[n] [m3/s] with what each of command[n] settles at; start and stall thresholds are obeyed."""
    running = False
    for at in range(command.size):
        running = command[at] >= (pump.stalls_at if running else pump.starts_at)
        share = (command[at] - pump.zero) / (pump.full - pump.zero)
        flow = pump.largest * share * (1.0 + pump.curvature * (share - 1.0))
        flows[at] = max(flow, 0.0) if running and share > 0.0 else 0.0


@compiled
def in_table(table: Reals, place: float) -> float:
    """Value of table[n] at a place counted in its steps, straight between two rows, clamped to its ends."""
    last = table.size - 1
    if place <= 0.0:
        return table[0]
    if place >= last:
        return table[last]
    row = int(place)
    return table[row] + (place - row) * (table[row + 1] - table[row])


@compiled
def level_of(levels: Reals, volume_step: float, volume: float) -> float:
    """Level [m] at a volume [m3], from levels[k] [m] at equal steps of it; without a table they are the same."""
    return volume if levels.size == 0 else in_table(levels, volume / volume_step)


@compiled
def raised(base: float, exponent: float) -> float:
    """Power of a base that is not negative; the square root the quick way."""
    return math.sqrt(base) if exponent == 0.5 else base**exponent


@compiled
def outlet_flow(tank: Tank, drain: Reals, root_step: float, volume: float, level: float) -> float:
    """Flow [m3/s] out of the tank at a volume [m3] and its level [m] through its outlet. Torricelli: exponent 1/2."""
    head = level + tank.head
    if volume <= tank.inlet or head <= 0.0:
        return 0.0
    if tank.exponent < 0.0:
        return tank.outlet * in_table(drain, math.sqrt(head) / root_step)
    return tank.outlet * raised(head / (tank.reference + tank.head), tank.exponent)


@compiled
def lost(tank: Tank, level: float) -> float:
    """Flow [m3/s] that leaks at a level [m]: the steady one, and Torricelli's (1644) through the floor."""
    return tank.leak if tank.hole <= 0.0 else tank.leak + tank.hole * math.sqrt(max(level, 0.0))


@compiled
def lifted(lift: Lift, flow: float, level: float, reservoir: float) -> float:
    """Flow [m3/s] of the pump at the tank's level [m] and what the reservoir holds [m3], from its flow [m3/s].

    That is its flow at the measured lift. Source of the affinity laws: any pump handbook, e.g. Karassik et al., Pump
    Handbook (from memory).
    """
    if flow <= 0.0 or math.isinf(lift.spare):
        return flow
    height = max(lift.fill_end, level) - (lift.floor + reservoir / lift.area)
    return math.sqrt(max(flow**2 + lift.reference**2 * (lift.measured - height) / lift.spare, 0.0))


@compiled
def shown_of(sensor: Sensor, shown: Reals, shown_step: float, volume: float, level: float) -> float:
    """What sensor and scaling make of a volume [m3] and its level [m], before it is filtered."""
    if shown.size == 0:
        seen = sensor.offset + sensor.scale * volume
    else:
        read = sensor.offset + sensor.scale * max(level, sensor.blind)
        seen = in_table(shown, read / shown_step)
    return min(max(seen, sensor.low), sensor.high)


@compiled
def step_upper(upper: Upper, above: float, inflow: float, dt: float) -> tuple[float, float]:
    """Upper level (1: full) after dt [s] of an inflow [m3/s], and what reaches the measured tank meanwhile [m3/s]."""
    down = upper.outlet * raised(above, upper.exponent)
    middle = min(max(above + 0.5 * dt * (inflow - down) / upper.capacity, 0.0), 1.0)
    fed = min(upper.outlet * raised(middle, upper.exponent), above * upper.capacity / dt + inflow)
    above = max(above + dt * (inflow - fed) / upper.capacity, 0.0)
    over = 0.0
    if above > 1.0:
        over = (above - 1.0) * upper.capacity / dt
        above = 1.0
    return above, fed + upper.share * over


@compiled
def flow_after(flows: Reals, time: Reals, total: Reals, at: float, row: int) -> tuple[float, int]:
    """Integral [m3] of the commands' flows up to a time [s], and the row where the next search may begin."""
    if at <= time[0]:
        return total[0] + flows[0] * (at - time[0]), 0
    while row > 0 and time[row] > at:
        row -= 1
    while row < time.size - 1 and time[row + 1] <= at:
        row += 1
    return total[row] + flows[row] * (at - time[row]), row


@compiled
def begin(plant: Plant, first: Reals) -> tuple[float, float, float]:
    """Upper level, volume and reservoir [m3] at a stretch's beginning, from its row of the record's starts."""
    volume = min(max(first[2], 0.0), plant.tank.full)
    return min(max(first[1], 0.0), 1.0), volume, plant.lift.held - volume


@compiled
def average(time: Reals, first: int, last: int, span: float, seen: Reals) -> None:
    """Put the mean over the last so many seconds [s] in the place of seen, from row `first` to before `last`.

    Straight between rows; before the first row it was as there.
    """
    total = np.zeros(last - first)
    for at in range(first + 1, last):
        total[at - first] = total[at - first - 1] + 0.5 * (seen[at] + seen[at - 1]) * (time[at] - time[at - 1])
    start = seen[first]
    raw = seen[first:last].copy()
    row = 0
    for at in range(first, last):
        back = time[at] - span
        if back <= time[first]:
            seen[at] = (total[at - first] + start * (time[first] - back)) / span
            continue
        while time[first + row + 1] <= back:
            row += 1
        since = back - time[first + row]
        slope = (raw[row + 1] - raw[row]) / (time[first + row + 1] - time[first + row])
        before = total[row] + since * (raw[row] + 0.5 * slope * since)
        seen[at] = (total[at - first] - before) / span


@compiled
def behind(sensor: Sensor, record: Record, seen: Reals) -> None:
    """Let the sensor average and its filter smooth seen[n], each part of the record for itself."""
    n = seen.size
    for part in range(record.starts.shape[0]):
        first = int(record.starts[part, 0])
        last = int(record.starts[part + 1, 0]) if part + 1 < record.starts.shape[0] else n
        if sensor.averaging > 0.0:
            average(record.time, first, last, sensor.averaging, seen)
        if sensor.smoothing > 0.0:
            dt = hold = 0.0
            for at in range(first + 1, last):
                if record.time[at] - record.time[at - 1] != dt:
                    dt = record.time[at] - record.time[at - 1]
                    hold = math.exp(-dt / sensor.smoothing)
                seen[at] += (seen[at - 1] - seen[at]) * hold


@compiled
def fading(dt: float, constant: float) -> tuple[float, float]:
    """What an exponential with a time constant [s] still is after dt [s], and its mean over that time."""
    if constant <= 0.0:
        return 0.0, 0.0
    keep = math.exp(-dt / constant)
    return keep, (1.0 - keep) * constant / dt


@compiled
def totals(time: Reals, flows: Reals) -> Reals:
    """Integral [m3] of flows[n] [m3/s], each held until the next time, from the first to each."""
    total = np.zeros(time.size)
    for at in range(1, time.size):
        total[at] = total[at - 1] + flows[at - 1] * (time[at] - time[at - 1])
    return total


@compiled
def simulate(plant: Plant, tables: Tables, record: Record, seen: Reals) -> None:
    """Fill seen[n] with what the sensor shows [m3] at each row of a record."""
    time, command, draw, starts, longest = record  # taken apart here: a tuple that is handed on counts its arrays
    levels, volume_step, drain, root_step, shown, shown_step = tables
    pump, lift, upper, tank, sensor = plant
    flows = np.empty(time.size)
    pump_flows(pump, command, flows)
    total = totals(time, flows)
    stretch = row = 0
    before = dt = keep = mean = above = volume = level = flow = reservoir = 0.0
    for at in range(time.size):
        if stretch < starts.shape[0] and starts[stretch, 0] <= at:
            before, row = flow_after(flows, time, total, time[at] - pump.dead_time, row)
            above, volume, reservoir = begin(plant, starts[stretch])
            level = level_of(levels, volume_step, volume)
            flow = lifted(lift, flows[row], level, reservoir)
            stretch += 1
        seen[at] = shown_of(sensor, shown, shown_step, volume, level)
        if at == time.size - 1:
            break
        steps = max(math.ceil((time[at + 1] - time[at]) / longest - 1e-9), 1)
        if dt != (time[at + 1] - time[at]) / steps:
            dt = (time[at + 1] - time[at]) / steps
            keep, mean = fading(dt, pump.spin_up)
        for step in range(1, steps + 1):
            after, row = flow_after(flows, time, total, time[at] + step * dt - pump.dead_time, row)
            wanted = lifted(lift, (after - before) / dt, level, reservoir)
            fed = inflow = wanted + (flow - wanted) * mean
            flow, before = wanted + (flow - wanted) * keep, after
            if upper.capacity > 0.0:
                above, fed = step_upper(upper, above, inflow, dt)
            out = outlet_flow(tank, drain, root_step, volume, level) + lost(tank, level)
            halfway = max(volume + 0.5 * dt * (fed - out - draw[at]), 0.0)
            level = level_of(levels, volume_step, halfway)
            out = min(outlet_flow(tank, drain, root_step, halfway, level), max(volume - tank.inlet, 0.0) / dt + fed)
            volume = min(max(volume + dt * (fed - out - draw[at] - lost(tank, level)), 0.0), tank.full)
            level = level_of(levels, volume_step, volume)
            reservoir += dt * ((out + draw[at] + tank.leak if tank.returns else 0.0) - inflow)
    behind(sensor, record, seen)
