"""One scan of the whole rig, compiled: sensor, converter, filter, interlocks, alarms, PID, drive, lamps and physics.

Live runs, batch runs and ensembles all call `run_scans`; a run replayed from its parameters, seed and actions is
bit-identical whichever way it was driven. Everything is in SI units. Nothing but numpy and numba is imported here.

Longer than 400 lines because the compiler's disk cache does not notice edits in other modules: the scan and everything
that it calls must stand in one file, or a stale copy could run.

Order inside a scan, as in a real controller: actions of people, sensor readings that fell due, converter, scaling,
filter, interlocks, limits, set point, PID, lamps, drive; then the physics up to the next scan in sub-steps.
"""

import math
from collections.abc import Callable
from typing import Any, NamedTuple, Protocol, TypeVar, cast, get_type_hints

import numpy as np
from numba import njit
from numpy.typing import NDArray

F = TypeVar("F", bound=Callable[..., Any])
Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


def compiled(function: F) -> F:
    """Compile a function with the one set of flags that this program uses.

    `nogil`: a worker thread must not freeze the window. `cache`: later starts load the code from disk.
    """
    return cast("F", njit(cache=True, nogil=True, error_model="numpy")(function))


def set_in(function: F) -> F:
    """Compile a function as part of its only caller: handing it every parameter by value costs more than its work."""
    return cast("F", njit(cache=True, nogil=True, error_model="numpy", inline="always")(function))


GRAVITY = 9.80665  # [m/s2] standard acceleration, CGPM 1901
WATER = 1000.0  # [kg/m3] density to which flow coefficients refer
CATCHES = 1.0  # [s] of its largest flow must stand over the suction (at most a tenth of the reservoir) after taking air
NOTHING = 1e-15  # [m3/s] a smaller flow is none; the smallest numbers that there are would also be slow to reckon with

# Tables and state are records, not tuples of arrays: a compiled call counts references to every array it is handed,
# and that alone made the scan five times slower than the same equations in C.

ROWS = 2001  # of the tank's table
LAMP_ROWS = 15  # of the lamps' truth table
RING = 1000  # most readings that a sensor averages
PANEL = 59  # entries of the panel, below


class Tables(Protocol):
    """The tables that a rig looks things up in."""

    volumes: Reals  # [ROWS] [m3] at equal steps of level, from the floor to the rim
    step: float  # [m] of level, from one row to the next
    lamps: Wholes  # [LAMP_ROWS, (red, yellow, green, blue, horn)]: 0 off, 1 steady, 2 flashing


class State(Protocol):
    """Everything about a rig that changes while it runs."""

    tank: float  # [m3]
    reservoir: float  # [m3]
    spilled: float  # [m3]
    used: float  # [m3] taken away for good
    added: float  # [m3] by hand
    pump_flow: float  # [m3/s]
    drain_flow: float  # [m3/s]
    level_before: float  # [m] at the last scan
    reading: float  # [m] the sensor's average
    lost_for: float  # [s] without an echo
    signal: float  # [A]
    failing_for: float  # [s] with a failure current
    pv: float  # [m3] filtered
    pv_lag: float  # [m3] the derivative's own filter
    integral: float  # fraction of output
    output: float  # fraction
    set_point: float  # [m3] the working one, on its ramp
    switch_for: float  # [s] at the switch's level
    cycle_for: float  # [s] into the switching cycle
    on_time: float  # [s] of this switching cycle
    timers: Reals  # [10] [s] on and off of the five bands
    scan: int  # scans done
    readings: int  # of the sensor, taken
    ring_at: int
    row: int  # of the tank's table, found last
    conditions: int  # bits, below
    starts: int  # of the pump
    horn_for: int  # rows of the lamps' table that sound the horn
    ring: Reals  # [RING] [m] last good readings
    panel: Reals  # [PANEL] what people have set


def _record_of(kind: type, **shapes: tuple[int, ...]) -> np.dtype[np.void]:
    """Give the record type of a class above: its floats, whole numbers and arrays, in their order."""
    reals = {float, Reals}
    return np.dtype(
        [
            (name, np.float64 if of in reals else np.int64, shapes.get(name, ()))
            for name, of in get_type_hints(kind).items()
        ]
    )


TABLES = _record_of(Tables, volumes=(ROWS,), lamps=(LAMP_ROWS, 5))
STATE = _record_of(State, timers=(10,), ring=(RING,), panel=(PANEL,))


def blank_tables() -> Tables:
    """Give tables full of zeros."""
    return cast("Tables", np.zeros(1, TABLES).view(np.recarray)[0])


def blank_state() -> State:
    """Give a state full of zeros."""
    return cast("State", np.zeros(1, STATE).view(np.recarray)[0])


# What is fixed while a rig runs ------------------------------------------------------------------------------------


class Tank(NamedTuple):
    """The tank; its volume at equal steps of level, from the floor to the rim, stands in the tables."""

    spill_volume: float  # [m3] everything above it leaves the tank
    leak: float  # [m3/s] through a hole in the floor under one metre of liquid; 0: the tank is tight


