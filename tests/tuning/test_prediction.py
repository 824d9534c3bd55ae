"""What runs predict, against closed forms of the critically damped loop and facts of the trade."""

import math

import numpy as np
import pytest
from plain_rig import GPM, US_GALLON, plain, plain_project

from levelbench.project import edit_many, load, sample
from levelbench.project.records import Project
from levelbench.quantity import Dimension
from levelbench.rig.assemble import Rig, assemble
from levelbench.rig.errors import Cancelled
from levelbench.rig.recording import Action
from levelbench.rig.run import run
from levelbench.tuning.prediction import SEED, predict

QUICK = {"sensor__averaging": 1, "loop_settings__scan": "0.05 s", "sensor__update": "0.05 s"}


def test_load_deviation_is_that_of_the_critically_damped_loop() -> None:
    """With k'·K·Ti = 4 and little delay the peak is 2·d/(k'·K·e), reached a time 2/(k'·K) after the load.

    J. Beall, InTech Mar/Apr 2016 (arrest time; from memory) and closed form d·t·exp(−t/λ) with λ = 2/(k'·K).
    """
    found = predict(plain(**QUICK))
    assert found.load is not None
    assert found.load_deviation is not None
    rate = 1 / 60  # [1/s] k'·K: 1 US gal/min × 100 %/US gal
    peak = 2 * 0.25 * GPM / (rate * math.e)
    assert found.load_deviation.si == pytest.approx(peak, rel=0.02)
    recording = found.load.recording
    at = recording["time"][np.argmin(recording["volume"])] - found.load.at
    assert at == pytest.approx(2 / rate, abs=2.0)


def test_recovery_is_when_the_closed_form_comes_back_into_the_band() -> None:
    found = predict(plain(**QUICK))
    assert found.recovery is not None
    rate = 1 / 120  # 1/λ
    time = np.arange(1.0, 3600.0)
    outside = 0.25 * GPM * time * np.exp(-time * rate) > 0.01 * US_GALLON  # one entry step
    assert found.recovery.si == pytest.approx(time[outside][-1], rel=0.02)


def test_step_overshoot_is_that_of_the_critically_damped_loop() -> None:
    """Set point weight 1, k'·K·Ti = 4: e(t) = (1 − t/λ)·exp(−t/λ), so the overshoot is 1/e² of the step at t = 2λ."""
    found = predict(plain(**QUICK))
    assert found.overshoot.si == pytest.approx(0.1 * US_GALLON / math.e**2, rel=0.02)
    time = np.linspace(0, 120, 120_001)
    error = (1 - time / 120) * np.exp(-time / 120)
    rise = time[np.argmax(error <= 0.1)] - time[np.argmax(error <= 0.9)]
    assert found.rise.si == pytest.approx(rise, rel=0.02)


def test_without_noise_nothing_moves_while_holding() -> None:
    found = predict(plain(**QUICK))
    assert found.starts.si == 0.0
    assert found.hold.si < 0.001 * US_GALLON
    assert found.settling.si < 600.0


def test_with_the_drain_shut_an_overshoot_stays() -> None:
    """Common practice, no source: the pump can only add, so what it adds too much nobody takes back."""
    found = predict(plain(**QUICK))
    assert found.shut is not None
    assert found.stays is not None
    volume = found.shut.recording["volume"]
    assert found.stays.si > 0.001 * US_GALLON
    assert np.all(np.diff(volume) >= 0)
    assert volume[-1] - 4.1 * US_GALLON == pytest.approx(found.stays.si, rel=0.01)


def test_half_the_set_point_weight_leaves_less() -> None:
    """Common practice, no source."""
    whole, half = predict(plain(**QUICK)), predict(plain(loop_settings__set_point_weight="0.5", **QUICK))
    assert whole.stays is not None
    assert half.stays is not None
    assert half.stays.si < 0.5 * whole.stays.si


def test_without_a_drain_there_is_a_step_only() -> None:
    found = predict(plain(drain__kind="none", drain__draw=None))
    assert (found.load, found.shut, found.recovery, found.stays) == (None, None, None, None)
    assert len(found.figures) == 6


def test_a_draw_beyond_the_pump_is_never_recovered() -> None:
    found = predict(plain(duty__largest_draw="1.5 gal/min", drain__draw="0.2 gal/min"))
    assert found.recovery is not None
    assert math.isinf(found.recovery.si)


def test_an_on_off_pump_starts_once_a_cycle() -> None:
    rig = plain(pump__drive="on/off", pump__cycle="30 s", pump__least_on="1 s", loop_settings__gain="20 %/gal")
    found = predict(rig)
    assert found.starts.si == pytest.approx(1 / 30, rel=0.05)  # time-proportioned: one start in each cycle


