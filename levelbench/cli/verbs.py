"""Every verb with its words, so that the whole grammar can be read in one place. Nothing heavy is loaded here."""

import argparse
from pathlib import Path
from typing import Any

EPILOGUE = """\
exit codes: 0 done; 1 done, with findings that stop; 2 the input, or the place to write to, can't be used

The bench is a model. Local codes, the makers' instructions and a licensed person decide where somebody can get hurt.
"""
ACTION = """\
something that a person does during the run, as "TIME: WHAT VALUE"; may be given many times:
"60 s: set point 3.10 gal", "2 min: valve opening 50 %%", "5 min: stop", "6 min: stop off", "7 min: reset"
"""

Verbs = Any  # argparse keeps the class of its group of verbs to itself


def make_parser(version: str) -> argparse.ArgumentParser:
    """Give the parser with every verb; the chosen one's module is named in `verb`, None when there was none."""
    parser = argparse.ArgumentParser(
        prog="levelbench",
        description="A bench on paper for a small tank that holds its volume by itself. Without a verb: its window.",
        epilog=EPILOGUE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"levelbench {version}")
    parser.set_defaults(verb=None)
    verbs = parser.add_subparsers(title="verbs", metavar="VERB")
    for add in (
        _open,
        _check,
        _alarms,
        _shifts,
        _rules,
        _fit,
        _search,
        _filling,
        _experiment,
        _run,
        _sheet,
        _hand_over,
        _samples,
    ):
        add(verbs)
    return parser


def _verb(verbs: Verbs, name: str, module: str, text: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = verbs.add_parser(name, help=text, description=f"{text[0].upper()}{text[1:]}.")
    parser.set_defaults(verb=module)
    parser.add_argument(
        "--json", action="store_true", help="print one JSON document; each number has value, unit, source"
    )
    return parser


def _file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path, help="the project file")


def _seed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="seed of the noise: equal seeds, equal runs")


def _mark(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--decimal-mark",
        choices=("point", "comma"),
        default="point",
        help="the mark in numbers that people read; CSV and the values of JSON keep the point",
    )


def _open(verbs: Verbs) -> None:
    parser = _verb(verbs, "open", "window", "open the window, on a project when one is named")
    parser.add_argument("file", metavar="FILE", type=Path, nargs="?", help="the project file")


def _check(verbs: Verbs) -> None:
    _file(_verb(verbs, "check", "check", "judge a project by the design rules"))


def _alarms(verbs: Verbs) -> None:
    parser = _verb(verbs, "alarms", "alarms", "say what time each alarm leaves and what it is there for")
    _file(parser)
    parser.add_argument("--csv", type=Path, metavar="CSV", help="where the record of the alarms goes")
    parser.add_argument(
        "--noise", action="store_true", help="choose dead bands and delays from the rig's own noise too"
    )
    parser.add_argument("--record", type=Path, metavar="CSV", help="a measured record to take the noise from instead")
    parser.add_argument("--columns", metavar="WORDS", help="of the record, for example “time=1; pv=3 [in]; output=OP”")
    _seed(parser)
    parser.set_defaults(seed=1)


def _shifts(verbs: Verbs) -> None:
    parser = _verb(verbs, "shifts", "shifts", "run shifts by chance through the alarms and count what comes")
    _file(parser)
    parser.add_argument("--shifts", type=int, default=1000, metavar="N", help="how many; left out: 1000")
    parser.add_argument(
        "--use",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help='how the rig is used, "reaction=2 min", "faults=0.1"; may be given many times, all of them are printed',
    )
    parser.add_argument("--save", metavar="CSV", help="where the worst shift's record goes, its journal beside it")
    _seed(parser)
    parser.set_defaults(seed=1)


def _rules(verbs: Verbs) -> None:
    parser = _verb(verbs, "rules", "rules", "try published tuning rules on a project's rig, side by side")
    _file(parser)
    parser.add_argument("--closed-loop-time", metavar="TIME", help="of the SIMC rules; left out: the loop's dead time")
    parser.add_argument("--arrest-time", metavar="TIME", help="of the lambda rule; left out: three dead times")
    parser.add_argument(
        "--deviation", metavar="VOLUME", help="how far averaging may let the volume swing; left out: 80 %% to a limit"
    )


