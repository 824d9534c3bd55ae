/* The same scan as levelbench/rig/kernel.py, written once more in C, to time the compiled scan against (-O3).
   Names and order follow the Python text; every parameter is a double, handed over in one flat struct. */
#include <math.h>
#include <stdint.h>
#include <string.h>

typedef struct {
    double step, spill_volume, leak;
    double capacity, area, floor, suction_volume;
    double on_off, largest_flow, slowest_flow, starts_at, stalls_at, spin_up, left_by_wear, measured_lift, head_to_spare;
    double fill_end, check_valve, vented, stopped_coefficient, cycle, least_on, least_off;
    double kind, coefficient, trim, rangeability, inlet, inlet_volume, outlet, bore, length, loss, roughness, viscosity;
    double to_reservoir;
    double sensor_kind, face, ratio, zero, dead_zone, in_dead_zone, at_4, at_20, update, noise, ripple, resolution, averaging, hold;
    double failure_current, measures_from, measures_to, fails_below, fails_above, failure_delay, full_count;
    double current_low, current_high, two_points, volume_4, volume_20;
    double fitted, trips_at, closes_at, delay;
    double scan, sub_steps, direction, shelve_at_most;
} Params;

typedef struct {
    const Params *p;
    const double *volumes;
    int64_t rows;
    const int64_t *lamps; /* [15][6] */
    double *real;
    int64_t *whole;
    double *ring;
    double *panel;
} Rig;

enum { TANK, RESERVOIR, SPILLED, USED, ADDED, PUMP_FLOW, DRAIN_FLOW, LEVEL_BEFORE, READING, LOST_FOR, SIGNAL, FAILING_FOR,
       PV, PV_LAG, INTEGRAL, OUTPUT, SET_POINT, SWITCH_FOR, CYCLE_FOR, ON_TIME, CONVERTED, RATE_LAG, STILL_AT, STILL_FOR,
       RISE_FROM, SILENCE_LEFT, TIMERS, SHELF_LEFT = TIMERS + 22 };
enum { SCAN, READINGS, RING_AT, ROW, CONDITIONS, STARTS, HORN_FOR, JOURNALLED, WATCHED, ON_SHELF, QUIET, STATES, SETTLED, STANDING,
       UNANSWERED, ROWS_HELD, ANSWERED };
enum { MAINS, STARTED, STOP_PRESSED, STOP_LATCHED, SWITCH_OPEN, SWITCH_LATCHED, SENSOR_FAILED, SENSOR_LATCHED, PUMP_ALLOWED,
       PUMP_RUNNING, PUMP_DRY, PRIMED, SPILLING, RESERVOIR_SPILLING, AUTOMATIC, LIMITED, HIGH_HIGH, HIGH, LOW, LOW_LOW,
       DEVIATION, RED, YELLOW, GREEN, BLUE, RED_FLASH, YELLOW_FLASH, GREEN_FLASH, BLUE_FLASH, HORN, SILENCED, RATE, FROZEN,
       BAD_SIGNAL, NO_RISE, SWITCH, SPILL };
enum { A_DEVIATION = 4, A_RATE, A_FROZEN, A_BAD_SIGNAL, A_NO_RISE, A_SWITCH, A_SPILL, ALARMS };
enum { NORMAL, UNACKNOWLEDGED, ACKNOWLEDGED, RETURNED, LATCHED_UNACKNOWLEDGED, LATCHED_ACKNOWLEDGED, SHELVED, SUPPRESSED,
       OUT_OF_SERVICE };
enum { IN_USE, LIMIT, DEAD_BAND, ON_DELAY, OFF_DELAY, LATCHING, SUPPRESSION, SERVICE, PARTS };
enum { P_SET_POINT, P_AUTO, P_MANUAL, P_VALVE, P_DRAW, P_MAINS, P_STOP, P_LAMP_TEST, P_GAIN = 13, P_INTEGRAL, P_DERIVATIVE,
       P_DERIVATIVE_FILTER, P_WEIGHT, P_PV_FILTER, P_DEAD_BAND, P_OUT_LOW, P_OUT_HIGH, P_OUT_RATE, P_SP_LOW, P_SP_HIGH,
       P_SP_STEP, P_RAMP, P_ALARMS, P_RATE_AVERAGING = 115, P_NO_RISE_OUTPUT, P_SILENCE_TIME, P_BY_HAND, F_AIRLOCK, F_ECHO_LOST, F_HELD, F_SWITCH_STUCK, F_SWITCH_WIRE, F_CHECK_VALVE,
       F_LOOP_WIRE };

