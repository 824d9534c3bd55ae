"""The project file: a TOML text that a person can read, compare and mail.

It opens with the format's name and version, `levelbench = 1`. Every quantity is a text with its unit. A pair stands in
brackets, a limit in an inline table, a lamp state in a [[stack_light]] row.

History of the format. Every old version is read; only the newest is written.

- 0: the first drafts. The two ends of the sensor's signal were two entries (`sensor.distance_at_4_mA`,
  `sensor.distance_at_20_mA`), and the gain was called `loop_settings.proportional`.
- 1: the ends are one pair (`sensor.signal_span`), since one without the other means nothing; the gain is `gain`, as the
  trade calls it, and a proportional band may stand in its place.
"""

import re
from pathlib import Path
from typing import Any, get_args

from levelbench.project.agreement import check_agreement
from levelbench.project.checking import Check, fields_of, nearest, record_in
from levelbench.project.fields import entries
from levelbench.project.lines import line_of, places
from levelbench.project.migrations import CURRENT, migrate
from levelbench.project.problems import Problem, ProjectProblems
from levelbench.project.records import Head, LampRow, Project
from levelbench.project.stack_light import DEFAULT_ROWS
from levelbench.project.syntax import Parsed, parse

BOM = "\ufeff"
LARGEST = 1_000_000  # bytes; a project of a hundred pages is a tenth of it
_DEEPEST = 40  # nested brackets


def load(path: Path | str) -> Project:
    """Read a project file. Raises ProjectProblems with everything that is wrong with it."""
    path = Path(path)
    try:
        if path.is_dir():
            raise _refused(path.name, "This is a folder, not a project file.", "Open the file inside it.")
        if path.stat().st_size > LARGEST:
            raise _refused(path.name, "This file is far too large for a project.", "Project files end in .toml.")
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise _refused(path.name, f"There is no file {path}.", "Look for it under another name or folder.") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise _refused(path.name, f"The file can't be read: {reason}.", "See whether you may read it.") from error
    except ValueError as error:  # a path with a NUL in it
        raise _refused(str(path.name), "This is not the name of a file.", "Give the path of a project file.") from error
    try:
        return read_project(content.decode("utf-8"), path.name)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        message = f"This is not UTF-8 text (byte {content[error.start]:#04x}). Save the file as UTF-8 in your editor."
        problem = Problem(line, "", repr(content[error.start : error.start + 1]), "UTF-8 text", None, message)
        raise ProjectProblems(path.name, [problem]) from error


def read_project(text: str, name: str = "project") -> Project:
    """Read the text of a project file; `name` is what the problems call it.

    Raises ProjectProblems with everything that is wrong with it.
    """
    parsed = _parse(text, name)
    if parsed.data is None:
        raise ProjectProblems(name, parsed.problems)
    version, unsaid = _version(parsed, name)
    if version < CURRENT:
        if parsed.problems:
            raise ProjectProblems(name, parsed.problems)
        text = migrate(text, version)
        parsed = _parse(text, name)
    check = Check(places(parsed.text), parsed.aside)
    project = _build(check, parsed.data or {}, text)
    if project is None or parsed.problems or unsaid:
        slips = {one.nearest for one in unsaid}
        raise ProjectProblems(
            name, [*parsed.problems, *unsaid, *(one for one in check.problems if one.key not in slips)]
        )
    return project


def _parse(text: str, name: str) -> Parsed:
    """Read a TOML text as far as it can be read. Raises ProjectProblems where it is no use to begin."""
    text = text.removeprefix(BOM)
    if len(text) > LARGEST:
        raise _refused(name, "This text is far too large for a project.", "Project files end in .toml.")
    if _too_deep(text):
        raise _refused(name, "Brackets are nested deeper than any project needs.", "Look for a bracket left open.")
    return parse(text)


def _too_deep(text: str) -> bool:
    depth = deepest = 0
    for one in re.findall(r"[\[\]{}\n]", text):
        depth = 0 if one == "\n" and depth < 0 else depth + (one in "[{") - (one in "]}")
        deepest = max(deepest, depth)
    return deepest > _DEEPEST


def _refused(name: str, message: str, advice: str) -> ProjectProblems:
    return ProjectProblems(name, [Problem(0, "", name, "a project file", None, f"{message} {advice}")])


def _version(parsed: Parsed, name: str) -> tuple[int, tuple[Problem, ...]]:
    """Give the version of the format, and what is wrong with how it is said; the rest is then read as of today.

    Raises ProjectProblems where that would be of no use: the file is of a newer format, or it is of another kind.
    """
    data = parsed.data or {}
    version = data.get("levelbench")
    line = line_of(places(parsed.text), "levelbench")
    allowed = f"levelbench = {CURRENT}"
    if version is None and "levelbench" in parsed.aside:
        return CURRENT, ()
    if version is None:
        near = nearest("levelbench", [key for key, one in data.items() if not isinstance(one, dict)])
        message = f"A project file begins with {allowed}; this one says nothing of the kind."
        problem = Problem(0, "levelbench", "nothing", allowed, near, message)
        if not any(key in fields_of(Project) for key in data):
            raise ProjectProblems(name, [*parsed.problems, problem])
        return CURRENT, (problem,)
    if not isinstance(version, int) or isinstance(version, bool) or version < 0:
        message = f"The version of the format must be a whole number: {allowed}."
        return CURRENT, (Problem(line, "levelbench", str(version), allowed, None, message),)
    if version > CURRENT:
        message = (
            f"This file is of format {version}, made by a newer LevelBench; this one reads formats up to {CURRENT}. "
            "Nothing was changed. Install the newer program, or ask for the file in the older format."
        )
        raise ProjectProblems(name, [Problem(line, "levelbench", str(version), allowed, None, message)])
    return version, ()


def _build(check: Check, data: dict[str, Any], text: str) -> Project | None:
    """Check every section, then what they must agree on; None when there are problems."""
    hints = fields_of(Project)
    sections = {key: record for key, hint in hints.items() if (record := record_in(hint)) and record is not LampRow}
    known = ["levelbench", *entries(Head), *sections, "stack_light"]
    for key, value in data.items():
        if key not in known:
            near = nearest(key, known)
            check.problem(key, value, "one of: " + ", ".join(known), f"“{key}” is not known here.", near)
    top = check.section(Head, {key: value for key, value in data.items() if key in entries(Head)}, "")
    left_out = {key for key, hint in hints.items() if type(None) in get_args(hint) and key not in data}
    built: dict[str, Any] = {
        key: None if key in left_out else check.section(record, data.get(key, {}), key)
        for key, record in sections.items()
    }
    lamps = check.rows(LampRow, data["stack_light"], "stack_light") if "stack_light" in data else DEFAULT_ROWS
    check_agreement(check)
    if check.problems or top is None or any(one is None and key not in left_out for key, one in built.items()):
        return None
    head = {key: getattr(top, key) for key in entries(Head)}
    return Project(**head, **built, stack_light=lamps, text=text)
