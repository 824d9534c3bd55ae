"""A recording goes out as CSV and comes back as the very same numbers."""

import gc
import io
import os
import threading
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelbench.project import SaveError
from levelbench.quantity import Units
from levelbench.records import RecordError, journal_path, read_csv, table_of, write_csv
from levelbench.rig import CONDITION_NAMES, Cancelled, Entry, Recording
from levelbench.rig.panel import ALARM_NAMES, COLUMNS

GALLONS = Units("US gal", "in", "US gal/min")
LITRES = Units("l", "mm", "l/min")
JOURNAL = (
    Entry(0.1, "action", "set point", 0.0117, "Ann"),
    Entry(0.2, "action", "ramp", float("inf"), "Ann"),
    Entry(0.2, "action", "stop", 1.0, "Bo"),
    Entry(0.3, "event", "stop pressed", 1.0),
    Entry(0.3, "alarm", "high", 2.0, "Bo"),
    Entry(0.4, "action", "low suppression", 2.0, "Bo"),
)


def recording(rows: int = 3, seed: int = 1, values: "np.ndarray[Any, np.dtype[np.float64]] | None" = None) -> Recording:
    """A made-up recording: the file knows nothing of the rig, so none is needed."""
    chance = np.random.default_rng(seed)
    made = chance.random((rows, len(COLUMNS))) if values is None else values
    made[:, 0] = np.arange(rows) * 0.1
    made[:, -2] = chance.integers(0, 1 << len(CONDITION_NAMES), rows)
    made[:, -1] = sum(chance.integers(0, 9, rows) << (4 * at) for at in range(len(ALARM_NAMES)))
    return Recording(cast("Any", None), seed, made, JOURNAL)


def assert_same(path: Path, made: Recording, units: Units) -> None:
    back, sent = read_csv(path), table_of(made, units)
    assert (back.names, back.units, back.journal) == (sent.names, sent.units, sent.journal)
    for name in sent.names:
        np.testing.assert_array_equal(back[name], sent[name])


@pytest.mark.parametrize("units", [GALLONS, LITRES])
@pytest.mark.parametrize("rows", [0, 1, 500])
def test_what_was_written_is_read_back_exactly(tmp_path: Path, units: Units, rows: int) -> None:
    made = recording(rows)
    write_csv(made, tmp_path / "run.csv", units)
    assert_same(tmp_path / "run.csv", made, units)


def test_pieces_are_written_as_the_whole_and_let_go_one_after_another(tmp_path: Path) -> None:
    """Rows that are still there when the next ones are asked for would add up to 680 MB for a week at 10 Hz."""
    made, seen = recording(9000), list[weakref.ref[Recording]]()

    def pieces() -> Iterator[Recording]:
        for begin in range(0, 9000, 500):
            lines = made.journal if begin == 4500 else ()
            piece = Recording(made.rig, made.seed, made.rows[begin : begin + 500].copy(), lines)
            seen.append(weakref.ref(piece))
            yield piece
            del piece
            gc.collect()
            assert sum(one() is not None for one in seen) <= 1

    write_csv(made, tmp_path / "whole.csv", GALLONS)
    write_csv(pieces(), tmp_path / "pieces.csv", GALLONS)
    assert len(seen) == 18
    for name in ("{}.csv", "{}.journal.csv"):
        whole, parts = (tmp_path / name.format(one) for one in ("whole", "pieces"))
        assert parts.read_bytes() == whole.read_bytes()


NUMBERS = st.floats(-1e300, 1e300) | st.sampled_from([float("nan"), float("inf"), -0.0, 5e-324])


@given(values=st.lists(NUMBERS, min_size=15, max_size=15))
def test_any_number_is_read_back_exactly(tmp_path_factory: pytest.TempPathFactory, values: list[float]) -> None:
    path = tmp_path_factory.mktemp("any") / "run.csv"
    made = recording(1, values=np.array([values]))
    write_csv(made, path, LITRES)
    assert_same(path, made, LITRES)


def test_the_rows_say_names_and_units(tmp_path: Path) -> None:
    # 1 US gallon is 231 cubic inches of exactly 2.54 cm: NIST Handbook 44, Appendix C (and SP 811: 3.785 412 E-03 m3)
    values = np.full((2, len(COLUMNS)), 231 * 0.0254**3)
    write_csv(recording(2, values=values), tmp_path / "run.csv", GALLONS)
    names, units, first, *_ = (tmp_path / "run.csv").read_text().splitlines()
    assert names.startswith("time,set_point,pv,volume,level,output,pump_flow,")
    assert units.startswith("s,US gal,US gal,US gal,in,%,US gal/min,US gal/min,US gal,US gal,US gal,US gal,mA,0/1")
    assert "conditions" not in names
    assert "alarms" not in names
    assert names.endswith(",".join((*CONDITION_NAMES, *(f"{alarm} state" for alarm in ALARM_NAMES))))
    assert units.endswith(",0/1" + ",state" * len(ALARM_NAMES))
    assert [float(value) for value in first.split(",")[:3]] == pytest.approx([0.0, 1.0, 1.0], rel=1e-9)
    assert set(first.split(",")[13 : 13 + len(CONDITION_NAMES)]) <= {"0", "1"}
    assert float(first.split(",")[5]) == pytest.approx(0.3785411784)  # a fraction becomes %


