"""`levelbench sheet`: the loop-settings sheet of a project, as PDF or HTML."""

import argparse
from pathlib import Path

from levelbench.cli.check import exit_code, summary
from levelbench.cli.errors import UsageError
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.handover.content import loop_settings_sheet
from levelbench.handover.html import to_html
from levelbench.handover.pdf import to_pdf
from levelbench.project import load, units, write_whole
from levelbench.quantity import numbers_shown_as
from levelbench.quantity.notation import BY_NAME
from levelbench.review import review
from levelbench.rig import assemble
from levelbench.tuning.prediction import predict
from levelbench.tuning.proof import proof_of


def do(asked: argparse.Namespace) -> int:
    """Make the sheet: 1 when a finding stops (the sheet says so too), else 0."""
    kind = checked_kind(asked.to, asked.paper)
    with numbers_shown_as(BY_NAME[asked.decimal_mark]):
        return _make(asked, kind)


def _make(asked: argparse.Namespace, kind: str) -> int:
    project = load(asked.file)
    rig = assemble(project)
    tell_if_first()
    with progress("predicting") as show:
        prediction = predict(rig, show)
    with progress("checking") as show:
        findings = review(rig, show)
    with progress("proving") as show:
        proof = proof_of(project, show)
    sheet = loop_settings_sheet(rig, prediction, findings, proof)
    content = to_pdf(sheet, asked.paper or project.sheet.paper) if kind == ".pdf" else to_html(sheet).encode()
    write_whole(asked.to, content)
    if asked.json:
        found = [document.finding(one, units(project)) for one in findings]
        print_json({"project": project.title, "file": str(asked.to), "findings": found})
    else:
        print_lines([summary(findings), f"written   {asked.to}"])
    return exit_code(findings)


def checked_kind(to: Path, paper: str | None) -> str:
    """Give ".pdf" or ".html"; raises UsageError for another ending, or a paper for what is not printed on paper."""
    kind = to.suffix.lower()
    if kind not in (".pdf", ".html"):
        raise UsageError(f"--to {to}: the sheet is made as .pdf or .html. Give a name that ends so.")
    if kind == ".html" and paper:
        raise UsageError(f"--paper {paper}: HTML has no paper size. Leave it out, or give --to a name ending in .pdf.")
    return kind
