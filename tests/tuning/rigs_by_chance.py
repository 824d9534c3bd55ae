"""Rigs by chance with records of them, made by the scan of the program or by a slow loop of its own code."""

import math
from dataclasses import dataclass

import numpy as np

from levelbench.project import edit_many, load, sample, units
from levelbench.records.measured import Measured, from_recording
from levelbench.rig import Action, assemble, run

LASTS = 1500.0  # [s] of each record


@dataclass
class Described:
    """A record, the project that somebody wrote beforehand, and what is true."""

    measured: Measured
    project: object
    truth: dict[str, float]


def between(chance, low, high):
    return float(np.exp(chance.uniform(math.log(low), math.log(high))))


def _texts(chance):
    """Entries of a rig by chance."""
    flow, stall = between(chance, 0.5, 1.3), chance.uniform(0.03, 0.12)
    return {
        "tank.diameter": f"{between(chance, 9, 18):.3f} in",
        "reservoir.capacity": "60 gal",
        "reservoir.charge": "40 gal",
        "pump.largest_flow": f"{flow:.4f} gal/min",
        "pump.shut_off_head": f"{between(chance, 9, 25):.2f} ft",
        "pump.stalls_at": f"{100 * stall:.2f} %",
        "pump.starts_moving_at": f"{100 * (stall + chance.uniform(0.0, 0.06)):.2f} %",
        "pump.slowest_flow": f"{flow * chance.uniform(0.03, 0.15):.4f} gal/min",
        "pump.spin_up": f"{between(chance, 0.3, 4):.3f} s",
        "drain.valve_cv": f"{between(chance, 0.5, 1.2):.4f}",
        "drain.opening": f"{chance.uniform(35, 65) * flow:.1f} %",
        "sensor.noise": f"{between(chance, 0.2, 2):.3f} mm",
        "sensor.ripple": f"{between(chance, 0.2, 2):.3f} mm",
        "sensor.averaging": int(chance.integers(5, 40)),
        "sensor.resolution": "0.1 mm",
        "loop_settings.scan": "500 ms",
        "loop_settings.pv_filter": f"{between(chance, 0.3, 4):.2f} s",
        "overflow_switch.fitted": False,
    }


def _moved_by_hand(chance, rig):
    """Somebody in manual fills and lets drain by turns, each with an output of its own, between two marks."""
    spill, time = rig.params.tank.spill_volume, 0.0
    flow = rig.params.pump.largest_flow
    actions, volume = [Action(0.0, "auto", 0.0)], 3 * 0.00378541
    while time < LASTS:
        aim = chance.uniform(0.3, 0.6) * spill
        output = chance.uniform(0.6, 1.0) if aim > volume else chance.choice([0.0, chance.uniform(0.0, 0.25)])
        lasts = float(np.clip(abs(aim - volume) / (0.4 * flow), 10.0, 120.0))
        actions.append(Action(time, "manual output", float(output)))
        time, volume = time + lasts, aim
    return actions


def _held_at_set_points(chance, rig):
    """The loop in automatic; somebody asks for another volume now and then."""
    times = np.cumsum(chance.uniform(60, 240, 30))
    limits = chance.uniform(0.3, 0.65, 30) * rig.params.tank.spill_volume
    return [Action(float(at), "set point", float(one)) for at, one in zip(times, limits, strict=True) if at < LASTS]


def _in_doubt(seed):
    """Entries of a tank that leaks, two times in three, and of a sensor that measures too much or too little."""
    chance = np.random.default_rng([seed, 1])
    leak = chance.choice([0.0, chance.uniform(0.02, 0.15), chance.uniform(0.02, 0.15)])
    return {"tank.leak": f"{leak:.4f} gal/min", "sensor.span_error": f"{chance.normal(0.0, 3.0):.3f} %"}