static const double G = 9.80665, WATER = 1000.0, CATCHES = 1.0, NOTHING = 1e-15;
static double least(double a, double b) { return a < b ? a : b; }
static double most_of(double a, double b) { return a > b ? a : b; }

static double normal(int64_t counter, int64_t stream, int64_t seed) {
    uint64_t x0 = (uint64_t)counter & 0xFFFFFFFFu, x1 = (uint64_t)stream & 0xFFFFFFFFu, key = (uint64_t)seed & 0xFFFFFFFFu;
    for (int i = 0; i < 10; i++) {
        uint64_t product = 0xD256D193u * x0;
        x0 = (product >> 32) ^ key ^ x1;
        x1 = product & 0xFFFFFFFFu;
        key = (key + 0x9E3779B9u) & 0xFFFFFFFFu;
    }
    return sqrt(-2.0 * log((x0 + 1.0) / 4294967296.0)) * cos(2.0 * M_PI * x1 / 4294967296.0);
}

static double volume_at(const Rig *r, double level) {
    int64_t last = r->rows - 1;
    double place = level / r->p->step;
    if (place <= 0.0) return r->volumes[0];
    if (place >= last) return r->volumes[last];
    int64_t row = (int64_t)place;
    return r->volumes[row] + (place - row) * (r->volumes[row + 1] - r->volumes[row]);
}

static double level_at(Rig *r, double volume) {
    int64_t last = r->rows - 1, row = r->whole[ROW];
    while (row > 0 && r->volumes[row] > volume) row--;
    while (row < last - 1 && r->volumes[row + 1] < volume) row++;
    r->whole[ROW] = row;
    double rise = r->volumes[row + 1] - r->volumes[row];
    double share = rise > 0.0 ? (volume - r->volumes[row]) / rise : 0.0;
    return (row + least(most_of(share, 0.0), 1.0)) * r->p->step;
}

static int holds(const Rig *r, int c) { return (r->whole[CONDITIONS] >> c) & 1; }
static void put(Rig *r, int c, int is) {
    if (is) r->whole[CONDITIONS] |= (int64_t)1 << c;
    else r->whole[CONDITIONS] &= ~((int64_t)1 << c);
}

static double sense(const Rig *r, double level, double chance) {
    const Params *s = r->p;
    double filling = least(most_of(r->real[PUMP_FLOW] / s->largest_flow, 0.0), 1.0), seen;
    double spread = sqrt(s->noise * s->noise + (s->ripple * filling) * (s->ripple * filling)) * chance;
    if (s->sensor_kind == 0) {
        double distance = s->face - level;
        if (r->panel[F_ECHO_LOST] > 0.0 || (distance < s->dead_zone && s->in_dead_zone > 0)) return NAN;
        seen = (distance < s->dead_zone ? 2.0 * distance : distance) * s->ratio - s->zero + spread;
    } else if (s->sensor_kind == 1) seen = s->face + most_of(level - s->face, 0.0) * s->ratio + s->zero + spread;
    else seen = level * s->ratio + s->zero + spread;
    if (s->resolution > 0.0) seen = floor(seen / s->resolution + 0.5) * s->resolution;
    return seen;
}

static void take_reading(Rig *r, double level, double chance) {
    const Params *s = r->p;
    double *real = r->real;
    if (r->panel[F_HELD] > 0.0) return;
    double seen = sense(r, level, chance);
    if (isnan(seen)) {
        int echo = r->panel[F_ECHO_LOST] <= 0.0;
        if (echo && s->in_dead_zone == 1) return;
        real[LOST_FOR] += s->update;
        if ((echo && s->in_dead_zone == 2) || real[LOST_FOR] > s->hold + 1e-9) real[SIGNAL] = s->failure_current;
        return;
    }
    real[LOST_FOR] = 0.0;
    r->ring[r->whole[RING_AT]] = seen;
    r->whole[RING_AT] = (r->whole[RING_AT] + 1) % (int64_t)r->p->averaging;
    double total = 0.0;
    for (int64_t i = 0; i < (int64_t)r->p->averaging; i++) total += r->ring[i];
    real[READING] = total / r->p->averaging;
    double share = (real[READING] - s->at_4) / (s->at_20 - s->at_4);
    real[SIGNAL] = least(most_of(0.004 + 0.016 * share, s->measures_from), s->measures_to);
}

