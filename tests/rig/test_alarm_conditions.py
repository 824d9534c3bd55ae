"""When the alarms beyond the limits on the volume come and go: rate, frozen and bad signal, no rise, switch, spill.

Times are worked out by hand from the definitions; the rig is a plain tank that is filled and drained at known flows.
"""

import math

import numpy as np
import pytest
from rigs import BY_HAND, LITRE, PLAIN, build, go, times_of

from levelbench.project import Value
from levelbench.rig import Action, Recording

FAST: dict[str, Value] = {"pump.spin_up": "0 s"}
FULL = 12 * LITRE / 60  # [m3/s] what the pump gives


def ladder(**alarms: dict[str, Value]) -> dict[str, Value]:
    return {"bands": dict(alarms)}


def filling(alarms: dict[str, Value], lasts: float, *actions: Action, **more: Value) -> Recording:
    """The pump stands for 10 s, then fills by hand at 12 l/min."""
    start = Action(10, "manual output", 1.0)
    return go(
        build(PLAIN, FAST, BY_HAND, alarms, {key.replace("__", "."): one for key, one in more.items()}),
        lasts,
        start,
        *actions,
    )


# Rate of change -----------------------------------------------------------------------------------------------------


def test_rate_of_a_steady_ramp_is_its_flow() -> None:
    """A first-order lag of time constant T lies r·T behind a ramp r once settled (any handbook of control)."""
    settled = 10 + 8 * 5.0
    for limit, comes in (("11.99 l/min", True), ("12.02 l/min", False)):
        recording = filling(ladder(rate_of_change={"limit": limit, "averaged_over": "5 s"}), settled)
        assert recording.condition("rate of change").any() == comes


def test_rate_comes_after_the_lag_s_own_time() -> None:
    """Half of the ramp's flow is seen after T·ln 2; each scan of 0.1 s is a backward step, (1 + h/T)^-n."""
    recording = filling(ladder(rate_of_change={"limit": "6 l/min", "averaged_over": "5 s"}), 20)
    (comes,) = times_of(recording, "rate of change")
    assert comes - 10 == pytest.approx(5.0 * math.log(2.0), abs=0.25)


def test_rate_goes_when_it_is_slower_by_the_dead_band() -> None:
    stop = Action(50, "manual output", 0.0)
    at = {}
    for dead in ("0 l/min", "3 l/min"):
        alarm: dict[str, Value] = {"limit": "6 l/min", "dead_band": dead, "averaged_over": "5 s"}
        (at[dead],) = times_of(filling(ladder(rate_of_change=alarm), 70, stop), "rate of change", 0.0)
    assert at["0 l/min"] - 50 == pytest.approx(5.0 * math.log(12 / 6), abs=0.35)
    assert at["3 l/min"] - 50 == pytest.approx(5.0 * math.log(12 / 3), abs=0.35)


def test_rate_counts_downwards_as_well() -> None:
    leak: dict[str, Value] = {"tank.leak": "12 l/min"}  # at the spill; 8.6 l/min at 20 l, by Torricelli's law
    recording = go(build(PLAIN, FAST, BY_HAND, leak, ladder(rate_of_change={"limit": "6 l/min"})), 40)
    assert len(times_of(recording, "rate of change")) == 1


def test_rate_put_to_use_in_a_run_begins_with_what_is_read_then() -> None:
    """A lag that had waited at 20 l since the start would see the 6 l since then as one jump."""
    settings = [Action(39, "rate of change limit", 1.5 * FULL), Action(40, "rate of change in use")]
    recording = filling(ladder(), 60, *settings)
    assert recording["pv"][400] > 25 * LITRE
    assert not recording.condition("rate of change").any()


# Frozen signal ------------------------------------------------------------------------------------------------------


def test_a_held_signal_is_frozen_after_its_time() -> None:
    """The reading moves while the pump fills, is held at 20 s, and nothing has moved for 5 s at 25 s."""
    held = [Action(20, "signal held"), Action(40, "signal held", 0.0)]
    recording = filling(ladder(frozen_signal={"on_delay": "5 s"}), 60, *held)
    first, frozen = times_of(recording, "frozen signal")
    assert first == pytest.approx(5.0, abs=0.11)  # nothing moved before the pump started
    assert frozen == pytest.approx(25.0, abs=0.11)
    assert times_of(recording, "frozen signal", 0.0) == [pytest.approx(10.0, abs=0.21), pytest.approx(40.0, abs=0.21)]


