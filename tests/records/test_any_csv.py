"""Any table, in any dialect, is read back equal; any bytes give a record or a clear error."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from dialects import Written
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from levelbench.project import load, sample, units
from levelbench.quantity import Dimension
from levelbench.records import (
    Columns,
    Measured,
    Pick,
    RecordError,
    Scale,
    as_lines,
    as_text,
    look,
    read_columns,
    read_measured,
    write_csv,
)
from levelbench.rig import Cancelled, assemble, kernel, run

DATA = Path(__file__).parents[1] / "data"
INCH = 0.0254  # m exactly: NIST Handbook 44, Appendix C


def record(text: str | bytes, tmp_path: Path, columns: str = "") -> Measured:
    path = tmp_path / "record.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    guess = look(path)
    return read_measured(path, read_columns(columns, guess))


def table(rows: int = 12, head: str = "time [s],PV [V],OP [%]", **changed: str) -> str:
    """A plain table; `changed` puts other lines in its place: l5="…" is line 5 of the file."""
    lines = [head, *(f"{at},{5 + at / 8},{40 + at}" for at in range(rows))]
    for name, line in changed.items():
        lines[int(name[1:]) - 1] = line
    return "\n".join(lines) + "\n"


# tables in every dialect --------------------------------------------------------------------------------------------

FINITE = st.floats(-1e9, 1e9).filter(lambda one: one == 0 or abs(one) > 1e-9)
PREAMBLES = st.sampled_from(
    [(), ("# a log of the rig", "# second line"), ("Logger 7", "Site: greenhouse", ""), ("sep=;",)]
)


@st.composite
def dialects(draw: st.DrawFn) -> Written:
    separator = draw(st.sampled_from([",", ";", "\t", "|", " "]))
    mark = draw(st.sampled_from([".", ","]))
    preamble = draw(PREAMBLES)
    time = draw(
        st.sampled_from(["s", "min", "h", "ms", "iso", "iso space", "zone", "points", "halves", "two columns", "d"])
    )
    head = draw(st.sampled_from(["brackets", "round", "behind", "row"]))
    if separator == " ":  # where a space parts cells none can stand within one
        assume(time not in ("iso space", "points", "halves") and head in ("brackets", "round"))
    if separator == "," and head == "behind":
        head = "brackets"
    assume(preamble != ("sep=;",) or separator == ";")
    return Written(
        separator=separator,
        mark=mark,
        quoted=draw(st.booleans()) and separator != " ",
        ending=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"])),
        preamble=preamble,
        head=head,
        time=time,
        blank_lines=draw(st.booleans()),
    )


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(way=dialects(), values=st.lists(st.tuples(FINITE, FINITE, FINITE), min_size=8, max_size=12))
def test_any_table_in_any_dialect_is_read_back_equal(
    tmp_path_factory: pytest.TempPathFactory, way: Written, values: list[tuple[float, float, float]]
) -> None:
    if way.separator == " " and way.head != "row":
        way.head = "brackets"
        way.names, way.units = ("time", "PV", "OP", "SP"), ("s", "in", "%", "in")
    pv, op, sp = (np.array(one) for one in zip(*values, strict=True))
    time = 60.0 * np.arange(len(pv))
    path = tmp_path_factory.mktemp("any") / "record.csv"
    data = way.data((time, pv, op, sp))
    path.write_bytes(data if way.separator != " " else re.sub(rb" \[", b"[", data))
    guess = look(path)
    found = read_measured(path, guess.columns)
    shown = path.read_bytes()
    np.testing.assert_allclose(found.time, time, atol=2e-6, err_msg=repr(shown))
    np.testing.assert_allclose(found.pv, pv * INCH, rtol=3e-16, err_msg=repr(shown))
    np.testing.assert_allclose(found.output, op / 100, rtol=3e-16)
    assert found.set_point is not None
    np.testing.assert_allclose(found.set_point, sp * INCH, rtol=3e-16)
    assert (found.pv_unit, found.pv_dimension) == ("in", Dimension.LENGTH)
    assert not [note for note in found.notes if "output" not in note]


# any bytes ----------------------------------------------------------------------------------------------------------

PIECES = st.sampled_from(
    [b"time,PV,OP\n", b"1,2,3\n", b"2,3,4\n", b"3;4;5\r\n", b"\xff\xfe", b"\xef\xbb\xbf", b"\0", b'"', b"\r", b"\n",
     b"12:00:00", b"2024-01-05,", b",", b";", b" ", b"\t", b"Bad", b"NaN", b"1e999,", b"-", b"\xc3", b"4,5",
     b"99/99/9999 "]
)  # fmt: skip


@st.composite
def spoilt(draw: st.DrawFn) -> bytes:
    """A good table with some bytes put in, put over others or taken out."""
    data = table(rows=14).encode()
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(data)))
        piece = draw(st.binary(max_size=4) | PIECES)
        data = data[:at] + piece + data[at + draw(st.integers(0, 6)) :]
    return data


def read_or_refused(path: Path, words: str = "") -> tuple[Measured | None, RecordError | None]:
    """The record, or the error in its place; any other error goes on and fails the test."""
    try:
        guess = look(path)
        return read_measured(path, read_columns(words, guess)), None
    except RecordError as error:
        return None, error


@settings(max_examples=400, deadline=None)
@given(data=st.binary(max_size=300) | st.lists(PIECES, max_size=60).map(b"".join) | spoilt())
@example(data=b"1,2,3\n" * 20 + b'"')
@example(data=b"\xff\xfe" + "1,2,3\n".encode("utf-16-le") * 9 + b"\0")
def test_any_bytes_give_a_record_or_a_clear_error(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("any") / "record.csv"
    path.write_bytes(data)
    found, refused = read_or_refused(path)
    if refused is not None:
        assert refused.place
        assert refused.reason
        assert refused.hint
    if found is not None:
        assert np.all(np.diff(found.time) > 0)
        assert np.all(np.isfinite(found.pv))
        assert np.all(np.isfinite(found.output))


@settings(max_examples=80, deadline=None)
@given(
    words=st.text(max_size=60) | st.from_regex(r"(time|pv|op|sp|draw)=[1-4a-z ]{0,6}(\[[^\]]{0,20}\])?", fullmatch=True)
)
def test_any_words_for_columns_are_read_or_refused(words: str) -> None:
    found, refused = read_or_refused(DATA / "two_tanks_record.csv", words)
    assert found is not None or (refused is not None and refused.hint)


def test_a_file_that_is_not_there_and_one_that_is_empty(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="can't be read"):
        look(tmp_path / "nowhere.csv")
    with pytest.raises(RecordError, match="can't be read"):
        look(tmp_path)
    (tmp_path / "empty.csv").write_text(" \n")
    with pytest.raises(RecordError, match="empty"):
        look(tmp_path / "empty.csv")


def test_a_line_without_end_is_refused_at_once(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no row of a record"):
        record("1,2,3," * 100_000, tmp_path)


# the record of a real rig -------------------------------------------------------------------------------------------


def test_the_public_record_is_read_right() -> None:
    """The record's own README: 1024 samples, 4 s apart, drive and level in volts, saturating at 10 V."""
    guess = look(DATA / "two_tanks_record.csv")
    found = read_measured(guess.path, guess.columns)
    assert len(found) == 1024
    np.testing.assert_array_equal(found.time, 4.0 * np.arange(1024))
    assert (found.pv_unit, found.pv_dimension, found.set_point, found.draw) == ("V", None, None, None)
    assert found.pv.max() == pytest.approx(10.0, abs=0.01)
    assert (found.pv[0], found.output[0]) == (5.205, pytest.approx(0.32567))
    assert any("how many V are 0 %" in one for one in guess.questions)
    assert found.notes == ()


