"""Reading a project file: what is understood, and that every problem is named at once, with its line."""

import dataclasses
import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_texts import SEEDLING, WASHER, changed, line, problems_of

from levelbench.project import Problem, Project, ProjectProblems, load, read_project, sample, samples, units
from levelbench.project.fields import entries
from levelbench.project.records import LAMP_STATES, Band, DeadWood, Head, LampRow
from levelbench.quantity import Dimension, LevelBenchError, Units, read

GALLON = 231 * 0.0254**3  # NIST Handbook 44: 231 cubic inches

OLD_FORMAT = re.compile(r"^\s*levelbench\s*=\s*0\b", re.MULTILINE)


def test_a_sample_is_what_it_says() -> None:
    project = read_project(SEEDLING)
    assert project.tank.diameter is not None
    assert (project.tank.diameter.text, project.tank.diameter.si) == ("12 in", pytest.approx(0.3048, rel=1e-12))
    assert project.bands.high is not None
    assert project.bands.high.limit.si == pytest.approx(4.3 * GALLON, rel=1e-12)
    assert project.bands.high.on_delay.si == 5.0
    assert project.sensor.signal_span[1].text == "2.5 in"
    assert [one.si for one in project.sensor.measures_within] == pytest.approx([3.8e-3, 20.5e-3], rel=1e-12)
    assert project.loop_settings.output_rate is None
    assert project.tank.dead_wood[0].bottom.text == "1.5 in"
    assert (project.first_letter, project.loop) == ("L", "310")
    assert project.text == SEEDLING
    assert units(project) == Units("US gal", "in", "US gal/min")


def test_the_two_samples_travel_and_are_found_by_name() -> None:
    assert [path.stem for path in samples()] == ["parts_washer", "seedling_house"]
    assert load(sample("parts_washer")).title == "Parts washer detergent tank"
    with pytest.raises(LevelBenchError, match=r"Did you mean “seedling_house”"):
        sample("seedling_hous")


def test_the_default_stack_light_is_complete_and_is_the_one_written_out() -> None:
    assert tuple(row.state for row in read_project(SEEDLING).stack_light) == LAMP_STATES
    assert read_project(WASHER).stack_light == read_project(SEEDLING).stack_light


def test_the_colours_keep_their_standard_meaning() -> None:
    """IEC 60073: red emergency, yellow abnormal, green normal, blue somebody must act."""
    rows = {row.state: row for row in read_project(SEEDLING).stack_light}
    assert [state for state, row in rows.items() if row.green != "off"] == ["normal"]
    assert rows["waiting for start"].blue == "flashing"
    assert {"stop pressed", "switch tripped"} <= {state for state, row in rows.items() if row.red != "off"}
    assert all(row.yellow == "off" for state, row in rows.items() if state in ("normal", "manual"))


def records() -> list[type]:
    sections = [one for one in (field.type for field in dataclasses.fields(Project)) if dataclasses.is_dataclass(one)]
    return [Head, Band, DeadWood, LampRow, *sections]  # type: ignore[list-item]


@pytest.mark.parametrize("record", records(), ids=lambda one: one.__name__)
def test_every_entry_has_a_help_text_and_a_default_that_can_be_read(record: type) -> None:
    assert len(records()) > 15
    for name, entry in entries(record).items():
        assert entry.label, name
        assert entry.help, name
        if entry.dimension is not None and entry.default not in (None, "off"):
            texts = entry.default if isinstance(entry.default, tuple) else (entry.default,)
            for text in texts:
                si = read(str(text), *entry.dimensions).si
                assert entry.low is None or si >= entry.low, name
                assert entry.high is None or si <= entry.high, name
        if entry.choices and entry.default is not None:
            assert entry.default in entry.choices, name


