"""Shifts by chance: what the users do has the distributions that it says, and people answer what happens, not before.

Distributions are held against those of scipy.stats; a run in which somebody answers is the very run that the answers
give when they are known from the beginning.
"""

from threading import Event

import numpy as np
import pytest
from scipy import stats

from levelbench.alarms.proof import lived, replay
from levelbench.alarms.shifts import FAULTS, Drains, Person, Use, Users, chance, habits, set_points
from levelbench.project import edit_many, load, sample
from levelbench.quantity import COMMON_PRACTICE
from levelbench.rig import Rig, assemble, kernel
from levelbench.rig.bench import Bench, wide_open
from levelbench.rig.ensemble import Runner, Turn
from levelbench.rig.panel import ENTRIES

SHIFTS = 300
CHATTERS = {
    "bands.deviation.limit": "0.02 gal",
    "bands.deviation.dead_band": "0 gal",
    "bands.deviation.on_delay": "0 s",
}


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="module")
def users(rig: Rig) -> Users:
    return Users(rig, Use(), 7)


@pytest.fixture(scope="module")
def draws(users: Users) -> list[list[tuple[float, float]]]:
    """The draws of each shift, as (begin, end) [s], without the one that is cut off."""
    found = []
    for shift in range(SHIFTS):
        turns = [one for one in users.plan(shift).wishes if one[1] == "valve opening"]
        found.append([(a[0], b[0]) for a, b in zip(turns[::2], turns[1::2], strict=False)])
    return found