class Reservoir(NamedTuple):
    """Upright-walled; heights are counted from the floor of the tank."""

    capacity: float  # [m3]
    area: float  # [m2]
    floor: float  # [m] above the tank's floor, mostly negative
    suction_volume: float  # [m3] at or below it the pump takes air


class Pump(NamedTuple):
    """Static curve at the measured lift, thresholds and the way of the liquid."""

    on_off: bool
    largest_flow: float  # [m3/s] at 100 % and the measured lift
    slowest_flow: float  # [m3/s] just before it stalls
    starts_at: float  # output fraction
    stalls_at: float
    spin_up: float  # [s] time constant of the flow
    left_by_wear: float  # share of the flow that is left
    measured_lift: float  # [m]
    head_to_spare: float  # [m] shut-off head less measured lift; inf: the flow does not depend on the lift
    fill_end: float  # [m] above the tank's floor
    check_valve: bool
    vented: bool
    stopped_coefficient: float  # [m3/s] at 1 Pa of water
    cycle: float  # [s]
    least_on: float  # [s]
    least_off: float  # [s]


class Drain(NamedTuple):
    """kind: 0 none, 1 bottom outlet, 2 siphon over the rim, 3 forced draw."""

    kind: int
    coefficient: float  # [m3/s] at 1 Pa of water, valve wide open
    trim: int  # 0 linear, 1 equal percentage, 2 quick opening
    rangeability: float
    inlet: float  # [m]
    inlet_volume: float  # [m3] in the tank when the inlet is just uncovered
    outlet: float  # [m]
    bore: float  # [m]
    length: float  # [m]
    loss: float  # sum of K, without the exit
    roughness: float  # [m]
    viscosity: float  # [m2/s] kinematic
    to_reservoir: bool


class Sensor(NamedTuple):
    """kind: 0 distance from a face, 1 pressure, 2 level; in_dead_zone: 0 second echo, 1 last good, 2 failure."""

    kind: int
    face: float  # [m]
    ratio: float  # indicated over true, by air temperature, density and span error
    zero: float  # [m] by which it reads too high everywhere
    dead_zone: float  # [m]
    in_dead_zone: int
    at_4: float  # [m] what it measures at 4 mA
    at_20: float  # [m]
    update: float  # [s]
    noise: float  # [m] standard deviation
    ripple: float  # [m] standard deviation at the largest flow
    resolution: float  # [m]
    averaging: int  # readings
    hold: float  # [s] of a lost echo
    failure_current: float  # [A]
    measures_from: float  # [A]
    measures_to: float  # [A]
    fails_below: float  # [A]
    fails_above: float  # [A]
    failure_delay: float  # [s]
    full_count: float
    current_low: float  # [A] at count 0
    current_high: float  # [A] at the full count
    two_points: bool
    volume_4: float  # [m3]
    volume_20: float  # [m3]


class Switch(NamedTuple):
    """The hard-wired overflow switch."""

    fitted: bool
    trips_at: float  # [m]
    closes_at: float  # [m]
    delay: float  # [s]


class Control(NamedTuple):
    """Clock and sense of the controller."""

    scan: float  # [s]
    sub_steps: int
    direction: float  # +1 reverse acting (filling), -1 direct


class Params(NamedTuple):
    """Everything about a rig that does not change while it runs."""

    tables: Tables
    tank: Tank
    reservoir: Reservoir
    pump: Pump
    drain: Drain
    sensor: Sensor
    switch: Switch
    control: Control


class Log(NamedTuple):
    """Where a run writes: rows[n, COLUMNS], events[m, (scan, condition, 0 or 1)], used[rows, events, actions]."""

    rows: Reals
    events: Wholes
    used: Wholes


class Job(NamedTuple):
    """What to run: so many scans, every so many-th written down, with this seed."""

    scans: int
    every: int
    seed: int


# Conditions, one bit each
MAINS, STARTED, STOP_PRESSED, STOP_LATCHED, SWITCH_OPEN, SWITCH_LATCHED, SENSOR_FAILED, SENSOR_LATCHED = range(8)
PUMP_ALLOWED, PUMP_RUNNING, PUMP_DRY, PRIMED, SPILLING, RESERVOIR_SPILLING, AUTOMATIC, LIMITED = range(8, 16)
HIGH_HIGH, HIGH, LOW, LOW_LOW, DEVIATION = range(16, 21)
RED, YELLOW, GREEN, BLUE, RED_FLASH, YELLOW_FLASH, GREEN_FLASH, BLUE_FLASH, HORN, SILENCED = range(21, 31)
CONDITIONS_USED = 31
NOT_JOURNALLED = (1 << PUMP_RUNNING) | (1 << LIMITED) | (0xFF << RED)  # too frequent, or follow from others

