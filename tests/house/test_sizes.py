"""The size budget: small files, small functions, small classes, few arguments. Each rule is shown to fail as well."""

import ast
from pathlib import Path

import pytest
from tree import classes, code_lines, functions, short, sources

FILE_LINES = 400
FUNCTION_LINES = 40
CLASS_LINES = 250
CLASS_METHODS = 20
POSITIONAL = 6
REASON = "Longer than 400 lines because "


def positional(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Parameters that can be given by place, the object itself not counted."""
    names = [one.arg for one in function.args.posonlyargs + function.args.args]
    return len(names) - (1 if names[:1] in (["self"], ["cls"]) else 0)


def over_budget(source: str, window: bool = False) -> list[str]:
    """What in this source is larger than the budget allows."""
    tree = ast.parse(source)
    found = []
    length = len(source.splitlines())
    if length > FILE_LINES and REASON not in " ".join((ast.get_docstring(tree) or "").split()):
        found.append(f"file of {length} lines, and its docstring does not say '{REASON}…'")
    for function in functions(tree):
        lines = code_lines(function, source)
        if lines > FUNCTION_LINES:
            found.append(f"{function.name}: {lines} code lines")
        if positional(function) > POSITIONAL:
            found.append(f"{function.name}: {positional(function)} positional parameters")
    for one in classes(tree):
        found += over_budget_class(one, window)
    return found


def over_budget_class(one: ast.ClassDef, window: bool) -> list[str]:
    """What in this class is larger than the budget allows; `window`: it may be a widget."""
    found = []
    length = (one.end_lineno or one.lineno) - one.lineno + 1
    methods = [node for node in one.body if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    if length > CLASS_LINES:
        found.append(f"class {one.name}: {length} lines")
    if len(methods) > CLASS_METHODS:
        found.append(f"class {one.name}: {len(methods)} methods")
    for method in methods:
        whole = (method.end_lineno or method.lineno) - method.lineno + 1
        if window and method.name == "__init__" and whole > FUNCTION_LINES:
            found.append(f"class {one.name}: constructor of {whole} lines; split it into build, connect and refresh")
    return found


@pytest.mark.parametrize("path", sources("levelbench", "tests"), ids=short)
def test_every_file_keeps_the_budget(path: Path) -> None:
    assert over_budget(path.read_text(encoding="utf-8"), window="gui" in path.parts) == []


BODY = "    x = 1\n"


@pytest.mark.parametrize(
    ("source", "says"),
    [
        pytest.param("x = 1\n" * 401, "file of 401 lines", id="file"),
        pytest.param("def f() -> None:\n" + BODY * 40, "f: 41 code lines", id="function"),
        pytest.param("def f(a, b, c, d, e, g, h):\n" + BODY, "f: 7 positional", id="parameters"),
        pytest.param("class C:\n" + "    x = 1\n\n" * 126, "class C: 252 lines", id="class"),
        pytest.param(
            "class C:\n" + "".join(f"    def m{n}(self): ...\n" for n in range(21)), "21 methods", id="methods"
        ),
        pytest.param(
            "class C:\n    def __init__(self):\n" + "        # so\n" * 39 + "        x = 1\n",
            "constructor of 41",
            id="widget",
        ),
    ],
)
def test_the_budget_can_be_broken(source: str, says: str) -> None:
    assert any(says in line for line in over_budget(source, window=True))


@pytest.mark.parametrize(
    "source",
    [
        pytest.param(
            '"""Tables. Longer than 400 lines because\nit is one table."""\n' + "x = 1\n" * 400,
            id="file with its reason",
        ),
        pytest.param(
            'def f() -> None:\n    """Say.\n' + "    more\n" * 50 + '    """\n\n    # so\n' + BODY, id="docstring"
        ),
        pytest.param("class C:\n    def m(self, a, b, c, d, e, f, *, g=1, h=2):\n        return a\n", id="keywords"),
    ],
)
def test_the_budget_counts_only_what_it_means(source: str) -> None:
    assert over_budget(source, window=True) == []
