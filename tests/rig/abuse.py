"""Random operators and faults from a seed: every entry of the panel, within what it takes, at any moment.

What people do about alarms comes from a generator of its own, so that the rest goes on as it always did.
"""

import math

import numpy as np

from levelbench.rig import Action, Rig
from levelbench.rig.panel import ALARM_NAMES, BAND_NAMES, ENTRIES, PanelEntry

_FAULTS = (
    "airlock",
    "echo lost",
    "signal held",
    "switch stuck",
    "switch wire open",
    "check valve leaks",
    "loop wire open",
)
_RARE = ("mains", "stop", "lamp test", *_FAULTS)
_OPERATOR = ("set point", "auto", "manual output", "valve opening", "draw", "top up", *_RARE)
_BUTTONS = ("reset", "power on", "prime", "silence")
_LIMITS = ("set point low", "set point high")
_OWN_WAYS = ("latching", "suppression", "out of service", "acknowledge", "shelve")
_ABOUT_ALARMS = tuple(
    name
    for name in ENTRIES
    if name.startswith(ALARM_NAMES[len(BAND_NAMES) :])
    or name.endswith(_OWN_WAYS)
    or name in ("silence time", "acknowledge by hand", "no rise output")
)
_ACKNOWLEDGE = ("acknowledge", *(f"{name} acknowledge" for name in ALARM_NAMES))


def random_actions(rig: Rig, duration: float, *, seed: int, mean_gap: float) -> list[Action]:
    """Give actions over a duration [s], one every mean_gap [s] or so; faults are mended again after a while."""
    chance = np.random.default_rng(seed)
    names = [name for name in ENTRIES if name not in (*_LIMITS, *_ABOUT_ALARMS)]
    found: list[Action] = []
    time = 0.0
    while (time := time + float(chance.exponential(mean_gap))) < duration:
        dice = chance.random()
        if dice < 0.5:
            found += [Action(time, "prime"), Action(time, "reset"), Action(time + rig.scan, "power on")]
        else:
            found += _one(rig, chance, time, ENTRIES[str(chance.choice(_OPERATOR if dice < 0.8 else names))])
    found += _about_alarms(rig, duration, np.random.default_rng([seed, 5]), mean_gap)
    return [one for one in found if one.time < duration]


def _about_alarms(rig: Rig, duration: float, chance: np.random.Generator, mean_gap: float) -> list[Action]:
    """Every alarm is put to use at the start, and then people do anything that can be done about alarms."""
    found = [Action(0.0, f"{name} in use") for name in ALARM_NAMES]
    found += [Action(0.0, "rate of change limit", rig.params.pump.largest_flow), Action(0.0, "no rise on-delay", 20.0)]
    time = 0.0
    while (time := time + float(chance.exponential(mean_gap))) < duration:
        name = str(chance.choice(_ACKNOWLEDGE if chance.random() < 0.3 else _ABOUT_ALARMS))
        found.append(Action(time, name, _value(rig, chance, ENTRIES[name]), who=str(chance.choice(["Ann", "Bo"]))))
    return found


def _one(rig: Rig, chance: np.random.Generator, time: float, entry: PanelEntry) -> list[Action]:
    if entry.name in _RARE:
        usual = 1.0 if entry.name == "mains" else 0.0
        return [Action(time, entry.name, 1 - usual), Action(time + float(chance.exponential(10)), entry.name, usual)]
    if entry.name in _BUTTONS:
        return [Action(time, entry.name)]
    return [Action(time, entry.name, _value(rig, chance, entry))]


def _value(rig: Rig, chance: np.random.Generator, entry: PanelEntry) -> float:
    """A value that a person could mean: around the rig's own, now and then at an end of what is allowed."""
    if math.isinf(entry.most) and chance.random() < 0.3:
        return entry.most
    if entry.momentary and entry.dimension is None:
        return 1.0
    if entry.choices:
        return float(chance.integers(0, len(entry.choices)))
    if entry.dimension is None:
        return float(chance.integers(0, 2))
    if entry.most == 1.0:
        return float(chance.random())
    size = rig.params.tank.spill_volume
    scale = {
        "set point": size,
        "top up": 0.2 * size,
        "draw": 2 * rig.params.pump.largest_flow,
        "derivative time": 5.0,
        "derivative filter": 10.0,
        "pv filter": 5.0,
        "integral dead band": 0.02 * size,
        "entry step": 0.01 * size,
        "ramp": rig.params.pump.largest_flow,
        "output rate": 0.5,
        "integral time": 60.0,
        "rate of change limit": rig.params.pump.largest_flow,
        "rate of change dead band": 0.2 * rig.params.pump.largest_flow,
        "rate of change averaging": 5.0,
        "frozen signal limit": 0.001 * size,
        "no rise limit": 0.02 * size,
        "silence time": 60.0,
        "gain": float(rig.panel[ENTRIES["gain"].index]),
    }
    times = 10.0 if entry.name.endswith("delay") else 60.0 if entry.name.endswith("shelve") else size
    usual = scale.get(entry.name, times)
    return max(float(chance.exponential(usual)), entry.least)