PROBLEMS = [
    # old, new, key, words of the message, nearest
    ('diameter = "12 in"', 'diametre = "12 in"', "tank.diametre", "not known here", "diameter"),
    ('diameter = "12 in"', 'diameter = "12 gal"', "tank.diameter", "a volume; a length is wanted", None),
    ('diameter = "12 in"', "diameter = 12", "tank.diameter", "must be in quotes and with its unit", None),
    ('diameter = "12 in"', 'diameter = "12"', "tank.diameter", "unit is missing", None),
    ('diameter = "12 in"', 'diameter = "0 in"', "tank.diameter", "above 0 in", None),
    ('diameter = "12 in"', 'diameter = "900 in"', "tank.diameter", "at most 787.4 in", None),
    ('shape = "upright cylinder"', 'shape = "upright cilinder"', "tank.shape", "not among", "upright cylinder"),
    ('shape = "upright cylinder"', "shape = 3", "tank.shape", "must be a text in quotes", None),
    ("averaging = 20", 'averaging = "20"', "sensor.averaging", "a whole number, without quotes", None),
    ("averaging = 20", "averaging = true", "sensor.averaging", "a whole number", None),
    ("averaging = 20", "averaging = 0", "sensor.averaging", "at least 1", None),
    ("check_valve = true", 'check_valve = "yes"', "pump.check_valve", "true or false", None),
    ("[duty]", "[dutty]", "dutty", "not known here", "duty"),
    ('signal_span = ["18 in", "2.5 in"]', 'signal_span = "18 in"', "sensor.signal_span", "must be a pair", None),
    (
        'signal_span = ["18 in", "2.5 in"]',
        'signal_span = ["1 in", "9 in"]',
        "sensor.signal_span",
        "larger one first",
        None,
    ),
    ('title = "Seedling house nutrient day tank"', 'title = " "', "title", "Title is empty", None),
    ('loop = "310"', "loop = 310", "loop", "must be a text in quotes", None),
    ('loop = "310"', 'loop = "310"\nfirst_letter = "V"', "first_letter_means", "ISA-5.1 has no first letter", None),
    ('loop = "310"', 'loop = "310"\nfirst_letter = "vol"', "first_letter", "one capital letter", None),
    ('set_point_low = "2.00 gal"', 'set_point_low = "5 gal"', "loop_settings.set_point_low", "must be less than", None),
    ('gain = "1130 %/gal"', "", "loop_settings.gain", "needs a gain or a proportional band", None),
    ('gain = "1130 %/gal"', 'gain = "6"\nproportional_band = "9 %"', "loop_settings.proportional_band", "twice", None),
    ('form = "standard"', 'form = "parallel"', "loop_settings.integral", "a rate: gain per time", None),
    (
        'set_point = "3.00 gal"',
        'set_point = "3.02 gal"',
        "start.set_point",
        "the nearest is 3.000 US gal",
        "3.000 US gal",
    ),
    ('set_point = "3.00 gal"', 'set_point = "4.5 gal"', "start.set_point", "must be at most", None),
    ('stalls_at = "6 %"', 'stalls_at = "10 %"', "pump.stalls_at", "at most pump.starts_moving_at", None),
    ('top = "15 in"', 'top = "1 in"', "tank.dead_wood[0].bottom", "must be less than", None),
    ('rim_to_spill = "0.5 in"', 'rim_to_spill = "20 in"', "tank.rim_to_spill", "must be less than", None),
    ("converter_bits = 14", 'fails_beyond = ["3.9 mA", "21 mA"]', "sensor.fails_beyond", "at or outside", None),
    ("\nhigh = {", "\nhihg = {", "bands.hihg", "not known here", "high"),
    ('high = { limit = "4.30 gal"', 'high = { limit = "4.30 in"', "bands.high.limit", "a length; a volume", "in3"),
    ('limit = "4.30 gal", ', "", "bands.high.limit", "Limit is missing", None),
    ('tank_volume = "3.00 gal"', 'tank_volume = "8 gal"', "start.tank_volume", "at most reservoir.charge", None),
]