# our own recordings -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["seedling_house", "parts_washer"])
def test_our_own_recording_is_recognised_completely(tmp_path: Path, name: str) -> None:
    project = load(sample(name))
    recording = run(assemble(project), 60.0, every=4)
    write_csv(recording, tmp_path / "run.csv", units(project))
    guess = look(tmp_path / "run.csv")
    assert guess.own
    assert guess.questions == ()
    found = read_measured(guess.path, guess.columns)
    np.testing.assert_allclose(found.time, recording["time"] - recording["time"][0], atol=1e-9)
    for name_of, column in (("pv", found.pv), ("output", found.output), ("set_point", found.set_point)):
        np.testing.assert_allclose(column, recording[name_of], rtol=1e-14, atol=1e-18)
    np.testing.assert_allclose(found.draw, recording["drain_flow"], rtol=1e-14, atol=1e-18)
    assert found.pv_dimension is Dimension.VOLUME
    assert all(one.why for one in guess.guessed)


# what is wrong in a file --------------------------------------------------------------------------------------------


def test_bad_cells_are_named_by_line_and_column(tmp_path: Path) -> None:
    found = record(table(l4="2,Bad,42", l5="3,Bad,43", l9="7,5.5,---", l11="9,wet,49"), tmp_path)
    assert len(found) == 8
    assert found.notes[0] == "4 of 12 rows were left out."
    assert "Lines 4–5 and 11: no number in “PV”, column 2: “Bad”, “wet”." in found.notes
    assert "Line 9: no number in “OP”, column 3: “---”." in found.notes


