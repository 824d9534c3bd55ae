"""One scan of the whole rig, compiled: sensor, converter, filter, interlocks, alarms, PID, drive, lamps and physics.

Live runs, batch runs and ensembles all call `run_scans`; a run replayed from its parameters, seed and actions is
bit-identical whichever way it was driven. Everything is in SI units. Nothing but numpy and numba is imported here.

Longer than 400 lines because the compiler's disk cache does not notice edits in other modules: the scan and everything
that it calls must stand in one file, or a stale copy could run.

Order inside a scan, as in a real controller: actions of people, sensor readings that fell due, converter, scaling,
filter, interlocks, set point, limits, PID, states of the alarms, lamps, drive; then the physics up to the next scan in
sub-steps.
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
ALARMS = 11  # members of the ladder, below
PANEL = 164  # entries of the panel, below


class Tables(Protocol):
    """The tables that a rig looks things up in."""

    volumes: Reals  # [ROWS] [m3] at equal steps of level, from the floor to the rim
    step: float  # [m] of level, from one row to the next


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
    converted: float  # [m3] the last good reading, not filtered
    rate_lag: float  # [m3] the PV's lag from which its rate is taken
    still_at: float  # [m3] the reading that has not changed since
    still_for: float  # [s]
    rise_from: float  # [m3] the lowest PV since the pump last brought its rise
    silence_left: float  # [s] of the horn's silence
    timers: Reals  # [2 ALARMS] [s] on and off of each alarm
    shelf_left: Reals  # [ALARMS] [s] on the shelf
    scan: int  # scans done
    readings: int  # of the sensor, taken
    ring_at: int
    row: int  # of the tank's table, found last
    conditions: int  # bits, below
    starts: int  # of the pump
    horn_for: int  # rows of the lamps' table that sound the horn
    journalled: int  # conditions as the journal has them
    watched: int  # alarms in use, as bits
    shelved: int  # alarms on the shelf, as bits
    suppressed: int  # alarms that the design keeps quiet, as bits
    alarms: int  # states of the alarms, four bits each
    settled: int  # what the states of the alarms were worked out from; -1: somebody did something since
    standing: int  # rows of the lamps' table that an alarm holds
    unanswered: int  # those of them with an alarm that nobody has acknowledged
    rows: int  # of the lamps' table, that hold
    answered: int  # those of them that somebody has acknowledged
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


TABLES = _record_of(Tables, volumes=(ROWS,))
STATE = _record_of(State, timers=(2 * ALARMS,), shelf_left=(ALARMS,), ring=(RING,), panel=(PANEL,))


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
    shelve_at_most: float  # [s]


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
    """Where a run writes: rows[n, COLUMNS], events[m, 3], used[rows, events, actions].

    An event is (scan, condition, 0 or 1); or (scan, CONDITIONS_USED + alarm, 16 who + state), where who is PROCESS,
    CLOCK, DESIGN, or PEOPLE + the place of the action among those of the run.
    """

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
RATE, FROZEN, BAD_SIGNAL, NO_RISE, SWITCH, SPILL = range(31, 37)
CONDITIONS_USED = 37
NOT_JOURNALLED = (1 << PUMP_RUNNING) | (1 << LIMITED) | (0xFF << RED)  # too frequent, or follow from others

# Alarms: the first five watch the PV against a limit; their conditions are HIGH_HIGH …, those of the others RATE …
A_HIGH_HIGH, A_HIGH, A_LOW, A_LOW_LOW, A_DEVIATION, A_RATE, A_FROZEN, A_BAD_SIGNAL, A_NO_RISE, A_SWITCH, A_SPILL = (
    range(11)
)
WITHOUT_VOLUME = 1 << A_BAD_SIGNAL | 1 << A_SWITCH | 1 << A_SPILL  # these go on while the sensor has failed

# States of an alarm, letters A to I of ANSI/ISA-18.2-2016
NORMAL, UNACKNOWLEDGED, ACKNOWLEDGED, RETURNED, LATCHED_UNACKNOWLEDGED, LATCHED_ACKNOWLEDGED = range(6)
SHELVED, SUPPRESSED, OUT_OF_SERVICE = range(6, 9)
PROCESS, CLOCK, DESIGN, PEOPLE = range(4)  # who moves an alarm from state to state
ROOM = CONDITIONS_USED + 2 * ALARMS  # most events of one scan with one action

# What people can set while the rig runs: the panel
P_SET_POINT, P_AUTO, P_MANUAL, P_VALVE, P_DRAW, P_MAINS, P_STOP, P_LAMP_TEST = range(8)
P_RESET, P_START, P_PRIME, P_SILENCE, P_TOP_UP = range(8, 13)  # momentary: nothing stays set
(P_GAIN, P_INTEGRAL, P_DERIVATIVE, P_DERIVATIVE_FILTER, P_WEIGHT) = range(13, 18)  # changed without a bump
(P_PV_FILTER, P_DEAD_BAND, P_OUT_LOW, P_OUT_HIGH, P_OUT_RATE, P_SP_LOW, P_SP_HIGH, P_SP_STEP, P_RAMP) = range(18, 27)
P_ALARMS = 27  # ALARMS times: in use, limit, dead band, on-delay, off-delay, latching, suppression, out of service
IN_USE, LIMIT, DEAD_BAND, ON_DELAY, OFF_DELAY, LATCHING, SUPPRESSION, SERVICE, PARTS = range(9)
P_RATE_AVERAGING, P_NO_RISE_OUTPUT, P_SILENCE_TIME, P_BY_HAND = range(115, 119)
# faults, 1 or 0
F_AIRLOCK, F_ECHO_LOST, F_HELD, F_SWITCH_STUCK, F_SWITCH_WIRE, F_CHECK_VALVE, F_LOOP_WIRE = range(119, 126)
P_ACKNOWLEDGE, P_ACKNOWLEDGE_ONE, P_SHELVE = 126, 127, 138  # momentary; the last two ALARMS times
P_LAMPS = 149  # LAMP_ROWS times: red, yellow, green and blue as digits of base 3 (0 off, 1 steady, 2 flashing), the
#   lowest first, then horn and calms as digits of base 2

# Columns of a row: time, SP, PV, volume, level, output, pump flow, drain flow, reservoir, spilled, used, added, signal,
# conditions, states of the alarms
COLUMNS = 15


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
    state.converted = scale(p, current)
    smoothing = state.panel[P_PV_FILTER]
    share = 1.0 if smoothing <= 0.0 else 1.0 - math.exp(-p.control.scan / smoothing)
    state.pv += share * (state.converted - state.pv)


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
def press(p: Params, state: State, log: Log, entry: int, value: float) -> None:
    """Press one of the buttons after which nothing stays set."""
    if entry == P_RESET:
        press_reset(state)
        reset_alarms(state, log)
    elif entry == P_START:
        blocked = state.panel[P_MAINS] <= 0.0 or state.panel[P_STOP] > 0.0 or latched(state)
        put(state, STARTED, not blocked)
    elif entry == P_PRIME:
        primed = p.drain.kind == 2 and state.tank > p.drain.inlet_volume
        put(state, PRIMED, holds(state, PRIMED) or primed)
    elif entry == P_SILENCE:
        put(state, SILENCED, True)
        state.silence_left = state.panel[P_SILENCE_TIME]
    elif entry == P_TOP_UP:
        state.reservoir += value
        state.added += value
    else:
        answer(p, state, log, entry, value)


@compiled
def set_one(p: Params, state: State, log: Log, entry: int, value: float) -> None:
    """Carry out one action of a person: press a momentary button, or set an entry of the panel without a bump."""
    panel = state.panel
    state.settled = -1
    if P_RESET <= entry <= P_TOP_UP or P_ACKNOWLEDGE <= entry < P_LAMPS:
        press(p, state, log, entry, value)
    elif P_ALARMS <= entry < P_ALARMS + PARTS * ALARMS:
        set_alarm(state, log, entry, value)
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


# Alarms: conditions -------------------------------------------------------------------------------------------------


@compiled
def bit_of(alarm: int) -> int:
    """Give the condition of an alarm."""
    return HIGH_HIGH + alarm if alarm <= A_DEVIATION else RATE + alarm - A_RATE


@compiled
def forget(state: State, alarm: int) -> None:
    """Take an alarm's condition back, and begin its delays anew."""
    put(state, bit_of(alarm), False)
    state.timers[2 * alarm] = state.timers[2 * alarm + 1] = 0.0


