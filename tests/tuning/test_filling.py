"""Filling with the drain shut against what is known outside of the program.

Sources: a balance of volume (what comes in during θ at the flow Q is Q·θ); a geometric series for the learning; S. W.
Roberts, Technometrics 1 (1959) 239-250, for the variance of an exponential average (value from memory). Facts of the
trade (common practice, no source): on a 12 in tank with a pump of 1 gal/min and 3.5 s of delay a cut at the set point
ends 0.058 gal above it, and 30 % of the error learned a fill brings it within 0.01 gal on the 6th fill.
"""

import math
from dataclasses import replace
from threading import Event

import numpy as np
import pytest

from levelbench.project import units
from levelbench.rig.assemble import Rig
from levelbench.rig.ensemble import Runner
from levelbench.rig.errors import Cancelled, RigError
from levelbench.tuning.doubt import Doubt
from levelbench.tuning.filling import CutOff, best_of, cut_off, equation, fill, law_figures
from levelbench.tuning.filling.compare import sizes_of
from levelbench.tuning.filling.law import SHARE, delay_to_stop, fills_to, full_flow
from levelbench.tuning.filling.plan import CUT, LEARNED, Plan, ways_of
from levelbench.tuning.filling.runs import by_cut, by_pi, fill_of, lasting, with_weight

from .plain_rig import GPM, US_GALLON, plain

TRADE = {  # the rig of the trade: 50 readings at 10 a second, 0.5 s of scan; half a scan late, and 0.8 s to run down
    "pump__starts_moving_at": "35 %",
    "pump__stalls_at": "28 %",
    "pump__slowest_flow": "0.2 gal/min",
    "pump__spin_up": "0.8 s",
    "pump__fill_end_above_floor": "20 in",
    "sensor__averaging": 50,
    "sensor__noise": "0.00816 in",  # 0.004 gal
    "loop_settings__scan": "0.5 s",
    "loop_settings__gain": "750 %/gal",
    "loop_settings__integral": "32 s",
    "drain__draw": "0 gal/min",
}


@pytest.fixture(scope="module")
def trade() -> Rig:
    return plain(**TRADE)


@pytest.fixture
def runner() -> Runner:
    return Runner(Event())


def cut(runner: Runner, rig: Rig, seed: int, lead: float, start: float = 4.0) -> float:
    """Fill from about 4 gal to 6 gal, and give the error [m3]."""
    volumes = (start * US_GALLON, 6.0 * US_GALLON)
    one = fill_of(rig, volumes, 400.0, seed)
    return by_cut(runner, one, cut_off(rig, volumes[1]), lead)[0].error


# --- what is in flight -----------------------------------------------------------------------------------------------


def test_a_cut_at_the_set_point_ends_above_by_flow_times_delay(trade: Rig, runner: Runner) -> None:
    """Common practice, no source: +0.058 gal, which is 1 gal/min × 3.5 s."""
    assert full_flow(trade, 6 * US_GALLON) == pytest.approx(GPM)
    assert delay_to_stop(trade) == pytest.approx(2.45 + 0.25 + 0.8)
    errors = [cut(runner, trade, seed, 0.0, 4.0 + 0.0013 * seed) for seed in range(30)]
    assert np.mean(errors) / US_GALLON == pytest.approx(0.058, abs=0.003)


@pytest.mark.parametrize("changes", [
    {"sensor__averaging": 21, "pump__spin_up": "2 s"},
    {"sensor__averaging": 101},
    {"loop_settings__pv_filter": "3 s"},
    {"loop_settings__scan": "2 s"},
    {"sensor__update": "1 s", "sensor__averaging": 5},
    {"loop_settings__output_rate": "25 %/s"},
])  # fmt: skip
def test_in_flight_is_flow_times_delay_whatever_delays(changes: dict[str, str | int], runner: Runner) -> None:
    """Balance of volume; the mean over starts spreads the moment of the cut evenly over the scan."""
    rig = plain(drain__draw="0 gal/min", pump__fill_end_above_floor="20 in", **changes)
    late = max(rig.scan, rig.params.sensor.update)
    starts = [4.0 + GPM / US_GALLON * late * share for share in np.linspace(0.0, 1.0, 21)[:-1]]
    errors = [cut(runner, rig, 1, 0.0, start) for start in starts]
    assert np.mean(errors) == pytest.approx(GPM * delay_to_stop(rig), abs=GPM * 0.06)