static void read_sensor(Rig *r, int64_t seed) {
    double now = r->whole[SCAN] * r->p->scan, level = level_at(r, r->real[TANK]);
    int64_t due = (int64_t)floor(now / r->p->update + 1e-6);
    while (r->whole[READINGS] < due) {
        r->whole[READINGS]++;
        double back = (now - r->whole[READINGS] * r->p->update) / r->p->scan;
        double at = level + least(most_of(back, 0.0), 1.0) * (r->real[LEVEL_BEFORE] - level);
        take_reading(r, at, normal(r->whole[READINGS], 1, seed));
    }
    r->real[LEVEL_BEFORE] = level;
}

static double loop_current(const Rig *r) { return r->panel[F_LOOP_WIRE] <= 0.0 ? r->real[SIGNAL] : 0.0; }

static double convert(const Params *s, double signal) {
    double share = (signal - s->current_low) / (s->current_high - s->current_low);
    double count = floor(least(most_of(share, 0.0), 1.0) * s->full_count + 0.5);
    return s->current_low + count / s->full_count * (s->current_high - s->current_low);
}

static double scale(const Rig *r, double current) {
    const Params *s = r->p;
    double share = (current - 0.004) / 0.016;
    if (s->two_points != 0) return s->volume_4 + share * (s->volume_20 - s->volume_4);
    double seen = s->at_4 + share * (s->at_20 - s->at_4);
    return volume_at(r, s->sensor_kind == 0 ? s->face - seen : seen);
}

static void measure(Rig *r) {
    const Params *s = r->p;
    double current = convert(s, loop_current(r));
    double doubt = 0.5 * (s->current_high - s->current_low) / s->full_count;
    if (current <= s->fails_below + doubt || current >= s->fails_above - doubt) {
        int failed = r->real[FAILING_FOR] + 1e-9 >= s->failure_delay;
        r->real[FAILING_FOR] += s->scan;
        put(r, SENSOR_FAILED, failed);
        return;
    }
    r->real[FAILING_FOR] = 0.0;
    put(r, SENSOR_FAILED, 0);
    double smoothing = r->panel[P_PV_FILTER];
    double share = smoothing <= 0.0 ? 1.0 : 1.0 - exp(-s->scan / smoothing);
    r->real[CONVERTED] = scale(r, current);
    r->real[PV] += share * (r->real[CONVERTED] - r->real[PV]);
}

static void watch_switch(Rig *r, double level, double dt) {
    const Params *s = r->p;
    if (s->fitted == 0) return;
    int is_open = holds(r, SWITCH_OPEN);
    if (r->panel[F_SWITCH_STUCK] <= 0.0) {
        if (level >= s->trips_at) {
            is_open = is_open || r->real[SWITCH_FOR] + 1e-9 >= s->delay;
            r->real[SWITCH_FOR] += dt;
        } else {
            r->real[SWITCH_FOR] = 0.0;
            is_open = is_open && level > s->closes_at;
        }
    }
    is_open = is_open || r->panel[F_SWITCH_WIRE] > 0.0;
    put(r, SWITCH_OPEN, is_open);
    if (is_open) {
        put(r, SWITCH_LATCHED, 1);
        put(r, STARTED, 0);
        put(r, PUMP_ALLOWED, 0);
    }
}

static int latched(const Rig *r) { return holds(r, STOP_LATCHED) || holds(r, SWITCH_LATCHED) || holds(r, SENSOR_LATCHED); }

static void interlock(Rig *r) {
    int mains = r->panel[P_MAINS] > 0.0, pressed = r->panel[P_STOP] > 0.0;
    put(r, MAINS, mains);
    put(r, STOP_PRESSED, pressed);
    put(r, AUTOMATIC, r->panel[P_AUTO] > 0.0);
    if (pressed) put(r, STOP_LATCHED, 1);
    if (holds(r, SENSOR_FAILED)) put(r, SENSOR_LATCHED, 1);
    if (!mains || latched(r)) put(r, STARTED, 0);
    put(r, PUMP_ALLOWED, holds(r, STARTED));
}

static int bit_of(int alarm) { return alarm <= A_DEVIATION ? HIGH_HIGH + alarm : RATE + alarm - A_RATE; }