@compiled
def follow(scan: float, state: State, alarm: int, beyond: float, on_delay: float) -> None:
    """Follow an alarm's condition for a scan [s]: from 0 on it comes, past the dead band on the other side it goes.

    on_delay [s]; dead band and off-delay are the panel's.
    """
    at = P_ALARMS + PARTS * alarm
    bit = bit_of(alarm)
    active = holds(state, bit)
    timer = 2 * alarm + (1 if active else 0)
    if (not active and beyond >= 0.0) or (active and beyond < -state.panel[at + DEAD_BAND]):
        if state.timers[timer] + 1e-9 >= (state.panel[at + OFF_DELAY] if active else on_delay):
            put(state, bit, not active)
            state.timers[timer] = 0.0
        else:
            state.timers[timer] += scan
    else:
        state.timers[timer] = 0.0


@compiled
def change_beyond(scan: float, state: State, limit: float) -> float:
    """Give how far the PV's rate of change is beyond its limit, up or down [m3/s], after another scan [s].

    The rate is the PV less its lag, over the lag's time constant: exact for a ramp once the lag has settled.
    """
    averaging = state.panel[P_RATE_AVERAGING]
    state.rate_lag += scan / (averaging + scan) * (state.pv - state.rate_lag)
    return abs(state.pv - state.rate_lag) / averaging - limit