def test_frozen_watches_the_reading_and_not_the_filtered_pv() -> None:
    """Behind a filter of 60 s the PV creeps on for minutes after the reading has frozen."""
    held = Action(20, "signal held")
    recording = filling(ladder(frozen_signal={"on_delay": "5 s"}), 40, held, loop_settings__pv_filter="60 s")
    assert times_of(recording, "frozen signal")[-1] == pytest.approx(25.0, abs=0.11)
    assert recording["pv"][-1] > recording["pv"][300] > recording["pv"][200]


def test_changes_up_to_the_limit_are_none() -> None:
    """0.5 l at 12 l/min takes 2.5 s, longer than 2 s; 0.3 l takes 1.5 s."""
    for limit, comes in (("0.5 l", True), ("0.3 l", False)):
        recording = filling(ladder(frozen_signal={"limit": limit, "on_delay": "2 s"}), 40)
        assert recording.condition("frozen signal")[150:].any() == comes


def test_frozen_goes_only_after_its_off_delay() -> None:
    recording = filling(ladder(frozen_signal={"on_delay": "2 s", "off_delay": "4 s"}), 30)
    assert times_of(recording, "frozen signal", 0.0) == [pytest.approx(14.0, abs=0.21)]


# No rise ------------------------------------------------------------------------------------------------------------

NO_RISE: dict[str, Value] = {"limit": "0.5 l", "output_above": "60 %", "on_delay": "8 s"}


def test_no_rise_comes_when_the_pump_brings_nothing() -> None:
    """An airlock from 20 s: the rise of 0.5 l, 2.5 s of pumping, was there before; 8 s after the last one it comes."""
    recording = filling(ladder(no_rise=NO_RISE), 60, Action(20, "airlock"), Action(40, "airlock", 0.0))
    (comes,) = times_of(recording, "no rise")
    assert 20 + 8 - 2.6 <= comes <= 20 + 8 + 0.1
    (goes,) = times_of(recording, "no rise", 0.0)
    assert 40 < goes <= 40 + 2.6  # what had risen before the airlock counts


def test_no_rise_is_silent_while_the_volume_rises_and_while_little_is_asked_of_the_pump() -> None:
    assert not filling(ladder(no_rise=NO_RISE), 40).condition("no rise").any()
    half = filling(ladder(no_rise=NO_RISE), 60, Action(11, "manual output", 0.59), Action(11, "airlock"))
    assert not half.condition("no rise").any()
    just = filling(ladder(no_rise=NO_RISE), 60, Action(11, "manual output", 0.60), Action(11, "airlock"))
    assert just.condition("no rise").any()


def test_no_rise_goes_at_once_when_the_pump_is_stopped() -> None:
    recording = filling(ladder(no_rise=NO_RISE), 60, Action(10, "airlock"), Action(40, "stop"))
    assert times_of(recording, "no rise") == [pytest.approx(18.1, abs=0.11)]
    assert times_of(recording, "no rise", 0.0) == [40.0]


def test_a_rise_counts_from_the_lowest_volume_since() -> None:
    """A leak of half the pump's flow leaves a rise; one larger than what the pump gives leaves none."""
    for leak, comes in (("5 l/min", False), ("20 l/min", True)):
        alarm = ladder(no_rise=NO_RISE | {"limit": "0.4 l"})
        assert filling(alarm, 30, tank__leak=leak, tank__leak_at="0.28 m").condition("no rise").any() == comes