# What people can set while the rig runs: the panel
P_SET_POINT, P_AUTO, P_MANUAL, P_VALVE, P_DRAW, P_MAINS, P_STOP, P_LAMP_TEST = range(8)
P_RESET, P_START, P_PRIME, P_SILENCE, P_TOP_UP = range(8, 13)  # momentary: nothing stays set
(P_GAIN, P_INTEGRAL, P_DERIVATIVE, P_DERIVATIVE_FILTER, P_WEIGHT) = range(13, 18)  # changed without a bump
(P_PV_FILTER, P_DEAD_BAND, P_OUT_LOW, P_OUT_HIGH, P_OUT_RATE, P_SP_LOW, P_SP_HIGH, P_SP_STEP, P_RAMP) = range(18, 27)
P_BANDS = 27  # five times: in use, limit, dead band, on-delay, off-delay
# faults, 1 or 0
F_AIRLOCK, F_ECHO_LOST, F_HELD, F_SWITCH_STUCK, F_SWITCH_WIRE, F_CHECK_VALVE, F_LOOP_WIRE = range(52, PANEL)

# Columns of a row
COLUMNS = (
    14  # time, SP, PV, volume, level, output, pump flow, drain flow, reservoir, spilled, used, added, signal, bits
)


# Chance -------------------------------------------------------------------------------------------------------------


@compiled
def philox(counter: int, stream: int, seed: int) -> tuple[int, int]:
    """Give two 32-bit random numbers for a counter, a stream and a seed: Philox 2x32 with ten rounds.

    Source: Salmon, Moraes, Dror & Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11 (2011).
    """
    x0 = int(counter) & 0xFFFFFFFF  # without the compiler these may be numpy's, which do not wrap silently
    x1 = int(stream) & 0xFFFFFFFF
    key = int(seed) & 0xFFFFFFFF
    for _ in range(10):
        product = 0xD256D193 * x0
        x0 = ((product >> 32) & 0xFFFFFFFF) ^ key ^ x1
        x1 = product & 0xFFFFFFFF
        key = (key + 0x9E3779B9) & 0xFFFFFFFF
    return x0, x1


@compiled
def normal(counter: int, stream: int, seed: int) -> float:
    """Give a standard normal number for a counter, a stream and a seed (Box & Muller 1958)."""
    x0, x1 = philox(counter, stream, seed)
    return math.sqrt(-2.0 * math.log((x0 + 1.0) / 4294967296.0)) * math.cos(2.0 * math.pi * x1 / 4294967296.0)


# Tank ---------------------------------------------------------------------------------------------------------------


@compiled
def volume_at(tables: Tables, level: float) -> float:
    """Volume [m3] at a level [m], clamped to the table's ends."""
    volumes = tables.volumes
    place = level / tables.step
    if place <= 0.0:
        return volumes[0]
    if place >= ROWS - 1:
        return volumes[ROWS - 1]
    row = int(place)
    return volumes[row] + (place - row) * (volumes[row + 1] - volumes[row])


@compiled
def level_at(tables: Tables, state: State, volume: float) -> float:
    """Level [m] at a volume [m3], clamped to the table's ends; the search begins at the row that was found last."""
    volumes = tables.volumes
    row = state.row
    while row > 0 and volumes[row] > volume:
        row -= 1
    while row < ROWS - 2 and volumes[row + 1] < volume:
        row += 1
    state.row = row
    rise = volumes[row + 1] - volumes[row]
    share = (volume - volumes[row]) / rise if rise > 0.0 else 0.0
    return (row + min(max(share, 0.0), 1.0)) * tables.step


# Sensor, current loop, converter, scaling ---------------------------------------------------------------------------


@compiled
def sense(p: Params, state: State, level: float, chance: float) -> float:
    """What the sensor makes of a level [m] in one reading: its distance or level [m], or nan when it sees nothing."""
    sensor = p.sensor
    filling = min(max(state.pump_flow / p.pump.largest_flow, 0.0), 1.0)
    spread = math.sqrt(sensor.noise**2 + (sensor.ripple * filling) ** 2) * chance
    if sensor.kind == 0:
        distance = sensor.face - level
        if state.panel[F_ECHO_LOST] > 0.0 or (distance < sensor.dead_zone and sensor.in_dead_zone > 0):
            return math.nan
        seen = (2.0 * distance if distance < sensor.dead_zone else distance) * sensor.ratio - sensor.zero + spread
    elif sensor.kind == 1:
        seen = sensor.face + max(level - sensor.face, 0.0) * sensor.ratio + sensor.zero + spread
    else:
        seen = level * sensor.ratio + sensor.zero + spread
    if sensor.resolution > 0.0:
        seen = math.floor(seen / sensor.resolution + 0.5) * sensor.resolution
    return seen


