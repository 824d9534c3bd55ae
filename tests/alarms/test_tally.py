"""One shift, counted: made-up events whose counts are known by hand, and a real shift counted scan by scan."""

from collections.abc import Sequence

import numpy as np
import pytest

from levelbench.alarms.proof import lived, replay
from levelbench.alarms.shifts import Use, Users
from levelbench.alarms.tally import CONSEQUENCES, EDGES, Counter, Tally, classes, in_use, sensor_delay
from levelbench.project import edit_many, load, sample
from levelbench.rig import Rig, assemble, kernel
from levelbench.rig.ensemble import Lived
from levelbench.rig.panel import ALARM_NAMES, ALARM_STATES, BITS, COLUMNS

AT = {one.name: at for at, one in enumerate(COLUMNS)}
States = Sequence[tuple[float, str, int]]
BEGIN, END = 100.0, 3700.0
ON, OFF, ACKNOWLEDGED = kernel.UNACKNOWLEDGED, kernel.NORMAL, kernel.ACKNOWLEDGED


@pytest.fixture(scope="module")
def rig() -> Rig:
    return assemble(load(sample("seedling_house")))


@pytest.fixture(scope="module")
def limit(rig: Rig) -> float:
    assert rig.project.bands.high is not None
    return rig.project.bands.high.limit.si


def counted(rig: Rig, states: States, volume: np.ndarray | None = None, others: States = ()) -> Tally:
    """Count a shift of these new states of alarms and these conditions, with a volume each second [m3]."""
    scans = [(round(at / rig.scan), kernel.CONDITIONS_USED + ALARM_NAMES.index(alarm), to) for at, alarm, to in states]
    scans += [(round(at / rig.scan), BITS[name], value) for at, name, value in others]
    rows = np.zeros((int(END), len(COLUMNS)))
    rows[:, AT["time"]] = np.arange(int(END))
    rows[:, AT["volume"]] = rows[:, AT["set_point"]] = rig.project.start.set_point.si
    if volume is not None:
        rows[:, AT["volume"]] = volume
    rows[:, AT["level"]] = np.interp(rows[:, AT["volume"]], rig.strapping.volumes, rig.strapping.levels)
    rows[:, AT["conditions"]] = float(int(rig.start().conditions))
    found = Lived(rows, np.array(sorted(scans), dtype=np.int64).reshape(-1, 3), ())
    return Counter(rig, BEGIN, END).count(0, found)


def of(tally: Tally, name: str, alarm: str = "high") -> float:
    return float(getattr(tally.each, name)[ALARM_NAMES.index(alarm)])


def test_a_shift_without_events_counts_nothing(rig: Rig) -> None:
    tally = counted(rig, [])
    assert tally.alarms == tally.peak == tally.floods == 0
    assert tally.status.tolist() == [END - BEGIN, 0.0, 0.0]
    assert tally.tens.tolist() == [0] * 6


def test_what_came_is_what_began_to_wait(rig: Rig) -> None:
    """B, C, back to normal; B from the lead-in does not count; a shelved one that comes back waiting does."""
    tally = counted(
        rig,
        [
            (50.0, "high", ON), (120.0, "high", ACKNOWLEDGED), (160.0, "high", OFF),
            (1000.0, "high", ON), (1004.0, "high", OFF),
            (2000.0, "low", kernel.SHELVED), (2100.0, "low", ON), (2200.0, "low", ACKNOWLEDGED), (2300.0, "low", OFF),
        ],
    )  # fmt: skip
    assert [of(tally, "came", one) for one in ("high", "low")] == [1, 1]
    assert [of(tally, "stood", one) for one in ("high", "low")] == [2, 1]
    assert [of(tally, "standing", one) for one in ("high", "low")] == [60.0 + 4.0, 200.0]
    assert of(tally, "fleeting") == 1
    assert of(tally, "whole") == 0
    assert tally.tens.tolist() == [0, 1, 0, 1, 0, 0]


def test_an_alarm_that_stands_from_the_lead_in_to_the_end_stood_all_the_shift(rig: Rig) -> None:
    tally = counted(rig, [(50.0, "low", ON)])
    assert (of(tally, "whole", "low"), of(tally, "came", "low"), of(tally, "fleeting", "low")) == (1, 0, 0)


def test_chatter_and_a_flood_by_hand(rig: Rig) -> None:
    """Twelve alarms of two seconds, one every twenty: all of them chatter, and the eleventh makes a flood of them."""
    states = [(1000.0 + 20 * at + late, "high", to) for at in range(12) for late, to in ((0.0, ON), (2.0, OFF))]
    tally = counted(rig, states)
    assert (of(tally, "chatter"), of(tally, "fleeting"), tally.peak, tally.floods) == (12, 12, 12, 1)
    # from the eleventh, at 1200 s, until the eighth has left the ten minutes, at 1140 s + 600 s: four are left
    assert tally.flooded == pytest.approx(1740.0 - 1200.0)
    gaps = tally.each.gaps[ALARM_NAMES.index("high")]
    assert gaps[EDGES.index(20.0)] == 11  # eighteen seconds each: under the edge of twenty, not under that of fifteen
    assert gaps.sum() == 11