def test_the_high_limit_of_the_output_is_kept(runner: Runner) -> None:
    """A pump whose flow is straight in its output: 60 % of it brings 60 % of the flow, and so of what is in flight."""
    straight = {"drain__draw": "0 gal/min", "pump__fill_end_above_floor": "20 in", "pump__starts_moving_at": "0 %",
                "pump__slowest_flow": "0 gal/min"}  # fmt: skip
    whole, limited = plain(**straight), plain(**straight, loop_settings__output_high="60 %")
    assert full_flow(limited, 6 * US_GALLON) == pytest.approx(0.6 * full_flow(whole, 6 * US_GALLON))
    one = fill_of(limited, (4 * US_GALLON, 6 * US_GALLON), 400.0, 1)
    filled, rows = by_cut(runner, one, cut_off(limited, 6 * US_GALLON), 0.0)
    assert rows[:, 5].max() == 0.6
    assert filled.error == pytest.approx(0.6 * GPM * delay_to_stop(limited), abs=GPM * 0.06)
    assert "OP = 60 % until" in equation(cut_off(limited, 6 * US_GALLON), units(limited.project))[0]


def test_the_delay_of_the_model_can_be_wrong_and_then_the_cut_is(runner: Runner) -> None:
    rig = plain(drain__draw="0 gal/min", pump__fill_end_above_floor="20 in")
    weak, slow = Doubt(flow=0.5).of(rig), Doubt(delay=2.0).of(rig)
    usual = cut(runner, rig, 1, 0.0)
    assert cut(runner, weak, 1, 0.0) == pytest.approx(usual / 2, abs=GPM * 0.1)
    assert cut(runner, slow, 1, 0.0) == pytest.approx(usual + GPM * 1.0, abs=GPM * 0.1)


# --- learning --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("in_flight", [0.02, 0.058, 0.3])
def test_learning_is_a_geometric_series_on_a_linear_plant(in_flight: float) -> None:
    law, lead = CutOff(0.0, 1.0, 5.0, 5.0), 0.0
    for n in range(20):
        error = in_flight - lead
        assert error == pytest.approx(in_flight * (1 - SHARE) ** n, rel=1e-12)
        lead = law.learned(lead, error)


def test_the_sixth_fill_is_the_first_within_a_hundredth_of_a_gallon() -> None:
    """Common practice, no source."""
    assert fills_to(0.058, 0.01) == 6
    assert 0.058 * 0.7**4 > 0.01 > 0.058 * 0.7**5
    assert fills_to(0.0099, 0.01) == 1


def test_the_rig_of_the_trade_learns_as_the_trade_says(trade: Rig, runner: Runner) -> None:
    """Mean over 30 series: 0.058 gal times 0.7 a fill, and the 6th within 0.01 gal."""
    law, errors = cut_off(trade, 6 * US_GALLON), np.zeros((30, 7))
    for series in range(30):
        lead = 0.0
        for n in range(7):
            one = fill_of(trade, ((4 + 0.0013 * series) * US_GALLON, 6 * US_GALLON), 200.0, 100 * series + n)
            filled = by_cut(runner, one, law, lead)[0]
            lead, errors[series, n] = law.learned(lead, filled.learned), filled.error / US_GALLON
    mean = errors.mean(axis=0)
    for n in range(7):
        assert mean[n] == pytest.approx(0.058 * 0.7**n, abs=0.003)
    assert mean[4] > 0.01 > mean[5]


def test_errors_by_chance_do_not_add_up() -> None:
    """Roberts 1959: the lead's variance is 0.3/(2 − 0.3) of that of the errors it learns from."""
    law, chance, lead, leads = CutOff(0.0, 10.0, 5.0, 5.0), np.random.default_rng(5), 1.0, []
    for one in chance.normal(0.0, 0.1, 40000):
        lead = law.learned(lead, 1.0 - lead + float(one))
        leads.append(lead)
    assert np.std(leads[100:]) == pytest.approx(0.1 * math.sqrt(SHARE / (2 - SHARE)), rel=0.03)


def test_the_lead_stays_between_nothing_and_its_most() -> None:
    law = CutOff(0.0, 0.1, 5.0, 5.0)
    assert law.learned(0.09, 5.0) == 0.1
    assert law.learned(0.01, -5.0) == 0.0


# --- the comparison --------------------------------------------------------------------------------------------------


