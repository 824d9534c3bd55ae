"""What is known of the noise: of a rig by simulation, of a record with its slow movement taken out."""

import math
from dataclasses import replace

import numpy as np
import pytest
from chance import Floats, first_order
from scipy.signal import lfilter

from levelbench.alarms import noise
from levelbench.alarms.errors import AlarmError
from levelbench.alarms.noise import FIRST_ORDER, OTHER, WHITE, Spread, correlation_of, from_measured, from_rig
from levelbench.project import Value, edit_many, load, sample, units
from levelbench.quantity import Dimension
from levelbench.records import Measured, from_recording
from levelbench.rig import Cancelled, assemble, run
from levelbench.rig.bench import Bench

STEP = 0.5
COUNT = 40_000
HIGH = 4.3 * 231 * 0.0254**3  # [m3] the sample's high limit


def spread_of(values: Floats, step: float = STEP) -> Spread:
    values = values - values.mean()
    return Spread(values, step, 0.0, correlation_of(values), 0.0, 0.0, 0.0, (), "made up")


def record_of(pv: Floats, step: float = STEP) -> Measured:
    time: Floats = np.asarray(step * np.arange(len(pv)), np.float64)
    return Measured(time, pv, np.zeros(len(pv)), None, None, "l", Dimension.VOLUME, "made up")


@pytest.fixture(scope="module")
def seedling() -> Spread:
    rig = assemble(load(sample("seedling_house")))
    return from_rig(rig, HIGH)


class TestWhatKindItIs:
    def test_independent(self) -> None:
        made = spread_of(np.random.default_rng(1).standard_normal(COUNT))
        assert made.kind == WHITE
        assert made.memory == pytest.approx(STEP, rel=0.05)

    def test_first_order(self) -> None:
        """The correlation time of AR(1) is step·(1 + ρ)/(1 − ρ)."""
        made = spread_of(first_order(0.9, 4 * COUNT, 2))
        assert made.kind == FIRST_ORDER
        assert made.next == pytest.approx(0.9, abs=0.01)
        assert made.memory == pytest.approx(STEP * 1.9 / 0.1, rel=0.1)

    def test_a_moving_average_is_neither(self) -> None:
        """The correlation of a moving average of N falls in a straight line: ρ(k) = 1 − k/N, Σ = N."""
        averaged = lfilter(np.ones(10) / 10, [1.0], np.random.default_rng(3).standard_normal(COUNT))
        made = spread_of(averaged)
        assert made.kind == OTHER
        assert made.correlation[:10] == pytest.approx(1 - np.arange(10) / 10, abs=0.05)
        assert made.memory == pytest.approx(10 * STEP, rel=0.1)

    def test_rare_large_steps_are_not_normal(self) -> None:
        chance = np.random.default_rng(4)
        values = chance.standard_normal(COUNT) * np.where(chance.random(COUNT) < 0.02, 8.0, 1.0)
        assert spread_of(values).kind == OTHER


class TestARig:
    def test_the_spread_is_what_averaging_and_filter_leave(self, seedling: Spread) -> None:
        """White noise through a moving average and a lag, as the rules on dead bands reckon it, in another way."""
        rig = assemble(load(sample("seedling_house")))
        assert seedling.sigma == pytest.approx(Bench(rig).noise(1.0), rel=0.05)
        assert seedling.kind == OTHER
        assert seedling.place == pytest.approx(HIGH, rel=1e-3)

    def test_its_correlation_is_that_of_the_average_and_the_lag(self, seedling: Spread) -> None:
        """A box of 2 s convolved with a lag of 1 s, by numbers: half the memory is gone where this says."""
        box, lag = np.ones(20) / 20, np.exp(-0.1 * np.arange(120))
        shape = np.convolve(box, lag)
        whole = np.correlate(shape, shape, "full")[len(shape) - 1 :]
        expected = whole / whole[0]
        assert seedling.correlation[:30] == pytest.approx(expected[:30], abs=0.05)

    def test_a_pv_filter_leaves_what_an_exponential_one_does(self) -> None:
        """α/(2 − α) of the variance of independent readings, Roberts (1959): 1/9 for α = 0.2."""
        plain: dict[str, Value] = {"sensor.averaging": 1, "sensor.resolution": "0 in", "loop_settings.pv_filter": "0 s"}
        filtered = plain | {"loop_settings.pv_filter": f"{-0.1 / math.log(0.8):.9f} s"}
        bare, smooth = (
            from_rig(assemble(edit_many(load(sample("seedling_house")), changes)), HIGH)
            for changes in (plain, filtered)
        )
        assert bare.kind == WHITE
        assert smooth.kind == FIRST_ORDER
        assert smooth.next == pytest.approx(0.8, abs=0.01)
        assert (smooth.sigma / bare.sigma) ** 2 == pytest.approx(1 / 9, rel=0.02)

    def test_still_liquid_has_less_noise_than_a_running_pump(self) -> None:
        rig = assemble(load(sample("seedling_house")))
        still = from_rig(rig, rig.project.start.set_point.si, filling=0.0)
        busy = from_rig(rig, rig.project.start.set_point.si, filling=1.0)
        assert still.sigma < 0.7 * busy.sigma

    def test_the_same_seed_gives_the_same_noise(self, seedling: Spread) -> None:
        rig = assemble(load(sample("seedling_house")))
        again, other = (from_rig(rig, HIGH, seed=seed) for seed in (1, 2))
        assert np.array_equal(again.noise, seedling.noise)
        assert not np.array_equal(other.noise, seedling.noise)

    def test_it_can_be_stopped(self) -> None:
        rig = assemble(load(sample("seedling_house")))
        with pytest.raises(Cancelled):
            from_rig(rig, rig.project.start.set_point.si, progress=lambda share: share < 0.3)

    def test_a_rig_without_noise_stands_still_and_says_so(self) -> None:
        quiet = {"sensor.noise": "0 mm", "sensor.ripple": "0 mm"}
        rig = assemble(edit_many(load(sample("seedling_house")), quiet))
        found = from_rig(rig, rig.project.start.set_point.si)
        assert found.sigma == 0.0
        assert "does not move" in found.notes[0]