def test_pauses_between_draws_are_exponential(users: Users) -> None:
    """Kolmogorov & Smirnov against scipy's exponential, in shifts so long that few are cut off at the end."""
    long = Users(users.rig, Use(lasts=24 * 3600.0), 7)
    pauses = []
    for shift in range(40):
        turns = [at for at, what, _ in long.plan(shift).wishes if what == "valve opening"]
        pauses += [b - a for a, b in zip(turns[1:-1:2], turns[2::2], strict=False)]
    assert stats.kstest(pauses[: len(pauses) // 2], stats.expon(scale=900.0).cdf).pvalue > 0.005
    assert np.mean(pauses) == pytest.approx(900.0, rel=4 / np.sqrt(len(pauses)))


def test_draws_come_as_often_as_renewals_do(users: Users, draws: list[list[tuple[float, float]]]) -> None:
    """Renewal theory: time ÷ (mean pause + draw), and what the spread of a cycle adds (D. R. Cox 1962, chapter 4)."""
    use = users.use
    lasts = use.draw_lasts * np.exp(use.draw_spread**2 / 2)
    cycle = use.draws_apart + lasts
    variance = use.draws_apart**2 + lasts**2 * (np.exp(use.draw_spread**2) - 1)
    begins = [
        len([one for one in users.plan(shift).wishes if one[1] == "valve opening"][::2]) for shift in range(SHIFTS)
    ]
    # the first pause is only a pause: renewals of the cycle after it
    expected = 1 + (users.total - use.draws_apart) / cycle + (variance - cycle**2) / (2 * cycle**2)
    error = np.sqrt(variance * users.total / cycle**3 / SHIFTS)
    assert np.mean(begins) == pytest.approx(expected, abs=2.576 * error)


def test_draws_last_as_a_lognormal_does(draws: list[list[tuple[float, float]]]) -> None:
    """Those that begin in the first half of a shift, since the end cuts the long ones off."""
    lasts = [end - begin for shift in draws for begin, end in shift if begin < 15_000]
    assert stats.kstest(np.log(lasts), stats.norm(np.log(300.0), 0.8).cdf).pvalue > 0.005


def test_set_points_are_such_as_can_be_entered_and_reached(rig: Rig, users: Users) -> None:
    settings = rig.project.loop_settings
    changes = [[one for one in users.plan(shift).wishes if one[1] == "set point"] for shift in range(SHIFTS)]
    counts = [len(one) for one in changes]
    assert min(counts) == 3
    assert max(counts) == 15
    assert stats.chisquare(np.bincount(counts)[3:16]).pvalue > 0.005
    values = np.array([value for one in changes for _, _, value in one])
    steps = values / settings.entry_step.si
    np.testing.assert_allclose(steps, np.round(steps), atol=1e-6)
    assert settings.set_point_low.si - 1e-9 <= values.min()
    assert values.max() <= settings.set_point_high.si + 1e-9
    for one in changes:
        before = [float(rig.panel[kernel.P_SET_POINT]), *(value for _, _, value in one)]
        assert np.all(np.diff(before) != 0.0)  # a change is one


def test_no_set_point_is_asked_for_that_the_rig_cannot_reach(rig: Rig) -> None:
    poor = assemble(edit_many(rig.project, {"reservoir.charge": "3.6 gal"}))
    given = poor.project.reservoir.charge.si - poor.params.reservoir.suction_volume
    assert set_points(poor).max() <= given < rig.project.loop_settings.set_point_high.si
    tripping = assemble(edit_many(rig.project, {"overflow_switch.trips_at": "7 in"}))
    assert set_points(tripping).max() < Bench(tripping).volume_at(tripping.params.switch.trips_at)


def test_the_valve_is_opened_for_the_flow_that_is_wanted(rig: Rig) -> None:
    drains, bench = Drains(rig), Bench(rig)
    low, high = rig.project.loop_settings.set_point_low.si, rig.project.loop_settings.set_point_high.si
    for volume in (low, high):
        for wanted in (0.1, 0.5, 1.0):
            flow = wanted * rig.project.duty.largest_draw.si
            what, opening = drains.turned(flow, volume) or ("", 0.0)
            assert what == "valve opening"
            assert wide_open(bench, volume, opening) == pytest.approx(flow, rel=0.02)
    assert drains.turned(0.0, low) == ("valve opening", 0.0)


def test_faults_come_as_a_poisson_process(rig: Rig) -> None:
    users = Users(rig, Use(faults=0.5), 3)
    counts = dict.fromkeys(FAULTS, 0)
    for shift in range(SHIFTS):
        for _, what, value in users.plan(shift).wishes:
            if what in counts and value > 0:
                counts[what] += 1
    low, high = stats.poisson.interval(0.99, 0.5 * SHIFTS)
    assert all(low <= one <= high for one in counts.values())
    assert not [one for one in Users(rig, Use(), 3).plan(0).wishes if one[1] in FAULTS]


def test_no_shift_knows_of_another(users: Users) -> None:
    streams = [
        chance(seed, shift, stream).random(4).tobytes()
        for seed in range(5)
        for shift in range(5)
        for stream in range(4)
    ]
    assert len(set(streams)) == len(streams)
    noises = [Users(users.rig, users.use, seed).plan(shift).noise for seed in (0, 1, 2) for shift in range(50)]
    assert len(set(noises)) == len(noises)
    assert users.plan(9) == Users(users.rig, users.use, 7).plan(9)


def test_a_shift_is_the_run_that_its_own_actions_give(rig: Rig) -> None:
    """Somebody who answers, and the same answers known from the beginning: the same rows, bit for bit."""
    noisy = assemble(edit_many(rig.project, CHATTERS))
    users = Users(noisy, Use(lasts=2400.0, lead_in=60.0, reaction=30.0, faults=1.0), 5)
    live = lived(users, 3)
    again = replay(users, 3, every=10)
    assert live.rows.tobytes() == again.rows.tobytes()
    assert len(again.journal) > 50
    silenced = [one for one in live.done if one[1] == kernel.P_ACKNOWLEDGE]
    assert silenced


def test_nobody_comes_before_the_alarm_nor_sooner_than_possible(rig: Rig) -> None:
    """From the alarm that calls to the acknowledgement: the least time, and the lognormal's beyond it (scipy)."""
    by_hand = {"alarm_handling.acknowledge": "by hand"}  # so that each alarm waits for whoever comes
    noisy = assemble(edit_many(rig.project, CHATTERS | by_hand))
    users = Users(noisy, Use(lead_in=60.0, reaction=60.0, reaction_least=10.0, round_every=24 * 3600.0), 2)
    waits = []
    for shift in range(6):
        live = lived(users, shift)
        states = live.events[live.events[:, 1] >= kernel.CONDITIONS_USED]
        calls = states[states[:, 2] & 15 == kernel.UNACKNOWLEDGED, 0] * noisy.scan
        comes = [scan * noisy.scan for scan, entry, _ in live.done if entry == kernel.P_ACKNOWLEDGE]
        for before, at in zip([-1.0, *comes[:-1]], comes, strict=True):
            since = calls[(calls > before) & (calls <= at)]
            assert len(since)
            waits.append(at - since[0])
    assert min(waits) >= 10.0
    assert len(waits) > 60
    found = stats.kstest(np.log(np.array(waits) - 10.0), stats.norm(np.log(60.0), 0.7).cdf)
    assert found.pvalue > 0.005


def test_somebody_looks_in_on_every_round(rig: Rig) -> None:
    """With no alarm to call anybody: a round each half hour, from the first one to the end of the shift."""
    quiet = assemble(edit_many(rig.project, {"bands": None}))
    for shift in range(12):
        users = Users(quiet, Use(lasts=8 * 3600.0, lead_in=0.0, changes_least=0, changes_most=0, draws_apart=2e6), 1)
        person, looks = Person(users, shift), list[int]()
        told = person.answer

        def answer(scan: int, events: np.ndarray, state: kernel.State, told=told, looks=looks) -> list[Turn]:  # type: ignore[no-untyped-def]
            looks += [] if len(events) else [scan]
            return told(scan, events, state)

        person.answer = answer  # type: ignore[method-assign]
        Runner(Event()).live(users.member(users.plan(shift), person, quiet.start()), person, every=10, heed=person.heed)
        assert np.diff(looks).tolist() == [18_000] * (len(looks) - 1)
        assert looks[0] < 18_000
        assert looks[-1] >= 288_000 - 18_000


def test_a_broken_siphon_is_primed_and_a_rig_that_stands_is_started(rig: Rig) -> None:
    users = Users(rig, Use(lasts=3600.0, lead_in=0.0, faults=4.0), 11)
    entries: set[int] = set()
    for shift in range(4):
        live = lived(users, shift)
        entries |= {entry for _, entry, _ in live.done}
    assert {kernel.P_RESET, kernel.P_START} <= entries
    dry = assemble(edit_many(rig.project, {"start.siphon_primed": False}))
    primed = lived(Users(dry, Use(lasts=3600.0, lead_in=0.0), 1), 0)
    assert kernel.P_PRIME in {entry for _, entry, _ in primed.done}


def test_what_was_used_up_is_topped_up_to_the_charge(rig: Rig) -> None:
    away = assemble(edit_many(rig.project, {"drain.goes_to": "away", "start.siphon_primed": True}))
    users = Users(away, Use(lasts=4 * 3600.0, lead_in=0.0), 1)
    live = lived(users, 0)
    added = [value for _, entry, value in live.done if entry == kernel.P_TOP_UP]
    assert added
    assert min(added) > 0.2 * away.project.reservoir.charge.si - 1e-9
    held = live.rows[:, 3] + live.rows[:, 8]
    assert held.max() <= away.project.reservoir.charge.si * (1 + 1e-9)


def test_every_habit_is_a_figure_that_says_where_it_is_from(users: Users) -> None:
    found = habits(users.use, users.rig)
    assert {one.key.removeprefix("shifts.use.") for one in found} >= {
        "draws_apart",
        "reaction",
        "faults",
        "round_every",
    }
    assert sum(one.source == COMMON_PRACTICE for one in found) == len(found) - 1
    assert len({one.name for one in found}) == len(found)


@pytest.mark.parametrize(
    ("use", "words"),
    [
        (Use(lasts=1.0), "length of a shift"),
        (Use(draw_least=0.9, draw_most=0.5), "at least"),
        (Use(changes_least=9, changes_most=3), "set point changes"),
        (Use(reaction=float("nan")), "somebody comes"),
    ],
)
def test_a_use_that_cannot_be_says_so(use: Use, words: str) -> None:
    assert words in use.trouble()
    assert Use().trouble() == ""


def test_entries_that_are_set_are_on_the_panel(users: Users) -> None:
    used = {what for shift in range(20) for _, what, _ in users.plan(shift).wishes}
    assert used == {"set point", "valve opening"}
    assert used <= set(ENTRIES)