@pytest.mark.parametrize(
    ("old", "new", "key", "words", "near"), PROBLEMS, ids=[f"{one[2]}: {one[3]}" for one in PROBLEMS]
)
def test_a_problem_names_line_key_and_way_out(old: str, new: str, key: str, words: str, near: str | None) -> None:
    text = changed(old, new)
    found = [one for one in problems_of(text) if one.key == key]
    assert len(found) == 1, problems_of(text)
    assert words in found[0].message
    assert found[0].nearest == near
    assert found[0].found
    assert found[0].allowed
    elsewhere = {
        "first_letter_means": 0,
        "loop_settings.gain": line(text, "[loop_settings]"),
        "loop_settings.integral": line(text, 'integral = "22 s"'),
        "tank.dead_wood[0].bottom": line(text, 'bottom = "1.5 in"'),
        "bands.high.limit": line(text, "bands]") + 2,
    }
    assert found[0].line == (elsewhere[key] if key in elsewhere else line(text, new.strip()) + new.strip().count("\n"))


def test_all_problems_are_named_at_once_in_the_order_of_the_lines() -> None:
    text = changed('diameter = "12 in"', 'diameter = "12 gal"')
    text = changed("averaging = 20", 'averaging = "many"', text)
    text = changed('paper = "Letter"', 'paper = "letter"', text)
    text = changed('set_point_high = "4.00 gal"', 'set_point_high = "1 gal"', text)
    found = problems_of(text)
    keys = ["tank.diameter", "sensor.averaging", "loop_settings.set_point_low", "sheet.paper"]
    assert [one.key for one in found] == keys
    assert [one.line for one in found] == sorted(one.line for one in found)
    with pytest.raises(ProjectProblems, match=r"mine.toml: 4 problems\n  line \d+, tank.diameter: “12 gal”|“gal” is"):
        read_project(text, "mine.toml")


def test_what_is_not_asked_for_may_stand_there_but_is_not_wanted() -> None:
    text = changed('height = "15 in"                      # floor', 'cone_depth = "9 ft"\nheight = "15 in"  # floor')
    assert read_project(text).tank.cone_depth is not None
    empty = changed('kind = "siphon over the rim"', 'kind = "none"')
    assert read_project(empty.replace('valve_cv = "0.9"', "")).drain.valve_cv is None
    assert [one.key for one in problems_of(SEEDLING.replace('valve_cv = "0.9"', ""))] == ["drain.valve_cv"]


def test_a_missing_section_says_what_it_needs() -> None:
    text = SEEDLING[: SEEDLING.index("[duty]")] + SEEDLING[SEEDLING.index("[sheet]") :]
    (found,) = problems_of(text)
    assert (found.key, found.found) == ("duty.largest_draw", "nothing")
    assert "Largest draw is missing" in found.message


def test_a_table_must_rise_and_have_two_rows() -> None:
    tank = SEEDLING[SEEDLING.index("[tank]") : SEEDLING.index("[reservoir]")]
    own = '[tank]\nshape = "own table"\ntable = [{}]\n\n'
    good = SEEDLING.replace(tank, own.format('["0 in", "0 gal"], ["6 in", "3 gal"], ["15 in", "8 gal"]'))
    assert len(read_project(good).tank.table) == 3
    bad = SEEDLING.replace(tank, own.format('["0 in", "0 gal"], ["6 in", "3 gal"], ["5 in", "3 gal"]'))
    assert [one.key for one in problems_of(bad)] == ["tank.table"] * 2
    assert "at least two rows" in problems_of(SEEDLING.replace(tank, own.format('["0 in", "0 gal"]')))[0].message
    assert "rows of two" in problems_of(SEEDLING.replace(tank, own.format('"0 in"')))[0].message


def test_a_lying_tank_is_no_higher_than_its_diameter() -> None:
    (found,) = problems_of(changed('ends = "dished"', 'ends = "dished"\nheight = "600 mm"', WASHER))
    assert (found.key, found.allowed) == ("tank.height", "at most 500 mm")


def test_a_lamp_state_may_have_one_row() -> None:
    (found,) = problems_of(changed('state = "normal"', 'state = "manual"', WASHER))
    assert found.key == "stack_light[14].state"
    assert found.line == line(WASHER, 'state = "normal"')
    assert "normal" in found.allowed