def test_with_the_drain_shut_an_overshoot_of_the_pi_stays(runner: Runner) -> None:
    """Common practice, no source: with a pump that has no thresholds, b = 1 stays 0.020 gal high, b = 0.5 0.002 gal."""
    smooth = {"pump__starts_moving_at": "0 %", "pump__stalls_at": "0 %", "pump__slowest_flow": "0 gal/min"}
    rig = plain(**{**TRADE, **smooth})
    one = fill_of(rig, (4 * US_GALLON, 6 * US_GALLON), lasting(rig, 4 * US_GALLON, 6 * US_GALLON), 1)
    whole, half = (by_pi(runner, with_weight(one, weight))[0] for weight in (1.0, 0.5))
    assert whole.error / US_GALLON == pytest.approx(0.020, abs=0.002)
    assert half.error / US_GALLON == pytest.approx(0.002, abs=0.002)
    assert whole.time < half.time


def test_the_rule_by_which_a_way_wins(trade: Rig) -> None:
    found = fill(trade)
    for size in found.sizes:
        close = [one for one in size.rows if one.worst.si <= found.tolerance]
        assert size.wins is best_of(size.rows, found.tolerance)
        assert size.wins in close or not close
        assert all(size.wins.time.si <= 1.0201 * one.time.si for one in close)
    tight = best_of(found.sizes[0].rows, 1e-12)  # nothing is so close: the closest then
    assert tight.worst.si == min(one.worst.si for one in found.sizes[0].rows)
    assert len(found.learned) == 12
    assert found.learned[0] > found.learned[5] > 0
    assert found.learned[0] / US_GALLON == pytest.approx(0.058, abs=0.006)  # over flow ±10 % and delay ±25 %


def test_what_wins_hangs_on_the_rig(trade: Rig) -> None:
    """A controller that looks every five seconds can't cut well; its PI throttles the pump before it gets there."""
    rare = plain(**{**TRADE, "loop_settings__scan": "5 s", "loop_settings__gain": "300 %/gal",
                    "loop_settings__integral": "80 s", "loop_settings__entry_step": "0.05 gal"})  # fmt: skip
    quick = plain(**{**TRADE, "loop_settings__entry_step": "0.05 gal"})
    assert fill(quick).largest().wins.way is LEARNED
    assert fill(rare).largest().wins.way.weight is not None


def test_every_way_does_the_same_fills_and_twice_the_same(trade: Rig, runner: Runner) -> None:
    plan = Plan.of(trade, 5.5 * US_GALLON, 6 * US_GALLON)
    way = ways_of(trade)[0]
    assert plan.fills(runner, way, 1) == plan.fills(runner, way, 1)
    assert [one.lead for one in plan.fills(runner, CUT, 1)] == [0.0] * 6


def test_a_fill_starts_the_pump_once_though_noise_turns_it_over_before(runner: Runner) -> None:
    rig = plain(drain__draw="0 gal/min", pump__fill_end_above_floor="20 in", sensor__noise="0.05 in")
    law = cut_off(rig, 5 * US_GALLON)
    for seed in range(6):
        one = fill_of(rig, (4.9 * US_GALLON, 5 * US_GALLON), 120.0, seed)
        assert by_cut(runner, one, law, 0.0)[0].starts == 1


def test_an_on_off_pump_is_cut_within_the_scan(runner: Runner) -> None:
    """The switching cycle of its drive does not delay the cut."""
    plain_pump = plain(drain__draw="0 gal/min", pump__fill_end_above_floor="20 in")
    switched = plain(drain__draw="0 gal/min", pump__fill_end_above_floor="20 in", pump__drive="on/off",
                     pump__cycle="30 s")  # fmt: skip
    assert cut(runner, switched, 1, 0.0) == pytest.approx(cut(runner, plain_pump, 1, 0.0), rel=1e-9)


def test_what_can_not_be_filled_is_refused(trade: Rig, runner: Runner) -> None:
    low = plain(**{**TRADE, "loop_settings__set_point_low": "4 gal", "loop_settings__set_point_high": "4.01 gal"})
    with pytest.raises(RigError, match="nothing to fill"):
        sizes_of(low)
    dry = replace(trade, params=trade.params._replace(reservoir=trade.params.reservoir._replace(suction_volume=1.0)))
    with pytest.raises(RigError, match="does not reach"):
        cut(runner, dry, 1, 0.0)


def test_it_can_be_stopped(trade: Rig) -> None:
    with pytest.raises(Cancelled):
        fill(trade, lambda share: share < 0.1)


def test_the_figures_say_where_they_come_from(trade: Rig) -> None:
    found = {one.key: one for one in law_figures(trade, 6 * US_GALLON, 0.01 * US_GALLON)}
    assert found["filling.in_flight"].si == pytest.approx(GPM * 3.5)
    assert found["filling.fills"].si == 6
    assert found["filling.most"].si == pytest.approx(0.6 * US_GALLON)
    assert all(one.source and one.formula for one in found.values())
