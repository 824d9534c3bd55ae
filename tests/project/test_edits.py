"""Edits by key: only what was meant changes, comments and layout stay, and a bad edit changes nothing."""

import difflib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_texts import SEEDLING, WASHER, line, problems_of

from levelbench.project import Project, ProjectProblems, Value, edit, edit_many, read_project


@pytest.fixture(scope="module")
def seedling() -> Project:
    return read_project(SEEDLING)


def difference(before: str, after: str) -> list[str]:
    """Give the lines that went and came, marked - and +."""
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [one for one in lines if one[0] in "+-"]


@pytest.mark.parametrize(
    ("key", "value", "lines"),
    [
        (
            "tank.diameter",
            "13 1/2 in",
            [
                '- diameter = "12 in"                    # inside; the mean of three heights, 1/16 in apart',
                '+ diameter = "13 1/2 in"                    # inside; the mean of three heights, 1/16 in apart',
            ],
        ),
        ("tank.table", None, []),
        ("pump.wear", "5 %", ['+ wear = "5 %"']),
        ("pump.check_valve", None, ["- check_valve = true"]),
        ("loop", "311", ['- loop = "310"', '+ loop = "311"']),
        ("pump.check_valve", False, ["- check_valve = true", "+ check_valve = false"]),
        ("sensor.measures_within", ["3.7 mA", "20.6 mA"], ['+ measures_within = ["3.7 mA", "20.6 mA"]']),
        ("tank.dead_wood[0].name", "rod", ['- name = "siphon\'s dip tube"', '+ name = "rod"']),
        ("loop_settings.derivative", "0,5 s", ['+ derivative = "0,5 s"']),
    ],
)
def test_an_edit_changes_its_own_line_alone(seedling: Project, key: str, value: Value, lines: list[str]) -> None:
    after = edit(seedling, key, value)
    assert difference(SEEDLING, after.text) == lines
    assert seedling.text == SEEDLING


def test_a_new_entry_stands_with_its_section_and_not_below_the_next_comment(seedling: Project) -> None:
    text = SEEDLING.replace("\n[reservoir]", "\n# about the drum\n[reservoir]")
    after = edit(read_project(text), "tank.ends", "flat").text.splitlines()
    assert (
        after[after.index('ends = "flat"') - 1]
        == 'rim_to_spill = "0.5 in"               # a spout is cut into the rim: the spill begins at 14 1/2 in'
    )
    assert after[after.index("# about the drum") + 1] == "[reservoir]"


def test_an_own_first_letter_is_put_above_the_first_section(seedling: Project) -> None:
    after = edit_many(seedling, {"first_letter": "V", "first_letter_means": "volume"})
    assert (after.first_letter, after.first_letter_means) == ("V", "volume")
    assert difference(SEEDLING, after.text) == ['+ first_letter = "V"', '+ first_letter_means = "volume"']
    with pytest.raises(ProjectProblems, match=r"ISA-5\.1"):
        edit(seedling, "first_letter", "V")


def test_a_limit_can_be_set_added_and_taken_out(seedling: Project) -> None:
    moved = edit(seedling, "bands.high.limit", "4.40 gal")
    assert moved.bands.high is not None
    assert moved.bands.high.limit.text == "4.40 gal"
    assert len(difference(SEEDLING, moved.text)) == 2
    calm = edit(seedling, "bands.high.off_delay", "3 s")
    assert calm.bands.high is not None
    assert calm.bands.high.off_delay.text == "3 s"
    without = edit(calm, "bands.high.off_delay", None)
    assert without == edit(without, "bands.high.off_delay", None)
    assert without.bands == seedling.bands
    gone = edit(seedling, "bands.high", None)
    assert gone.bands.high is None
    back = edit(gone, "bands.high.limit", "4.3 gal")
    assert back.bands.high is not None
    assert 'high = { limit = "4.3 gal" }' in back.text


def test_a_section_that_is_not_there_is_begun(seedling: Project) -> None:
    bare = read_project(SEEDLING[: SEEDLING.index("[sheet]")])
    after = edit_many(bare, {"sheet.customer": 'Nobody "special"', "sheet.paper": "A4"})
    assert after.sheet.customer == 'Nobody "special"'
    assert after.text.endswith('\n[sheet]\ncustomer = "Nobody \\"special\\""\npaper = "A4"\n')
    no_bands = read_project(SEEDLING[: SEEDLING.index("[bands]")] + SEEDLING[SEEDLING.index("[start]") :])
    assert edit(no_bands, "bands.low.limit", "1.5 gal").bands.low is not None


def test_the_stack_light_is_written_out_when_a_row_is_changed(seedling: Project) -> None:
    after = edit(seedling, "stack_light[5].horn", False)
    assert not after.stack_light[5].horn
    assert [row for at, row in enumerate(after.stack_light) if at != 5] == [
        row for at, row in enumerate(seedling.stack_light) if at != 5
    ]
    washer = read_project(WASHER)
    assert edit(washer, "stack_light[5].blue", "steady").stack_light[5].blue == "steady"
    two = edit(washer, "stack_light", [{"state": "high", "yellow": "steady"}, {"state": "low"}])
    assert [row.state for row in two.stack_light] == ["high", "low"]
    assert len(edit(washer, "stack_light[0]", None).stack_light) == 14
    assert edit(two, "stack_light", None).stack_light == washer.stack_light


