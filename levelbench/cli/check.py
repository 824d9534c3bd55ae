"""`levelbench check`: what the design rules say about a project."""

import argparse
from collections.abc import Sequence

from levelbench.cli.first import tell_if_first
from levelbench.cli.output import figure_line, print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.handover import document
from levelbench.project import load, units
from levelbench.quantity import Units
from levelbench.review import Finding, Severity, review
from levelbench.rig import assemble


def do(asked: argparse.Namespace) -> int:
    """Check the project: 1 when a finding stops, else 0."""
    project = load(asked.file)
    tell_if_first()
    with progress("checking") as show:
        findings = review(assemble(project), show)
    shown_in = units(project)
    if asked.json:
        print_json({"project": project.title, "findings": [document.finding(one, shown_in) for one in findings]})
    else:
        lines = [line for one in findings for line in as_lines(one, shown_in)]
        print_lines([project.title, *lines, summary(findings)])
    return exit_code(findings)


def exit_code(findings: Sequence[Finding]) -> int:
    """Give 1 when any finding stops, else 0."""
    return int(any(one.severity is Severity.STOP for one in findings))


def as_lines(finding: Finding, units: Units) -> list[str]:
    """Give a finding as lines for a person."""
    severity = finding.severity
    if not finding.applies:
        return [f"–        {finding.title}", f"         {finding.text}"]
    lines = [f"{severity.mark} {severity.word.upper():6} {finding.title}", f"         {finding.text}"]
    if severity is not Severity.GOOD:
        lines += [f"         {figure_line(one, units)}" for one in finding.figures]
        lines += [f"         Do: {finding.change}"] if finding.change else []
    return lines


def summary(findings: Sequence[Finding]) -> str:
    """Count the findings in one line."""
    judged = [one for one in findings if one.applies]
    counts = [f"{sum(one.severity is kind for one in judged)} {kind.word}" for kind in Severity]
    return f"{', '.join(counts)}; {len(findings) - len(judged)} not judged"