static void forget(Rig *r, int alarm) {
    put(r, bit_of(alarm), 0);
    r->real[TIMERS + 2 * alarm] = r->real[TIMERS + 2 * alarm + 1] = 0.0;
}

static void follow(Rig *r, int alarm, double beyond, double on_delay) {
    const double *part = r->panel + P_ALARMS + PARTS * alarm;
    int bit = bit_of(alarm), active = holds(r, bit);
    double *timer = r->real + TIMERS + 2 * alarm + active;
    if ((!active && beyond >= 0.0) || (active && beyond < -part[DEAD_BAND])) {
        if (*timer + 1e-9 >= (active ? part[OFF_DELAY] : on_delay)) {
            put(r, bit, !active);
            *timer = 0.0;
        } else *timer += r->p->scan;
    } else *timer = 0.0;
}

static void watch_rise(Rig *r, const double *part) {
    double *real = r->real;
    if (!holds(r, PUMP_ALLOWED) || real[OUTPUT] < r->panel[P_NO_RISE_OUTPUT]) {
        forget(r, A_NO_RISE);
        real[RISE_FROM] = real[PV];
        return;
    }
    real[RISE_FROM] = least(real[RISE_FROM], real[PV]);
    double beyond = part[LIMIT] - (real[PV] - real[RISE_FROM]);
    follow(r, A_NO_RISE, beyond, part[ON_DELAY]);
    if (beyond < 0.0 && !holds(r, NO_RISE)) real[RISE_FROM] = real[PV];
}

static void watch_alarm(Rig *r, int alarm) {
    double *real = r->real, beyond, scan = r->p->scan;
    const double *part = r->panel + P_ALARMS + PARTS * alarm;
    double on_delay = part[ON_DELAY];
    if (alarm < 2) beyond = real[PV] - part[LIMIT];
    else if (alarm < 4) beyond = part[LIMIT] - real[PV];
    else if (alarm == A_DEVIATION) {
        if (!(holds(r, AUTOMATIC) && holds(r, STARTED))) { forget(r, alarm); return; }
        beyond = fabs(real[PV] - real[SET_POINT]) - part[LIMIT];
    } else if (alarm == A_RATE) {
        double averaging = r->panel[P_RATE_AVERAGING];
        real[RATE_LAG] += scan / (averaging + scan) * (real[PV] - real[RATE_LAG]);
        beyond = fabs(real[PV] - real[RATE_LAG]) / averaging - part[LIMIT];
    } else if (alarm == A_FROZEN) {
        if (fabs(real[CONVERTED] - real[STILL_AT]) > part[LIMIT]) {
            real[STILL_AT] = real[CONVERTED];
            real[STILL_FOR] = 0.0;
        } else real[STILL_FOR] += scan;
        beyond = real[STILL_FOR] + 1e-9 - on_delay;
        on_delay = 0.0;
    } else if (alarm == A_NO_RISE) { watch_rise(r, part); return; }
    else {
        int there = alarm == A_BAD_SIGNAL ? holds(r, SENSOR_FAILED) : alarm == A_SWITCH ? holds(r, SWITCH_OPEN)
                  : holds(r, SPILLING) || holds(r, RESERVOIR_SPILLING);
        beyond = there ? 1.0 : -1.0;
    }
    follow(r, alarm, beyond, on_delay);
}

static int row_of(int alarm) {
    return alarm == A_BAD_SIGNAL ? 2 : alarm == A_SWITCH ? 1 : alarm <= A_FROZEN ? 4 + alarm : alarm == A_NO_RISE ? 11 : 12;
}

static int state_of(const Rig *r, int alarm) { return (r->whole[STATES] >> 4 * alarm) & 15; }

static void move(Rig *r, int alarm, int to, int who, int64_t *events, int64_t *used) {
    int64_t *whole = r->whole;
    if (to == state_of(r, alarm)) return;
    whole[STATES] = (whole[STATES] & ~((int64_t)15 << 4 * alarm)) | (int64_t)to << 4 * alarm;
    int64_t *event = events + 3 * (*used)++;
    event[0] = whole[SCAN];
    event[1] = 37 + alarm;
    event[2] = who << 4 | to;
    if (to == UNACKNOWLEDGED) whole[HORN_FOR] &= ~((int64_t)1 << row_of(alarm));
    whole[STANDING] = whole[UNANSWERED] = 0;
    for (int one = 0; one < ALARMS; one++) {
        int here = state_of(r, one);
        if (here < UNACKNOWLEDGED || here > LATCHED_ACKNOWLEDGED) continue;
        whole[STANDING] |= (int64_t)1 << row_of(one);
        if (here != ACKNOWLEDGED && here != LATCHED_ACKNOWLEDGED) whole[UNANSWERED] |= (int64_t)1 << row_of(one);
    }
}

