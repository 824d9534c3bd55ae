"""An alarm chosen from the noise: the trade's figures, the two ways to a rate against each other, what is proposed."""

import math
from dataclasses import replace

import numpy as np
import pytest
from chance import Floats, first_order, interval
from scipy.signal import lfilter

from levelbench.alarms import rates
from levelbench.alarms.answer import Design
from levelbench.alarms.candidate import choices
from levelbench.alarms.design import design, spread_near
from levelbench.alarms.errors import AlarmError
from levelbench.alarms.grid import Axes, Choice, Grid, evaluate, samples_of
from levelbench.alarms.noise import Spread, correlation_of
from levelbench.alarms.purpose import DESIGNED, Purpose, purpose_of, rule_of
from levelbench.alarms.weigh import refused
from levelbench.alarms.why import why
from levelbench.project import edit_many, load, sample
from levelbench.review import review
from levelbench.rig import Cancelled, assemble, watching

QUICK = (("seedling_house", "low"), ("seedling_house", "deviation"), ("parts_washer", "high_high"))
EVERY = [
    pytest.param(name, alarm, marks=[] if (name, alarm) in QUICK else pytest.mark.long)
    for name in ("seedling_house", "parts_washer")
    for alarm in DESIGNED
]
GALLON = 231 * 0.0254**3  # [m3] NIST Handbook 44
SIGMA = 1e-6  # [m3]


def spread_of(values: Floats, step: float) -> Spread:
    scaled = values - values.mean()
    scaled = scaled * (SIGMA / scaled.std())
    return Spread(scaled, step, 0.0, correlation_of(scaled), 0.0, 0.0, 0.0, (), "made up")


def purpose(limit: float, *, slow: float, rate: float = 1e-4, beyond: float = 1.0) -> Purpose:
    """Up from 0, everything far away but the limit."""
    return Purpose("high", limit, 0.0, beyond, "spill", rate, rate, slow)


def axes(limit: float, wide: tuple[float, ...], ons: tuple[float, ...], offs: tuple[float, ...]) -> Axes:
    """Dead bands in σ, delays in seconds."""
    bands = tuple(Choice(f"{one:g} σ", one * SIGMA, f"{one:g} σ") for one in wide)
    everyone = (tuple(Choice(f"{t:g} s", t, f"{t:g} s") for t in each) for each in (ons, offs))
    return Axes((Choice("limit", limit, "limit"),), bands, *everyone)


@pytest.fixture(scope="module")
def high() -> Design:
    rig = assemble(load(sample("seedling_house")))
    wanted = purpose_of(rig, "high")
    return design(rig, spread_near(rig, wanted), wanted)


@pytest.fixture(scope="module")
def averaged() -> Grid:
    """Fifty readings averaged, ten a second, looked at every 0.5 s; a crossing as slow as a σ in 9 minutes."""
    fresh = np.random.default_rng(6).standard_normal(2_000_000)
    noise = lfilter(np.ones(50) / 50, [1.0], fresh)[50::5]
    tried = axes(1.0, (0, 2, 4, 6), (0, 15), (0, 60))
    return evaluate(spread_of(noise, 0.5), purpose(1.0, slow=SIGMA / 540), tried, 1)


@pytest.fixture(scope="module")
def independent() -> Grid:
    """Independent samples, the limit 1.5 σ from rest, as in the papers."""
    spread = spread_of(np.random.default_rng(2).standard_normal(100_000), 1.0)
    limit = 1.5 * SIGMA
    return evaluate(spread, purpose(limit, slow=SIGMA / 60), axes(limit, (0, 2), (0, 2), (0, 2)), 1)


class TestTheTradesFigures:
    """A round tank of 12 in whose sensor averages fifty readings, ten a second, looked at every 0.5 s.

    Common practice, no source: a model's values, of which shapes and ratios are to be trusted. A dead band of 6 σ gave
    1.05 alarms of one slow crossing, 4 σ 5.7, 2 σ 32, none 193; none with an on-delay of 15 s 13, an off-delay of 60 s
    2.7. How slow the crossing was is not told: here it is as slow as gives the 193, which is one σ in 9 minutes.
    """

    TOLD = ((0, 0, 0, 193), (2, 0, 0, 32), (4, 0, 0, 5.7), (0, 15, 0, 13), (0, 0, 60, 2.7))

    def alarms(self, averaged: Grid, *choice: int) -> float:
        wide, on, off = choice
        return averaged.alarms((0, (0, 2, 4, 6).index(wide), (0, 15).index(on), (0, 60).index(off)))

    def test_six_sigmas_come_to_one_alarm(self, averaged: Grid) -> None:
        assert self.alarms(averaged, 6, 0, 0) == pytest.approx(1.05, abs=0.2)

    @pytest.mark.parametrize("told", TOLD)
    def test_the_shape(self, averaged: Grid, told: tuple[int, int, int, float]) -> None:
        *choice, alarms = told
        assert alarms / 2 < self.alarms(averaged, *choice) < 2 * alarms

    def test_the_order(self, averaged: Grid) -> None:
        found = [self.alarms(averaged, *told[:3]) for told in self.TOLD]
        assert found[0] > found[1] > found[3] > found[2] > found[4] > 1.0