@compiled
def take_reading(p: Params, state: State, level: float, chance: float) -> None:
    """Take one reading of a level [m] into the moving average, or count how long nothing was seen."""
    if state.panel[F_HELD] > 0.0:
        return
    seen = sense(p, state, level, chance)
    if math.isnan(seen):
        echo = state.panel[F_ECHO_LOST] <= 0.0  # then it is the dead zone that hides the liquid
        if echo and p.sensor.in_dead_zone == 1:
            return
        state.lost_for += p.sensor.update
        if (echo and p.sensor.in_dead_zone == 2) or state.lost_for > p.sensor.hold + 1e-9:
            state.signal = p.sensor.failure_current
        return
    state.lost_for = 0.0
    ring = state.ring
    ring[state.ring_at] = seen
    state.ring_at = state.ring_at + 1 if state.ring_at + 1 < p.sensor.averaging else 0
    total = 0.0
    for one in range(p.sensor.averaging):
        total += ring[one]
    state.reading = total / p.sensor.averaging
    share = (state.reading - p.sensor.at_4) / (p.sensor.at_20 - p.sensor.at_4)
    state.signal = min(max(0.004 + 0.016 * share, p.sensor.measures_from), p.sensor.measures_to)


@set_in
def read_sensor(p: Params, state: State, seed: int) -> None:
    """Take every reading that fell due since the last scan, each at the level of its own moment."""
    now = state.scan * p.control.scan
    level = level_at(p.tables, state, state.tank)
    due = math.floor(now / p.sensor.update + 1e-6)
    while state.readings < due:
        state.readings += 1
        back = (now - state.readings * p.sensor.update) / p.control.scan
        at = level + min(max(back, 0.0), 1.0) * (state.level_before - level)
        take_reading(p, state, at, normal(state.readings, 1, seed))
    state.level_before = level


@compiled
def loop_current(state: State) -> float:
    """Current [A] that flows through the converter: the sensor's, or none through a broken wire."""
    return state.signal if state.panel[F_LOOP_WIRE] <= 0.0 else 0.0


@compiled
def convert(sensor: Sensor, signal: float) -> float:
    """Pass a current [A] through the converter: the current that its count stands for."""
    share = (signal - sensor.current_low) / (sensor.current_high - sensor.current_low)
    count = math.floor(min(max(share, 0.0), 1.0) * sensor.full_count + 0.5)
    return sensor.current_low + count / sensor.full_count * (sensor.current_high - sensor.current_low)


@compiled
def scale(p: Params, current: float) -> float:
    """Turn a current [A] into the volume [m3] that the controller works with."""
    sensor = p.sensor
    share = (current - 0.004) / 0.016
    if sensor.two_points:
        return sensor.volume_4 + share * (sensor.volume_20 - sensor.volume_4)
    seen = sensor.at_4 + share * (sensor.at_20 - sensor.at_4)
    return volume_at(p.tables, sensor.face - seen if sensor.kind == 0 else seen)


@compiled
def measure(p: Params, state: State) -> None:
    """Read the converter: watch for failure currents, and bring the filtered PV up to date while the signal is good."""
    current = convert(p.sensor, loop_current(state))
    # half a count of doubt, so that a failure current itself is seen as one through any converter
    doubt = 0.5 * (p.sensor.current_high - p.sensor.current_low) / p.sensor.full_count
    if current <= p.sensor.fails_below + doubt or current >= p.sensor.fails_above - doubt:
        failed = state.failing_for + 1e-9 >= p.sensor.failure_delay
        state.failing_for += p.control.scan
        put(state, SENSOR_FAILED, failed)
        return
    state.failing_for = 0.0
    put(state, SENSOR_FAILED, False)
    smoothing = state.panel[P_PV_FILTER]
    share = 1.0 if smoothing <= 0.0 else 1.0 - math.exp(-p.control.scan / smoothing)
    state.pv += share * (scale(p, current) - state.pv)


# Conditions and interlocks ------------------------------------------------------------------------------------------


@compiled
def put(state: State, condition: int, holds: bool) -> None:
    """Set or clear one condition."""
    if holds:
        state.conditions |= 1 << condition
    else:
        state.conditions &= ~(1 << condition)


@compiled
def holds(state: State, condition: int) -> bool:
    """Tell whether one condition holds."""
    return (state.conditions >> condition) & 1 == 1


@compiled
def watch_switch(p: Params, state: State, level: float, dt: float) -> None:
    """Follow the overflow switch at a level [m] for dt [s]; a broken wire reads as full. Opening drops the start."""
    if not p.switch.fitted:
        return
    is_open = holds(state, SWITCH_OPEN)
    if state.panel[F_SWITCH_STUCK] <= 0.0:
        if level >= p.switch.trips_at:
            is_open = is_open or state.switch_for + 1e-9 >= p.switch.delay
            state.switch_for += dt
        else:
            state.switch_for = 0.0
            is_open = is_open and level > p.switch.closes_at
    is_open = is_open or state.panel[F_SWITCH_WIRE] > 0.0
    put(state, SWITCH_OPEN, is_open)
    if is_open:
        put(state, SWITCH_LATCHED, True)
        put(state, STARTED, False)
        put(state, PUMP_ALLOWED, False)


@compiled
def latched(state: State) -> bool:
    """Tell whether a stop, the switch or a failed sensor still waits for its reset."""
    return holds(state, STOP_LATCHED) or holds(state, SWITCH_LATCHED) or holds(state, SENSOR_LATCHED)


