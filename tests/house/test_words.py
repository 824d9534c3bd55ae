"""Docstrings, annotations and words: what a reader of the sources may rely on."""

import ast
import re
import subprocess
from pathlib import Path

import pytest
from tree import PACKAGE, ROOT, classes, functions, short, sources

UNWANTED = {
    "a path of somebody's machine": re.compile(r"(?<![\w.:/}])/(?:work|home|root|Users|mnt)/\w"),
    "a folder outside the repository": re.compile(r"\.\./sha" + r"red|(?<![\w/])\.libr" + r"ary\b"),
    "unfinished work": re.compile(r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X|lorem ip" + r"sum)\b"),
    "a remark about who wrote it": re.compile(
        r"\b(?:language mod" + r"el|sub-?ag" + r"ent|as an A" + r"I)\b", re.IGNORECASE
    ),
}


def unwanted(text: str) -> list[str]:
    """Each unwanted thing in a text, with what it is."""
    return [f"{why}: {found.group()!r}" for why, pattern in UNWANTED.items() for found in pattern.finditer(text)]


def unannotated(source: str) -> list[str]:
    """Functions with a parameter or a result that has no type."""
    found = []
    for function in functions(ast.parse(source)):
        arguments = function.args
        plain = arguments.posonlyargs + arguments.args + arguments.kwonlyargs
        starred = [one for one in (arguments.vararg, arguments.kwarg) if one is not None]
        bare = [one.arg for one in plain + starred if one.annotation is None and one.arg not in ("self", "cls")]
        if bare or function.returns is None:
            found.append(f"{function.name} line {function.lineno}: {', '.join(bare) or 'result'}")
    return found


def undocumented(source: str) -> list[str]:
    """The module, and public classes and functions, that have no docstring (an override may rely on its base's)."""
    tree = ast.parse(source)
    found = [] if ast.get_docstring(tree) else ["module"]
    nodes = [*functions(tree), *classes(tree)]
    closed = [*functions(tree), *(one for one in classes(tree) if one.name.startswith("_"))]
    hidden = {inner for outer in closed for inner in ast.walk(outer) if inner is not outer}
    for node in nodes:
        marks = {ast.unparse(mark).split(".")[-1] for mark in node.decorator_list}
        private = node.name.startswith("_") or node in hidden
        if not private and not marks & {"override", "overload", "setter"} and not ast.get_docstring(node):
            found.append(f"{node.name} line {node.lineno}")
    return found


@pytest.mark.parametrize("path", sources("levelbench"), ids=short)
def test_everything_is_annotated(path: Path) -> None:
    assert unannotated(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", sources("levelbench"), ids=short)
def test_everything_public_is_documented(path: Path) -> None:
    assert undocumented(path.read_text(encoding="utf-8")) == []


def test_every_folder_of_sources_is_a_package_that_says_what_it_is_for() -> None:
    folders = {path.parent for path in sources("levelbench")}
    silent = [short(one) for one in folders if not (one / "__init__.py").exists()]
    assert silent == []
    assert PACKAGE in folders
    short_ones = [
        short(one)
        for one in folders
        if len((ast.get_docstring(ast.parse((one / "__init__.py").read_text())) or "").split()) < 5
    ]
    assert short_ones == []


def tracked_texts() -> list[Path]:
    """Every text file of the repository, as git knows it."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    names = [name for name in listed.stdout.decode().split("\0") if name]
    suffixes = {".py", ".md", ".toml", ".txt", ".css", ".qss", ".csv", ".svg", ".html", ".yml", ""}
    return [ROOT / name for name in names if Path(name).suffix in suffixes and (ROOT / name).is_file()]


def test_no_unwanted_words_in_the_tree() -> None:
    texts = tracked_texts() or [*sources("levelbench", "tests"), ROOT / "README.md"]
    found = {
        short(path): bad for path in texts if (bad := unwanted(path.read_text(encoding="utf-8", errors="replace")))
    }
    assert found == {}


@pytest.mark.parametrize(
    "text", ["see /" + "home/jo/tank.toml", "# TO" + "DO later", "cd ../sha" + "red", "a language mod" + "el"]
)
def test_unwanted_words_are_found(text: str) -> None:
    assert unwanted(text) != []


def test_ordinary_words_are_left_alone() -> None:
    assert unwanted("https://a.org/home/x, ./work/in/progress, the model of the language, ~/.config") == []


def test_missing_annotations_and_docstrings_are_found() -> None:
    source = "def f(a, *b: int) -> None: ...\ndef _g(a: int): ...\nclass C:\n    def m(self) -> None: ...\n"
    assert unannotated(source) == ["f line 1: a", "_g line 2: result"]
    assert undocumented(source) == ["module", "f line 1", "m line 4", "C line 3"]
