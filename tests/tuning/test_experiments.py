"""Experiments on rigs: what is found, when they stop, and that everything is left as it was."""

import json
from dataclasses import replace

import numpy as np
import pytest
from plain_rig import GPM, US_GALLON
from plain_rig import plain as plain_as_it_is

from levelbench.rig import Action, Cancelled, Rig
from levelbench.tuning.experiments import (
    BUMP,
    KINDS,
    RELAY,
    STEP,
    ExperimentError,
    Wishes,
    by_hand,
    foreseen,
    plan,
    run_experiment,
)
from levelbench.tuning.experiments.experiment import Experiment
from levelbench.tuning.experiments.planned import relay_cycle
from levelbench.tuning.process import FirstOrder, Integrating

NOISY = {"sensor__noise": "0.01 in", "sensor__ripple": "0.02 in", "pump__spin_up": "0.5 s", "sensor__averaging": 20}


def plain(**changes: str | int | bool | None) -> Rig:
    """Give the plain rig with a loop that settles in a minute."""
    return plain_as_it_is(**({"loop_settings__gain": "800 %/gal", "loop_settings__integral": "15 s"} | changes))


def found(done: Experiment, key: str) -> tuple[float, float, float]:
    one = next(each for each in done.estimates if each.figure.key == f"experiment.{key}")
    return one.low, one.figure.si, one.high


def left(done: Experiment, name: str) -> float:
    return float(done.recording[name][-1])


def actions(done: Experiment, what: str) -> list[float]:
    return [one.value for one in done.recording.journal if one.kind == "action" and one.what == what]


@pytest.mark.parametrize("kind", KINDS)
def test_without_noise_the_process_is_the_rigs_own(kind: str) -> None:
    """1 US gal/min at 100 %, straight from 0: k' = 1 US gal/min by definition of the pump; delay: 20 readings back, the
    mean age (N − 1)/2·0.1 s = 1 s, and the sub-steps of the pump, which are shorter than a scan."""
    done = run_experiment(plan(plain(), kind, Wishes(repeats=2)))
    assert not done.stopped
    assert isinstance(done.process, Integrating)
    assert done.process.slope == pytest.approx(GPM, rel=0.01)
    assert done.process.dead_time == pytest.approx(1.0, abs=0.12)
    assert all(one.agrees for one in done.compared)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["seedling", "washer"])
def test_samples_with_their_noise(kind: str, name: str, request: pytest.FixtureRequest) -> None:
    """The loop model, made from the description alone, lies within the interval that the experiment gives."""
    rig: Rig = request.getfixturevalue(name)
    done = run_experiment(plan(rig, kind), seed=11)
    assert not done.stopped
    assert [one.agrees for one in done.compared] == [True, True], [one.words for one in done.compared]
    low, middle, high = found(done, "slope")
    assert (high - low) / 2 < 0.15 * middle  # and the interval is worth something
    assert not done.recording.condition("switch open").any()
    shown = np.isfinite(done.simulated)
    assert shown.mean() > 0.5
    assert np.std((done.simulated - done.measured.pv)[shown]) < 0.1 * np.ptp(done.measured.pv)


def test_another_pump_is_seen() -> None:
    """A pump worn by 20 % gives 20 % less (definition of wear here); the model of the unworn one then disagrees."""
    new, worn = plain(**NOISY), plain(**NOISY, pump__wear="20 %")
    planned = plan(new, BUMP)
    done = run_experiment(replace(planned, rig=worn))
    assert found(done, "slope")[1] == pytest.approx(0.8 * GPM, rel=0.03)
    beside = run_experiment(planned)
    low, _, high = found(beside, "slope")
    assert not low <= found(done, "slope")[1] <= high


def test_equal_seeds_give_equal_experiments() -> None:
    planned = plan(plain(**NOISY), RELAY, Wishes(repeats=1))
    one, same, other = (run_experiment(planned, seed) for seed in (5, 5, 6))
    assert np.array_equal(one.recording.rows, same.recording.rows)
    assert one.estimates == same.estimates
    assert one.estimates != other.estimates