@compiled
def interlock(state: State) -> None:
    """Latch stops and failures. Every one of them drops the start, and only the start button brings it back."""
    mains = state.panel[P_MAINS] > 0.0
    pressed = state.panel[P_STOP] > 0.0
    put(state, MAINS, mains)
    put(state, STOP_PRESSED, pressed)
    put(state, AUTOMATIC, state.panel[P_AUTO] > 0.0)
    if pressed:
        put(state, STOP_LATCHED, True)
    if holds(state, SENSOR_FAILED):
        put(state, SENSOR_LATCHED, True)
    if not mains or latched(state):
        put(state, STARTED, False)
    put(state, PUMP_ALLOWED, holds(state, STARTED))


@compiled
def press_reset(state: State) -> None:
    """Clear each latch whose cause is gone. It starts nothing."""
    if state.panel[P_STOP] <= 0.0:
        put(state, STOP_LATCHED, False)
    if not holds(state, SWITCH_OPEN):
        put(state, SWITCH_LATCHED, False)
    if not holds(state, SENSOR_FAILED):
        put(state, SENSOR_LATCHED, False)


@compiled
def turn_wired(state: State, entry: int, value: float) -> None:
    """Press or release the stop, or turn the mains: both drop the start even when they are back within one scan."""
    state.panel[entry] = value
    if state.panel[P_STOP] > 0.0:
        put(state, STOP_LATCHED, True)
    if holds(state, STOP_LATCHED) or state.panel[P_MAINS] <= 0.0:
        put(state, STARTED, False)


@compiled
def set_one(p: Params, state: State, entry: int, value: float) -> None:
    """Carry out one action of a person: press a momentary button, or set an entry of the panel without a bump."""
    panel = state.panel
    if entry == P_RESET:
        press_reset(state)
    elif entry == P_START:
        put(state, STARTED, panel[P_MAINS] > 0.0 and panel[P_STOP] <= 0.0 and not latched(state))
    elif entry == P_PRIME:
        primed = p.drain.kind == 2 and state.tank > p.drain.inlet_volume
        put(state, PRIMED, holds(state, PRIMED) or primed)
    elif entry == P_SILENCE:
        put(state, SILENCED, True)
    elif entry == P_TOP_UP:
        state.reservoir += value
        state.added += value
    elif entry in (P_STOP, P_MAINS):
        turn_wired(state, entry, value)
    elif entry == P_SET_POINT:
        stepped = math.floor(value / panel[P_SP_STEP] + 0.5) * panel[P_SP_STEP]
        panel[P_SET_POINT] = min(max(stepped, panel[P_SP_LOW]), panel[P_SP_HIGH])
    elif P_GAIN <= entry <= P_WEIGHT:
        before = swift_part(p.control.direction, state)
        panel[entry] = value
        state.integral += before - swift_part(p.control.direction, state)
    else:
        if entry == P_AUTO and value <= 0.0 < panel[P_AUTO]:
            panel[P_MANUAL] = state.output
        panel[entry] = value


# Limits, lamps and horn ---------------------------------------------------------------------------------------------


@compiled
def watch_band(scan: float, state: State, band: int) -> None:
    """Follow one limit on the PV for a scan [s], with dead band and delays.

    band: 0 high-high, 1 high, 2 low, 3 low-low, 4 deviation.
    """
    panel = state.panel
    at = P_BANDS + 5 * band
    if panel[at] <= 0.0 or (band == 4 and not (holds(state, AUTOMATIC) and holds(state, STARTED))):
        put(state, HIGH_HIGH + band, False)
        state.timers[2 * band] = state.timers[2 * band + 1] = 0.0
        return
    if band < 2:
        beyond = state.pv - panel[at + 1]
    elif band < 4:
        beyond = panel[at + 1] - state.pv
    else:
        beyond = abs(state.pv - state.set_point) - panel[at + 1]
    active = holds(state, HIGH_HIGH + band)
    timer = 2 * band + (1 if active else 0)
    if (not active and beyond >= 0.0) or (active and beyond < -panel[at + 2]):
        if state.timers[timer] + 1e-9 >= panel[at + (4 if active else 3)]:
            put(state, HIGH_HIGH + band, not active)
            state.timers[timer] = 0.0
        else:
            state.timers[timer] += scan
    else:
        state.timers[timer] = 0.0


@compiled
def lamp_states(state: State) -> int:
    """Which rows of the lamps' truth table hold, as bits in the table's order."""
    rows = 0
    for row, condition in enumerate((STOP_LATCHED, SWITCH_LATCHED, SENSOR_LATCHED)):
        rows |= (1 if holds(state, condition) else 0) << row
    if not holds(state, STARTED) and rows == 0:
        rows |= 1 << 3
    rows |= ((state.conditions >> HIGH_HIGH) & 0x1F) << 4
    normal_running = rows == 0
    if not holds(state, AUTOMATIC):
        rows |= 1 << 13
    if normal_running:
        rows |= 1 << 14
    return rows