def _fit(verbs: Verbs) -> None:
    parser = _verb(verbs, "fit", "fit", "find out from a record what the rig is: models with intervals, and words")
    parser.add_argument("record", metavar="RECORD", type=Path, help="CSV with time, PV and output, however written")
    parser.add_argument("--project", metavar="FILE", type=Path, help="the project whose rig was recorded")
    parser.add_argument(
        "--model",
        choices=("integrating", "first-order", "physics", "two-tanks", "all"),
        default="all",
        help="which to fit; left out: all, and which to take",
    )
    parser.add_argument(
        "--columns", metavar="WORDS", help="for example “time=1; pv=3 [in]; output=OP [%% 0..100]; set point=none”"
    )


def _search(verbs: Verbs) -> None:
    parser = _verb(verbs, "search", "search", "search settings that are fast, calm and keep limits all over a box")
    _file(parser)
    parser.add_argument("--overshoot", metavar="VOLUME", help="most overshoot; left out: half an entry step")
    parser.add_argument("--ms", dest="sensitivity", metavar="NUMBER", help="largest sensitivity Ms; left out: 2")
    parser.add_argument("--travel", metavar="RATE", help='most output travel, for example "2 %%/s"; left out: any')
    parser.add_argument("--starts", metavar="RATE", help="most pump starts while holding; left out: the data sheet's")
    parser.add_argument("--digits", type=int, default=3, metavar="N", help="significant digits the controller takes")
    _seed(parser)
    parser.set_defaults(seed=1)


def _filling(verbs: Verbs) -> None:
    _file(_verb(verbs, "filling", "filling", "say how to fill with the drain shut: PI, or a cut-off that learns"))


def _experiment(verbs: Verbs) -> None:
    parser = _verb(verbs, "experiment", "experiment", "disturb a rig with care and measure what it does, or say how to")
    _file(parser)
    parser.add_argument(
        "--kind", choices=("bump", "relay", "step"), required=True, help="step of the output, relay, or set point step"
    )
    parser.add_argument("--by-hand", action="store_true", help="print the sheet for a person at the real rig")
    parser.add_argument("--size", metavar="VALUE", help='jump of the output, "10 %%", or of the set point, "0.3 gal"')
    parser.add_argument("--bias", metavar="PERCENT", help="of the relay about the balance; left out: none")
    parser.add_argument("--hysteresis", metavar="VOLUME", help="of the relay, half its width")
    parser.add_argument("--lasts", metavar="TIME", help="each stretch of a bump, or the wait after a set point step")
    parser.add_argument("--opening", metavar="PERCENT", help="of the drain's valve meanwhile; put back at the end")
    parser.add_argument("--draw", metavar="FLOW", help="forced draw meanwhile; put back at the end")
    parser.add_argument("--repeats", type=int, default=5, metavar="N", help="how often, each with noise of its own")
    _seed(parser)
    parser.add_argument("--save", metavar="CSV", help="where the first run's record goes, its journal beside it")


def _run(verbs: Verbs) -> None:
    parser = _verb(verbs, "run", "run", "run a project's rig, and write the recording as CSV")
    _file(parser)
    parser.add_argument("--for", dest="duration", required=True, metavar="TIME", help='how long, for example "30 min"')
    parser.add_argument("--every", metavar="TIME", help="time from one row to the next; left out: every scan")
    _seed(parser)
    parser.add_argument("--do", dest="actions", action="append", default=[], metavar="ACTION", help=ACTION)
    parser.add_argument("--to", metavar="CSV", help="where the recording goes, its journal beside it; - for the output")


def _sheet(verbs: Verbs) -> None:
    parser = _verb(verbs, "sheet", "sheet", "make the loop-settings sheet of a project")
    _file(parser)
    parser.add_argument(
        "--to", type=Path, required=True, metavar="FILE", help="the sheet: a name ending in .pdf or .html"
    )
    parser.add_argument("--paper", choices=("A4", "Letter"), help="paper of a PDF, in place of the project's own")
    _mark(parser)


def _hand_over(verbs: Verbs) -> None:
    parser = _verb(verbs, "hand-over", "hand_over", "do the whole hand-over into a folder: check, run, sheet")
    _file(parser)
    parser.add_argument("--into", type=Path, required=True, metavar="FOLDER", help="where everything goes")
    _mark(parser)
    parser.add_argument("--open", action="store_true", help="open the window on it afterwards, where there is a screen")


def _samples(verbs: Verbs) -> None:
    parser = _verb(verbs, "samples", "samples", "list the sample projects, or copy one to work on")
    parser.add_argument("--copy", metavar="NAME", help="the sample to copy")
    parser.add_argument(
        "--to", type=Path, metavar="FILE", help="where its copy goes; left out: here, under its own name"
    )