def described(seed, *, by_hand, in_doubt=False):
    """Give a rig by chance, recorded, with a project that was written with a bucket and a guess.

    `in_doubt`: it leaks, and its sensor is off, of which the project knows nothing; somebody measured the draw.
    """
    chance = np.random.default_rng(seed)
    base = load(sample("seedling_house"))
    texts = _texts(chance) | (_in_doubt(seed) if in_doubt else {})
    true = edit_many(base, texts)
    rig = assemble(true)
    actions = _moved_by_hand(chance, rig) if by_hand else _held_at_set_points(chance, rig)
    measured = from_recording(run(rig, LASTS, actions=actions, seed=seed), units(true), with_draw=in_doubt)
    pump, sensor = rig.params.pump, rig.params.sensor
    wrong = {
        "pump.largest_flow": f"{pump.largest_flow * 15850.32 * math.exp(0.2 * chance.normal()):.4f} gal/min",
        "drain.valve_cv": f"{float(texts['drain.valve_cv']) * math.exp(0.3 * chance.normal()):.4f}",
        "pump.spin_up": "1 s",
        "pump.slowest_flow": "0.05 gal/min",
        "sensor.noise": "1 mm",
        "tank.leak": None,
        "sensor.span_error": None,
    }
    truth = {
        "fit.pump.largest": pump.largest_flow,
        "fit.drain.coefficient": rig.params.drain.coefficient,
        "fit.pump.slowest": pump.slowest_flow,
        "fit.pump.spin_up": pump.spin_up,
        "fit.pump.starts_at": pump.starts_at,
        "fit.pump.stalls_at": pump.stalls_at,
        "fit.sensor.averaging": (sensor.averaging - 1) * sensor.update,
        "fit.sensor.noise": sensor.noise,
        "fit.tank.leak": true.tank.leak.si,
        "fit.sensor.span_error": true.sensor.span_error.si,
        "fit.sensor.zero_error": 0.0,
    }
    return Described(measured, edit_many(true, wrong), truth)


def _driven(chance, samples):
    """Outputs that hold for a while each; the first is the largest, 1."""
    holds = np.repeat(chance.uniform(0.1, 1.0, samples), chance.integers(15, 60, samples))[:samples]
    holds[0] = 1.0
    return holds


def _noise(chance, samples):
    """White noise, or noise that remembers."""
    size, keeps = between(chance, 0.01, 0.05), chance.choice([0.0, 0.7])
    left = np.zeros(samples)
    for at in range(1, samples):
        left[at] = keeps * left[at - 1] + size * math.sqrt(1 - keeps**2) * chance.normal()
    return left


def two_tanks(seed, samples=900, step=4.0):
    """Give a record of two tanks in a unit of its own, and what is true; a slow loop of small Euler steps."""
    chance = np.random.default_rng(seed)
    zero, largest = chance.uniform(0.05, 0.2), between(chance, 0.15, 0.4)
    capacity, upper = between(chance, 6, 15), largest * chance.uniform(0.45, 0.6)
    share, lower = chance.uniform(0.4, 0.9), upper * chance.uniform(0.95, 1.1)
    output = _driven(chance, samples)
    level, volume, pv = 0.4, 5.0, np.empty(samples)
    small = step / 80
    for at in range(samples):
        pv[at] = volume
        pumped = largest * max(output[at] - zero, 0.0) / (1.0 - zero)
        for _ in range(80):
            down, out = upper * math.sqrt(max(level, 0.0)), lower * math.sqrt(max(volume, 0.0) / 5.0)
            level += small * (pumped - down) / capacity
            over = max(level - 1.0, 0.0) * capacity / small
            level = min(level, 1.0)
            volume += small * (down + share * over - out)
    pv = pv + _noise(chance, samples)
    truth = {
        "fit.pump.largest": largest,
        "fit.pump.zero": zero,
        "fit.upper.capacity": capacity,
        "fit.upper.outlet": upper,
        "fit.upper.share": share,
        "fit.tank.outlet": lower * math.sqrt(float(np.median(pv)) / 5.0),
        "fit.upper.exponent": 0.5,
        "fit.tank.exponent": 0.5,
    } | dict.fromkeys(("fit.pump.curvature", "fit.tank.head", "fit.pump.spin_up"), 0.0)
    return Measured(step * np.arange(samples), pv, output, None, None, "V", None, f"two tanks {seed}"), truth


def within(estimates, truth):
    """Tell for each estimate that is told apart, and of which the truth is known, whether it lies in its interval."""
    told = [one for one in estimates if one.told_apart and one.figure.key in truth]
    return {one.figure.key: one.low <= truth[one.figure.key] <= one.high for one in told}