@compiled
def light(p: Params, state: State) -> None:
    """Light the lamps and sound the horn from the truth table. A new cause sounds it again after a silence."""
    mains = holds(state, MAINS)
    rows = lamp_states(state) if mains else 0
    steady = 0x0F if mains and state.panel[P_LAMP_TEST] > 0.0 else 0
    flashing = horn_rows = 0
    for row in range(LAMP_ROWS):
        if (rows >> row) & 1 == 1:
            for colour in range(4):
                mode = p.tables.lamps[row, colour]
                steady |= (mode & 1) << colour
                flashing |= (mode >> 1) << colour
            horn_rows |= p.tables.lamps[row, 4] << row
    lit = (steady & ~flashing) << RED | flashing << RED_FLASH
    state.conditions = state.conditions & ~(0xFF << RED) | lit
    if horn_rows & ~state.horn_for != 0 or horn_rows == 0:
        put(state, SILENCED, False)
    state.horn_for = horn_rows
    put(state, HORN, horn_rows != 0 and not holds(state, SILENCED))


# The controller -----------------------------------------------------------------------------------------------------


@compiled
def swift_part(direction: float, state: State) -> float:
    """Proportional and derivative part of the output, from the PV's lag as it stands (fraction of output).

    P on set point weight, D on PV only, filtered with Td/N by a backward difference.
    Source: Åström & Hägglund, PID Controllers (1995), sections 3.4 and 3.6.
    """
    panel = state.panel
    proportional = panel[P_GAIN] * (panel[P_WEIGHT] * state.set_point - state.pv)
    filtered = 1.0 if panel[P_DERIVATIVE] > 0.0 else 0.0
    derivative = -panel[P_GAIN] * panel[P_DERIVATIVE_FILTER] * filtered * (state.pv - state.pv_lag)
    return direction * (proportional + derivative)


@compiled
def follow_set_point(p: Params, state: State) -> None:
    """Bring the working set point to the entered one, no faster than the ramp allows."""
    panel = state.panel
    most = panel[P_RAMP] * p.control.scan
    state.set_point += min(max(panel[P_SET_POINT] - state.set_point, -most), most)


@compiled
def control(p: Params, state: State) -> None:
    """One PID step with limits; the integral holds in saturation, in rate limiting and while the pump is blocked."""
    panel, h = state.panel, p.control.scan
    share = panel[P_DERIVATIVE_FILTER] * h
    state.pv_lag += share / (panel[P_DERIVATIVE] + share) * (state.pv - state.pv_lag)
    if not holds(state, PUMP_ALLOWED):
        put(state, LIMITED, False)
        state.output = 0.0
        return
    swift = swift_part(p.control.direction, state)
    automatic = holds(state, AUTOMATIC)
    wanted = swift + state.integral if automatic else panel[P_MANUAL]
    most = panel[P_OUT_RATE] * h
    low = max(panel[P_OUT_LOW] if automatic else 0.0, state.output - most)
    high = max(min(panel[P_OUT_HIGH] if automatic else 1.0, state.output + most), low)
    state.output = min(max(wanted, low), high)
    put(state, LIMITED, state.output != wanted)
    if not automatic:
        state.integral = state.output - swift
        return
    error = state.set_point - state.pv
    step = p.control.direction * panel[P_GAIN] * h / panel[P_INTEGRAL] * error
    winding = (wanted > high and step > 0.0) or (wanted < low and step < 0.0)
    if not winding and abs(error) >= panel[P_DEAD_BAND]:
        state.integral += step


# Pump and drain -----------------------------------------------------------------------------------------------------


@compiled
def drive(p: Params, state: State) -> float:
    """Turn the output into the pump's command (fraction): as it is, or on and off by time-proportioning."""
    if not p.pump.on_off:
        return state.output
    if not holds(state, PUMP_ALLOWED):
        state.cycle_for = p.pump.cycle  # a start begins a cycle of its own
        return 0.0
    if state.cycle_for + 1e-9 >= p.pump.cycle:
        state.cycle_for = 0.0
        on = state.output * p.pump.cycle
        if on < p.pump.least_on:
            on = 0.0
        elif p.pump.cycle - on < p.pump.least_off:
            on = p.pump.cycle
        state.on_time = on
    command = 1.0 if state.cycle_for + 1e-9 < state.on_time else 0.0
    state.cycle_for += p.control.scan
    return command