@compiled
def still_beyond(scan: float, state: State, limit: float, on_delay: float) -> float:
    """Give how much longer than allowed the reading has stood still [s]; a change up to the limit [m3] is none."""
    if abs(state.converted - state.still_at) > limit:
        state.still_at = state.converted
        state.still_for = 0.0
    else:
        state.still_for += scan
    return state.still_for + 1e-9 - on_delay


@compiled
def watch_rise(scan: float, state: State, at: int) -> None:
    """Follow for a scan [s] the alarm of a pump that brings nothing: the PV must rise by the limit within the on-delay.

    The rise counts from the lowest PV since the last one, so that a draw in between is no rise and hides none.
    """
    panel = state.panel
    if not holds(state, PUMP_ALLOWED) or state.output < panel[P_NO_RISE_OUTPUT]:
        forget(state, A_NO_RISE)
        state.rise_from = state.pv
        return
    state.rise_from = min(state.rise_from, state.pv)
    beyond = panel[at + LIMIT] - (state.pv - state.rise_from)
    follow(scan, state, A_NO_RISE, beyond, panel[at + ON_DELAY])
    if beyond < 0.0 and not holds(state, NO_RISE):
        state.rise_from = state.pv


@compiled
def watch_alarm(scan: float, state: State, alarm: int) -> None:
    """Follow the condition of one alarm that is in use for a scan [s]."""
    panel = state.panel
    at = P_ALARMS + PARTS * alarm
    on_delay = panel[at + ON_DELAY]
    if alarm <= A_HIGH:
        beyond = state.pv - panel[at + LIMIT]
    elif alarm <= A_LOW_LOW:
        beyond = panel[at + LIMIT] - state.pv
    elif alarm == A_DEVIATION:
        if not (holds(state, AUTOMATIC) and holds(state, STARTED)):
            forget(state, alarm)
            return
        beyond = abs(state.pv - state.set_point) - panel[at + LIMIT]
    elif alarm == A_RATE:
        beyond = change_beyond(scan, state, panel[at + LIMIT])
    elif alarm == A_FROZEN:
        beyond = still_beyond(scan, state, panel[at + LIMIT], on_delay)
        on_delay = 0.0  # it is in the time for which the reading may stand still
    elif alarm == A_NO_RISE:
        watch_rise(scan, state, at)
        return
    else:
        there = alarm == A_BAD_SIGNAL and holds(state, SENSOR_FAILED)
        there = there or (alarm == A_SWITCH and holds(state, SWITCH_OPEN))
        there = there or (alarm == A_SPILL and (holds(state, SPILLING) or holds(state, RESERVOIR_SPILLING)))
        beyond = 1.0 if there else -1.0
    follow(scan, state, alarm, beyond, on_delay)


