"""The sheets of both samples, made once, and what they say as one text."""

from functools import cache

from levelbench.handover.blocks import (
    Block,
    Bullets,
    Drawing,
    Equation,
    Grid,
    Heading,
    Note,
    Paragraph,
    Sheet,
    Signatures,
    Table,
)
from levelbench.handover.content import loop_settings_sheet
from levelbench.project import Project, Value, edit_many, load, sample
from levelbench.review import Finding, review
from levelbench.rig import assemble
from levelbench.tuning.prediction import Prediction, predict

SAMPLES = ("seedling_house", "parts_washer")


class Made:
    """A sample with its runs, its findings and its sheet."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.rig = assemble(project)
        self.prediction: Prediction = predict(self.rig)
        self.findings: tuple[Finding, ...] = review(self.rig)
        self.sheet: Sheet = loop_settings_sheet(self.rig, self.prediction, self.findings)


@cache
def made(name: str, **edits: Value) -> Made:
    """Make a sample, with edits whose keys have “__” for the point."""
    project = load(sample(name))
    return Made(edit_many(project, {key.replace("__", "."): value for key, value in edits.items()}))


def lines(block: Block) -> list[str]:
    """Every text of a block."""
    if isinstance(block, Heading | Paragraph | Equation):
        return [block.text]
    if isinstance(block, Grid | Signatures):
        return [text for pair in (block.pairs if isinstance(block, Grid) else block.lines) for text in pair]
    if isinstance(block, Bullets):
        return [*block.lines]
    if isinstance(block, Table):
        return [*block.head, *(cell for row in block.rows for cell in row)]
    if isinstance(block, Drawing):
        return [*block.scene.texts(), block.caption]
    assert isinstance(block, Note)
    return [block.mark, block.word, block.text]


def words(sheet: Sheet) -> str:
    """Every text of a sheet, one a line."""
    return "\n".join([sheet.title, sheet.subtitle, *(line for block in sheet.blocks for line in lines(block))])
