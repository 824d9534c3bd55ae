"""`levelbench hand-over`: check, run and sheet of a project in one folder; then the window, where there is a screen."""

import argparse
import sys

from levelbench.cli.check import exit_code, summary
from levelbench.cli.first import tell_if_first
from levelbench.cli.output import print_json, print_lines
from levelbench.cli.progress import progress
from levelbench.cli.screen import why_no_screen
from levelbench.cli.window import open_window
from levelbench.handover import document
from levelbench.handover.package import hand_over
from levelbench.project import load, units
from levelbench.quantity.notation import BY_NAME


def do(asked: argparse.Namespace) -> int:
    """Do the whole hand-over: 1 when a finding stops, else 0."""
    project = load(asked.file)
    tell_if_first()
    with progress("handing over") as show:
        done = hand_over(project, asked.into, show, numbers=BY_NAME[asked.decimal_mark])
    files = [str(one) for one in done.files]
    if asked.json:
        found = [document.finding(one, units(project)) for one in done.findings]
        print_json({"project": project.title, "files": files, "findings": found})
    else:
        print_lines([project.title, summary(done.findings), *(f"written   {name}" for name in files)])
    if asked.open:
        _open(asked)
    return exit_code(done.findings)


def _open(asked: argparse.Namespace) -> None:
    """Open the window on the project, or say why there is none."""
    sys.stdout.flush()
    reason = why_no_screen()
    if reason:
        print(f"no screen, so no window is opened: {reason}", file=sys.stderr)
    else:
        open_window(asked.file)