static int next_state(const Rig *r, int alarm) {
    const double *part = r->panel + P_ALARMS + PARTS * alarm;
    int was = state_of(r, alarm), to = was < SHELVED ? was : NORMAL;
    if (part[SERVICE] > 0.0) return OUT_OF_SERVICE;
    if ((r->whole[QUIET] >> alarm) & 1) return SUPPRESSED;
    if ((r->whole[ON_SHELF] >> alarm) & 1) return SHELVED;
    if (holds(r, bit_of(alarm))) return was == ACKNOWLEDGED ? ACKNOWLEDGED : UNACKNOWLEDGED;
    int latching = part[LATCHING] > 0.0;
    if (was == UNACKNOWLEDGED) to = latching ? LATCHED_UNACKNOWLEDGED : RETURNED;
    else if (was == ACKNOWLEDGED) to = latching ? LATCHED_ACKNOWLEDGED : NORMAL;
    if (r->panel[P_BY_HAND] <= 0.0 && (to == RETURNED || to == LATCHED_UNACKNOWLEDGED))
        to = to == RETURNED ? NORMAL : LATCHED_ACKNOWLEDGED;
    return to;
}

static int64_t signature(const Rig *r) {
    int64_t bits = r->whole[CONDITIONS];
    return ((bits >> HIGH_HIGH) & 0x1F) | ((bits >> RATE) & 0x3F) << 5 | ((bits >> STARTED) & 1) << 11 | ((bits >> AUTOMATIC) & 1) << 12;
}

static void settle_alarms(Rig *r, int64_t *events, int64_t *used) {
    int64_t *whole = r->whole;
    for (int alarm = 0; alarm < ALARMS; alarm++) {
        if (!((whole[WATCHED] >> alarm) & 1)) continue;
        int was = state_of(r, alarm), way = (int)r->panel[P_ALARMS + PARTS * alarm + SUPPRESSION];
        int64_t quiet = ((way & 1) && !holds(r, STARTED)) || ((way & 2) && !holds(r, AUTOMATIC));
        whole[QUIET] = (whole[QUIET] & ~((int64_t)1 << alarm)) | quiet << alarm;
        if ((whole[ON_SHELF] >> alarm) & 1) {
            if (r->real[SHELF_LEFT + alarm] < 0.5 * r->p->scan) whole[ON_SHELF] &= ~((int64_t)1 << alarm);
            else r->real[SHELF_LEFT + alarm] -= r->p->scan;
        }
        int to = next_state(r, alarm);
        move(r, alarm, to, was == SUPPRESSED || to == SUPPRESSED ? 2 : was == SHELVED ? 1 : 0, events, used);
    }
    whole[SETTLED] = signature(r);
}

static int64_t lamp_states(const Rig *r) {
    int64_t rows = holds(r, STOP_LATCHED) | holds(r, SWITCH_LATCHED) << 1 | holds(r, SENSOR_LATCHED) << 2;
    if (!holds(r, STARTED) && rows == 0) rows |= 1 << 3;
    rows |= r->whole[STANDING];
    int normal_running = rows == 0;
    if (!holds(r, AUTOMATIC)) rows |= 1 << 13;
    if (normal_running) rows |= 1 << 14;
    return rows;
}