def test_lines_are_counted_as_an_editor_counts_them(tmp_path: Path) -> None:
    text = "# rig 4\n\n" + table(l4="2,Bad,42").replace("0,5.0,40", "0,5.0,40\n")
    found = record(text, tmp_path)
    assert text.splitlines()[6] == "2,Bad,42"
    assert any(note.startswith("Line 7: no number") for note in found.notes)


def test_rows_of_another_width_are_named(tmp_path: Path) -> None:
    found = record(table(l4="2,5.2", l8="6,5.2,44,9,9") + "end of data\n", tmp_path)
    assert "Lines 4, 8 and 14: 2 cells where 3 belong." in found.notes
    assert found.notes[0] == "3 of 13 rows were left out."


def test_times_that_step_back_or_stand_still_are_left_out_and_said(tmp_path: Path) -> None:
    found = record(table(l6="1.5,9,9", l9="6,9,9", l12="2,9,9"), tmp_path)
    assert list(found.time) == [0, 1, 2, 3, 5, 6, 8, 9, 11]
    assert not np.any(found.pv == 9)
    assert found.notes[0] == "3 of 12 rows were left out."
    assert "Lines 6 and 12: the time steps out of order." in found.notes
    assert "Line 9: the same time as the row before; the first was kept." in found.notes


def test_one_stamp_that_jumps_ahead_costs_one_row(tmp_path: Path) -> None:
    found = record(table(rows=40, l10="99999,9,9"), tmp_path)
    assert len(found) == 39
    assert "Line 10: the time steps out of order." in found.notes


def test_a_gap_is_said_and_marked(tmp_path: Path) -> None:
    rows = "".join(f"{at if at < 20 else at + 100},{5 + at / 8},40\n" for at in range(40))
    found = record("time [s],PV [V],OP [%]\n" + rows, tmp_path)
    assert found.notes == ("A gap of 101.0 s between lines 21 and 22; rows are 1.00 s apart as a rule.",)
    even = found.regular()
    assert list(even.measured.time[~even.whole]) == list(range(20, 120))


# time ---------------------------------------------------------------------------------------------------------------


def test_a_clock_without_a_date_goes_past_midnight(tmp_path: Path) -> None:
    way = Written(time="clock")
    columns = tuple(np.arange(10.0) * step for step in (600.0, 0.1, 1.0, 0.2))
    found = record(way.data(columns), tmp_path)
    np.testing.assert_allclose(found.time, 600.0 * np.arange(10))
    assert any("midnight" in note for note in found.notes)


def test_day_or_month_first_is_asked_where_nothing_decides(tmp_path: Path) -> None:
    rows = "".join(f"05/04/2024 10:{at:02d},{5 + at / 8},40\n" for at in range(20))
    path = tmp_path / "record.csv"
    path.write_text("time,PV [V],OP [%]\n" + rows)
    assert any("month" in one for one in look(path).questions)


def test_rows_without_a_time_need_a_step(tmp_path: Path) -> None:
    text = "PV [V],OP [%]\n" + "".join(f"{5 + at % 3 / 8},{40 - at % 5}\n" for at in range(20))
    with pytest.raises(RecordError, match="which column is the time"):
        record(text, tmp_path)
    assert list(record(text, tmp_path, "time=every 4 s").time[:3]) == [0.0, 4.0, 8.0]


def test_a_set_point_that_stands_only_where_it_changes_holds_on(tmp_path: Path) -> None:
    rows = "".join(f"{at},{5 + at / 8},40,{ {2: 6, 7: 8}.get(at, '') }\n" for at in range(12))
    found = record("time [s],PV [V],OP [%],SP [V]\n" + rows, tmp_path)
    assert found.set_point is not None
    assert list(found.set_point) == [6] * 7 + [8] * 5
    assert found.notes == ("The set point stands in 2 of 12 rows: it was held until the next one.",)