def test_level_that_comes_to_rest() -> None:
    """A thin tank with a bottom outlet regulates itself: q = c·√h, so T = 2·V/q above the outlet (mass balance)."""
    rig = plain(
        tank__diameter="2 in",
        drain__kind="bottom outlet",
        drain__draw=None,
        drain__outlet_above_floor="0 in",
        drain__tube_diameter="1 in",
        drain__tube_length="2 in",
        drain__valve_cv="0.5",
        drain__opening="100 %",
        loop_settings__set_point_low="0.02 gal",
        loop_settings__set_point_high="0.22 gal",
        loop_settings__gain="1500 %/gal",
        loop_settings__integral="20 s",
        start__tank_volume="0.1 gal",
        start__set_point="0.1 gal",
        pump__largest_flow="2 gal/min",
    )
    planned = plan(rig, BUMP, Wishes(lasts=240.0, size=0.015, repeats=1))
    assert planned.settles
    done = run_experiment(planned)
    assert isinstance(done.process, FirstOrder)
    assert done.process.time_constant == pytest.approx(planned.regulation, rel=0.1)
    # at rest the drain takes what the pump gives: 0.1 gal through Cv 0.5 is q, and T = 2·V/q
    q = float(np.mean(done.recording["drain_flow"][:50]))
    assert done.process.time_constant == pytest.approx(2 * 0.1 * US_GALLON / q, rel=0.1)


# --- limits ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [BUMP, RELAY])
def test_a_draw_that_ends_is_stopped_before_high_and_the_switch(kind: str) -> None:
    """Somebody shuts the drain while the pump is at its high output: it fills, and is stopped in time."""
    rig = plain(
        **NOISY, bands__high__limit="4.6 gal", bands__high__dead_band="0.1 gal", overflow_switch__trips_at="9.7 in"
    )
    planned = plan(rig, kind, Wishes(lasts=300.0 if kind == BUMP else None, size=0.05 if kind == BUMP else None))
    whole = run_experiment(replace(planned, repeats=1))
    shut = whole.begun + (310.0 if kind == BUMP else 3.0)
    done = run_experiment(planned, others=(Action(shut, "draw", 0.0), Action(shut, "manual output", 1.0)))
    assert "short of “high”" in done.stopped or (kind == RELAY and "doesn't turn" in done.stopped)
    assert done.process is None
    assert float(np.max(done.recording["volume"])) < 4.6 * US_GALLON
    assert not done.recording.condition("switch open").any()
    assert not done.recording.condition("high").any()
    assert done.recording.condition("automatic")[-1]
    assert left(done, "output") == 0.0


def test_a_draw_that_grows_is_stopped_above_low() -> None:
    rig = plain(**NOISY, bands__low__limit="3.5 gal", bands__low__dead_band="0.1 gal")
    planned = plan(rig, BUMP, Wishes(lasts=200.0))
    done = run_experiment(
        planned, others=(Action(run_experiment(replace(planned, repeats=1)).begun + 5.0, "draw", 0.5 * GPM),)
    )
    assert "short of “low”" in done.stopped
    assert float(np.min(done.recording["volume"])) > 3.5 * US_GALLON


@pytest.mark.parametrize(
    ("what", "value", "said"),
    [("echo lost", 1.0, "sensor signal failed"), ("stop", 1.0, "emergency stop"), ("mains", 0.0, "pump is blocked")],
)
def test_trips_stop_it(what: str, value: float, said: str) -> None:
    rig = plain(
        sensor__kind="radar",
        sensor__face_above_floor="22 in",
        sensor__signal_span=("22 in", "2 in"),
        sensor__near_dead_zone="1 in",
    )
    planned = plan(rig, BUMP)
    begun = run_experiment(replace(planned, repeats=1)).begun
    done = run_experiment(planned, others=(Action(begun + 5.0, what, value),))
    assert said in done.stopped


def test_a_reservoir_that_runs_empty_stops_it() -> None:
    rig = plain(drain__goes_to="away", reservoir__charge="6 gal", reservoir__suction_above_floor="1 in", **NOISY)
    done = run_experiment(plan(rig, BUMP, Wishes(lasts=600.0, size=0.02)))
    assert "reservoir" in done.stopped


