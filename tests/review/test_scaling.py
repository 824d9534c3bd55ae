"""The truth table of the 4-20 mA signal."""

import pytest
from bench_rig import GAL, INCH, bench_rig, rig_with

from levelbench.review import ScalingRow, Severity, scaling_table
from levelbench.review.scaling import counts_at
from levelbench.review.sensor import failure_levels, two_points
from levelbench.rig import Rig


def at(rig: Rig, milliamperes: float) -> ScalingRow:
    return next(row for row in scaling_table(rig) if row.current * 1000 == pytest.approx(milliamperes, abs=1e-9))


@pytest.mark.parametrize(
    ("milliamperes", "counts", "gallons", "inches"),
    [
        (4.0, 6_553, 0.00, 0.00),
        (8.0, 13_107, 2.45, 5.00),
        (12.0, 19_660, 4.90, 10.01),
        (16.0, 26_214, 7.35, 15.01),
        (20.0, 32_767, 9.80, 20.02),
    ],
)
def test_rows_of_the_bench_rig(milliamperes: float, counts: int, gallons: float, inches: float) -> None:
    """Derived by hand: 15 bits over 0 to 20 mA, 0.6125 US gal/mA. The tank's own table ends at the rim, 9.79 US gal."""
    row = at(bench_rig(), milliamperes)
    assert row.counts == counts
    assert row.volume is not None
    assert row.level is not None
    assert row.volume / GAL == pytest.approx(gallons, abs=0.012)
    assert row.level / INCH == pytest.approx(inches, abs=0.006)


def test_the_spill_is_a_row() -> None:
    """19.18 mA, 31 430 counts (from the rounded current), 9.30 US gal."""
    row = next(one for one in scaling_table(bench_rig()) if one.meaning == "spill")
    assert row.current * 1000 == pytest.approx(19.18, abs=0.006)
    assert row.counts == pytest.approx(31_430, abs=4)
    assert row.volume is not None
    assert row.volume / GAL == pytest.approx(9.30, abs=0.005)


@pytest.mark.parametrize(
    ("low", "high", "at_4", "at_20"),
    [("0 mA", "25 mA", 5_243, 26_214), ("0 mA", "20 mA", 6_553, 32_767), ("4 mA", "20 mA", 0, 32_767)],
)
def test_four_milliamperes_are_not_zero_counts_on_every_input(low: str, high: str, at_4: int, at_20: int) -> None:
    """Counts of a 15-bit input, derived: current over range × 32 767."""
    rig = rig_with({"sensor.converter_range": [low, high]})
    assert (counts_at(rig, 0.004), counts_at(rig, 0.020)) == (at_4, at_20)


def test_an_input_that_ends_at_twenty_cannot_tell_a_failure_from_full() -> None:
    rows = scaling_table(bench_rig())
    failed = [row for row in rows if row.failure]
    assert [round(row.current * 1000, 1) for row in failed] == [3.6, 21.0]  # NAMUR NE 43, value from memory
    assert failed[0].counts == 5_898
    assert "cannot be told from full" in failed[1].meaning
    assert failure_levels(bench_rig()).severity is Severity.ATTEND
    wider = rig_with({"sensor.converter_range": ["0 mA", "24 mA"]})
    assert "held" in at(wider, 21.0).meaning
    assert failure_levels(wider).severity is Severity.GOOD


@pytest.mark.parametrize(
    "changes",
    [{"sensor.converter_range": ["4 mA", "20 mA"]}, {"sensor.fails": "high"}],
    ids=["4-20 input", "fails high"],
)
def test_a_failure_that_cannot_be_seen_stops(changes: dict[str, str]) -> None:
    assert failure_levels(rig_with(dict(changes))).severity is Severity.STOP


def test_rows_rise() -> None:
    rows = scaling_table(bench_rig())
    assert [row.current for row in rows] == sorted(row.current for row in rows)
    assert [row.counts for row in rows] == sorted(row.counts for row in rows)


def test_two_points_are_a_straight_line() -> None:
    rig = rig_with({"sensor.scaled_by": "two points", "sensor.volume_at_ends": ["0 gal", "9.8 gal"]})
    row = at(rig, 12.0)
    assert row.volume is not None
    assert row.volume / GAL == pytest.approx(4.90, abs=0.001)


def test_a_four_to_twenty_signal_scaled_as_zero_to_twenty() -> None:
    """An empty tank shows a fifth of the span: 1.96 US gal (derived)."""
    rig = rig_with({"sensor.scaled_by": "two points", "sensor.volume_at_ends": ["1.96 gal", "9.8 gal"]})
    finding = two_points(rig)
    assert finding.severity is Severity.STOP
    assert finding.figure("sensor.scaling_error").si / GAL == pytest.approx(1.96, abs=0.005)
