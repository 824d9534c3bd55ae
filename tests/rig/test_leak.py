"""A leaky tank: Torricelli's law in closed form, at any level, and no liquid lost to nowhere."""

import math

import numpy as np
import pytest
from rigs import AREA, BY_HAND, LITRE, PLAIN, at, build, go

from levelbench.rig import Action

MINUTE = 60.0  # [s]


def test_a_leak_empties_an_upright_tank_as_torricelli_says() -> None:
    """√h falls on a straight line, √h0 − √h = c·t/(2 A), with q = c·√h (Torricelli 1644; any text on hydraulics)."""
    rig = build(PLAIN, BY_HAND, {"tank.leak": "2 l/min", "tank.leak_at": "0.25 m"})
    recording = go(rig, 300.0)
    c = 2 * LITRE / MINUTE / math.sqrt(0.25)
    root = math.sqrt(20 * LITRE / AREA) - c * recording["time"] / (2 * AREA)
    assert recording["level"] == pytest.approx(root**2, abs=1e-5)  # what leaks in one step of the physics is 2.4e-5 m
    assert recording["level"][-1] < 0.6 * recording["level"][0]


def test_a_leak_is_stated_at_the_spill_where_no_level_is_given() -> None:
    """0.55 m is the spill of that tank (0.6 m less 0.05 m)."""
    given = build(PLAIN, BY_HAND, {"tank.leak": "2 l/min", "tank.leak_at": "0.55 m"})
    left_out = build(PLAIN, BY_HAND, {"tank.leak": "2 l/min"})
    assert left_out.params.tank.leak == pytest.approx(given.params.tank.leak, rel=1e-12)


def test_what_leaks_is_gone_for_good_and_no_more_than_there_was() -> None:
    """The tank runs empty, and what it held stands under what was used (the liquid's balance)."""
    rig = build(PLAIN, BY_HAND, {"tank.leak": "30 l/min", "start.tank_volume": "5 l", "start.set_point": "5 l"})
    recording = go(rig, 120.0)
    assert recording["volume"][-1] == 0.0
    assert recording["volume"].min() >= 0.0
    assert recording["used"][-1] == pytest.approx(5 * LITRE, rel=1e-9)
    assert recording["spilled"][-1] == 0.0


def test_a_leak_goes_on_beside_the_drain_and_under_the_loop() -> None:
    """At rest the pump brings what drain and leak take together (the liquid's balance)."""
    rig = build({"tank.leak": "0.2 gpm", "sensor.noise": "0 in", "sensor.ripple": "0 in", "drain.opening": "20 %"})
    recording = go(rig, 900.0, Action(0.0, "prime"))
    level = recording["level"][-600:]
    leaking = rig.params.tank.leak * np.sqrt(level)
    flows = (recording["pump_flow"][-600:] - recording["drain_flow"][-600:] - leaking).mean()
    stored = (at(recording, 900.0, "volume") - recording["volume"][-600]) / (599 * rig.scan)
    assert flows == pytest.approx(stored, abs=0.01 * leaking.mean())
    assert leaking.mean() > 0.1 * recording["pump_flow"][-600:].mean()