class TestTwoWaysToARate:
    @pytest.mark.parametrize("correlation", [0.0, 0.7])
    def test_at_rest_the_closed_form_lies_in_the_interval_of_the_logic(self, correlation: float) -> None:
        """Independent and first-order noise: false-alarm share and rate of a resting PV, against 2 million samples."""
        spread = spread_of(first_order(correlation, 400_000, 3), 1.0)
        limit = 1.5 * SIGMA
        found = evaluate(spread, purpose(limit, slow=SIGMA / 60), axes(limit, (0, 1), (0, 2), (0, 3)), 1)
        assert found.closed
        long = first_order(correlation, 2_000_000, 9)
        for band, on, off in ((0, 0, 0), (1, 0, 1), (0, 1, 1), (1, 1, 0)):
            counts = (samples_of((0, 2)[on], 1.0), samples_of((0, 3)[off], 1.0))
            seen = watching.states(long, 1.5, float((0, 1)[band]), counts)
            low, high = interval(seen.astype(np.float64))
            assert low * 0.99 <= found.share[0, band, on, off] <= high * 1.01  # 400 000 samples tell ρ to 0.1 %
            low, high = interval((np.diff(seen) == 1).astype(np.float64))
            assert low * 0.99 <= found.hourly[0, band, on, off] / 3600 <= high * 1.01

    def test_a_crossing_of_independent_samples_is_the_chains(self) -> None:
        """The chain's number against the logic's own on noise that is not known to be independent."""
        white = spread_of(np.random.default_rng(4).standard_normal(400_000), 1.0)
        wanted, tried = purpose(1.0, slow=SIGMA / 120), axes(1.0, (0, 2, 4), (0, 3), (0, 10))
        exact = evaluate(white, wanted, tried, 1)
        heavy = white.noise * (1 + 1e-3 * (np.arange(len(white.noise)) % 2))
        seen = evaluate(replace(white, noise=heavy, correlation=np.array([1.0, 0.2, 0.3, 0.0])), wanted, tried, 1)
        assert np.all(exact.doubt == 0)
        assert np.all(seen.doubt[0, 0, 0] > 0)
        assert np.abs(seen.crossings - exact.crossings) == pytest.approx(0, abs=float(seen.doubt.max() + 0.05))

    def test_the_check_of_a_design_agrees(self, high: Design) -> None:
        assert high.check is not None
        assert high.check.agrees
        assert high.check.closed.source == rates.OWEN

    def test_who_watches_without_a_pause_sees_a_little_more(self, high: Design) -> None:
        """Rice's rate of a smooth PV; the filter of a second makes it smooth, and a scan of 0.1 s misses little."""
        assert high.check is not None
        assert high.check.rice is not None
        assert 1.0 < high.check.rice.si / high.check.closed.si < 1.05

    @pytest.mark.parametrize("correlation", [0.0, 0.95])
    def test_noise_that_is_not_smooth_has_no_such_rate(self, correlation: float) -> None:
        assert spread_of(first_order(correlation, 400_000, 5), 1.0).pace == 0.0

    def test_and_would_not_agree_with_another_noise(self, high: Design) -> None:
        assert high.check is not None
        other = rates.crossings_per_sample(2.0, 0.9 * high.spread.next) * 3600 / high.spread.step
        assert not high.check.low <= other <= high.check.high

    @pytest.mark.parametrize("correlation", [0.0, 0.7])
    def test_after_a_jump_the_closed_form_is_what_the_logic_does(self, correlation: float) -> None:
        """Limit 1.5 σ from rest, the jump to 2 σ: 0.446 and 16.16 samples for independent ones (Xu, Adnan)."""
        wanted, tried = purpose(1.5 * SIGMA, slow=SIGMA, beyond=2 * SIGMA), axes(1.5 * SIGMA, (0,), (0, 4), (0,))
        spread = spread_of(first_order(correlation, 1_000_000, 8), 1.0)
        found = evaluate(spread, wanted, tried, 1)
        if correlation == 0.0:
            assert found.sudden[0] == pytest.approx([0.44621, 16.15647], rel=1e-3)
        heard = evaluate(replace(spread, correlation=np.array([1.0, 0.5, 0.9, 0.0])), wanted, tried, 1)
        assert not heard.closed
        assert heard.sudden[0] == pytest.approx(found.sudden[0], rel=0.15, abs=0.15)


