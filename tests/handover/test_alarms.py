"""The alarms on the sheet: every text that was typed, every figure that was worked out, and what is not an alarm."""

from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from handover_samples import SAMPLES, Made, made, words
from whole_ladder import WHOLE

from levelbench.alarms.rationale import distribution, rationale
from levelbench.alarms.record_csv import read_record, record_table
from levelbench.alarms.starting import starting
from levelbench.alarms.timing import SAID, timing
from levelbench.handover.alarms import alarms
from levelbench.handover.blocks import Block, Drawing, Note, Table
from levelbench.handover.html import to_html
from levelbench.handover.package import hand_over
from levelbench.handover.pdf import PAPERS, to_pdf
from levelbench.handover.told import value_of
from levelbench.project import Value, edit_many, load, sample, units
from levelbench.rig import assemble
from levelbench.rig.bench import Bench

EVERY = {key.removeprefix("bands."): value for key, value in WHOLE.items() if "high" not in key and "low" not in key}
TYPED = {
    "bands__high__cause": "somebody leaves the pump in manual",
    "bands__high__time_available": "95 s",
    "bands__high__latching": True,
    "bands__high__suppressed_while": "not started",
    "bands__low__off_delay": "7.5 s",
    "alarm_handling__protection": "operator may act",
    "alarm_handling__silence_at_most": "4 min",
} | {f"bands__{key.replace('.', '__')}": value for key, value in EVERY.items()}


@pytest.fixture(scope="module", params=[*SAMPLES, "whole ladder"])
def sheet(request: pytest.FixtureRequest) -> Made:
    return made(request.param) if request.param in SAMPLES else made("seedling_house", **TYPED)


def test_every_text_that_was_typed_is_printed(sheet: Made) -> None:
    said = words(sheet.sheet)
    for row in rationale(sheet.rig):
        assert row.tag in said
        assert all(text in said for _, text in row.said if text)
        for label, text in row.typed:
            assert text in said, (row.name, label)
        if row.time_typed is not None:
            assert f"{row.time_typed.shown} as typed" in said


def test_every_figure_is_printed_with_its_formula_and_source(sheet: Made) -> None:
    said, shown_in = words(sheet.sheet), units(sheet.project)
    rows, timed, begun = rationale(sheet.rig), timing(sheet.rig), starting(sheet.rig)
    for figure in (*(one for row in rows for one in row.place), *begun.figures):
        assert value_of(figure, shown_in) in said, figure.key
    for figure in (one for each in timed for one in (*each.figures, *each.parts)):
        assert value_of(figure, shown_in) in said, figure.key
        assert figure.formula in said, figure.key
        assert figure.source in said, figure.key
    assert all(line.words in said for line in begun.lines)
    assert all(" ".join(SAID[one.stands]) in said for one in timed)
    assert distribution(rows) in said


def test_the_handling_and_the_policy_are_printed(sheet: Made) -> None:
    said, handling = words(sheet.sheet), sheet.project.alarm_handling
    for text in (handling.acknowledge, handling.silence_at_most.shown, handling.shelve_at_most.shown):
        assert text in said
    assert f"Where an alarm leaves less: {handling.protection}." in said
    assert "hard-wired whatever stands here" in said


def test_the_picture_has_a_bar_for_each_alarm(sheet: Made) -> None:
    (picture,) = [
        one for one in sheet.sheet.blocks if isinstance(one, Drawing) and one.scene.title.startswith("Time that each")
    ]
    texts = picture.scene.texts()
    assert [f"{one.name} {one.tag}" in texts for one in timing(sheet.rig)] == [True] * len(timing(sheet.rig))


def section(**edits: Value) -> tuple[Block, ...]:
    """The alarms' part of the seedling house's sheet, without the runs of the others."""
    changes = {key.replace("__", "."): value for key, value in edits.items()}
    return alarms(Bench(assemble(edit_many(load(sample("seedling_house")), changes))))


def test_what_asks_for_nothing_is_marked() -> None:
    blocks = section(bands__low__operator_action=None)
    note = next(one for one in blocks if isinstance(one, Note) and one.word == "not an alarm")
    assert note.text.startswith("low:")
    table = next(one for one in blocks if isinstance(one, Table) and "operator action" in one.head)
    marked = {row[0].partition("\n")[0]: row[3] for row in table.rows}
    assert marked["low"] == "▲ not an alarm"
    assert not marked["high"].startswith("▲")


def test_two_that_say_the_same_are_named() -> None:
    blocks = section(bands__high_high__limit="4.30 gal")
    assert any(isinstance(one, Note) and one.word == "the same twice" for one in blocks)


def test_a_project_without_alarms_says_so() -> None:
    assert any(isinstance(one, Note) and one.text == "This project has no alarms." for one in section(bands=None))


def test_typed_texts_are_escaped_in_html() -> None:
    evil = section(bands__high__cause="<script>alert(1)</script> & more")
    page = to_html(replace(made("seedling_house").sheet, blocks=evil))
    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; more" in page


@pytest.mark.parametrize("paper", PAPERS)
def test_every_text_and_time_can_be_read_in_the_pdf(sheet: Made, paper: str) -> None:
    """Read back by another library, spaces and line ends left out, since wrapping moves them."""
    document = pypdfium2.PdfDocument(to_pdf(sheet.sheet, paper))
    said = "".join("".join(page.get_textpage().get_text_range() for page in document).split())
    shown_in = units(sheet.project)
    for row in rationale(sheet.rig):
        for text in (row.tag, row.name, *(text for _, text in row.said), *(text for _, text in row.typed)):
            assert "".join(text.split()) in said, (row.name, text)
        for figure in (*row.place, *row.timed.figures):
            assert "".join(value_of(figure, shown_in).split()) in said, figure.key


def test_the_record_goes_with_the_hand_over(tmp_path: Path) -> None:
    project = made("seedling_house").project
    done = hand_over(project, tmp_path)
    (place,) = [one for one in done.files if one.name.endswith("-alarms.csv")]
    assert read_record(place) == record_table(made("seedling_house").rig)