# Alarms: states -----------------------------------------------------------------------------------------------------


@compiled
def row_of(alarm: int) -> int:
    """Give the row of the lamps' table that an alarm holds."""
    if alarm == A_BAD_SIGNAL:
        return 2
    if alarm == A_SWITCH:
        return 1
    return 4 + alarm if alarm <= A_FROZEN else 11 if alarm == A_NO_RISE else 12


@compiled
def state_of(state: State, alarm: int) -> int:
    """Give the state of an alarm."""
    return (state.alarms >> (4 * alarm)) & 15


@compiled
def move(state: State, log: Log, alarm: int, to: int, who: int) -> None:
    """Bring an alarm into a state and write it into the journal's rows, if it is not there already."""
    if to == state_of(state, alarm):
        return
    state.alarms = state.alarms & ~(15 << (4 * alarm)) | to << (4 * alarm)
    event = log.events[log.used[1]]
    event[0] = state.scan
    event[1] = CONDITIONS_USED + alarm
    event[2] = who << 4 | to
    log.used[1] += 1
    if to == UNACKNOWLEDGED:
        state.horn_for &= ~(1 << row_of(alarm))  # one that comes again is a new cause, although its row held already
    state.standing = state.unanswered = 0
    for one in range(ALARMS):
        here = state_of(state, one)
        if UNACKNOWLEDGED <= here <= LATCHED_ACKNOWLEDGED:
            state.standing |= 1 << row_of(one)
            if here not in (ACKNOWLEDGED, LATCHED_ACKNOWLEDGED):
                state.unanswered |= 1 << row_of(one)


@compiled
def suppress(state: State, alarm: int) -> None:
    """See whether an alarm is suppressed by design: 0 never, 1 while not started, 2 in manual, 3 either."""
    way = int(state.panel[P_ALARMS + PARTS * alarm + SUPPRESSION])
    quiet = (way & 1 == 1 and not holds(state, STARTED)) or (way & 2 == 2 and not holds(state, AUTOMATIC))
    state.suppressed = state.suppressed & ~(1 << alarm) | (1 if quiet else 0) << alarm


@compiled
def kept_apart(state: State, alarm: int) -> int:
    """Give the state of an alarm out of service, suppressed or shelved, in this order; NORMAL for the others."""
    if state.panel[P_ALARMS + PARTS * alarm + SERVICE] > 0.0:
        return OUT_OF_SERVICE
    if (state.suppressed >> alarm) & 1 == 1:
        return SUPPRESSED
    return SHELVED if (state.shelved >> alarm) & 1 == 1 else NORMAL


@compiled
def next_state(state: State, alarm: int) -> int:
    """Give the state that an alarm belongs in, from the one that it is in, its condition and what was done about it.

    Source: ANSI/ISA-18.2-2016 and IEC 62682:2014, alarm state transition diagram (quoted from memory).
    """
    was, apart = state_of(state, alarm), kept_apart(state, alarm)
    if apart != NORMAL:
        return apart
    if holds(state, bit_of(alarm)):
        return ACKNOWLEDGED if was == ACKNOWLEDGED else UNACKNOWLEDGED
    latching = state.panel[P_ALARMS + PARTS * alarm + LATCHING] > 0.0
    to = was if was < SHELVED else NORMAL
    if was == UNACKNOWLEDGED:
        to = LATCHED_UNACKNOWLEDGED if latching else RETURNED
    elif was == ACKNOWLEDGED:
        to = LATCHED_ACKNOWLEDGED if latching else NORMAL
    if state.panel[P_BY_HAND] <= 0.0 and to in (RETURNED, LATCHED_UNACKNOWLEDGED):
        to = NORMAL if to == RETURNED else LATCHED_ACKNOWLEDGED
    return to


@compiled
def signature(state: State) -> int:
    """Give all that moves an alarm from state to state, but for what people do and the shelf's clock, as bits."""
    bits = state.conditions
    first = (bits >> HIGH_HIGH) & 0x1F | ((bits >> RATE) & 0x3F) << 5
    return first | ((bits >> STARTED) & 1) << 11 | ((bits >> AUTOMATIC) & 1) << 12