def test_what_was_changed_is_put_back() -> None:
    """Drain shut and manual at the start: both are so again at the end, and nothing else was touched."""
    rig = plain(drain__draw="0 gal/min", start__mode="manual", start__output="0 %")
    planned = plan(rig, RELAY, Wishes(repeats=1))
    assert planned.drain is not None
    assert planned.drain[0] == "draw"
    done = run_experiment(planned)
    assert not done.stopped
    assert left(done, "drain_flow") == 0.0
    assert not done.recording.condition("automatic")[-1]
    assert left(done, "output") == 0.0
    step = run_experiment(plan(plain(), STEP, Wishes(repeats=1)))
    assert left(step, "set_point") == pytest.approx(4 * US_GALLON)
    touched = {one.what for one in done.recording.journal if one.kind == "action"}
    assert touched <= {"auto", "manual output", "draw"}


def test_a_shut_drain_is_said_before_it_starts() -> None:
    planned = plan(plain(drain__draw="0 gal/min"), RELAY)
    assert "can only add" in planned.says[0]
    assert "0.50 US gal/min" in planned.says[0]  # half of what the pump gives, the duty's largest draw too
    with pytest.raises(ExperimentError, match="Nothing takes liquid out"):
        plan(plain(drain__kind="none", drain__draw=None), RELAY)


def test_a_relay_that_can_only_rise_is_refused_with_figures() -> None:
    """With a bias of 30 % the low output still gives more than the drain takes."""
    with pytest.raises(ExperimentError, match=r"can't fall .*drain takes 0\.25 US gal/min"):
        plan(plain(), RELAY, Wishes(bias=0.3, size=0.1))


def test_a_bias_makes_the_swing_lean() -> None:
    """Rise and fall are the flows less and above the draw: some 0.20 and 0.10 gal/min (mass balance)."""
    done = run_experiment(plan(plain(), RELAY, Wishes(bias=0.05, size=0.15, repeats=1)))
    changes = [one for one in done.recording.journal if one.what == "manual output"][2:]
    stretches = np.diff([one.time for one in changes])[:10]  # high and low in turn: five whole swings
    outputs = [one.value for one in changes[:2]]
    high = stretches[0::2] if outputs[0] > outputs[1] else stretches[1::2]
    share = float(np.sum(high) / np.sum(stretches))
    rise, fall = max(outputs) - 0.25, 0.25 - min(outputs)  # of 1 US gal/min
    assert share == pytest.approx(fall / (rise + fall), abs=0.01)
    assert abs(rise - fall - 0.1) < 0.04
    assert isinstance(done.process, Integrating)
    assert done.process.slope == pytest.approx(GPM, rel=0.01)


def test_too_near_to_a_limit() -> None:
    with pytest.raises(ExperimentError, match="too near to “high”"):
        plan(plain(bands__high__limit="4.02 gal", bands__high__dead_band="0.1 gal"), BUMP)
    with pytest.raises(ExperimentError, match="the limits leave"):
        plan(plain(), BUMP, Wishes(size=0.2, lasts=3600.0))
    with pytest.raises(ExperimentError, match="leaves the range of the set point"):
        plan(plain(), STEP, Wishes(size=5 * US_GALLON))
    with pytest.raises(ExperimentError, match="no experiment"):
        plan(plain(), "kick")


def test_cancel() -> None:
    asked = []

    def no(share: float) -> bool:
        asked.append(share)
        return len(asked) < 3

    with pytest.raises(Cancelled):
        run_experiment(plan(plain(), BUMP), progress=no)


def test_progress_rises_to_the_end() -> None:
    told: list[float] = []
    run_experiment(plan(plain(), BUMP), progress=lambda share: told.append(share) or True)
    assert told == sorted(told)
    assert 0.6 < told[-1] <= 1.0


def test_sheet_by_hand_says_limits_cautions_and_what_to_record(seedling: Rig) -> None:
    for kind in KINDS:
        text = json.dumps([part.lines for part in by_hand(plan(seedling, kind))], ensure_ascii=False)
        for words in ("hard-wired", "siphon", "reservoir", "Automatic", "3.000 US gal", "emergency stop", "CSV"):
            assert words in text, (kind, words)
    assert "3.94" in text or "4.2" in text