def test_near_the_highest_set_point_the_step_ends_there() -> None:
    found = predict(plain(start__set_point="8 gal", start__tank_volume="8 gal", reservoir__charge="30 gal"))
    set_points = found.step.recording["set_point"] / US_GALLON
    assert (set_points[0], set_points[-1]) == (pytest.approx(7.9), pytest.approx(8.0))


def test_a_sensors_offset_is_no_control_error() -> None:
    warm = assemble(edit_many(seedling_project(), {"sensor.air_temperature": "35 °C"}))
    found = predict(warm)
    offset = found.step.recording["pv"][-2000:].mean() - found.step.recording["volume"][-2000:].mean()
    assert abs(offset) > 0.05 * US_GALLON  # warm air reads the level high
    assert found.hold.si < 0.02 * US_GALLON


@pytest.mark.parametrize("name", ["seedling", "washer"])
def test_the_samples_are_predicted_whole(name: str, request: pytest.FixtureRequest) -> None:
    rig: Rig = request.getfixturevalue(name)
    found = predict(rig)
    assert len(found.figures) == 9
    assert all(math.isfinite(one.si) and f"seed {SEED}" in one.formula for one in found.figures)
    assert all(one.resolution > 0 for one in found.figures if one.dimension in (Dimension.TIME, Dimension.VOLUME))
    assert found.load is not None
    for response in (found.step, found.load):
        time = response.recording["time"]
        assert time[0] < response.at < response.until <= time[-1] + 1.01 * rig.scan
    assert predict(rig).figures == found.figures  # a pure function of the rig


def test_progress_goes_from_nothing_to_all_and_can_stop_it() -> None:
    shares: list[float] = []

    def note(share: float) -> bool:
        shares.append(share)
        return True

    predict(plain(), note)
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] > 2 / 3
    with pytest.raises(Cancelled):
        predict(plain(), lambda share: share < 0.5)


def seedling_project() -> Project:
    return load(sample("seedling_house"))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("opening", ["20 %", "35 %", "60 %", "100 %"])
def test_a_tenth_of_a_gallon_with_a_pump_of_one_gallon_a_minute(opening: str, seed: int) -> None:
    """Common practice, no source: what a technician expects of a well-set small tank.

    The draws lie above the pump's slowest steady flow; below it the pump must start and stop.
    """
    rig = assemble(edit_many(seedling_project(), {"drain.opening": opening}))
    recording = run(rig, 900.0, actions=(Action(120.0, "set point", 3.10 * US_GALLON),), seed=seed)
    after = recording["time"] >= 120.0
    time, gallons = recording["time"][after] - 120.0, recording["volume"][after] / US_GALLON
    output, draw = recording["output"][after], float(np.mean(recording["drain_flow"][after])) / GPM
    assert draw > 0.07
    near = int(np.argmax(gallons >= 3.09))
    assert np.mean(output[1:11]) > 0.97  # runs flat out first,
    assert output[near] < 0.9  # slows as it arrives,
    assert np.max(gallons) < 3.11  # overshoots by less than a hundredth of a gallon,
    assert np.all(np.abs(gallons[time > 180.0] - 3.10) < 0.01)  # holds within a hundredth while the draw goes on,
    first = float(time[np.argmax(gallons >= gallons[0] + 0.1)])
    assert first / 60 >= 0.1 / (1 - draw)  # and never takes less than 0.1/(1 − draw) minutes.


def test_lowering_the_gain_alone_makes_the_loop_swing() -> None:
    """S. Skogestad, J. Process Control 13 (2003) 291-309 (from memory): K·k'·Ti under 4 swings slowly."""
    tight = predict(assemble(plain_project(loop_settings__gain="400 %/gal", loop_settings__integral="40 s")))
    tenth = predict(assemble(plain_project(loop_settings__gain="40 %/gal", loop_settings__integral="40 s")))
    assert tenth.overshoot.si > 2 * tight.overshoot.si


def test_a_reservoir_that_runs_dry_meanwhile_says_nothing_of_the_loop() -> None:
    """Taken away or brought back, what is drawn leaves the tank alike: the same loop (volume balance of the tank)."""
    back, away = predict(plain()), predict(plain(drain__goes_to="away", reservoir__charge="6 gal"))
    assert [one.si for one in away.figures] == pytest.approx([one.si for one in back.figures], rel=1e-6, abs=1e-12)
    assert all(math.isfinite(one.si) for one in away.figures)
    assert "kept topped up" in away.rise.formula
    assert "topped up" not in back.rise.formula