@compiled
def settle_alarms(scan: float, state: State, log: Log) -> None:
    """Bring every alarm in use into the state in which it belongs, and let the shelf's clock run for a scan [s]."""
    for alarm in range(ALARMS):
        if (state.watched >> alarm) & 1 == 0:
            continue
        was = state_of(state, alarm)
        suppress(state, alarm)
        if (state.shelved >> alarm) & 1 == 1:
            if state.shelf_left[alarm] < 0.5 * scan:
                state.shelved &= ~(1 << alarm)
            else:
                state.shelf_left[alarm] -= scan
        to = next_state(state, alarm)
        move(state, log, alarm, to, DESIGN if SUPPRESSED in (was, to) else CLOCK if was == SHELVED else PROCESS)
    state.settled = signature(state)


@compiled
def place_one(state: State, log: Log, alarm: int) -> None:
    """Keep one alarm apart after what somebody did, or bring it back to where its condition wants it."""
    if (state.watched >> alarm) & 1 == 0:
        return
    apart = kept_apart(state, alarm)
    if apart != NORMAL:
        move(state, log, alarm, apart, PEOPLE + log.used[2])
    elif state_of(state, alarm) >= SHELVED:
        back = UNACKNOWLEDGED if holds(state, bit_of(alarm)) else NORMAL
        move(state, log, alarm, back, PEOPLE + log.used[2])


@compiled
def acknowledge(state: State, log: Log, alarm: int) -> None:
    """Acknowledge one alarm, in whatever state it is."""
    was = state_of(state, alarm)
    if was == UNACKNOWLEDGED:
        move(state, log, alarm, ACKNOWLEDGED, PEOPLE + log.used[2])
    elif was == RETURNED:
        move(state, log, alarm, NORMAL, PEOPLE + log.used[2])
    elif was == LATCHED_UNACKNOWLEDGED:
        move(state, log, alarm, LATCHED_ACKNOWLEDGED, PEOPLE + log.used[2])


@compiled
def reset_alarms(state: State, log: Log) -> None:
    """Let go of the latched alarms that somebody has acknowledged."""
    for alarm in range(ALARMS):
        if state_of(state, alarm) == LATCHED_ACKNOWLEDGED:
            move(state, log, alarm, NORMAL, PEOPLE + log.used[2])


@compiled
def answer(p: Params, state: State, log: Log, entry: int, value: float) -> None:
    """Acknowledge all alarms or one, or put one on the shelf for so long [s]; 0 takes it down."""
    if entry == P_ACKNOWLEDGE:
        state.answered = state.rows
        for alarm in range(ALARMS):
            acknowledge(state, log, alarm)
    elif entry < P_SHELVE:
        acknowledge(state, log, entry - P_ACKNOWLEDGE_ONE)
    else:
        alarm = entry - P_SHELVE
        if value > 0.0 and (state.watched >> alarm) & 1 == 1:
            state.shelved |= 1 << alarm
            state.shelf_left[alarm] = min(value, p.control.shelve_at_most)
        else:
            state.shelved &= ~(1 << alarm)
        place_one(state, log, alarm)


@compiled
def set_alarm(state: State, log: Log, entry: int, value: float) -> None:
    """Set one part of an alarm. One that is taken out of use is forgotten, one that is put to use begins anew."""
    alarm = (entry - P_ALARMS) // PARTS
    part = (entry - P_ALARMS) % PARTS
    state.panel[entry] = value
    if part == SERVICE:
        place_one(state, log, alarm)
    elif part == IN_USE and value <= 0.0:
        forget(state, alarm)
        state.watched &= ~(1 << alarm)
        state.shelved &= ~(1 << alarm)
        state.suppressed &= ~(1 << alarm)
        move(state, log, alarm, NORMAL, PEOPLE + log.used[2])
    elif part == IN_USE and (state.watched >> alarm) & 1 == 0:
        put_to_use(state, alarm)
        place_one(state, log, alarm)


@compiled
def put_to_use(state: State, alarm: int) -> None:
    """Watch an alarm from now on: what it remembers begins with what is read now."""
    state.watched |= 1 << alarm
    if alarm == A_RATE:
        state.rate_lag = state.pv
    elif alarm == A_FROZEN:
        state.still_at = state.converted
        state.still_for = 0.0
    elif alarm == A_NO_RISE:
        state.rise_from = state.pv


