"""Processes found from records, against closed forms, general-purpose solvers and published methods."""

import math

import control
import numpy as np
import pytest
from random_records import Rig, random_record, record
from scipy import optimize, signal, stats
from scipy.integrate import solve_ivp

from levelbench.quantity import Dimension
from levelbench.records.measured import Measured
from levelbench.rig.errors import Cancelled
from levelbench.tuning.identify.drive import Held
from levelbench.tuning.identify.errors import FitError
from levelbench.tuning.identify.simple import fit
from levelbench.tuning.process import FirstOrder, Integrating

INTEGRATING, FIRST_ORDER = "integrating", "first-order"


def estimates(found):
    return {one.figure.key: one for one in found.estimates}


def test_answer_of_first_order_is_that_of_general_solver():
    # scipy.signal.lsim and python-control, with a hold between samples
    time = np.arange(0, 60, 0.5)
    output = np.where(time < 10, 0.0, np.where(time < 30, 1.0, -0.5))
    ours = Held(time, output).first_order(7.0).at(time)[0]
    fine = np.arange(60_000) / 1000  # lsim goes straight between samples
    held = np.repeat(output, 500)
    theirs = signal.lsim(([1.0], [7.0, 1.0]), held, fine)[1][::500]
    np.testing.assert_allclose(ours, theirs, atol=2e-4)
    sampled = control.sample_system(control.tf([1.0], [7.0, 1.0]), 0.5, "zoh")
    np.testing.assert_allclose(ours, control.forced_response(sampled, time, output).outputs, atol=1e-10)


def test_integral_of_what_holds_is_that_of_a_general_solver():
    time = np.sort(np.random.default_rng(3).uniform(0, 50, 40))
    output = np.random.default_rng(4).normal(size=40)
    asked = np.linspace(time[0], time[-1] - 1e-9, 77)
    fine = np.linspace(time[0], time[-1], 400_001)
    held = output[np.searchsorted(time, fine, side="right") - 1]
    theirs = np.interp(asked, fine, np.concatenate(([0.0], np.cumsum(held[:-1] * np.diff(fine)))))
    np.testing.assert_allclose(Held(time, output).integral(asked)[0], theirs, atol=2e-3)


def test_derivatives_of_the_answer_are_differences_of_it():
    time = np.sort(np.random.default_rng(5).uniform(0, 90, 60))
    held = Held(time, np.random.default_rng(6).normal(size=60))
    asked = time[5:] - 1.3
    _, grows, by_constant = held.first_order(9.0).at(asked)
    up, down = (held.first_order(9.0 + d).at(asked)[0] for d in (1e-5, -1e-5))
    np.testing.assert_allclose(by_constant, (up - down) / 2e-5, atol=1e-7)
    later, sooner = (held.first_order(9.0).at(asked + d)[0] for d in (1e-6, -1e-6))
    np.testing.assert_allclose(grows, (later - sooner) / 2e-6, atol=1e-6)


def test_two_slopes_give_rate_per_output():
    # slopes +0.05 and −0.15 %/s for a step of 10 % of output: kv = −0.02 1/s (definition of the two-slope test)
    time = np.arange(0.0, 200.0, 1.0)
    output = np.where(time < 80, 0.40, 0.50)
    pv = 50 + 0.05 * time - 0.2 * np.maximum(time - 80 - 6.5, 0)
    pv += np.random.default_rng(0).normal(0, 1e-3, len(time))
    process = fit(record(time, pv, output, "%"), INTEGRATING).process
    assert isinstance(process, Integrating)
    assert process.slope / 100 == pytest.approx(-0.02, rel=1e-3)
    assert process.dead_time == pytest.approx(6.5, abs=0.02)


