"""The sheet's parts about what was tried: the proof where something was noted, and the cut-off for a shut drain."""

import pypdfium2
import pytest
from handover_samples import SAMPLES, lines, words

from levelbench.handover.blocks import Drawing, Equation, Heading, Table
from levelbench.handover.content import loop_settings_sheet
from levelbench.handover.html import to_html
from levelbench.handover.pdf import to_pdf
from levelbench.handover.settings import found_and_left
from levelbench.project import Project, edit_many, load, sample, units
from levelbench.project.as_found import as_found_from
from levelbench.rig import assemble
from levelbench.rig.bench import Bench
from levelbench.tuning.filling import cut_off, equation
from levelbench.tuning.prediction import predict
from levelbench.tuning.proof import as_found, prove, settings_typed

NOTED = "3 March, before the visit"


@pytest.fixture(params=SAMPLES, scope="module")
def project(request: pytest.FixtureRequest) -> Project:
    project = load(sample(request.param))
    weak = edit_many(project, as_found_from(settings_typed(project), NOTED))
    return edit_many(weak, {"as_found.integral": "15 s", "as_found.form": "standard"})


def test_the_proof_is_on_the_sheet_with_picture_table_margins_and_uncertainty(project: Project) -> None:
    rig, before = assemble(project), as_found(project)
    assert before is not None
    proof = prove(assemble(before), rig, ("as found", "as it is now"), seeds=(1, 2, 3))
    sheet = loop_settings_sheet(rig, predict(rig), (), proof)
    said, shown = words(sheet), units(project)
    assert f"As found: {NOTED}." in said
    assert proof.verdict in said
    drawn = [text for one in sheet.blocks if isinstance(one, Drawing) for text in one.scene.texts()]
    assert any(text.startswith("drain shut, ") for text in drawn)
    for line in proof.lines:
        assert f"{line.name}, {shown.of(line.before.dimension)}" in said
    for figure in (*proof.before.least, *proof.after.least):
        assert shown.tell(figure) in said
    assert "within 10 %" in said
    assert "15 s" in said
    printed = pypdfium2.PdfDocument(to_pdf(sheet, "A4"))
    assert any("Proof" in page.get_textpage().get_text_range() for page in printed)
    assert "<svg" in to_html(sheet)


def test_without_a_note_there_is_no_proof_and_room_to_write(project: Project) -> None:
    rig = assemble(edit_many(project, {"as_found": None}))
    sheet = loop_settings_sheet(rig, predict(rig), ())
    assert not any(isinstance(one, Heading) and one.text == "Proof" for one in sheet.blocks)
    assert {row[2] for row in found_and_left(Bench(rig)).rows} == {""}


def test_what_was_found_stands_in_its_column(project: Project) -> None:
    table = found_and_left(Bench(assemble(project)))
    rows = {row[0]: row for row in table.rows}
    assert rows["integral"][2] == "15 s"
    assert rows["integral"][1] != "15 s"
    assert rows["scan"][2] == ""


def test_the_cut_off_stands_with_its_equation_and_every_number(project: Project) -> None:
    rig = assemble(project)
    sheet = loop_settings_sheet(rig, predict(rig), ())
    law = equation(cut_off(rig, project.start.set_point.si), units(project))
    equations = [one.text for one in sheet.blocks if isinstance(one, Equation)]
    assert set(law) <= set(equations)
    said = "\n".join(text for one in sheet.blocks if isinstance(one, Table) for text in lines(one))
    for name in ("runs in after the cut", "lead a at first", "largest lead", "wait after the cut"):
        assert name in said