def test_a_rise_after_a_draw_counts_from_where_the_draw_left_the_volume() -> None:
    """20 l/min are drawn from 10 s to 30 s: 2.7 l less. From there 0.5 l rise in 2.5 s, and the alarm goes."""
    draws = [Action(10, "draw", 20 * LITRE / 60), Action(30, "draw", 0.0)]
    more: dict[str, Value] = {"drain__kind": "forced draw", "drain__draw": "0 l/min"}
    recording = filling(ladder(no_rise=NO_RISE), 50, *draws, **more)
    assert times_of(recording, "no rise") == [pytest.approx(18.0, abs=0.25)]
    assert times_of(recording, "no rise", 0.0) == [pytest.approx(32.5, abs=0.25)]


def test_no_rise_wants_its_dead_band_on_top() -> None:
    """Gone when 0.5 l and 0.4 l more have risen: 4.5 s of pumping."""
    alarm = ladder(no_rise=NO_RISE | {"dead_band": "0.4 l"})
    recording = filling(alarm, 60, Action(10, "airlock"), Action(40, "airlock", 0.0))
    assert times_of(recording, "no rise", 0.0) == [pytest.approx(44.5, abs=0.2)]


# Bad signal, switch, spill ------------------------------------------------------------------------------------------


def test_bad_signal_switch_and_spill_follow_their_causes_with_their_delays() -> None:
    delays: dict[str, Value] = {"on_delay": "1 s", "off_delay": "2 s"}
    alarms = ladder(bad_signal=delays, switch=delays, spill=delays)
    faults = [Action(20, "loop wire open"), Action(30, "loop wire open", 0.0), Action(40, "switch wire open")]
    recording = go(build(PLAIN, FAST, BY_HAND, alarms), 70, *faults, Action(50, "switch wire open", 0.0))
    for alarm, cause in (("bad signal", "sensor failed"), ("switch", "switch open")):
        scan_later = 0.1 if cause == "switch open" else 0.0  # the switch is seen in the scan after it opened
        (came,), (gone,) = times_of(recording, cause), times_of(recording, cause, 0.0)
        assert times_of(recording, alarm) == [pytest.approx(came + scan_later + 1, abs=0.11)]
        assert times_of(recording, alarm, 0.0) == [pytest.approx(gone + scan_later + 2, abs=0.11)]
    assert not recording.condition("spill").any()


def test_liquid_over_either_rim_is_a_spill() -> None:
    over = filling(ladder(spill={}), 120, start__tank_volume="35 l", overflow_switch__fitted=False)
    assert over["spilled"][-1] > 0
    assert times_of(over, "spill")[0] == pytest.approx(times_of(over, "spilling")[0], abs=0.11)
    poured = go(build(PLAIN, FAST, BY_HAND, ladder(spill={})), 20, Action(5, "top up", 50 * LITRE))
    assert times_of(poured, "spill") == [pytest.approx(5.1, abs=0.11)]


def test_what_hangs_on_the_volume_holds_still_while_the_signal_has_failed() -> None:
    """The wire breaks at 20 s in the midst of filling: nothing comes and nothing goes until it is mended."""
    alarms = ladder(
        high={"limit": "25 l", "on_delay": "3 s"}, rate_of_change={"limit": "6 l/min"},
        frozen_signal={"on_delay": "4 s"}, no_rise=NO_RISE, bad_signal={}, switch={},
    )  # fmt: skip
    broken = [Action(20, "loop wire open"), Action(30, "switch wire open"), Action(60, "loop wire open", 0.0)]
    recording = filling(alarms, 59, *broken)
    failed = np.flatnonzero(recording.condition("sensor failed"))
    for name in ("high", "rate of change", "frozen signal", "no rise"):
        assert len(set(recording.condition(name)[failed].tolist())) == 1, name
    assert recording.condition("bad signal")[failed].all()
    assert recording.condition("switch")[-1]


def test_alarms_not_in_use_do_nothing_at_all() -> None:
    """An empty ladder under every fault: no alarm's condition, no state but normal, no line in the journal."""
    faults = [
        Action(20, "loop wire open"),
        Action(30, "airlock"),
        Action(40, "switch wire open"),
        Action(41, "acknowledge"),
    ]
    recording = filling(
        {"bands": None}, 60, *faults, Action(50, "high shelve", 20.0), Action(51, "high out of service")
    )
    assert not recording["alarms"].any()
    assert not [one for one in recording.journal if one.kind == "alarm"]