static void light(Rig *r) {
    int mains = holds(r, MAINS);
    int64_t *whole = r->whole, rows = mains ? lamp_states(r) : 0, steady = mains && r->panel[P_LAMP_TEST] > 0.0 ? 0x0F : 0;
    int64_t answered = (whole[ANSWERED] | whole[STANDING]) & rows & ~whole[UNANSWERED], flashing = 0, horn_rows = 0;
    for (int row = 0; row < 15; row++)
        if ((rows >> row) & 1) {
            int64_t calm = (answered >> row) & r->lamps[6 * row + 5];
            for (int colour = 0; colour < 4; colour++) {
                int64_t mode = r->lamps[6 * row + colour];
                steady |= ((mode | (mode >> calm)) & 1) << colour;
                flashing |= ((mode >> 1) & ~calm) << colour;
            }
            horn_rows |= r->lamps[6 * row + 4] << row;
        }
    horn_rows &= ~answered;
    int64_t lit = (steady & ~flashing) << RED | flashing << RED_FLASH;
    whole[CONDITIONS] = (whole[CONDITIONS] & ~((int64_t)0xFF << RED)) | lit;
    if ((horn_rows & ~whole[HORN_FOR]) != 0 || horn_rows == 0) put(r, SILENCED, 0);
    if (holds(r, SILENCED)) {
        put(r, SILENCED, r->real[SILENCE_LEFT] >= 0.5 * r->p->scan);
        r->real[SILENCE_LEFT] -= r->p->scan;
    }
    whole[HORN_FOR] = horn_rows;
    whole[ROWS_HELD] = rows;
    whole[ANSWERED] = answered;
    put(r, HORN, horn_rows != 0 && !holds(r, SILENCED));
}

static double swift_part(const Rig *r) {
    const double *real = r->real, *panel = r->panel;
    double proportional = panel[P_GAIN] * (panel[P_WEIGHT] * real[SET_POINT] - real[PV]);
    double filtered = panel[P_DERIVATIVE] > 0.0 ? 1.0 : 0.0;
    double derivative = -panel[P_GAIN] * panel[P_DERIVATIVE_FILTER] * filtered * (real[PV] - real[PV_LAG]);
    return r->p->direction * (proportional + derivative);
}

static void follow_set_point(Rig *r) {
    double most = r->panel[P_RAMP] * r->p->scan;
    r->real[SET_POINT] += least(most_of(r->panel[P_SET_POINT] - r->real[SET_POINT], -most), most);
}

static void control(Rig *r) {
    double *real = r->real, *panel = r->panel, h = r->p->scan, share = panel[P_DERIVATIVE_FILTER] * h;
    real[PV_LAG] += share / (panel[P_DERIVATIVE] + share) * (real[PV] - real[PV_LAG]);
    if (!holds(r, PUMP_ALLOWED)) {
        put(r, LIMITED, 0);
        real[OUTPUT] = 0.0;
        return;
    }
    int automatic = holds(r, AUTOMATIC);
    double swift = swift_part(r), wanted = automatic ? swift + real[INTEGRAL] : panel[P_MANUAL];
    double most = panel[P_OUT_RATE] * h, low = most_of(automatic ? panel[P_OUT_LOW] : 0.0, real[OUTPUT] - most);
    double high = most_of(least(automatic ? panel[P_OUT_HIGH] : 1.0, real[OUTPUT] + most), low);
    real[OUTPUT] = least(most_of(wanted, low), high);
    put(r, LIMITED, real[OUTPUT] != wanted);
    if (!automatic) {
        real[INTEGRAL] = real[OUTPUT] - swift;
        return;
    }
    double error = real[SET_POINT] - real[PV], step = r->p->direction * panel[P_GAIN] * h / panel[P_INTEGRAL] * error;
    int winding = (wanted > high && step > 0.0) || (wanted < low && step < 0.0);
    if (!winding && fabs(error) >= panel[P_DEAD_BAND]) real[INTEGRAL] += step;
}

static double drive(Rig *r) {
    const Params *p = r->p;
    double *real = r->real;
    if (p->on_off == 0) return real[OUTPUT];
    if (!holds(r, PUMP_ALLOWED)) {
        real[CYCLE_FOR] = p->cycle;
        return 0.0;
    }
    if (real[CYCLE_FOR] + 1e-9 >= p->cycle) {
        real[CYCLE_FOR] = 0.0;
        double on = real[OUTPUT] * p->cycle;
        if (on < p->least_on) on = 0.0;
        else if (p->cycle - on < p->least_off) on = p->cycle;
        real[ON_TIME] = on;
    }
    double command = real[CYCLE_FOR] + 1e-9 < real[ON_TIME] ? 1.0 : 0.0;
    real[CYCLE_FOR] += p->scan;
    return command;
}

