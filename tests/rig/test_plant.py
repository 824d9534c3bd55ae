"""The plant for identification against closed forms, a general-purpose solver, and the scan of the program."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from levelbench.project import edit_many, load, sample, units
from levelbench.records.measured import from_recording
from levelbench.rig import Action, assemble, plant, run
from levelbench.tuning.identify.on_rig import on_rig
from levelbench.tuning.identify.rows import make_ready
from levelbench.tuning.identify.solve import pose

PUMP = plant.Pump(0.2, 0.1, 1.0, 0.0, -1e30, -1e30, 0.0, 0.0)
SENSOR = plant.Sensor(1.0, 0.0, -1e30, 1e30, 0.0, 0.0)
TANK = plant.Tank(0.1, 5.0, 0.0, 0.5, 0.0, 0.0, 1e30, False)


def shown(
    time, command, *, pump=PUMP, upper=plant.NO_UPPER, tank=TANK, sensor=SENSOR, starts=((0, 0.5, 5.0),), longest=0.5
):
    seen = np.empty(len(time))
    record = plant.Record(
        np.asarray(time, float), np.asarray(command, float), np.zeros(len(time)), np.array(starts, float), longest
    )
    plant.simulate(plant.Plant(pump, plant.NO_LIFT, upper, tank, sensor), plant.NO_TABLES, record, seen)
    return seen


def test_a_tank_that_drains_follows_torricelli():
    # closed form: √h falls on a straight line, √h = √h₀ − k·t/2 with dh/dt = −k·√h (Torricelli 1644)
    time = np.arange(0.0, 90.0, 1.0)
    k = 0.1 / math.sqrt(5.0)
    np.testing.assert_allclose(shown(time, 0 * time), (math.sqrt(5.0) - k * time / 2) ** 2, atol=5e-5)


def test_halving_the_step_quarters_the_error():
    time = np.arange(0.0, 80.0, 8.0)
    k = 0.1 / math.sqrt(5.0)
    exact = (math.sqrt(5.0) - k * time / 2) ** 2
    coarse, fine = (np.abs(shown(time, 0 * time, longest=at) - exact).max() for at in (8.0, 4.0))
    assert coarse / fine == pytest.approx(4.0, rel=0.2)  # second order, as the midpoint rule is


def test_two_tanks_with_overflow_as_a_general_solver_has_them():
    # scipy.integrate.solve_ivp (LSODA); its overflow is a steep weir in the place of one that takes all at once
    time = np.arange(0.0, 400.0, 2.0)
    command = np.where(time < 200, 1.0, 0.2)
    upper = plant.Upper(8.0, 0.11, 0.8, 0.6)
    ours = shown(time, command, upper=upper, longest=0.1)

    def rates(t, x):
        pumped = 0.2 * max((1.0 if t < 200 else 0.2) - 0.1, 0.0) / 0.9
        down = 0.11 * max(x[0], 0.0) ** 0.8
        over = 500.0 * max(x[0] - 1.0, 0.0)
        return [(pumped - down - over) / 8.0, down + 0.6 * over - 0.1 * math.sqrt(max(x[1], 0.0) / 5.0)]

    theirs = solve_ivp(rates, (0, 400), [0.5, 5.0], "LSODA", time, max_step=0.5, rtol=1e-8, atol=1e-9).y[1]
    assert ours.max() > 6.5  # it did overflow
    np.testing.assert_allclose(ours, theirs, atol=4e-3)


def test_spin_up_and_dead_time_have_their_closed_form():
    # without an outlet: V = q·(t − θ − τ·(1 − e^(−(t−θ)/τ))) after a step at t = 0 (exact for first order)
    time = np.arange(0.0, 60.0, 1.0)
    command = np.where(time > 0, 1.0, 0.0)
    pump = PUMP._replace(spin_up=4.0, dead_time=2.6)
    shut = TANK._replace(outlet=0.0)
    since = np.maximum(time - 1.0 - 2.6, 0.0)
    exact = 5.0 + 0.2 * (since - 4.0 * (1 - np.exp(-since / 4.0)))
    fine, coarse = (shown(time, command, pump=pump, tank=shut, longest=at) for at in (0.1, 1.0))
    np.testing.assert_allclose(fine, exact, atol=2e-4)
    np.testing.assert_allclose(coarse, exact, atol=2e-2)  # the step in which the flow arrives is smeared over


def test_averaging_and_filter_have_their_closed_form():
    # a ramp r·t behind a mean over W and a filter τ lags by W/2 + τ in the end (mean age of equal weights; ramp error)
    time = np.arange(0.0, 80.0, 0.5)
    slow = shown(
        time, np.ones(len(time)), tank=TANK._replace(outlet=0.0), sensor=SENSOR._replace(averaging=6.0, smoothing=3.0)
    )
    assert 0.2 * time[-1] + 5.0 - slow[-1] == pytest.approx(0.2 * (3.0 + 3.0 - 0.25), rel=0.02)  # filter by samples


def test_thresholds_have_a_memory():
    time = np.arange(6.0)
    pump = PUMP._replace(zero=0.0, starts_at=0.5, stalls_at=0.2)
    flows = np.empty(6)
    plant.pump_flows(pump, np.array([0.3, 0.6, 0.3, 0.1, 0.3, 0.9]), flows)
    np.testing.assert_allclose(flows, [0.0, 0.12, 0.06, 0.0, 0.0, 0.18])
    assert len(time) == 6


def test_a_hole_in_the_floor_empties_the_tank_beside_a_steady_leak():
    # the hole alone: √h falls on a straight line (Torricelli 1644); both together: scipy's LSODA
    time = np.arange(0.0, 60.0, 1.0)
    hole = TANK._replace(outlet=0.0, hole=0.05)
    np.testing.assert_allclose(shown(time, 0 * time, tank=hole), (math.sqrt(5.0) - 0.025 * time) ** 2, atol=5e-5)
    both = shown(time, 0 * time, tank=hole._replace(leak=0.01))
    theirs = solve_ivp(lambda _t, x: [-0.01 - 0.05 * math.sqrt(x[0])], (0, 60), [5.0], "LSODA", time, rtol=1e-9)
    np.testing.assert_allclose(both, theirs.y[0], atol=1e-4)


def test_a_full_tank_spills_and_a_sensor_stops_at_its_limit():
    time = np.arange(0.0, 200.0, 1.0)
    seen = shown(time, np.ones(200), tank=TANK._replace(full=8.0, outlet=0.0), sensor=SENSOR._replace(high=7.0))
    assert seen.max() == 7.0
    later = shown(time, np.where(time < 100, 1.0, 0.0), tank=TANK._replace(full=8.0), sensor=SENSOR._replace(high=7.9))
    assert later[-1] < 7.0  # what was spilled is gone: it falls at once, not from a height that never was


def test_a_record_begins_afresh_after_a_gap():
    time = np.arange(0.0, 40.0, 1.0)
    seen = shown(time, 0 * time, starts=((0, 0.5, 5.0), (20, 0.5, 3.0)))
    assert seen[0] == 5.0
    assert seen[20] == 3.0


OFF = {"tank.leak": "0.1 gal/min", "sensor.zero_error": "6 mm", "sensor.span_error": "3 %"}


@pytest.mark.parametrize("name", ["seedling_house", "parts_washer"])
@pytest.mark.parametrize("off", [{}, OFF])
def test_a_described_rig_does_what_the_scan_does(name, off):
    # two codes that share nothing: the scan with its readings one by one, and the plant's continuous averaging
    project = load(sample(name))
    project = edit_many(project, {"sensor.noise": "0 mm", "sensor.ripple": "0 mm", "sensor.resolution": "0 mm"} | off)
    rig = assemble(project)
    chance = np.random.default_rng(2)
    actions = [Action(0.0, "auto", 0.0)]
    actions += [Action(30.0 * at, "manual output", float(chance.choice([0.0, 0.3, 0.7]))) for at in range(20)]
    recording = run(rig, 600.0, actions=actions)
    measured = from_recording(recording, units(project))
    seen = on_rig(measured, rig)
    problem = pose(seen.law, make_ready(seen.measured))
    known = {one.key: one.known for one in seen.law.parameters}
    left = problem.left(known | {"begins.0.volume": float(recording["volume"][0])})
    moved = float(np.ptp(measured.pv))
    assert np.abs(left - left.mean()).max() < 2e-3 * moved