@compiled
def pump_wants(p: Params, state: State, command: float, lift: float) -> float:
    """Flow [m3/s] that the pump settles at for a command and a lift [m], with its start and stall thresholds.

    Straight from the slowest flow at the stall to the largest at 100 %, at the measured lift; other lifts by the
    affinity laws: q² = q_measured² + q_largest² (H_measured - H)/(H_shut_off - H_measured).
    Source of the affinity laws: any pump handbook, e.g. Karassik et al., Pump Handbook (from memory).
    """
    pump = p.pump
    running = holds(state, PUMP_RUNNING)
    powered = holds(state, PUMP_ALLOWED) and command > 0.0
    runs = powered and command >= (pump.stalls_at if running else pump.starts_at)
    if runs and not running:
        state.starts += 1
    put(state, PUMP_RUNNING, runs)
    over = state.reservoir - p.reservoir.suction_volume
    if holds(state, PUMP_DRY):
        over -= min(pump.largest_flow * CATCHES, 0.1 * (p.reservoir.capacity - p.reservoir.suction_volume))
    put(state, PUMP_DRY, runs and over <= 0.0)
    if not runs or holds(state, PUMP_DRY) or state.panel[F_AIRLOCK] > 0.0:
        return 0.0
    share = (command - pump.stalls_at) / (1.0 - pump.stalls_at)
    measured = pump.slowest_flow + share * (pump.largest_flow - pump.slowest_flow)
    squared = measured**2 + pump.largest_flow**2 * (pump.measured_lift - lift) / pump.head_to_spare
    return pump.left_by_wear * math.sqrt(max(squared, 0.0))


@compiled
def stopped_flow(p: Params, state: State, level: float, surface: float) -> float:
    """Flow [m3/s] through the stopped pump by both levels [m]: positive into the tank, negative out of it."""
    pump = p.pump
    if holds(state, PUMP_RUNNING) or pump.vented:
        return 0.0
    forward = surface - max(level, pump.fill_end)
    if forward > 0.0 and state.reservoir > p.reservoir.suction_volume:
        return pump.stopped_coefficient * math.sqrt(WATER * GRAVITY * forward)
    back = level - surface
    shut = pump.check_valve and state.panel[F_CHECK_VALVE] <= 0.0
    if level > pump.fill_end and back > 0.0 and not shut:
        return -pump.stopped_coefficient * math.sqrt(WATER * GRAVITY * back)
    return 0.0


@compiled
def opened(drain: Drain, opening: float) -> float:
    """Flow coefficient [m3/s] at 1 Pa of the hand valve at an opening. Source: inherent trims of IEC 60534-2-4."""
    if opening <= 0.0:
        return 0.0
    if drain.trim == 1:
        return drain.coefficient * drain.rangeability ** (opening - 1.0)
    if drain.trim == 2:
        return drain.coefficient * math.sqrt(opening)
    return drain.coefficient * opening


@compiled
def friction(drain: Drain, speed: float) -> float:
    """Darcy friction factor of the drain tube at a speed [m/s]: 64/Re up to Re = 2000, Haaland's from 4000.

    Between them a straight line in Re, since the flow may be either (common practice, no source).
    Source: S. E. Haaland, J. Fluids Eng. 105 (1983) 89-90.
    """
    reynolds = max(speed * drain.bore / drain.viscosity, 1.0)
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    turbulent = -1.8 * math.log10((drain.roughness / drain.bore / 3.7) ** 1.11 + 6.9 / max(reynolds, 4000.0))
    share = min((reynolds - 2000.0) / 2000.0, 1.0)
    return 0.032 + share * (1.0 / turbulent**2 - 0.032)


@compiled
def gravity_flow(drain: Drain, opening: float, head: float, before: float) -> float:
    """Flow [m3/s] that a head [m] drives through valve and tube in series; `before` is where the search begins.

    g h = (q/C)²/1000 + (1 + K + f L/D) v²/2, solved by substitution.
    """
    coefficient = opened(drain, opening)
    if coefficient <= 0.0 or head <= 0.0:
        return 0.0
    area = 0.25 * math.pi * drain.bore**2
    flow = before if before > 0.0 else 0.5 * coefficient * math.sqrt(WATER * GRAVITY * head)
    for _ in range(2):
        tube = (1.0 + drain.loss + friction(drain, flow / area) * drain.length / drain.bore) / (2.0 * area**2)
        flow = math.sqrt(GRAVITY * head / (1.0 / (WATER * coefficient**2) + tube))
    return flow


@compiled
def drain_wants(p: Params, state: State, level: float, surface: float) -> float:
    """Flow [m3/s] that the drain takes at a level [m], with the reservoir's surface [m] where its outlet may drown."""
    drain = p.drain
    if drain.kind == 0 or state.tank <= drain.inlet_volume:
        put(state, PRIMED, False)
        return 0.0
    if drain.kind == 3:
        return state.panel[P_DRAW]
    if drain.kind == 2 and not holds(state, PRIMED):
        return 0.0
    below = max(drain.outlet, surface) if drain.to_reservoir else drain.outlet
    return gravity_flow(drain, state.panel[P_VALVE], level - below, state.drain_flow)


# Physics ------------------------------------------------------------------------------------------------------------


@compiled
def leak_wants(tank: Tank, level: float) -> float:
    """Flow [m3/s] through a hole in the tank's floor at a level [m]: it goes as the square root of the level.

    Source: E. Torricelli, De motu gravium (1644); the jet's speed is √(2 g h).
    """
    return tank.leak * math.sqrt(level) if tank.leak > 0.0 else 0.0