class TestARecord:
    def test_slow_movement_is_not_noise(self) -> None:
        """A sine of 100 σ over a quarter of an hour, under noise of one σ: σ comes back within its own doubt."""
        time = STEP * np.arange(COUNT)
        slow = 100e-6 * np.sin(2 * math.pi * time / 900)
        found = from_measured(record_of(1e-2 + slow + 1e-6 * np.random.default_rng(5).standard_normal(COUNT)))
        assert found.sigma == pytest.approx(1e-6, rel=0.03)
        assert found.wandered == pytest.approx(200e-6, rel=0.05)
        assert found.drift == pytest.approx(100e-6 * 2 * math.pi / 900, rel=0.05)
        assert not found.notes

    def test_noise_with_memory_keeps_its_size(self) -> None:
        made = 1e-6 * first_order(0.9, 4 * COUNT, 6)
        found = from_measured(record_of(1e-2 + made))
        assert found.sigma == pytest.approx(made.std(), rel=0.05)
        assert found.memory == pytest.approx(STEP * 19, rel=0.15)

    def test_the_record_of_a_run_has_the_noise_of_the_rig(self) -> None:
        """The loop holds its set point, so the pump turns at the draw's pace; the noise is between still and busy."""
        rig = assemble(load(sample("seedling_house")))
        record = from_recording(run(rig, 3600.0, seed=4), units(rig.project)).part(300, 3600)
        found = from_measured(record)
        assert 0.9 * Bench(rig).noise(0.0) < found.sigma < 1.1 * Bench(rig).noise(1.0)

    def test_a_record_that_is_short_says_so_and_one_that_is_too_short_is_refused(self) -> None:
        made = 1e-2 + 1e-6 * first_order(0.8, 600, 7)
        assert any("short" in note for note in from_measured(record_of(made)).notes)
        with pytest.raises(AlarmError, match="independent samples"):
            from_measured(record_of(made[:60]))

    def test_noise_that_is_not_the_same_all_along_is_told(self) -> None:
        chance = np.random.default_rng(8).standard_normal(COUNT) * np.where(np.arange(COUNT) > 30_000, 3e-6, 1e-6)
        notes = from_measured(record_of(1e-2 + chance)).notes
        assert any("not the same all along" in note for note in notes)

    def test_even_noise_is_not_blamed(self) -> None:
        blamed = 0
        for seed in range(20):
            made = 1e-6 * first_order(0.7, 6000, 100 + seed)
            blamed += bool(from_measured(record_of(1e-2 + made)).notes)
        assert blamed <= 1

    def test_a_gap_is_not_bridged(self) -> None:
        made = record_of(1e-2 + 1e-6 * np.random.default_rng(9).standard_normal(6000))
        time = np.where(np.arange(6000) < 2000, made.time, made.time + 500)
        found = from_measured(Measured(time, made.pv, made.output, None, None, "l", Dimension.VOLUME, "made up"))
        assert any("gaps" in note for note in found.notes)
        assert len(found.noise) < 4001

    def test_near_a_limit_the_part_of_the_record_is_taken_that_is_nearest(self) -> None:
        level = 1e-2 * (1.5 + 0.5 * np.tanh((np.arange(COUNT) - COUNT / 2) / 1500))
        noisy = np.where(np.arange(COUNT) < COUNT / 2, 1e-6, 5e-6)
        record = record_of(level + noisy * np.random.default_rng(10).standard_normal(COUNT))
        assert from_measured(record, near=1e-2).sigma == pytest.approx(1e-6, rel=0.05)
        far = from_measured(record, near=3e-2)
        assert far.sigma == pytest.approx(5e-6, rel=0.05)
        assert any("never comes near" in note for note in far.notes)

    def test_a_pv_that_is_no_volume_is_refused(self) -> None:
        record = replace(record_of(np.sin(np.arange(1000.0))), pv_unit="V", pv_dimension=None)
        with pytest.raises(AlarmError, match="of this rig"):
            from_measured(record)


class TestMoreOfIt:
    @pytest.mark.parametrize("correlation", [0.0, 0.8])
    def test_normal_noise_that_fades_alike(self, correlation: float) -> None:
        made = spread_of(first_order(correlation, COUNT, 11))
        long = made.long(300_000, 1)
        assert len(long) == 300_000
        assert np.sqrt(np.mean(long**2)) == pytest.approx(made.sigma, rel=1e-9)
        again = correlation_of(long)
        size = min(8, len(again), len(made.correlation))
        assert again[:size] == pytest.approx(made.correlation[:size], abs=0.03)
        assert np.array_equal(long, made.long(300_000, 1))

    def test_the_spectrum_holds_the_whole_variance(self) -> None:
        """Parseval: the density's integral over frequency is the variance."""
        made = spread_of(first_order(0.8, 4 * COUNT, 12))
        frequency, density = made.spectrum()
        assert np.trapezoid(density, frequency) == pytest.approx(made.sigma**2, rel=0.05)

    def test_its_figures_say_where_they_come_from(self, seedling: Spread) -> None:
        figures = seedling.figures(units(load(sample("seedling_house"))))
        assert [one.key for one in figures] == ["noise.sigma", "noise.memory", "noise.independent"]
        assert all(one.source and one.formula for one in figures)
        assert noise.lag_of(assemble(load(sample("seedling_house")))) == pytest.approx(0.95 + 0.05 + 1.0)
