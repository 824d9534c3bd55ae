"""The `levelbench` command.

Exit codes: 0 done; 1 done, with findings that stop; 2 the input, or the place to write to, can't be used;
130 interrupted.
"""

import importlib
import importlib.metadata
import json
import sys
from collections.abc import Sequence

from levelbench.cli.errors import UsageError, as_document, told
from levelbench.cli.screen import why_no_screen
from levelbench.cli.streams import drop_output, is_closed_pipe, open_up
from levelbench.cli.verbs import make_parser
from levelbench.quantity import LevelBenchError

DONE = 0
UNUSABLE = 2
INTERRUPTED = 130


def main(words: Sequence[str] | None = None) -> int:
    """Do what the words of the command line say, and give the exit code."""
    for stream in (sys.stdout, sys.stderr):
        open_up(stream)
    try:
        code = _do(words)
        sys.stdout.flush()
    except LevelBenchError as error:
        if "--json" in (sys.argv[1:] if words is None else words) and not isinstance(error, UsageError):
            print(json.dumps(as_document(error), indent=2, ensure_ascii=False))
        return _refuse(told(error))
    except OSError as error:
        drop_output()
        if is_closed_pipe(error):
            return DONE
        return _refuse([f"levelbench: {error.filename or 'while writing'}: {error.strerror or error}"])
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED
    return code


def _do(words: Sequence[str] | None) -> int:
    """Load the module of the verb and let it do its work; with no verb open the window, or print the help."""
    parser = make_parser(importlib.metadata.version("levelbench"))
    asked = parser.parse_args(words)
    if asked.verb is None:
        if why_no_screen():
            parser.print_help()
            return DONE
        asked = parser.parse_args(["open"])
    code: int = importlib.import_module(f"levelbench.cli.{asked.verb}").do(asked)
    return code


def _refuse(lines: list[str]) -> int:
    print("\n".join(lines), file=sys.stderr)
    return UNUSABLE