def test_an_alarm_without_cause_and_one_that_was_missed(rig: Rig, limit: float) -> None:
    """Beyond for two minutes without the alarm: missed. The alarm half an hour later, with nothing beyond: false."""
    volume = np.full(int(END), 0.9 * limit)
    volume[1000:1120] = 1.01 * limit
    tally = counted(rig, [(3000.0, "high", ON), (3020.0, "high", OFF)], volume)
    assert [of(tally, one) for one in ("beyond", "missed", "stood", "false")] == [1, 1, 1, 1]
    told = counted(rig, [(1030.0, "frozen signal", ON), (1090.0, "frozen signal", OFF)], volume)
    assert [of(told, one) for one in ("beyond", "missed")] == [1, 0]  # somebody knows that the signal is not the truth
    seen = counted(rig, [(1010.0, "high", ON), (1121.0, "high", OFF)], volume)
    assert [of(seen, one) for one in ("beyond", "missed", "stood", "false")] == [1, 0, 1, 0]


def test_a_visit_shorter_than_delay_and_sensor_is_none(rig: Rig, limit: float) -> None:
    assert rig.project.bands.high is not None
    allowed = rig.project.bands.high.on_delay.si + sensor_delay(rig)
    assert allowed == pytest.approx(5.0 + 20 * 0.1 + 3 * 1.0)  # on-delay, the whole average, three filter times
    for longer, expected in ((-1, 0), (2, 1)):
        volume = np.full(int(END), 0.9 * limit)
        volume[1000 : 1000 + int(allowed) + longer] = 1.01 * limit
        assert of(counted(rig, [], volume), "beyond") == expected


def test_a_spill_needs_an_alarm_before_it(rig: Rig) -> None:
    """An alarm 30 s before the first spill; none before the second; two pieces of one spill are one."""
    wet = [(1000.0, "spilling", 1), (1005.0, "spilling", 0), (1020.0, "spilling", 1), (1025.0, "spilling", 0)]
    wet += [(2500.0, "spilling", 1), (2501.0, "spilling", 0)]
    tally = counted(rig, [(970.0, "high-high", ON), (1100.0, "high-high", OFF)], others=wet)
    at = CONSEQUENCES.index("spill")
    assert (tally.outcome.happened[at], tally.outcome.unwarned[at]) == (2, 1)
    assert tally.outcome.lead[at] == pytest.approx(30.0)
    assert tally.bad == (1, 1)


def test_air_at_the_siphon_is_the_end_of_its_priming(rig: Rig) -> None:
    broken = [(1500.0, "siphon primed", 0), (1800.0, "siphon primed", 1)]
    tally = counted(rig, [(1400.0, "low", ON)], others=broken)
    at = CONSEQUENCES.index("air at the inlet")
    assert (tally.outcome.happened[at], tally.outcome.unwarned[at]) == (1, 0)
    assert tally.outcome.lead[at] == pytest.approx(100.0)


def test_a_broken_wire_is_no_trip_that_an_alarm_should_foretell(rig: Rig) -> None:
    trip = [(1000.0, "switch latched", 1)]
    at = CONSEQUENCES.index("switch trip")
    assert counted(rig, [], others=trip).outcome.happened[at] == 0
    full = np.full(int(END), 1.01 * np.interp(rig.params.switch.trips_at, rig.strapping.levels, rig.strapping.volumes))
    tripped = counted(rig, [], full, trip).outcome
    assert (tripped.happened[at], tripped.unwarned[at]) == (1, 1)


def test_time_at_each_word(rig: Rig) -> None:
    words = [(200.0, "low", 1), (500.0, "high", 1), (600.0, "low", 0), (900.0, "high", 0)]
    assert counted(rig, [], others=words).status.tolist() == [3600.0 - 700.0, 400.0, 300.0]


def test_classes_have_their_edges_on_the_left() -> None:
    found = classes(np.array([0.5, 1.0, 59.9, 60.0, 500.0]))
    assert np.flatnonzero(found).tolist() == [0, 1, EDGES.index(60.0), EDGES.index(60.0) + 1, len(EDGES)]


def test_a_real_shift_is_counted_as_going_through_every_scan_counts_it(rig: Rig) -> None:
    """Against the column of the alarms' states of the same shift, run again with every row kept."""
    noisy = assemble(
        edit_many(
            rig.project,
            {
                "bands.deviation.limit": "0.02 gal", "bands.deviation.dead_band": "0 gal",
                "bands.deviation.on_delay": "0 s", "bands.high.limit": "3.3 gal",
            },
        )
    )  # fmt: skip
    users = Users(noisy, Use(lasts=3600.0, lead_in=300.0), 4)
    tally = Counter(noisy, 300.0, users.total).count(2, lived(users, 2))
    rows = replay(users, 2)
    time, first = rows["time"], round(300.0 / noisy.scan)
    assert of(tally, "came", "deviation") > 5
    for alarm in in_use(noisy):
        codes = rows.alarm(alarm)
        came = np.flatnonzero((codes[1:] == 1) & (codes[:-1] != 1)) + 1
        assert of(tally, "came", alarm) == np.count_nonzero(time[came] >= 300.0 - 1e-9)
        stands = (codes[first:] == ALARM_STATES.index("unacknowledged")) | (
            codes[first:] == ALARM_STATES.index("acknowledged")
        )
        assert of(tally, "standing", alarm) == pytest.approx(stands.sum() * noisy.scan, abs=2 * noisy.scan)
    high = rows.condition("high")[first:] | rows.condition("high-high")[first:]
    assert tally.status[1] == pytest.approx(high.sum() * noisy.scan, abs=2 * noisy.scan)
