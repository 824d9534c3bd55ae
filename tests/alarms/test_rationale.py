"""The record of the alarms: every field, what is no alarm, priorities, duplicates, and its CSV read by other means."""

import csv
from pathlib import Path

import pytest
from bench_rig import GAL, INCH, bench_rig, rig_with
from hypothesis import given, settings
from hypothesis import strategies as st
from whole_ladder import whole_rig

from levelbench.alarms.rationale import Row, counts, distribution, duplicates, rationale
from levelbench.alarms.record_csv import read_record, record_table, record_text, write_record
from levelbench.project import SaveError
from levelbench.records import RecordError
from levelbench.records.harmless import as_typed, harmless
from levelbench.rig import Rig


def row(rig: Rig, key: str) -> Row:
    return next(one for one in rationale(rig) if one.key == key)


def test_the_place_of_a_limit_in_every_unit() -> None:
    """7.50 US gal in a tank of 12 in: 7.5·231/(π·36) = 15.32 in; 4 + 16·15.32/20.02 = 16.24 mA (worked by hand)."""
    volume, height, signal = row(bench_rig(), "high").place
    assert volume.si / GAL == pytest.approx(7.50)
    assert height.si / INCH == pytest.approx(15.32, abs=0.005)
    assert signal.si * 1000 == pytest.approx(16.24, abs=0.01)


def test_the_switch_stands_at_its_own_level() -> None:
    """17.5 in and 8.57 US gal, as the bench rig was worked out."""
    volume, height, _ = row(whole_rig(), "switch").place
    assert height.si / INCH == pytest.approx(17.5)
    assert volume.si / GAL == pytest.approx(8.57, abs=0.005)


def test_everything_that_was_typed_is_in_the_record() -> None:
    rig = bench_rig(
        bands__high__cause="mode left in manual", bands__high__consequence="the switch trips",
        bands__high__basis="above the overshoot", bands__high__time_available="90 s", bands__high__latching=True,
        bands__high__suppressed_while="manual",
    )  # fmt: skip
    one = row(rig, "high")
    assert dict(one.typed) == {
        "limit": "7.50 US gal", "dead band": "0.05 US gal", "on-delay": "3 s", "off-delay": "0 s", "latching": "yes",
        "suppressed while": "manual",
    }  # fmt: skip
    assert dict(one.said) == {
        "cause": "mode left in manual", "consequence": "the switch trips", "basis of the limit": "above the overshoot",
        "operator action": "stop the pump, check mode",
    }  # fmt: skip
    assert one.time_typed is not None
    assert one.time_typed.shown == "90 s"
    assert one.time is one.timed.left


def test_without_an_operator_action_it_is_no_alarm() -> None:
    """ANSI/ISA-18.2-2016, definition of an alarm: it requires a timely response (quoted from memory)."""
    assert row(bench_rig(), "high").is_alarm
    assert not row(bench_rig(bands__high__operator_action="  "), "high").is_alarm
    told = counts(rationale(bench_rig(bands__high__operator_action=None)))
    assert told == {"high": 0, "medium": 1, "low": 0}


def test_priorities_suggested_for_the_bench_rig() -> None:
    """Its alarm list as it was worked out: switch and signal high; high, low and no rise medium; deviation low."""
    found = {one.key: one.suggested for one in rationale(whole_rig())}
    assert found == {
        "high_high": "high", "high": "medium", "low": "medium", "low_low": "medium", "deviation": "low",
        "rate_of_change": "low", "frozen_signal": "high", "bad_signal": "high", "no_rise": "medium", "switch": "high",
        "spill": "high",
    }  # fmt: skip


def test_a_high_limit_with_nothing_behind_it_is_urgent_and_one_with_ample_time_is_not() -> None:
    assert row(bench_rig(overflow_switch__fitted=False), "high").suggested == "high"
    assert row(bench_rig(duty__time_to_act="30 s"), "high").suggested == "low"


def test_the_distribution_is_counted_and_not_divided_when_there_are_few() -> None:
    """80 % low, 15 % medium, 5 % high (EEMUA 191, ISA-18.2, as open training texts quote them)."""
    words = distribution(rationale(bench_rig()))
    assert "high 0 of 2, medium 2 of 2, low 0 of 2" in words
    assert "5 % high, 15 % medium, 80 % low" in words
    assert "count them" in words


