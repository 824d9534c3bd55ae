"""`levelbench open`: the window, where there is a screen."""

import argparse
from pathlib import Path

from levelbench.cli.errors import UsageError
from levelbench.cli.output import print_json
from levelbench.cli.screen import why_no_screen


def do(asked: argparse.Namespace) -> int:
    """Open the window; raises UsageError where there is no screen for it."""
    reason = why_no_screen()
    if reason:
        raise UsageError(f"There is no screen to open the window on: {reason}. The other verbs work without one.")
    code = open_window(asked.file)
    if asked.json:
        print_json({"file": str(asked.file) if asked.file else None, "exit_code": code})
    return code


def open_window(file: Path | None) -> int:
    """Open the window on a project file (None: a sample), and give the exit code when it is closed."""
    from levelbench.gui import app  # noqa: PLC0415 (Qt is loaded once it is known that there is a screen)

    return app.open_window(file)