static double pump_wants(Rig *r, double command, double lift) {
    const Params *p = r->p;
    int running = holds(r, PUMP_RUNNING), powered = holds(r, PUMP_ALLOWED) && command > 0.0;
    int runs = powered && command >= (running ? p->stalls_at : p->starts_at);
    if (runs && !running) r->whole[STARTS]++;
    put(r, PUMP_RUNNING, runs);
    double over = r->real[RESERVOIR] - p->suction_volume;
    if (holds(r, PUMP_DRY)) over -= least(p->largest_flow * CATCHES, 0.1 * (p->capacity - p->suction_volume));
    put(r, PUMP_DRY, runs && over <= 0.0);
    if (!runs || holds(r, PUMP_DRY) || r->panel[F_AIRLOCK] > 0.0) return 0.0;
    double share = (command - p->stalls_at) / (1.0 - p->stalls_at);
    double measured = p->slowest_flow + share * (p->largest_flow - p->slowest_flow);
    double squared = measured * measured + p->largest_flow * p->largest_flow * (p->measured_lift - lift) / p->head_to_spare;
    return p->left_by_wear * sqrt(most_of(squared, 0.0));
}

static double stopped_flow(const Rig *r, double level, double surface) {
    const Params *p = r->p;
    if (holds(r, PUMP_RUNNING) || p->vented != 0) return 0.0;
    double forward = surface - most_of(level, p->fill_end), back = level - surface;
    if (forward > 0.0 && r->real[RESERVOIR] > p->suction_volume) return p->stopped_coefficient * sqrt(WATER * G * forward);
    int shut = p->check_valve != 0 && r->panel[F_CHECK_VALVE] <= 0.0;
    if (level > p->fill_end && back > 0.0 && !shut) return -p->stopped_coefficient * sqrt(WATER * G * back);
    return 0.0;
}

static double opened(const Params *d, double opening) {
    if (opening <= 0.0) return 0.0;
    if (d->trim == 1) return d->coefficient * pow(d->rangeability, opening - 1.0);
    if (d->trim == 2) return d->coefficient * sqrt(opening);
    return d->coefficient * opening;
}

static double friction(const Params *d, double speed) {
    double reynolds = most_of(speed * d->bore / d->viscosity, 1.0);
    if (reynolds <= 2000.0) return 64.0 / reynolds;
    double turbulent = -1.8 * log10(pow(d->roughness / d->bore / 3.7, 1.11) + 6.9 / most_of(reynolds, 4000.0));
    double share = least((reynolds - 2000.0) / 2000.0, 1.0);
    return 0.032 + share * (1.0 / (turbulent * turbulent) - 0.032);
}

static double gravity_flow(const Params *d, double opening, double head, double before) {
    double coefficient = opened(d, opening);
    if (coefficient <= 0.0 || head <= 0.0) return 0.0;
    double area = 0.25 * M_PI * d->bore * d->bore;
    double flow = before > 0.0 ? before : 0.5 * coefficient * sqrt(WATER * G * head);
    for (int i = 0; i < 2; i++) {
        double tube = (1.0 + d->loss + friction(d, flow / area) * d->length / d->bore) / (2.0 * area * area);
        flow = sqrt(G * head / (1.0 / (WATER * coefficient * coefficient) + tube));
    }
    return flow;
}

static double drain_wants(Rig *r, double level, double surface) {
    const Params *d = r->p;
    if (d->kind == 0 || r->real[TANK] <= d->inlet_volume) {
        put(r, PRIMED, 0);
        return 0.0;
    }
    if (d->kind == 3) return r->panel[P_DRAW];
    if (d->kind == 2 && !holds(r, PRIMED)) return 0.0;
    double below = d->to_reservoir != 0 ? most_of(d->outlet, surface) : d->outlet;
    return gravity_flow(d, r->panel[P_VALVE], level - below, r->real[DRAIN_FLOW]);
}

static double leak_wants(const Params *t, double level) { return t->leak > 0.0 ? t->leak * sqrt(level) : 0.0; }