def test_conditions_are_the_bits_of_the_recording(tmp_path: Path) -> None:
    made = recording(200)
    write_csv(made, tmp_path / "run.csv", GALLONS)
    back = read_csv(tmp_path / "run.csv")
    for name in CONDITION_NAMES:
        np.testing.assert_array_equal(back[name] == 1, made.condition(name))
    for name in ALARM_NAMES:
        np.testing.assert_array_equal(back[f"{name} state"], made.alarm(name))


def test_the_journal_stands_beside_it_in_words(tmp_path: Path) -> None:
    write_csv(recording(), tmp_path / "run.csv", LITRES)
    assert journal_path(tmp_path / "run.csv") == tmp_path / "run.journal.csv"
    lines = (tmp_path / "run.journal.csv").read_text().splitlines()
    assert lines[0] == "time,kind,what,value,unit,who"
    assert lines[2].startswith("0.1,action,set point,11.7")
    assert lines[2].endswith(",l,Ann")
    assert lines[3] == "0.2,action,ramp,inf,l/min,Ann"
    assert lines[5] == "0.3,event,stop pressed,1.0,0/1,process"
    assert lines[6] == "0.3,alarm,high,2.0,acknowledged,Bo"
    assert lines[7] == "0.4,action,low suppression,2.0,manual,Bo"


def test_a_journal_from_before_it_was_kept_who_did_what_is_read(tmp_path: Path) -> None:
    write_csv(recording(), tmp_path / "run.csv", LITRES)
    old = "time,kind,what,value,unit\ns,,,as beside,\n1.5,action,stop,1.0,0/1\n"
    journal_path(tmp_path / "run.csv").write_text(old)
    (line,) = read_csv(tmp_path / "run.csv").journal
    assert (line.what, line.value, line.who) == ("stop", 1.0, "")


def test_a_stream_gets_the_same_rows(tmp_path: Path) -> None:
    made, stream = recording(), io.StringIO()
    write_csv(made, stream, GALLONS)
    write_csv(made, str(tmp_path / "run.csv"), GALLONS)
    assert stream.getvalue() == (tmp_path / "run.csv").read_text()


def test_a_long_file_says_how_far_it_is_and_a_cancelled_one_leaves_what_was_there(tmp_path: Path) -> None:
    made, path, told = recording(9000), tmp_path / "run.csv", []

    def progress(share: float) -> bool:
        told.append(share)
        return len(told) != 4

    path.write_text("what was there")
    with pytest.raises(Cancelled):
        write_csv(made, path, LITRES, progress=progress)
    assert [one.name for one in tmp_path.iterdir()] == ["run.csv"]
    assert path.read_text() == "what was there"
    write_csv(made, path, LITRES, progress=progress)
    assert told == pytest.approx([0.0, 2 / 9, 4 / 9, 6 / 9, 0.0, 2 / 9, 4 / 9, 6 / 9, 8 / 9])
    assert_same(path, made, LITRES)


def test_an_unknown_column_is_refused_with_the_names() -> None:
    table = table_of(recording(), GALLONS)
    with pytest.raises(KeyError, match="there are time, set_point"):
        table["pressure"]
    assert table.unit("signal") == "mA"
    assert len(table) == 3


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no row of names"),
        ("time,pv\n", "no row of names"),
        ("pv,time\nl,s\n", "line 1: The first column is not “time”"),
        ("time,pv\ns\n0,1\n", "line 2: There are 1 units for 2 names"),
        ("time,pv,pv\ns,l,l\n", "line 1: A name stands there twice"),
        ("time,pv\ns,l\n0,1\n0.1\n", "line 4: It has 1 values where 2 belong"),
        ("time,pv\ns,l\n0,1\n0.1,x\n", "line 4: “x” is not a number"),
        ("time,pv\ns,l\n0,1\n\n0.1,2\n", "line 4: It has 1 values where 2 belong"),
        ("time,pv\ns,l\n0;1\n", "line 3: It has 1 values where 2 belong"),
        ("time,pv\ns,l\n0,1,5\n", "line 3: It has 3 values where 2 belong"),
    ],
)
def test_a_file_that_is_no_recording_is_refused_with_its_line(tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "bad.csv").write_text(text)
    with pytest.raises(RecordError) as refused:
        read_csv(tmp_path / "bad.csv")
    assert says in str(refused.value)


def test_a_missing_file_and_a_picture_are_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="can't be read"):
        read_csv(tmp_path / "none.csv")
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(RecordError, match="not a text file"):
        read_csv(tmp_path / "picture.csv")


def test_a_spoilt_journal_is_refused_with_its_line(tmp_path: Path) -> None:
    write_csv(recording(), tmp_path / "run.csv", LITRES)
    with journal_path(tmp_path / "run.csv").open("a") as file:
        file.write("0.4,action,stop,perhaps,,\n")
    with pytest.raises(RecordError, match=r"run\.journal\.csv, line 9"):
        read_csv(tmp_path / "run.csv")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_named_pipe_gets_the_columns_and_stays_a_pipe(tmp_path: Path) -> None:
    pipe, made, heard = tmp_path / "pipe", recording(), []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: heard.append(pipe.read_text()))
    reader.start()
    write_csv(made, pipe, GALLONS)
    reader.join(30)
    stream = io.StringIO()
    write_csv(made, stream, GALLONS)
    assert heard == [stream.getvalue()]
    assert list(tmp_path.iterdir()) == [pipe]
    assert pipe.is_fifo()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk_is_said_and_the_device_stays() -> None:
    with pytest.raises(SaveError, match="disk is full"):
        write_csv(recording(), "/dev/full", GALLONS)
    assert Path("/dev/full").is_char_device()
    assert not Path("/dev/full.journal").exists()