def test_nothing_heavy_comes_in_before_a_record_is_read() -> None:
    code = (
        "import sys, levelbench.records, levelbench.cli.main; print(sorted({'pyarrow', 'pandas'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# units and scales ---------------------------------------------------------------------------------------------------


def columns_of(path: Path, unit: str, scale: Scale | None = None) -> Columns:
    guess = look(path)
    return guess.columns.with_pick("pv", Pick(1, unit, scale))


def test_a_signal_is_scaled_between_two_points(tmp_path: Path) -> None:
    rows = "".join(f"{at},{4 + at},40\n" for at in range(17))
    (tmp_path / "r.csv").write_text("time [s],PV [mA],OP [%]\n" + rows)
    chosen = columns_of(tmp_path / "r.csv", "mA", Scale(4, 20, "0 l", "32 l"))
    found = read_measured(tmp_path / "r.csv", chosen)
    np.testing.assert_allclose(found.pv, 0.002 * np.arange(17), atol=1e-15)  # 2 l a mA
    assert (found.pv_unit, found.pv_dimension) == ("l", Dimension.VOLUME)


@pytest.mark.parametrize("name", ["seedling_house", "parts_washer"])
def test_on_a_rig_a_level_and_a_signal_become_the_volume_that_its_controller_sees(tmp_path: Path, name: str) -> None:
    """The compiled controller itself is the other reckoning."""
    project = load(sample(name))
    rig = assemble(project)
    recording = run(rig, 60.0)
    rows = zip(*(recording[one].tolist() for one in ("time", "signal", "level", "output")), strict=True)
    sensor, seen = rig.params.sensor, [kernel.convert(rig.params.sensor, one) for one in recording["signal"]]
    per_count = (sensor.current_high - sensor.current_low) / sensor.full_count
    counts = [round((one - sensor.current_low) / per_count) for one in seen]
    text = "".join(
        f"{time!r},{1000 * signal!r},{count},{level!r},{100 * op!r}\n"
        for (time, signal, level, op), count in zip(rows, counts, strict=True)
    )
    (tmp_path / "r.csv").write_text("time [s],signal [mA],raw [counts],level [m],OP [%]\n" + text)
    guess = look(tmp_path / "r.csv")
    by_signal = read_measured(guess.path, read_columns("pv=signal", guess), rig)
    expected = [kernel.scale(rig.params, one) for one in recording["signal"]]
    np.testing.assert_allclose(by_signal.pv, expected, rtol=1e-9)
    by_counts = read_measured(guess.path, read_columns("pv=raw", guess), rig)
    np.testing.assert_allclose(by_counts.pv, [kernel.scale(rig.params, one) for one in seen], rtol=1e-9)
    by_level = read_measured(guess.path, read_columns("pv=level", guess), rig)
    np.testing.assert_allclose(by_level.pv, recording["volume"], atol=1e-6 * recording["volume"].max())
    assert by_level.pv_unit == units(project).volume


def test_an_output_on_a_scale_of_its_own(tmp_path: Path) -> None:
    found = record(table(head="time [s],PV [V],drive [V]"), tmp_path, "output=drive [V 40..50]")
    np.testing.assert_allclose(found.output[:3], [0.0, 0.1, 0.2])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("pv=9", "no such column"),
        ("pv=level", "nearest"),
        ("flow=2", "names no column"),
        ("pv=2 [V 1..1 is 0 l..4 l]", "no straight line"),
        ("pv=2 [V 0..10 is 0 l..4 bananas]", "bananas"),
        ("pv=2 [V 0..10]", "what the ends of the scale mean"),
        ("output=3 [rpm]", "What is 0 %"),
        ("output=none", "can't be left out"),
        ("draw=3", "no unit of flow"),
        ("time=every now", "every 4 s"),
        ("time=1 [moons]", "no form of a time"),
    ],
)
def test_words_that_can_not_be_used_are_refused_with_what_to_do(tmp_path: Path, words: str, says: str) -> None:
    head = "time [s],level signal [V],OP [%]"
    with pytest.raises(RecordError, match=re.escape(says)):
        record(table(head=head), tmp_path, words)


def test_a_choice_in_words_is_read_back_the_same() -> None:
    guess = look(DATA / "two_tanks_record.csv")
    chosen = read_columns("time=1 [min]; pv=3 [V 0..10 is 0 in..12 in]; output=pump drive [V 0..5]; sp=3 [V]", guess)
    assert read_columns(as_text(chosen), guess) == chosen
    lines = as_lines(guess, chosen)
    assert "“level signal [V]”, V from 0 to 10 for 0 in to 12 in" in lines[2]
    assert "(as you said)" in lines[4]


def test_what_is_in_doubt_is_asked_until_it_is_said() -> None:
    guess = look(DATA / "two_tanks_record.csv")
    asked = as_lines(guess, guess.columns)
    assert any("how many V are 0 %" in line for line in asked)
    assert "--columns “time=1 [s]; pv=3 [V]; output=2 [V]; set point=none; draw=none”" in asked[-1]
    said = as_lines(guess, read_columns("output=2 [V 0..10]", guess))
    assert not any("how many" in line or "--columns" in line for line in said)


def test_reading_can_be_given_up() -> None:
    guess = look(DATA / "two_tanks_record.csv")
    with pytest.raises(Cancelled):
        read_measured(guess.path, guess.columns, progress=lambda share: share < 0.5)