class TestIndependentNoise:
    """Dead band or delays: for independent noise near the limit delays lower the number, a dead band hardly does."""

    def test_a_dead_band_hardly_helps(self, independent: Grid) -> None:
        """0.0623 to 0.0549 alarms a sample for 2 σ, Adnan and others (2011), by the renewal argument."""
        assert independent.hourly[0, :, 0, 0] / 3600 == pytest.approx([0.062344, 0.0549163], rel=1e-4)

    def test_delays_do(self, independent: Grid) -> None:
        """Three samples each way: 0.000278 a sample."""
        assert independent.hourly[0, 0, 1, 1] / 3600 == pytest.approx(0.00027807, rel=1e-4)


class TestDelays:
    def test_without_noise_to_speak_of_it_tells_after_its_on_delay_and_the_lag(self) -> None:
        spread = replace(spread_of(np.random.default_rng(1).standard_normal(50_000), 0.1), lag=2.0)
        tried = axes(1.0, (0, 100), (0, 5), (0, 10))
        found = evaluate(spread, purpose(1.0, slow=SIGMA / 60, rate=1e4 * SIGMA), tried, 1)
        assert found.delay == pytest.approx([2.0, 7.0], abs=0.11)  # one scan's doubt
        assert found.stays[0] == pytest.approx([2.0, 12.0], abs=0.11)
        assert found.stays[1] - found.stays[0] == pytest.approx(100 / 1e4, abs=1e-9)

    def test_an_on_delay_is_counted_as_the_controller_counts(self) -> None:
        assert [samples_of(one, 0.1) for one in (0.0, 0.05, 0.1, 0.3, 2.0)] == [1, 2, 2, 4, 21]