static void move_liquid(Rig *r, double leaking, double dt) {
    const Params *p = r->p;
    double *real = r->real;
    double wanted = real[DRAIN_FLOW] * dt, drained = least(wanted, most_of(real[TANK] - p->inlet_volume, 0.0));
    if (drained < wanted) {
        real[DRAIN_FLOW] = drained / dt;
        put(r, PRIMED, 0);
    }
    real[TANK] -= drained;
    if (p->to_reservoir != 0) real[RESERVOIR] += drained;
    else real[USED] += drained;
    double leaked = least(leaking * dt, most_of(real[TANK], 0.0));
    real[TANK] -= leaked;
    real[USED] += leaked;
    double pumped = real[PUMP_FLOW] * dt;
    if (pumped > 0.0) pumped = least(pumped, most_of(real[RESERVOIR], 0.0));
    else pumped = -least(-pumped, most_of(real[TANK] - volume_at(r, p->fill_end), 0.0));
    real[RESERVOIR] -= pumped;
    real[TANK] += pumped;
    double over = real[TANK] - p->spill_volume;
    if (over > 0.0) {
        put(r, SPILLING, 1);
        real[TANK] -= over;
        real[SPILLED] += over;
    }
    over = real[RESERVOIR] - p->capacity;
    if (over > 0.0) {
        put(r, RESERVOIR_SPILLING, 1);
        real[RESERVOIR] -= over;
        real[SPILLED] += over;
    }
}

static void let_time_pass(Rig *r, double command) {
    const Params *p = r->p;
    double *real = r->real, dt = p->scan / p->sub_steps, lag = p->spin_up > 0.0 ? 1.0 - exp(-dt / p->spin_up) : 1.0;
    r->whole[CONDITIONS] &= ~((int64_t)1 << SPILLING | (int64_t)1 << RESERVOIR_SPILLING);
    for (int i = 0; i < (int)p->sub_steps; i++) {
        double level = level_at(r, real[TANK]), surface = p->floor + real[RESERVOIR] / p->area;
        watch_switch(r, level, dt);
        double wanted = pump_wants(r, command, most_of(p->fill_end, level) - surface);
        wanted += stopped_flow(r, level, surface);
        real[PUMP_FLOW] += lag * (wanted - real[PUMP_FLOW]);
        if (fabs(real[PUMP_FLOW]) < NOTHING) real[PUMP_FLOW] = 0.0;
        real[DRAIN_FLOW] = drain_wants(r, level, surface);
        move_liquid(r, leak_wants(r->p, level), dt);
    }
}

/* Runs scans without actions and writes a row each (15 doubles); the journal's rows are written as in the Python text. */
void run_scans(Rig *r, int64_t scans, int64_t seed, double *rows, int64_t *events, int64_t event_room) {
    int64_t used = 0;
    const int64_t unseen = ((int64_t)1 << PUMP_RUNNING) | ((int64_t)1 << LIMITED) | ((int64_t)0xFF << RED);
    for (int64_t done = 0; done < scans; done++) {
        if (used + 59 > event_room) return;
        read_sensor(r, seed);
        measure(r);
        interlock(r);
        follow_set_point(r);
        int64_t watched = r->whole[WATCHED];
        if (holds(r, SENSOR_FAILED)) watched &= 1 << A_BAD_SIGNAL | 1 << A_SWITCH | 1 << A_SPILL;
        for (int alarm = 0; alarm < ALARMS; alarm++)
            if ((watched >> alarm) & 1) watch_alarm(r, alarm);
        control(r);
        if (r->whole[ON_SHELF] || r->whole[SETTLED] != signature(r)) settle_alarms(r, events, &used);
        light(r);
        double command = drive(r), *row = rows + 15 * done, *real = r->real;
        row[0] = r->whole[SCAN] * r->p->scan;
        row[1] = real[SET_POINT]; row[2] = real[PV]; row[3] = real[TANK]; row[4] = level_at(r, real[TANK]);
        row[5] = real[OUTPUT]; row[6] = real[PUMP_FLOW]; row[7] = real[DRAIN_FLOW]; row[8] = real[RESERVOIR];
        row[9] = real[SPILLED]; row[10] = real[USED]; row[11] = real[ADDED]; row[12] = loop_current(r);
        row[13] = (double)r->whole[CONDITIONS];
        row[14] = (double)r->whole[STATES];
        let_time_pass(r, command);
        int64_t changed = (r->whole[JOURNALLED] ^ r->whole[CONDITIONS]) & ~unseen;
        for (int c = 0; c < 37; c++)
            if ((changed >> c) & 1) {
                events[3 * used] = r->whole[SCAN];
                events[3 * used + 1] = c;
                events[3 * used + 2] = (r->whole[CONDITIONS] >> c) & 1;
                used++;
            }
        r->whole[JOURNALLED] = r->whole[CONDITIONS];
        r->whole[SCAN]++;
    }
}
