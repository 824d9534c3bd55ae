"""A `[unit]` bracket in a docstring of the physics is a unit that a general-purpose unit library can read."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from tokenize import TokenError

import pint
import pytest
from tree import classes, functions, short, sources

ROOMS = ("levelbench/quantity", "levelbench/rig", "levelbench/tuning", "levelbench/alarms", "levelbench/review")
# A shape or an index stands close to its name, as in ndarray[n]; a source has a number only, as in [3].
BRACKET = re.compile(r"(?<![\w\])`.\"'])\[([^\[\]\n]+)\](?!\])")
REGISTRY = pint.UnitRegistry()


def brackets(docstring: str) -> Iterator[str]:
    """Every unit in brackets: what comes before a semicolon or a comma, numbered sources left out."""
    for found in BRACKET.finditer(docstring):
        text = re.split(r"[;,]", found.group(1))[0].strip()
        if not text.isdigit() and "…" not in text and "..." not in text:
            yield text


def readable(text: str) -> bool:
    """Whether it is a unit: m3/s is read as m**3/s, % as percent."""
    general = re.sub(
        r"(?:any|that|the same) unit|unit of choice|SI unit of the dimension", "1", text
    )  # of a conversion that works in every unit
    spelled = re.sub(r"([A-Za-z])(\d)", r"\1**\2", general.replace("%", "percent").replace("·", "*"))
    try:
        REGISTRY.parse_expression(spelled)
    except (
        pint.PintError,
        ArithmeticError,
        AssertionError,
        AttributeError,
        SyntaxError,
        TokenError,
        TypeError,
        ValueError,
    ):
        return False
    return True


def unreadable(source: str) -> list[str]:
    """Each bracket in a docstring of this source that is no unit."""
    tree = ast.parse(source)
    documents = [ast.get_docstring(node) or "" for node in (tree, *functions(tree), *classes(tree))]
    return [text for document in documents for text in brackets(document) if not readable(text)]


@pytest.mark.parametrize("path", sources(*ROOMS), ids=short)
def test_units_in_docstrings_can_be_read(path: Path) -> None:
    assert unreadable(path.read_text(encoding="utf-8")) == []


# What a plain float of this name is, in any function of the physics.
MEANS = {
    "level": "m",
    "volume": "m3",
    "flow": "m3/s",
    "time": "s",
    "duration": "s",
    "scan": "s",
    "dt": "s",
    "speed": "m/s",
    "head": "m",
    "signal": "A",
    "current": "A",
}


def silent(source: str) -> list[str]:
    """Each plain float with a name of ours whose unit the docstring of its public function does not give."""
    found = []
    for function in functions(ast.parse(source)):
        marks = {ast.unparse(mark) for mark in function.decorator_list}
        if function.name.startswith("_") or "overload" in marks:
            continue
        said = {text.replace("·", "*") for text in brackets(ast.get_docstring(function) or "")}
        plain = [one for one in function.args.args + function.args.kwonlyargs if one.annotation is not None]
        floats = {one.arg for one in plain if ast.unparse(one.annotation or one) == "float"}
        found += [
            f"{function.name}: {name} [{MEANS[name]}]"
            for name in sorted(floats & set(MEANS))
            if MEANS[name] not in said
        ]
    return found


@pytest.mark.parametrize("path", sources(*ROOMS[1:]), ids=short)
def test_every_physical_argument_says_its_unit(path: Path) -> None:
    assert silent(path.read_text(encoding="utf-8")) == []


def test_an_argument_without_its_unit_is_found() -> None:
    source = (
        'def f(level: float, flow: float) -> float:\n    """Give a volume [m3] at a level [mm] and a flow [m3/s]."""\n'
    )
    assert silent(source) == ["f: level [m]"]


def test_a_wrong_unit_is_found() -> None:
    says = "Flow [m3/s] at [metre of wather]; after [2]; ndarray[n] of levels [m]; off [s; inf = off]."
    source = f'def f() -> None:\n    """{says}"""\n'
    assert unreadable(source) == ["metre of wather"]


def test_the_physics_does_say_its_units() -> None:
    rig = [path.read_text(encoding="utf-8") for path in sources("levelbench/rig", "levelbench/tuning")]
    documents = [ast.get_docstring(node) or "" for text in rig for node in functions(ast.parse(text))]
    assert sum(len(list(brackets(document))) for document in documents) > 20