# Lamps and horn -----------------------------------------------------------------------------------------------------


@compiled
def lamp_states(state: State) -> int:
    """Which rows of the lamps' truth table hold, as bits in the table's order."""
    rows = 0
    for row, condition in enumerate((STOP_LATCHED, SWITCH_LATCHED, SENSOR_LATCHED)):
        rows |= (1 if holds(state, condition) else 0) << row
    if not holds(state, STARTED) and rows == 0:
        rows |= 1 << 3
    rows |= state.standing
    normal_running = rows == 0
    if not holds(state, AUTOMATIC):
        rows |= 1 << 13
    if normal_running:
        rows |= 1 << 14
    return rows


@compiled
def light(p: Params, state: State) -> None:
    """Light the lamps and sound the horn from the truth table.

    A row sounds the horn until it is acknowledged. A new cause ends a silence, and so does the silence's own time.
    """
    mains = holds(state, MAINS)
    rows = lamp_states(state) if mains else 0
    answered = (state.answered | state.standing) & rows & ~state.unanswered
    steady = 0x0F if mains and state.panel[P_LAMP_TEST] > 0.0 else 0
    flashing = horn_rows = 0
    for row in range(LAMP_ROWS):
        if (rows >> row) & 1 == 1:
            code = int(state.panel[P_LAMPS + row])
            calm = (answered >> row) & (code // 162)
            for colour in range(4):
                mode = code % 3
                code //= 3
                steady |= ((mode | (mode >> calm)) & 1) << colour
                flashing |= ((mode >> 1) & ~calm) << colour
            horn_rows |= (code & 1) << row
    horn_rows &= ~answered
    lit = (steady & ~flashing) << RED | flashing << RED_FLASH
    state.conditions = state.conditions & ~(0xFF << RED) | lit
    if horn_rows & ~state.horn_for != 0 or horn_rows == 0:
        put(state, SILENCED, False)
    if holds(state, SILENCED):
        put(state, SILENCED, state.silence_left >= 0.5 * p.control.scan)
        state.silence_left -= p.control.scan
    state.horn_for = horn_rows
    state.rows = rows
    state.answered = answered
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
    watched = state.watched if not holds(state, SENSOR_FAILED) else state.watched & WITHOUT_VOLUME
    for alarm in range(ALARMS):
        if (watched >> alarm) & 1 == 1:
            watch_alarm(p.control.scan, state, alarm)
    control(p, state)


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
    row[14] = state.alarms


@compiled
def write_events(state: State, log: Log) -> None:
    """Write each condition that changed in this scan into the journal's rows."""
    changed = (state.journalled ^ state.conditions) & ~NOT_JOURNALLED
    for condition in range(CONDITIONS_USED):
        if (changed >> condition) & 1 == 1:
            event = log.events[log.used[1]]
            event[0] = state.scan
            event[1] = condition
            event[2] = (state.conditions >> condition) & 1
            log.used[1] += 1
    state.journalled = state.conditions


@compiled
def run_scans(p: Params, state: State, actions: Reals, log: Log, job: Job) -> int:
    """Run scans, carrying out actions[n, (scan, panel entry, value)] when they fall due; gives how many were run.

    Stops early, between two scans or two actions, when the journal's rows are nearly full: call again with room.
    """
    skip = -state.scan % job.every  # scans until the next one that is written down
    for done in range(job.scans):
        if log.used[1] + ROOM > log.events.shape[0]:
            return done
        while log.used[2] < actions.shape[0] and actions[log.used[2], 0] <= state.scan:
            set_one(p, state, log, int(actions[log.used[2], 1]), actions[log.used[2], 2])
            log.used[2] += 1
            if log.used[1] + ROOM > log.events.shape[0]:
                return done
        decide(p, state, job.seed)
        if state.shelved != 0 or state.settled != signature(state):
            settle_alarms(p.control.scan, state, log)
        light(p, state)
        command = drive(p, state)
        if skip == 0:
            write_row(p, state, log.rows[log.used[0]])
            log.used[0] += 1
            skip = job.every
        skip -= 1
        let_time_pass(p, state, command)
        write_events(state, log)
        state.scan += 1
    return job.scans