def test_fittings_are_replaced_as_a_list(seedling: Project) -> None:
    rod = {"name": "rod", "diameter": "1 in", "top": "10 in"}
    after = edit(seedling, "tank.dead_wood", [rod, {**rod, "name": "other"}])
    assert [one.name for one in after.tank.dead_wood] == ["rod", "other"]
    assert edit(after, "tank.dead_wood[1].name", "third").tank.dead_wood[1].name == "third"
    assert edit(seedling, "tank.dead_wood[0]", None).tank.dead_wood == ()


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("tank.diameter", "12 gal", "a volume; a length is wanted"),
        ("tank.diameter", None, "Inside diameter is missing"),
        ("tank.diametre", "12 in", "Did you mean “diameter”"),
        ("bands.higher.limit", "4 gal", "not known here"),
        ("title.more", "x", "can't be set"),
        ("pump.wear.much", "5 %", "must be a text in quotes"),
        ("stack_light[40].red", "steady", "no row"),
        ("", "x", "can't be set"),
        ("levelbench", 2, "newer LevelBench"),
        ("title", "a\u0000b\n", "a\u0000b\n"),
    ],
)
def test_a_bad_edit_is_refused(seedling: Project, key: str, value: Value, words: str) -> None:
    if key == "title":
        assert edit(seedling, key, value).title == words
        return
    with pytest.raises(ProjectProblems) as caught:
        edit(seedling, key, value)
    assert words in str(caught.value)
    assert seedling.text == SEEDLING


def test_several_edits_are_checked_together(seedling: Project) -> None:
    changes: dict[str, Value] = {"loop_settings.gain": None, "loop_settings.proportional_band": "1.2 %"}
    assert edit_many(seedling, changes).loop_settings.gain is None
    with pytest.raises(ProjectProblems, match="needs a gain"):
        edit(seedling, "loop_settings.gain", None)


def test_windows_line_ends_and_the_byte_order_mark_stay() -> None:
    text = "\ufeff" + SEEDLING.replace("\n", "\r\n")
    after = edit_many(read_project(text), {"pump.wear": "5 %", "tank.diameter": "13 in", "bands.low": None})
    assert after.text.startswith("\ufeff")
    assert after.text.count("\n") == after.text.count("\r\n") == text.count("\n")


KEYS = st.sampled_from(
    [
        *("tank.diameter", "tank", "bands.high.limit", "bands.high", "bands", "title", "pump.wear", "new"),
        *("stack_light", "stack_light[1]", "stack_light[1].red", "sensor.signal_span", "sensor.signal_span[0]"),
        *("tank.dead_wood", "tank.dead_wood[0]", "tank.dead_wood[0].name"),
    ]
)
VALUES = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.text(max_size=8)
    | st.sampled_from(["3 in", "2 gal", "steady", "5 %"])
)


@given(
    edits=st.lists(st.tuples(KEYS | st.text(max_size=12), VALUES), max_size=4), text=st.sampled_from([SEEDLING, WASHER])
)
@settings(max_examples=300, deadline=None)
def test_any_edit_gives_a_project_or_problems(edits: list[tuple[str, Value]], text: str) -> None:
    project = read_project(text)
    for key, value in edits:
        try:
            project = edit(project, key, value)
        except ProjectProblems:
            continue
        assert read_project(project.text) == project
        stayed = [line for line in text.splitlines() if line.startswith("#")]
        assert [line for line in project.text.splitlines() if line in stayed][:3] == stayed[:3]


def test_values_of_several_lines_and_dotted_keys_are_edited_in_place() -> None:
    text = SEEDLING.replace('signal_span = ["18 in", "2.5 in"]', 'signal_span = [\n  "18 in",  # empty\n  "2.5 in",\n]')
    text = text.replace('customer = "Seedling house"', 'customer = """\nSeedling\nhouse # 3 "a" """')
    text = text.replace("\n[duty]\n", "\n").replace("largest_draw", "[duty] # asked\nlargest_draw")
    after = edit_many(read_project(text), {"sensor.hold_lost_echo": "3 s", "sheet.revision": "B"}).text
    assert difference(text, after) == ['+ hold_lost_echo = "3 s"', '+ revision = "B"']
    (found,) = problems_of(text.replace('site = "Propagation bench 3"', "site = 3"))
    assert found.line == line(text, 'site = "Prop')


def test_a_section_of_dotted_keys_takes_another() -> None:
    begin = SEEDLING.index("[duty]")
    keys = 'duty.largest_draw = "0.5 gal/min"\nduty.time_to_act = "1 min"\n'
    text = SEEDLING.replace("\n[display]", f"{keys}\n[display]", 1).replace(
        SEEDLING[begin : SEEDLING.index("[sheet]")], ""
    )
    after = edit(read_project(text), "duty.air_swing", "4 K")
    assert after.duty.air_swing.text == "4 K"
    assert after.duty.largest_draw.text == "0.5 gal/min"
