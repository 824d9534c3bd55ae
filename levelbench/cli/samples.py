"""`levelbench samples`: the sample projects, and a copy of one to work on."""

import argparse
from pathlib import Path

from levelbench.cli.errors import UsageError
from levelbench.cli.output import print_json, print_lines
from levelbench.project import load, sample, samples, save


def do(asked: argparse.Namespace) -> int:
    """List the samples, or copy one."""
    if asked.copy is None:
        if asked.to is not None:
            raise UsageError("--to needs --copy with the name of a sample; `levelbench samples` lists them.")
        return _list(asked.json)
    source = sample(asked.copy)
    target = asked.to or Path(source.name)
    if target.exists():
        raise UsageError(f"{target} is there already, and is left as it is. Give another name after --to.")
    save(load(source), target)
    if asked.json:
        print_json({"sample": source.stem, "file": str(target)})
    else:
        print_lines([f"copied {source.stem} to {target}"])
    return 0


def _list(as_json: bool) -> int:
    found = [(path.stem, load(path).title, str(path)) for path in samples()]
    if as_json:
        print_json({"samples": [{"name": name, "title": title, "file": file} for name, title, file in found]})
    else:
        print_lines(f"{name:16} {title} ({file})" for name, title, file in found)
    return 0