@pytest.mark.parametrize(
    "changes",
    [
        {"loop_settings__output_rate": "2 %/s"},
        {"loop_settings__gain": "6000 %/gal"},  # swings for ever by itself
        {"loop_settings__gain": "30 %/gal"},  # swings slowly
        {"start__running": False},
    ],
)
def test_a_rig_that_is_not_well_tuned_yet(changes: dict[str, str | bool]) -> None:
    """An experiment comes before the tuning: it has to work with any settings."""
    done = run_experiment(plan(plain(**NOISY, **changes), RELAY, Wishes(repeats=2)))
    assert not done.stopped
    assert found(done, "slope")[1] == pytest.approx(GPM, rel=0.12)


def test_a_draw_near_the_end_of_the_pump_is_refused_with_figures() -> None:
    with pytest.raises(ExperimentError, match=r"draw of 0\.990.*can't go both ways.*about 0\.50"):
        plan(plain(drain__draw="0.99 gal/min"), BUMP)


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_on_random_rigs_the_model_lies_within_the_interval(kind: str) -> None:
    """Of 12 rigs at most one in 24 comparisons may miss: the interval is one of 95 %."""
    chance, agreed = np.random.default_rng(8), []
    for at in range(12):
        flow, noise, width = chance.uniform(0.5, 3.0), chance.uniform(0.002, 0.03), chance.uniform(9.0, 24.0)
        spin, smooth, many = chance.uniform(0.0, 3.0), chance.uniform(0.0, 4.0), int(chance.integers(1, 60))
        delay = 0.05 * (many - 1) + 0.1 + spin + smooth
        full = 0.0034 * width**2 * 18
        rig = plain(
            pump__largest_flow=f"{flow:.3f} gal/min",
            pump__spin_up=f"{spin:.2f} s",
            drain__draw=f"{flow * chance.uniform(0.2, 0.7):.3f} gal/min",
            tank__diameter=f"{width:.2f} in",
            reservoir__capacity="60 gal",
            reservoir__charge="50 gal",
            sensor__averaging=many,
            sensor__noise=f"{noise:.4f} in",
            loop_settings__pv_filter=f"{smooth:.2f} s",
            loop_settings__gain=f"{3000 / (flow * delay):.3g} %/gal",
            loop_settings__integral=f"{8 * delay:.3g} s",
            loop_settings__set_point_low=f"{0.2 * full:.2f} gal",
            loop_settings__set_point_high=f"{0.8 * full:.2f} gal",
            start__tank_volume=f"{0.5 * full:.2f} gal",
            start__set_point=f"{0.5 * full:.2f} gal",
        )
        agreed += [one.agrees for one in run_experiment(plan(rig, kind), seed=100 * at).compared]
    assert len(agreed) == 24
    assert sum(agreed) >= 23


def test_what_is_foreseen_is_what_the_plan_says() -> None:
    """The expected picture against the closed form of the swing, and against the run without noise."""
    planned = plan(plain(), RELAY, Wishes(bias=0.03))
    ahead = foreseen(planned)
    cycle = relay_cycle(planned)
    assert float(np.max(ahead.pv)) - planned.volume == pytest.approx(cycle.peak, rel=0.05)
    assert planned.volume - float(np.min(ahead.pv)) == pytest.approx(cycle.trough, rel=0.05)
    for kind in KINDS:
        planned = plan(plain(), kind, Wishes(repeats=1))
        done, ahead = run_experiment(planned), foreseen(planned)
        within = (done.recording["time"] >= done.begun) & (done.recording["time"] < done.ended)
        close = 0.3 if kind == STEP else 0.15  # how this loop overshoots is not foreseen
        assert float(np.ptp(done.recording["pv"][within])) == pytest.approx(float(np.ptp(ahead.pv)), rel=close)
        assert done.ended - done.begun == pytest.approx(ahead.lasts - 20.0, rel=0.1)