@pytest.mark.parametrize("ending", ["gain", "integral"])
def test_off_and_either_kind_of_integral(ending: str) -> None:
    assert read_project(changed('integral = "22 s"', 'integral = "off"')).loop_settings.integral is None
    rate = read_project(changed('integral = "22 s"', 'integral = "2 repeats/min"')).loop_settings.integral
    assert rate is not None
    assert rate.dimension is Dimension.REPEAT_RATE


@pytest.mark.parametrize(
    ("content", "words", "at"),
    [
        (b"", "begins with levelbench = 1", 0),
        (b"levelbenhc = 1\n", "Did you mean|says nothing of the kind", 0),
        (b'levelbench = "1"\n', "whole number", 1),
        (b"\nlevelbench = 2\n", "newer LevelBench", 2),
        (b"levelbench = -1\n", "whole number", 1),
        (b"levelbench = 1\ntitle = \n", "has no value yet", 2),
        (b'levelbench = 1\ntitle = "a"\ntitle = "b"\n', "given twice, first on line 2", 3),
        (b"levelbench = 1\n# caf\xe9\n", "not UTF-8", 2),
        (b"levelbench = 1\n\x00\n", "can't be read as TOML", 2),
        (b"a = " + b"[" * 5000, "nested deeper", 0),
        (b"#" * 1_000_001, "too large", 0),
    ],
)
def test_what_is_no_project_file_is_refused_in_words(tmp_path: Path, content: bytes, words: str, at: int) -> None:
    path = tmp_path / "file.toml"
    path.write_bytes(content)
    with pytest.raises(ProjectProblems, match=words) as caught:
        load(path)
    assert caught.value.problems[0].line == at


def test_places_that_hold_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ProjectProblems, match="This is a folder"):
        load(tmp_path)
    with pytest.raises(ProjectProblems, match="There is no file"):
        load(tmp_path / "none.toml")
    with pytest.raises(ProjectProblems, match=r"not the name of a file|There is no file"):
        load("a\0b")
    path = tmp_path / "closed.toml"
    path.write_text(SEEDLING, encoding="utf-8")

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(ProjectProblems, match="can't be read: Permission denied"):
        load(path)


@pytest.mark.parametrize(
    "content", [SEEDLING, "\ufeff" + SEEDLING, SEEDLING.replace("\n", "\r\n")], ids=["plain", "BOM", "CRLF"]
)
def test_byte_order_mark_and_windows_line_ends_are_read(content: str) -> None:
    project = read_project(content)
    assert project.text == content
    assert project.tank == read_project(SEEDLING).tank
    (found,) = problems_of(content.replace('diameter = "12 in"', 'diameter = "12 gal"'))
    assert found.line == line(SEEDLING, 'diameter = "12 in"')


@given(text=st.text() | st.text(alphabet="levbnch=1\"[]{}.,#\n 'tankg"))
@settings(max_examples=400, deadline=None)
def test_any_text_is_a_project_or_has_problems(text: str) -> None:
    for whole in (text, f"levelbench = 1\n{text}", f"levelbench = 0\n{text}"):
        with pytest.raises(ProjectProblems) as caught:
            read_project(whole)
        assert caught.value.problems


@given(data=st.data(), text=st.sampled_from([SEEDLING, WASHER]))
@settings(max_examples=400, deadline=None)
def test_any_damage_to_a_sample_gives_a_project_or_problems(data: st.DataObject, text: str) -> None:
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        length = data.draw(st.sampled_from([0, 1, 2, 10, 60]))
        piece = data.draw(
            st.sampled_from(['"', "[", "]", "\n", "gal", "=", "-", "0", "true", "{}", "[[x]]", ""])
            | st.text(max_size=5)
        )
        text = text[:start] + piece + text[start + length :]
    found: tuple[Problem, ...] = ()
    try:
        read = read_project(text).text
        # damage may make it a file of format 0, which is brought up to date; that text is read as it stands
        assert read == (read_project(read).text if OLD_FORMAT.search(text) else text)
    except ProjectProblems as error:
        found = error.problems
    assert all(one.message and 0 <= one.line <= text.count("\n") + 1 for one in found)