def test_level_loop_is_found_from_its_mass_balance():
    # kv = Fspan/(A·Hspan) = 0.00282885 1/s for Fspan 1e-4 m3/s, A 0.0707 m2, Hspan 0.5 m (mass balance in % units)
    time = np.arange(0.0, 900.0, 3.0)
    output = np.where((time > 100) & (time < 400), 0.7, 0.3)
    tank = solve_ivp(
        lambda t, h: [(1e-4 * output[min(int(t // 3.0), 299)] - 4e-5) / 0.0707],
        (0, 900), [0.2], t_eval=time, max_step=1.0, rtol=1e-9,
    )  # fmt: skip
    percent = 100 * tank.y[0] / 0.5 + np.random.default_rng(1).normal(0, 1e-3, len(time))
    found = fit(record(time, percent, output, "%"), INTEGRATING)
    assert found.process.slope / 100 == pytest.approx(0.00282885, rel=2e-3)
    assert found.process.dead_time < 1.0
    assert estimates(found)["fit.flow"].figure.si == pytest.approx(-100 * 4e-5 / 0.0707 / 0.5, rel=2e-3)


def test_first_order_agrees_with_two_point_method():
    # C. L. Smith, Digital Computer Process Control (1972): T = 1.5·(t63.2 − t28.3), here of T = 8, L = 2
    time = np.arange(0.0, 80.0, 0.25)
    output = np.where(time < 5, 0.2, 0.6)
    pv = 1.0 + 3.0 * (0.2 + 0.4 * (1 - np.exp(-np.maximum(time - 7.0, 0) / 8.0)))
    reached = (pv - pv[0]) / (pv[-1] - pv[0])
    two_points = 1.5 * (np.interp(0.632, reached, time) - np.interp(0.283, reached, time))
    noisy = pv + np.random.default_rng(2).normal(0, 1e-4, len(time))
    process = fit(record(time, noisy, output), FIRST_ORDER).process
    assert isinstance(process, FirstOrder)
    assert process.time_constant == pytest.approx(8.0, rel=2e-3)
    assert process.time_constant == pytest.approx(two_points, rel=0.01)
    assert process.dead_time == pytest.approx(2.0, abs=0.01)
    assert process.gain == pytest.approx(3.0, rel=1e-3)


def test_third_order_keeps_its_mean_residence_time():
    # K. J. Åström, T. Hägglund, PID Controllers (1995), section 2.4: area method on 1/(s + 1)³, T + L = 3 s
    _, answer = signal.step(([1.0], [1.0, 3.0, 3.0, 1.0]), T=np.arange(0.0, 30.0, 0.1))
    pv = np.concatenate((np.zeros(20), answer))
    output = np.concatenate((np.zeros(20), np.ones(len(answer))))
    pv += np.random.default_rng(3).normal(0, 1e-3, len(pv))
    process = fit(record(0.1 * np.arange(len(pv)), pv, output), FIRST_ORDER).process
    assert process.time_constant + process.dead_time == pytest.approx(3.0, rel=0.1)  # squares are not areas
    assert process.time_constant == pytest.approx(1.827, rel=0.1)  # the area method's, T = e·A1/K

    def answered(t, *numbers):
        gain, constant, dead_time, rest, start = numbers
        return gain * (1 - np.exp(-np.maximum(t - dead_time, 0) / constant)) + rest + start * np.exp(-t / constant)

    best, _ = optimize.curve_fit(answered, 0.1 * np.arange(len(pv)) - 2.0, pv, (1.0, 2.0, 1.2, 0.0, 0.01))
    assert process.time_constant == pytest.approx(best[1], rel=0.01)  # a general-purpose least squares
    assert process.dead_time == pytest.approx(best[2], rel=0.01)


def test_second_order_comes_near_the_half_rule():
    # S. Skogestad, J. Process Control 13 (2003), example E1 with its two largest lags (quoted from memory):
    # 1/((s + 1)(0.2s + 1)) reduces to T = 1.1, θ = 0.1 by the half rule
    _, answer = signal.step(([1.0], [0.2, 1.2, 1.0]), T=np.arange(0.0, 12.0, 0.02))
    pv = np.concatenate((np.zeros(50), answer)) + np.random.default_rng(4).normal(0, 1e-3, len(answer) + 50)
    output = np.concatenate((np.zeros(50), np.ones(len(answer))))
    process = fit(record(0.02 * np.arange(len(pv)), pv, output), FIRST_ORDER).process
    assert process.time_constant == pytest.approx(1.1, rel=0.1)
    assert process.dead_time == pytest.approx(0.1, abs=0.08)


def test_dead_time_between_samples_is_found_from_uneven_stamps():
    rng = np.random.default_rng(5)
    time = np.concatenate(([0.0], np.sort(rng.uniform(0, 600, 399))))
    output = np.where(time < 100, 0.3, np.where(time < 300, 0.5, 0.35))
    pv = Rig(3.0, 7.3, 40.0, 2.0).run(time, output, begin=2.9)[0] + rng.normal(0, 0.01, 400)
    found = estimates(fit(record(time, pv, output), FIRST_ORDER))
    assert found["fit.dead_time"].low <= 7.3 <= found["fit.dead_time"].high
    assert found["fit.dead_time"].high - found["fit.dead_time"].low < 2.5
    assert found["fit.time_constant"].figure.si == pytest.approx(40.0, rel=0.03)


def test_a_gap_over_which_the_output_moved_starts_anew():
    rng = np.random.default_rng(6)
    time = np.arange(0.0, 400.0, 1.0)
    output = np.where(time < 60, 0.3, np.where(time < 120, 0.5, np.where(time < 300, 0.2, 0.4)))
    pv = Rig(0.02, 4.0).run(time, output)[0] + rng.normal(0, 0.003, 400)
    keep = (time < 100) | (time > 200)  # the output went from 0.5 to 0.2 unseen
    found = fit(record(time[keep], pv[keep], output[keep]), INTEGRATING)
    assert found.process.slope == pytest.approx(0.02, rel=0.02)
    wait = estimates(found)["fit.dead_time"]
    assert wait.low <= 4.0 <= wait.high < wait.low + 1.5
    assert any("gap" in one for one in found.warnings)


def test_samples_at_the_sensors_limit_are_left_out():
    rng = np.random.default_rng(7)
    time = np.arange(0.0, 600.0, 1.0)
    output = np.where(time < 50, 0.2, np.where(time < 330, 0.8, 0.1))
    pv = Rig(10.0, 5.0, 80.0).run(time, output, begin=2.0)[0] + rng.normal(0, 0.02, 600)
    cut = np.minimum(pv, 6.0)
    found = fit(record(time, cut, output), FIRST_ORDER)
    assert found.process.gain == pytest.approx(10.0, rel=0.03)
    assert not found.used[(pv > 6.2)].any()
    assert any("limit" in one for one in found.warnings)


def test_a_measured_draw_takes_what_it_takes():
    rng = np.random.default_rng(8)
    time = np.arange(0.0, 600.0, 1.0)
    output = np.where(time % 200 < 100, 0.3, 0.6)
    draw = np.where((time > 150) & (time < 400), 4e-5, 1e-5)
    taken = np.concatenate(([0.0], np.cumsum(draw[:-1])))
    pv = Rig(1e-4, 5.0).run(time, output)[0] - taken + rng.normal(0, 1e-5, 600)
    found = estimates(fit(record(time, pv, output, draw=draw), INTEGRATING))
    assert found["fit.draw"].low <= -1.0 <= found["fit.draw"].high
    assert found["fit.draw"].figure.si == pytest.approx(-1.0, rel=0.01)
    volume = fit(record(time, pv, output, "m3", draw=draw, pv_dimension=Dimension.VOLUME), INTEGRATING)
    assert "fit.draw" not in estimates(volume)  # taken off by the mass balance
    assert volume.process.slope == pytest.approx(1e-4, rel=0.01)
    assert volume.rmse.si == pytest.approx(1e-5, rel=0.1)
    np.testing.assert_allclose(volume.simulated, pv, atol=6e-5)
    assert estimates(volume)["fit.flow"].low <= 0.0 <= estimates(volume)["fit.flow"].high


@pytest.mark.parametrize("column", ["output", "pv"])
def test_a_record_in_which_nothing_moves_is_refused(column):
    time = np.arange(0.0, 50.0)
    moving, still = np.sin(time), np.full(50, 0.4)
    pv, output = (moving, still) if column == "output" else (still, moving)
    with pytest.raises(FitError, match="stays the same"):
        fit(record(time, pv, output), INTEGRATING)


def test_a_fit_can_be_stopped():
    known = random_record(1, bends=True)
    seen = []

    def look(share):
        seen.append(share)
        return len(seen) < 3

    with pytest.raises(Cancelled):
        fit(known.measured, FIRST_ORDER, progress=look)
    assert len(seen) == 3


def test_progress_rises_to_the_end():
    seen = []
    fit(random_record(2, bends=False).measured, INTEGRATING, progress=lambda share: seen.append(share) or True)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0


def covered(seeds, bends):
    """Count how often each true number lies in its interval."""
    hits: dict[str, int] = {}
    for seed in seeds:
        known = random_record(seed, bends=bends)
        for key, one in estimates(fit(known.measured, FIRST_ORDER if bends else INTEGRATING)).items():
            if key in known.truth:
                hits[key] = hits.get(key, 0) + (one.low <= known.truth[key] <= one.high)
    return hits


def limits(count):
    """Give how many of so many cases an interval of 90 to 99 % holds, but for one chance in a thousand each way."""
    return stats.binom.ppf(0.001, count, 0.90), min(stats.binom.ppf(0.999, count, 0.99), count)


@pytest.mark.parametrize("bends", [False, True])
def test_intervals_hold_what_is_true(bends):
    low, high = limits(30)
    assert all(low <= hits <= high for hits in covered(range(30), bends).values())


@pytest.mark.long
@pytest.mark.parametrize("bends", [False, True])
def test_intervals_hold_what_is_true_in_90_to_99_of_100(bends):
    hits = covered(range(1000, 1200), bends)
    assert {key: one / 200 for key, one in hits.items() if not 0.90 <= one / 200 <= 0.99} == {}


def test_a_fit_of_the_wrong_kind_is_told_by_its_leftovers():
    time = np.arange(0.0, 600.0, 1.0)
    output = np.where(time % 300 < 150, 0.3, 0.6)
    pv = Rig(5.0, 4.0, 30.0).run(time, output, begin=1.5)[0] + np.random.default_rng(9).normal(0, 0.005, 600)
    right, wrong = (fit(record(time, pv, output), one) for one in (FIRST_ORDER, INTEGRATING))
    assert all(one.passed for one in right.tests)
    assert not all(one.passed for one in wrong.tests)
    assert right.rmse.si == pytest.approx(0.005, rel=0.1)
    assert wrong.rmse.si > 0.1


def test_record_units_stay_with_the_numbers():
    known = random_record(3, bends=False).measured
    found = estimates(fit(known, INTEGRATING))
    assert found["fit.slope"].unit == "V/s"
    assert found["fit.start"].unit == "V"
    assert isinstance(known, Measured)
    assert math.isfinite(found["fit.slope"].low)