@compiled
def move_liquid(p: Params, state: State, leaking: float, dt: float) -> None:
    """Move liquid for dt [s], `leaking` [m3/s] to nowhere. What leaves one place arrives in another, whatever happens.

    Nothing is made or lost: a leak goes where the drain's liquid goes that is taken away for good.
    """
    wanted = state.drain_flow * dt
    drained = min(wanted, max(state.tank - p.drain.inlet_volume, 0.0))
    if drained < wanted:  # the rest is air
        state.drain_flow = drained / dt
        put(state, PRIMED, False)
    state.tank -= drained
    if p.drain.to_reservoir:
        state.reservoir += drained
    else:
        state.used += drained
    leaked = min(leaking * dt, max(state.tank, 0.0))
    state.tank -= leaked
    state.used += leaked
    pumped = state.pump_flow * dt
    if pumped > 0.0:
        pumped = min(pumped, max(state.reservoir, 0.0))
    else:
        pumped = -min(-pumped, max(state.tank - volume_at(p.tables, p.pump.fill_end), 0.0))
    state.reservoir -= pumped
    state.tank += pumped
    over = state.tank - p.tank.spill_volume
    if over > 0.0:
        put(state, SPILLING, True)
        state.tank -= over
        state.spilled += over
    over = state.reservoir - p.reservoir.capacity
    if over > 0.0:
        put(state, RESERVOIR_SPILLING, True)
        state.reservoir -= over
        state.spilled += over


@set_in
def let_time_pass(p: Params, state: State, command: float) -> None:
    """Run the physics to the next scan in sub-steps; the switch cuts the pump inside them, without the program."""
    dt = p.control.scan / p.control.sub_steps
    lag = 1.0 - math.exp(-dt / p.pump.spin_up) if p.pump.spin_up > 0.0 else 1.0
    state.conditions &= ~(1 << SPILLING | 1 << RESERVOIR_SPILLING)
    for _ in range(p.control.sub_steps):
        level = level_at(p.tables, state, state.tank)
        surface = p.reservoir.floor + state.reservoir / p.reservoir.area
        watch_switch(p, state, level, dt)
        wanted = pump_wants(p, state, command, max(p.pump.fill_end, level) - surface)
        wanted += stopped_flow(p, state, level, surface)
        state.pump_flow += lag * (wanted - state.pump_flow)
        if abs(state.pump_flow) < NOTHING:
            state.pump_flow = 0.0
        state.drain_flow = drain_wants(p, state, level, surface)
        move_liquid(p, state, leak_wants(p.tank, level), dt)


# One scan, many scans -----------------------------------------------------------------------------------------------


@set_in
def decide(p: Params, state: State, seed: int) -> None:
    """Do everything that the panel does in one scan, up to the output."""
    read_sensor(p, state, seed)
    measure(p, state)
    interlock(state)
    follow_set_point(p, state)
    if not holds(state, SENSOR_FAILED):
        for band in range(5):
            watch_band(p.control.scan, state, band)
    control(p, state)
    light(p, state)


@compiled
def write_row(p: Params, state: State, row: Reals) -> None:
    """Write the state at this scan into a row, in the order of COLUMNS."""
    row[0] = state.scan * p.control.scan
    row[1] = state.set_point
    row[2] = state.pv
    row[3] = state.tank
    row[4] = level_at(p.tables, state, state.tank)
    row[5] = state.output
    row[6] = state.pump_flow
    row[7] = state.drain_flow
    row[8] = state.reservoir
    row[9] = state.spilled
    row[10] = state.used
    row[11] = state.added
    row[12] = loop_current(state)
    row[13] = state.conditions


@compiled
def write_events(state: State, before: int, log: Log) -> None:
    """Write each condition that changed in this scan into the journal's rows."""
    changed = (before ^ state.conditions) & ~NOT_JOURNALLED
    for condition in range(CONDITIONS_USED):
        if (changed >> condition) & 1 == 1:
            event = log.events[log.used[1]]
            event[0] = state.scan
            event[1] = condition
            event[2] = (state.conditions >> condition) & 1
            log.used[1] += 1


@compiled
def run_scans(p: Params, state: State, actions: Reals, log: Log, job: Job) -> int:
    """Run scans, carrying out actions[n, (scan, panel entry, value)] when they fall due; gives how many were run.

    Stops early, between two scans, when the journal's rows are nearly full: call again with room.
    """
    skip = -state.scan % job.every  # scans until the next one that is written down
    for done in range(job.scans):
        if log.used[1] + CONDITIONS_USED > log.events.shape[0]:
            return done
        before = state.conditions
        while log.used[2] < actions.shape[0] and actions[log.used[2], 0] <= state.scan:
            set_one(p, state, int(actions[log.used[2], 1]), actions[log.used[2], 2])
            log.used[2] += 1
        decide(p, state, job.seed)
        command = drive(p, state)
        if skip == 0:
            write_row(p, state, log.rows[log.used[0]])
            log.used[0] += 1
            skip = job.every
        skip -= 1
        let_time_pass(p, state, command)
        write_events(state, before, log)
        state.scan += 1
    return job.scans