class TestWhatIsProposed:
    @pytest.mark.parametrize(("name", "alarm"), EVERY)
    def test_it_is_taken_in_one_step_and_the_review_has_nothing_to_say_of_it(self, name: str, alarm: str) -> None:
        rig = assemble(load(sample(name)))
        wanted = purpose_of(rig, alarm)
        found = design(rig, spread_near(rig, wanted), wanted)
        assert found.picked is not None
        assert found.pick is not None
        assert not found.pick.refused
        assert found.grid.alarms(found.picked) < 1.1
        after = assemble(edit_many(rig.project, found.edits))
        band = getattr(after.project.bands, alarm)
        limit, wide, on, off = choices(found.grid, found.picked)
        assert (band.limit.si, band.dead_band.si) == pytest.approx((limit.si, wide.si), rel=1e-9)
        assert (band.on_delay.si, band.off_delay.si) == (on.si, off.si)
        assert wide.si >= rule_of(rig) * (1 - 1e-9)
        before = {one.key: one.severity.word for one in review(rig)}
        worse = [one for one in review(after) if one.severity.word != "good" and before[one.key] == "good"]
        assert not worse

    def test_nothing_on_the_front_beats_another(self, high: Design) -> None:
        pairs = [(high.grid.wrong(at), high.grid.alarms(at)) for at in high.front]
        assert len(pairs) > 3
        assert pairs == sorted(pairs)
        assert [alarms for _, alarms in pairs] == sorted((alarms for _, alarms in pairs), reverse=True)

    def test_the_knee_is_where_a_per_cent_fewer_alarms_begins_to_cost_more_than_a_per_cent_of_time(
        self, high: Design
    ) -> None:
        assert high.knee is not None
        costs = [high.grid.alarms(at) * (high.grid.wrong(at) + 10.0) for at in high.front]
        at = high.front.index(high.knee)
        assert costs[at] == min(costs)
        assert at > 0

    def test_why_says_what_less_would_give_and_what_is_now(self, high: Design) -> None:
        said = why(high)
        for words in ("dead band 0.017 US gal", "a slow crossing", "With dead band 0.014 US gal", "Now:", "splash"):
            assert words in said

    def test_where_there_is_no_room_for_a_dead_band_delays_are_proposed(self) -> None:
        """A limit 4 σ from rest leaves 1 σ for the dead band: what then keeps it quiet is time."""
        rig = assemble(load(sample("seedling_house")))
        spread = spread_of(np.random.default_rng(7).standard_normal(200_000), 1.0)
        wanted = purpose(4 * SIGMA, slow=SIGMA / 60, rate=SIGMA / 200, beyond=8 * SIGMA)
        found = design(rig, spread, wanted)
        assert found.picked is not None
        limit, wide, on, off = choices(found.grid, found.picked)
        assert limit.si - wide.si >= 3 * SIGMA * 0.99
        assert on.si + off.si > 0
        assert found.grid.alarms(found.picked) < 3

    def test_a_choice_says_why_it_is_refused(self, high: Design) -> None:
        grid, spread = high.grid, high.spread
        near = replace(high.purpose, normal=grid.axes.limits[0].si - spread.sigma)
        assert "not go again" in refused(spread, near, grid, (0, 0, 0, 0))
        hurried = replace(high.purpose, rate=1.0)
        assert "half of the room" in refused(spread, hurried, grid, (2, 0, 8, 0))

    def test_an_alarm_not_in_use_is_proposed_whole(self) -> None:
        rig = assemble(edit_many(load(sample("seedling_house")), {"bands.high": None}))
        wanted = purpose_of(rig, "high")
        found = design(rig, spread_near(rig, wanted), wanted)
        assert found.present is None
        assert set(found.edits) == {f"bands.high.{key}" for key in ("limit", "dead_band", "on_delay", "off_delay")}
        assert edit_many(rig.project, found.edits).bands.high is not None

    def test_the_same_seed_gives_the_same_answer(self, high: Design) -> None:
        again = design(high.rig, spread_near(high.rig, high.purpose), high.purpose)
        assert np.array_equal(again.grid.crossings, high.grid.crossings)
        assert (again.front, again.picked) == (high.front, high.picked)

    def test_it_can_be_stopped(self, high: Design) -> None:
        with pytest.raises(Cancelled):
            design(high.rig, high.spread, high.purpose, progress=lambda share: share < 0.2)

    def test_a_pv_that_stands_still_asks_for_nothing(self, high: Design) -> None:
        still = replace(high.spread, noise=np.zeros(1000), correlation=np.ones(1))
        found = design(high.rig, still, high.purpose)
        assert found.check is None
        assert found.grid.crossings.max() == 1.0
        assert np.all(found.grid.hourly == 0)

    def test_a_limit_in_disorder_is_told(self) -> None:
        rig = assemble(edit_many(load(sample("seedling_house")), {"bands.high.limit": "3.5 gal"}))
        with pytest.raises(AlarmError, match="order first"):
            purpose_of(rig, "high")

    def test_texts_are_in_the_persons_own_units(self, high: Design) -> None:
        assert high.edits["bands.high.dead_band"] == "0.017 gal"
        metric = assemble(edit_many(high.rig.project, {"bands.high.dead_band": "190 ml"}))
        wanted = purpose_of(metric, "high")
        found = design(metric, high.spread, wanted)
        assert str(found.edits["bands.high.dead_band"]).endswith(" ml")

    def test_places_and_speeds_are_those_of_the_rig(self) -> None:
        rig = assemble(load(sample("seedling_house")))
        up, down = purpose_of(rig, "high"), purpose_of(rig, "low")
        assert (up.normal, up.beyond) == pytest.approx((4 * GALLON, 5 * GALLON))
        assert (down.normal, down.beyond) == pytest.approx((2 * GALLON, 1.4 * GALLON))
        assert (up.rate, up.back) == (down.back, down.rate)
        assert math.isclose(up.slow, 0.3 * GALLON / 28800)


def test_a_delay_longer_than_the_noise_is_waited_for_to_its_end() -> None:
    """It had the compiled logic read beyond the noise. Far from the limit every second of it counts as one."""
    month = 30 * 86400.0
    noise = spread_of(np.random.default_rng(3).normal(size=50_000), 0.1)
    grid = evaluate(
        noise, purpose(4 * SIGMA, slow=1e-9, rate=1e-6), axes(4 * SIGMA, (0.0, 2.0), (60.0, month), (60.0, month)), 1
    )
    assert grid.delay[1] - grid.delay[0] == pytest.approx(month - 60.0, abs=0.5)
    assert grid.stays[:, 1] - grid.stays[:, 0] == pytest.approx(month - 60.0, abs=0.5)
    assert grid.crossings[:, 1] == pytest.approx(1.0)