def test_duplicates_are_found_by_place_and_by_words() -> None:
    assert duplicates(bench_rig()) == ()
    assert duplicates(bench_rig(bands__high_high__limit="7.50 gal")) == (("high_high", "high"),)
    same = bench_rig(bands__high__operator_action="Close drain,  check reservoir")
    assert duplicates(same) == (("high", "low"),)
    assert row(same, "high").same_as == ("low",)
    assert duplicates(bench_rig(bands__high__operator_action=None, bands__low__operator_action=None)) == ()


# --- as CSV ---------------------------------------------------------------------------------------------------------


def test_the_file_is_read_back_by_the_csv_module(tmp_path: Path) -> None:
    rig = whole_rig(bands__high__cause="mode, left in “manual”\nover night")
    write_record(rig, tmp_path / "alarms.csv")
    with (tmp_path / "alarms.csv").open(encoding="utf-8", newline="") as file:
        names, over, *rows = csv.reader(file)
    assert len({len(one) for one in (names, over, *rows)}) == 1
    by_name = {one[names.index("alarm")]: dict(zip(names, one, strict=True)) for one in rows}
    assert list(by_name) == [one.name for one in rationale(rig)]
    high = by_name["high"]
    assert high["cause"] == "mode, left in “manual”\nover night"
    assert high["operator action"] == "stop the pump, check mode"
    assert float(high["volume"]) == pytest.approx(7.50, rel=1e-12)
    assert over[names.index("volume")] == "US gal"
    assert over[names.index("signal")] == "mA"
    assert float(high["time left to act"]) == row(rig, "high").timed.left.si
    assert by_name["spill"]["is an alarm"].startswith("no: not an alarm")
    assert by_name["deviation"]["volume"] == ""


def test_what_was_written_is_what_is_read(tmp_path: Path) -> None:
    rig = whole_rig()
    write_record(rig, tmp_path / "alarms.csv")
    assert read_record(tmp_path / "alarms.csv") == record_table(rig)
    assert read_record(tmp_path / "alarms.csv").cell("high", "tag") == "LAH-101"


@pytest.mark.parametrize(
    "evil",
    ["=1+1", "+1", "-1", "@SUM(A1)", " =1+1", "\t=1+1", "＝1+1", '=HYPERLINK("http://x")', "'=1", ";=1+1", '";=1+1'],
)
def test_no_text_becomes_a_formula(tmp_path: Path, evil: str) -> None:
    """A cell that begins with = + - @ or a tab is worked out by spreadsheets (OWASP, CSV injection)."""
    rig = rig_with({"bands.high.cause": evil, "bands.high.operator_action": evil, "bands.high.basis": evil})
    write_record(rig, tmp_path / "alarms.csv")
    text = (tmp_path / "alarms.csv").read_text("utf-8")
    with (tmp_path / "alarms.csv").open(encoding="utf-8", newline="") as file:
        for line in csv.reader(file):
            for cell in line:
                assert not cell.lstrip(" ").startswith(("=", "+", "@", "\t", "＝"))
                assert not cell.startswith("-") or cell[1:].replace(".", "").replace("e", "").isdigit()
    assert all(part.startswith('"') for part in text.splitlines())  # so no other separator ends a cell
    assert read_record(tmp_path / "alarms.csv").cell("high", "cause") == evil


@given(st.text(max_size=30))
@settings(max_examples=300)
def test_harmless_is_taken_back_exactly(text: str) -> None:
    cell = harmless(text)
    assert as_typed(cell) == text
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_the_old_file_stays_when_the_new_one_can_not_be_written(tmp_path: Path) -> None:
    with pytest.raises(SaveError):
        write_record(bench_rig(), tmp_path / "nowhere" / "alarms.csv")
    (tmp_path / "other.csv").write_text("a,b\n1,2\n", "utf-8")
    for name in ("other.csv", "missing.csv"):
        with pytest.raises(RecordError, match="LevelBench wrote"):
            read_record(tmp_path / name)


def test_without_alarms_there_are_only_the_heads() -> None:
    assert len(record_text(bench_rig(bands__high=None, bands__low=None)).splitlines()) == 2
